//! What the machine can spread and carry: least, most, step; and how it covers the ground.

use super::{Pass, RateUnit};
use crate::diagnostic::{Code, Diagnostic};

/// A pass brings more products than the machine has bins.
pub static MORE_PRODUCTS_THAN_BINS: Code = Code {
    name: "more-products-than-bins",
    checks: "that no pass spreads more dry products than the machine has bins",
    why: "what has no bin is not spread in that pass, whatever the file says",
    example: "a pass with phosphate, potash and urea, and `bins = 2`",
    mend: "make two passes of it, list fewer products, or write the bins of the machine that drives it",
};

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

/// What a rate file orders while the receiver has no position: the user's choice, because both can hurt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LostPosition {
    /// Nothing: the machine stops spreading.
    #[default]
    Zero,
    /// The mean rate of the field: it goes on spreading.
    Mean,
}

impl LostPosition {
    /// Name in the field file.
    pub fn name(self) -> &'static str {
        match self {
            LostPosition::Zero => "zero",
            LostPosition::Mean => "mean",
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
    /// What is ordered while the receiver has no position.
    pub lost_position: LostPosition,
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

/// A multiple of a step without the last digits its product with the step leaves: 93 steps of 0.01 are 0.93.
fn without_dust(rate: f64) -> f64 {
    (rate * 1e9).round() / 1e9
}

/// Why a pass cannot be driven with the machine's bins: `spread` are the dry products it brings anywhere on the field.
/// `None` where they fit or the bins are not stated.
pub fn bin_fault(pass: &Pass, spread: &[&str], machine: &Machine) -> Option<Diagnostic> {
    let n_bins = machine.n_bins.filter(|n_bins| spread.len() > *n_bins)?;
    let message = format!(
        "pass `{}` spreads {} dry products ({}), the machine has {n_bins} {}",
        pass.name,
        spread.len(),
        spread.join(", "),
        if n_bins == 1 { "bin" } else { "bins" },
    );
    Some(
        Diagnostic::error(&MORE_PRODUCTS_THAN_BINS, message).with_help("make two passes of it, or list fewer products"),
    )
}

/// Feet of width times miles an hour that cover an acre a minute: 43,560 ft2 * 60 min / 5,280 ft. Test: 495.
const FT_MPH_PER_ACRE_MINUTE: f64 = 43_560.0 * 60.0 / 5_280.0;

/// Feet a second of one mile an hour: 5280 / 3600.
const FT_S_PER_MPH: f64 = 5280.0 / 3600.0;

/// How a machine covers the ground; `None` where it is not stated.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct MachineTravel {
    /// Working width, feet.
    pub swath_ft: Option<f64>,
    /// Working speed, miles an hour.
    pub speed_mph: Option<f64>,
    /// Time to 95 % of a new rate, seconds.
    pub change_s: Option<f64>,
    /// Time before a new order moves anything, seconds.
    pub delay_s: Option<f64>,
    /// How far ahead in time the controller reads its order, seconds; not stated, it stays with the controller.
    pub look_ahead_s: Option<f64>,
    /// Direction of the swaths, degrees clockwise from the north of the work plane.
    pub heading_deg: Option<f64>,
}

impl MachineTravel {
    /// Distance covered while the rate changes, feet: speed times time.
    pub fn change_distance_ft(&self) -> Option<f64> {
        Some(self.speed_mph? * FT_S_PER_MPH * self.change_s?)
    }

    /// Product put out at a rate, lb/min: `rate * width_ft * mph / 495`. `None` without width and speed.
    ///
    /// Check: 300 lb/ac over 70 ft at 15 mph are 636 lb/min (agronomy check 80, \[A\]).
    pub fn flow_lb_min(&self, product_lb_ac: f64) -> Option<f64> {
        Some(product_lb_ac * self.swath_ft? * self.speed_mph? / FT_MPH_PER_ACRE_MINUTE)
    }

    /// Highest rate that a flow keeps up with at the working speed, lb of product/ac; `None` without width and speed.
    pub fn most_lb_ac_at(&self, flow_lb_min: f64) -> Option<f64> {
        Some(flow_lb_min * FT_MPH_PER_ACRE_MINUTE / (self.swath_ft? * self.speed_mph?))
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
        self.rate_within(wanted, f64::INFINITY)
    }

