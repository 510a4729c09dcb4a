//! Rates as a controller counts them: whole numbers of a unit that the standard's data dictionary fixes.

use super::TaskProduct;
use crate::rates::RateUnit;
use crate::units::{GRAMS_PER_POUND, LB_PER_SHORT_TON, LITERS_PER_GALLON, M2_PER_ACRE};

/// Most decimals a rate is shown with.
const MOST_DECIMALS: usize = 2;
/// Digits kept of the factor that turns counts back into the shown unit: far below half a count of any rate.
const SCALE_DIGITS: i32 = 12;

/// How a rate is ordered: an entry of the data dictionary (ISO 11783-11), and its counts in one of the rate's unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setpoint {
    /// Number of the entry: 6 is the mass an area, 1 the volume an area \[R: table of npm `isoxml` 1.11.2].
    pub ddi: u16,
    /// Number of the entry that a product's amount is counted in: 75 grams, 72 milliliters \[R].
    pub amount_ddi: u16,
    /// Counts in one of the unit: mg/m2, or 0.01 mm3/m2.
    pub counts_per_unit: f64,
}

impl Setpoint {
    /// The setpoint for rates of a unit.
    ///
    /// Check \[A]: 112.0851156 counts for 1 lb/ac, 224170.231 for 1 short ton/ac, 93539.5623 for 1 gal/ac.
    pub fn of(unit: RateUnit) -> Self {
        let mg_m2_per_lb_ac = GRAMS_PER_POUND * 1000.0 / M2_PER_ACRE;
        let (ddi, amount_ddi, counts_per_unit) = match unit {
            RateUnit::LbAc => (6, 75, mg_m2_per_lb_ac),
            RateUnit::ShortTonAc => (6, 75, mg_m2_per_lb_ac * LB_PER_SHORT_TON),
            // 1e6 mm3 in a liter, 100 counts in 1 mm3/m2.
            RateUnit::GalAc => (1, 72, LITERS_PER_GALLON * 1e6 / M2_PER_ACRE * 100.0),
        };
        Setpoint { ddi, amount_ddi, counts_per_unit }
    }

    /// Counts of a rate, rounded once; `None` for what is no rate or more than the standard's whole numbers hold.
    pub fn counts(&self, rate: f64) -> Option<i32> {
        let counts = (rate * self.counts_per_unit).round();
        (rate >= 0.0 && counts <= f64::from(i32::MAX)).then_some(counts as i32)
    }

    /// One count in the rate's unit, as decimals without exponent: what the schema takes.
    pub fn scale_text(&self) -> String {
        let scale = 1.0 / self.counts_per_unit;
        let decimals = (SCALE_DIGITS - 1 - scale.log10().floor() as i32).max(0) as usize;
        format!("{scale:.decimals$}")
    }
}

impl TaskProduct {
    /// Fewest decimals that show each of its rates as it is; at most two, those of rates in the field file.
    pub fn decimals(&self) -> usize {
        let shows = |decimals: &usize| {
            let scale = 10_f64.powi(*decimals as i32);
            self.grounds.iter().all(|ground| ((ground.rate * scale).round() / scale - ground.rate).abs() < 1e-6)
        };
        let least = self.unit.decimals();
        (least..MOST_DECIMALS).find(shows).unwrap_or(MOST_DECIMALS.max(least))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Rounding error, in the unit, that a round trip may have: half a count.
    const UNITS: [(RateUnit, u16, f64, f64, f64); 3] = [
        (RateUnit::LbAc, 6, 112.085_115_6, 0.008_921_791, 0.0045),
        (RateUnit::ShortTonAc, 6, 224_170.231, 0.000_004_461, 0.000_003),
        (RateUnit::GalAc, 1, 93_539.562_3, 0.000_010_690_7, 0.000_006),
    ];

    #[test]
    fn counts_and_scales_are_those_of_the_definitions_of_pound_acre_and_gallon() {
        // [A] 1 ac = 4046.8564224 m2, 1 lb = 453.59237 g, 1 US gal = 3.785411784 L; digits as printed in a table.
        for (unit, ddi, counts, scale, _) in UNITS {
            let setpoint = Setpoint::of(unit);
            assert_eq!(setpoint.ddi, ddi);
            assert!((setpoint.counts_per_unit / counts - 1.0).abs() < 1e-8, "{unit:?}");
            let text = setpoint.scale_text();
            assert!(!text.contains(['e', 'E']) && text.starts_with("0.0"), "{text}");
            assert!((text.parse::<f64>().unwrap() / scale - 1.0).abs() < 1e-4, "{text}");
            assert!((text.parse::<f64>().unwrap() * setpoint.counts_per_unit - 1.0).abs() < 1e-11, "{text}");
        }
    }

    #[test]
    fn rates_of_a_known_task_set() {
        // [A] 90, 120, 150 lb/ac are 10088, 13450, 16813 mg/m2.
        let counts = [90.0, 120.0, 150.0].map(|rate| Setpoint::of(RateUnit::LbAc).counts(rate).unwrap());
        assert_eq!(counts, [10_088, 13_450, 16_813]);
    }

    #[test]
    fn what_is_no_rate_has_no_counts() {
        let setpoint = Setpoint::of(RateUnit::ShortTonAc);
        for rate in [-0.5, f64::NAN, f64::INFINITY, 9_580.0] {
            assert_eq!(setpoint.counts(rate), None, "{rate}");
        }
        assert!(setpoint.counts(9_579.0).is_some());
    }

    proptest! {
        #[test]
        fn every_rate_comes_back_within_half_a_count(rate in 0.0..5_000.0_f64) {
            for (unit, _, _, _, bound) in UNITS {
                let setpoint = Setpoint::of(unit);
                let counts = f64::from(setpoint.counts(rate).unwrap());
                // As a controller shows it: (counts + offset) times scale.
                let shown = counts * setpoint.scale_text().parse::<f64>().unwrap();
                prop_assert!((shown - rate).abs() <= bound, "{unit:?} {rate} {shown}");
            }
        }
    }
}
