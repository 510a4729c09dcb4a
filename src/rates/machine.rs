//! What the machine can spread: least, most, step; and how it covers the ground.

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

/// Rates a machine can hold, pounds of product an acre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Machine {
    /// Least rate above 0.
    pub least_lb_ac: f64,
    /// Most.
    pub most_lb_ac: f64,
    /// Rates are whole multiples of this.
    pub step_lb_ac: f64,
    /// What happens under the least.
    pub below_least: BelowLeast,
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
    /// Pounds of product an acre.
    pub product_lb_ac: f64,
    /// Pounds of product an acre that the most keeps back, or that is dropped under the least.
    pub left_over_lb_ac: f64,
}

impl Machine {
    /// Rounds a wanted rate once: to the nearest step (halves up), then least and most.
    ///
    /// # Guarantees
    /// Never negative, never above the most; 0 stays 0; never falls as `wanted_lb_ac` grows; above 0 never under the
    /// least. What is not spread is left over.
    ///
    /// # Panics
    /// If the machine has no rate ([`Machine::has_a_rate`]); the field file's reader refuses such a machine.
    pub fn rate(&self, wanted_lb_ac: f64) -> MachineRate {
        if wanted_lb_ac <= 0.0 {
            return MachineRate { product_lb_ac: 0.0, left_over_lb_ac: 0.0 };
        }
        let (least, most) = (self.least_step_lb_ac(), self.most_step_lb_ac());
        if wanted_lb_ac < self.least_lb_ac && self.below_least == BelowLeast::Zero {
            return MachineRate { product_lb_ac: 0.0, left_over_lb_ac: wanted_lb_ac };
        }
        let stepped = (wanted_lb_ac / self.step_lb_ac + 0.5).floor() * self.step_lb_ac;
        let left_over_lb_ac = if stepped > most { wanted_lb_ac - most } else { 0.0 };
        MachineRate { product_lb_ac: stepped.clamp(least, most), left_over_lb_ac }
    }

    /// Whether a step lies between least and most; else the machine has no rate at all.
    pub fn has_a_rate(&self) -> bool {
        self.least_step_lb_ac() <= self.most_step_lb_ac()
    }

    fn least_step_lb_ac(&self) -> f64 {
        (self.least_lb_ac / self.step_lb_ac - 1e-9).ceil() * self.step_lb_ac
    }

    fn most_step_lb_ac(&self) -> f64 {
        (self.most_lb_ac / self.step_lb_ac + 1e-9).floor() * self.step_lb_ac
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const MACHINE: Machine =
        Machine { least_lb_ac: 50.0, most_lb_ac: 400.0, step_lb_ac: 5.0, below_least: BelowLeast::Zero };

    #[test]
    fn rates_keep_to_step_least_and_most() {
        assert_eq!(MACHINE.rate(147.4).product_lb_ac, 145.0);
        assert_eq!(MACHINE.rate(147.5).product_lb_ac, 150.0);
        assert_eq!(MACHINE.rate(47.0), MachineRate { product_lb_ac: 0.0, left_over_lb_ac: 47.0 });
        // 52 is above the least of 50: the nearest step of 7, 49, is under it, so the first step above is taken.
        assert_eq!(Machine { step_lb_ac: 7.0, ..MACHINE }.rate(52.0).product_lb_ac, 56.0);
        assert!(!Machine { least_lb_ac: 52.0, most_lb_ac: 54.0, ..MACHINE }.has_a_rate());
        assert_eq!(Machine { below_least: BelowLeast::Least, ..MACHINE }.rate(3.0).product_lb_ac, 50.0);
        assert_eq!(MACHINE.rate(512.0), MachineRate { product_lb_ac: 400.0, left_over_lb_ac: 112.0 });
        assert_eq!(MACHINE.rate(-3.0).product_lb_ac, 0.0);
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
            least_lb_ac in 0.0..200.0_f64, span in 0.0..300.0_f64, step_lb_ac in 1.0..30.0_f64,
        ) {
            let below_least = if to_least { BelowLeast::Least } else { BelowLeast::Zero };
            let machine = Machine { least_lb_ac, most_lb_ac: least_lb_ac + span, step_lb_ac, below_least };
            prop_assume!(machine.has_a_rate());
            let (low, high) = (machine.rate(a), machine.rate(a + more));
            prop_assert!(low.product_lb_ac <= high.product_lb_ac);
            for rate in [low, high] {
                let is_rate = (least_lb_ac - 1e-6..=machine.most_lb_ac + 1e-6).contains(&rate.product_lb_ac);
                prop_assert!(rate.product_lb_ac == 0.0 || is_rate);
                prop_assert!(rate.left_over_lb_ac >= 0.0);
            }
        }
    }
}