    /// As [`RateLimits::rate`], under a cap of the pass as well: rounded down where the nearest step would break it, and
    /// 0 where no rate of the machine keeps to it.
    pub fn rate_within(&self, wanted: f64, cap: f64) -> MachineRate {
        if wanted <= 0.0 {
            return MachineRate { rate: 0.0, left_over: 0.0 };
        }
        let (least, most) = (self.least_step(), self.most_step_within(cap));
        if (wanted < self.least && self.below_least == BelowLeast::Zero) || most < least {
            return MachineRate { rate: 0.0, left_over: wanted };
        }
        let stepped = (wanted / self.step + 0.5).floor() * self.step;
        let left_over = if stepped > most { (wanted - most).max(0.0) } else { 0.0 };
        MachineRate { rate: without_dust(stepped.clamp(least, most)), left_over }
    }

    /// Highest rate on the machine's steps that keeps to its most and to a cap; 0 where it is under the machine's least.
    pub fn most_rate(&self, cap: f64) -> f64 {
        let most = self.most_step_within(cap);
        if most < self.least_step() { 0.0 } else { without_dust(most) }
    }

    /// Whether a step lies between least and most; else the machine has no rate at all.
    pub fn has_a_rate(&self) -> bool {
        self.least_step() <= self.most_step()
    }

    fn least_step(&self) -> f64 {
        (self.least / self.step - 1e-9).ceil() * self.step
    }

    fn most_step(&self) -> f64 {
        self.most_step_within(f64::INFINITY)
    }

    fn most_step_within(&self, cap: f64) -> f64 {
        (self.most.min(cap) / self.step + 1e-9).floor() * self.step
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
            let travel =
                MachineTravel { speed_mph: Some(speed_mph), change_s: Some(change_s), ..MachineTravel::default() };
            assert!((travel.change_distance_ft().unwrap() - distance_ft).abs() < 1e-6);
        }
        assert_eq!(MachineTravel { speed_mph: Some(15.0), ..MachineTravel::default() }.change_distance_ft(), None);
    }

    #[test]
    fn a_cap_is_rounded_down_to_and_never_broken() {
        let by_one = RateLimits { step: 1.0, ..LIMITS };
        // 96.07 lb K2O as 0-0-60 are 160.1 lb.
        assert_eq!(by_one.rate_within(183.3, 160.1).rate, 160.0);
        assert_eq!(LIMITS.rate_within(158.0, 159.0).rate, 155.0);
        assert_eq!(LIMITS.rate_within(158.0, 47.0), MachineRate { rate: 0.0, left_over: 158.0 });
        assert_eq!(LIMITS.most_rate(47.0), 0.0);
        assert_eq!(LIMITS.most_rate(163.0), 160.0);
        let to_least = RateLimits { below_least: BelowLeast::Least, ..LIMITS };
        assert_eq!(to_least.rate_within(10.0, 60.0).rate, 50.0);
        assert_eq!(to_least.rate_within(10.0, 40.0).rate, 0.0);
    }

    #[test]
    fn row_80_flow() {
        // agronomy check 80 [A]: 300 lb/ac, 70 ft, 15 mph: 636 lb/min. The divisor is 43,560 * 60 / 5,280 = 495.
        assert_eq!(FT_MPH_PER_ACRE_MINUTE, 495.0);
        let travel = MachineTravel { swath_ft: Some(70.0), speed_mph: Some(15.0), ..MachineTravel::default() };
        let flow_lb_min = travel.flow_lb_min(300.0).unwrap();
        assert!((flow_lb_min - 636.0).abs() < 1.0);
        assert!((travel.most_lb_ac_at(flow_lb_min).unwrap() - 300.0).abs() < 1e-9);
        assert_eq!(MachineTravel { swath_ft: None, ..travel }.flow_lb_min(300.0), None);
    }

    #[test]
    fn products_beyond_the_bins_are_a_fault() {
        let pass = Pass {
            name: "Before corn".into(),
            window: None,
            year: 1,
            products: vec![],
            placement: crate::rates::Placement::Tilled,
            reaches_in: 7.0,
            standing_crop: false,
            fall: false,
            holds: None,
            trip: crate::rates::TripCost::default(),
        };
        let two_bins = Machine { n_bins: Some(2), ..Machine::default() };
        let fault = bin_fault(&pass, &["MAP", "POT", "UREA"], &two_bins).unwrap();
        assert_eq!(fault.message, "pass `Before corn` spreads 3 dry products (MAP, POT, UREA), the machine has 2 bins");
        assert!(bin_fault(&pass, &["MAP", "POT"], &two_bins).is_none());
        assert!(bin_fault(&pass, &["MAP", "POT", "UREA"], &Machine::default()).is_none());
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
