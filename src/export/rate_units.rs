//! Units of rates and totals, as a page prints them.

use crate::rates::RateUnit;
use crate::units::{GRAMS_PER_POUND, LB_PER_SHORT_TON, M2_PER_ACRE, UnitSystem, thousands};

/// Liters in a US gallon, exact by definition (231 cubic inches).
const LITERS_PER_GALLON: f64 = 3.785_411_784;
/// Acres in a hectare.
const ACRES_PER_HECTARE: f64 = 10_000.0 / M2_PER_ACRE;

/// How rates and totals of a product are printed. Always of product, never of nutrient.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct PrintedUnit {
    /// Unit of a rate: "lb/ac".
    pub(crate) rate: &'static str,
    /// Unit of a total: "lb".
    pub(crate) total: &'static str,
    rate_factor: f64,
    total_factor: f64,
    decimals: usize,
    total_decimals: usize,
}

impl PrintedUnit {
    pub(crate) fn of(system: UnitSystem, unit: RateUnit) -> Self {
        let kg_per_lb = GRAMS_PER_POUND / 1000.0;
        let (rate, total, total_factor) = match (system, unit) {
            (UnitSystem::Us, _) => (unit.name(), unit.total_name(), 1.0),
            (UnitSystem::Si, RateUnit::LbAc) => ("kg/ha", "kg", kg_per_lb),
            (UnitSystem::Si, RateUnit::ShortTonAc) => ("tonne/ha", "tonnes", kg_per_lb * LB_PER_SHORT_TON / 1000.0),
            (UnitSystem::Si, RateUnit::GalAc) => ("L/ha", "L", LITERS_PER_GALLON),
        };
        let rate_factor = match system {
            UnitSystem::Us => 1.0,
            UnitSystem::Si => total_factor * ACRES_PER_HECTARE,
        };
        let total_decimals = if unit == RateUnit::ShortTonAc { 1 } else { 0 };
        PrintedUnit { rate, total, rate_factor, total_factor, decimals: unit.decimals(), total_decimals }
    }

    /// A rate of the plan, without its unit.
    pub(crate) fn rate_figure(&self, rate: f64) -> String {
        let decimals = if rate == 0.0 { 0 } else { self.decimals };
        thousands(rate * self.rate_factor, decimals)
    }

    /// A rate of the plan with its unit.
    pub(crate) fn rate_text(&self, rate: f64) -> String {
        format!("{} {}", self.rate_figure(rate), self.rate)
    }

    /// A total in the product's unit, with its unit.
    pub(crate) fn total_text(&self, total: f64) -> String {
        format!("{} {}", thousands(total * self.total_factor, self.total_decimals), self.total)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_of_the_other_system() {
        // 1 lb/ac = 1.1208 kg/ha (Virginia Tech SPES-201 [R]); 1 US gal/ac = 9.3540 L/ha, 1 short ton/ac = 2.2417 t/ha [A].
        let si = |unit| PrintedUnit::of(UnitSystem::Si, unit);
        assert_eq!(si(RateUnit::LbAc).rate_text(100.0), "112 kg/ha");
        assert_eq!(si(RateUnit::GalAc).rate_text(10.0), "93.5 L/ha");
        assert_eq!(si(RateUnit::ShortTonAc).rate_text(2.0), "4.48 tonne/ha");
        assert_eq!(si(RateUnit::ShortTonAc).total_text(100.0), "90.7 tonnes");
        let us = PrintedUnit::of(UnitSystem::Us, RateUnit::LbAc);
        assert_eq!((us.rate_text(147.0), us.total_text(17_238.0)), ("147 lb/ac".into(), "17,238 lb".into()));
        assert_eq!(us.rate_figure(0.0), "0");
    }
}
