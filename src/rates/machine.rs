//! What the machine can spread and carry: least, most, step; and how it covers the ground.

use super::RateUnit;

/// What happens to a rate under the least the machine can hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BelowLeast {
    /// Nothing is spread there.
    Zero,
    /// The least is spread there.
    Least,
}

impl BelowLeast {
    /// Name in the field file.
    pub fn name(self) -> &'static str {
        match self {
            BelowLeast::Zero => "zero",
            BelowLeast::Least => "least",
        }
    }
}

/// Rates a machine can hold, in one rate unit, of product.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RateLimits {
    /// Least rate above 0.
    pub least: f64,
    /// Most.
    pub most: f64,
    /// Rates are whole multiples of this.
    pub step: f64,
    /// What happens under the least.
    pub below_least: BelowLeast,
}

/// What the machine can hold and carry. `None` is not stated.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Machine {
    /// Rates of dry products, lb/ac.
    pub lb_ac: Option<RateLimits>,
    /// Rates of lime, short tons/ac.
    pub short_ton_ac: Option<RateLimits>,
    /// Rates of liquids, gal/ac.
    pub gal_ac: Option<RateLimits>,
    /// Products it can meter in one trip.
    pub n_bins: Option<usize>,
    /// Most it can put out, lb/min of product.
    pub flow_lb_min: Option<f64>,
    /// Most it carries of dry products, lb.
    pub load_lb: Option<f64>,
    /// Most it carries of liquids, gal.
    pub load_gal: Option<f64>,
}

impl Machine {
    /// Limits for rates of a unit; `None` = not stated, no rate file of such a product.
    pub fn limits(&self, unit: RateUnit) -> Option<&RateLimits> {
        match unit {
            RateUnit::LbAc => self.lb_ac.as_ref(),
            RateUnit::ShortTonAc => self.short_ton_ac.as_ref(),
            RateUnit::GalAc => self.gal_ac.as_ref(),
        }
    }
}

/// Feet a second of one mile an hour: 5280 / 3600.
const FT_S_PER_MPH: f64 = 5280.0 / 3600.0;

/// How a machine covers the ground; `None` where it is not stated.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct MachineTravel {
    /// Working width, feet.
    pub swath_ft: Option<f64>,
    /// Working speed, miles an hour.
    pub speed_mph: Option<f64>,
    /// Time from one rate to the next, seconds.
    pub change_s: Option<f64>,
}

impl MachineTravel {
    /// Distance covered while the rate changes, feet: speed times time.
    pub fn change_distance_ft(&self) -> Option<f64> {
        Some(self.speed_mph? * FT_S_PER_MPH * self.change_s?)
    }
}

/// A rate as the machine will hold it, and what it changed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MachineRate {
    /// Product an acre, in the rate unit.
    pub rate: f64,
    /// Product an acre that the most keeps back, or that is dropped under the least.
    pub left_over: f64,
}

impl RateLimits {
    /// Rounds a wanted rate once: to the nearest step (halves up), then least and most.
    ///
    /// # Guarantees
    /// Never negative, never above the most; 0 stays 0; never falls as `wanted` grows; above 0 never under the
    /// least. What is not spread is left over.
    ///
    /// # Panics
    /// If the machine has no rate ([`RateLimits::has_a_rate`]); the field file's reader refuses such a machine.
    pub fn rate(&self, wanted: f64) -> MachineRate {
        if wanted <= 0.0 {
            return MachineRate { rate: 0.0, left_over: 0.0 };
        }
        let (least, most) = (self.least_step(), self.most_step());
        if wanted < self.least && self.below_least == BelowLeast::Zero {
            return MachineRate { rate: 0.0, left_over: wanted };
        }
        let stepped = (wanted / self.step + 0.5).floor() * self.step;
        let left_over = if stepped > most { wanted - most } else { 0.0 };
        MachineRate { rate: stepped.clamp(least, most), left_over }
    }

    /// Whether a step lies between least and most; else the machine has no rate at all.
    pub fn has_a_rate(&self) -> bool {
        self.least_step() <= self.most_step()
    }

    fn least_step(&self) -> f64 {
        (self.least / self.step - 1e-9).ceil() * self.step
    }

    fn most_step(&self) -> f64 {
        (self.most / self.step + 1e-9).floor() * self.step
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const LIMITS: RateLimits = RateLimits { least: 50.0, most: 400.0, step: 5.0, below_least: BelowLeast::Zero };

    #[test]
    fn rates_keep_to_step_least_and_most() {
        assert_eq!(LIMITS.rate(147.4).rate, 145.0);
        assert_eq!(LIMITS.rate(147.5).rate, 150.0);
        assert_eq!(LIMITS.rate(47.0), MachineRate { rate: 0.0, left_over: 47.0 });
        // 52 is above the least of 50: the nearest step of 7, 49, is under it, so the first step above is taken.
        assert_eq!(RateLimits { step: 7.0, ..LIMITS }.rate(52.0).rate, 56.0);
        assert!(!RateLimits { least: 52.0, most: 54.0, ..LIMITS }.has_a_rate());
        assert_eq!(RateLimits { below_least: BelowLeast::Least, ..LIMITS }.rate(3.0).rate, 50.0);
        assert_eq!(LIMITS.rate(512.0), MachineRate { rate: 400.0, left_over: 112.0 });
        assert_eq!(LIMITS.rate(-3.0).rate, 0.0);
    }

    /// 15 mph is 22 ft/s, for 5 s; figures of spinner spreaders, UGA (2024) [R] for 3 to 5 s, distances [A].
    #[test]
    fn the_distance_of_a_change_is_speed_times_time() {
        for (speed_mph, change_s, distance_ft) in [(15.0, 5.0, 110.0), (10.0, 3.0, 44.0), (20.0, 5.0, 146.666_667)] {
            let travel = MachineTravel { speed_mph: Some(speed_mph), change_s: Some(change_s), swath_ft: None };
            assert!((travel.change_distance_ft().unwrap() - distance_ft).abs() < 1e-6);
        }
        assert_eq!(MachineTravel { speed_mph: Some(15.0), ..MachineTravel::default() }.change_distance_ft(), None);
    }

    proptest! {
        #[test]
        fn a_rate_never_falls_as_the_need_grows(
            a in 0.0..600.0_f64, more in 0.0..100.0_f64, to_least in any::<bool>(),
            least in 0.0..200.0_f64, span in 0.0..300.0_f64, step in 1.0..30.0_f64,
        ) {
            let below_least = if to_least { BelowLeast::Least } else { BelowLeast::Zero };
            let limits = RateLimits { least, most: least + span, step, below_least };
            prop_assume!(limits.has_a_rate());
            let (low, high) = (limits.rate(a), limits.rate(a + more));
            prop_assert!(low.rate <= high.rate);
            for rate in [low, high] {
                let is_rate = (least - 1e-6..=limits.most + 1e-6).contains(&rate.rate);
                prop_assert!(rate.rate == 0.0 || is_rate);
                prop_assert!(rate.left_over >= 0.0);
            }
        }
    }
}
