//! What a screen in the cab shows of a product before the start.

use super::iso11783::TaskProduct;
use crate::units::{M2_PER_ACRE, thousands};

/// Rates, total and ground of a product in a pass.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ScreenFacts {
    /// Unlike rates above 0, least first.
    pub(super) rates: Vec<f64>,
    /// Whether some open ground is ordered 0.
    pub(super) has_zero: bool,
    /// Product in all, in the unit of the total.
    pub(super) total: f64,
    /// Ground that gets any, m2.
    pub(super) area_m2: f64,
}

impl ScreenFacts {
    pub(super) fn of(product: &TaskProduct) -> Self {
        let open = || product.grounds.iter().filter(|ground| !ground.is_kept_off);
        let mut rates: Vec<f64> = open().map(|ground| ground.rate).filter(|rate| *rate > 0.0).collect();
        rates.sort_by(f64::total_cmp);
        rates.dedup();
        let fed = || open().filter(|ground| ground.rate > 0.0);
        ScreenFacts {
            rates,
            has_zero: open().any(|ground| ground.rate == 0.0),
            total: fed().fold(0.0, |total, ground| total + ground.rate * ground.area_m2 / M2_PER_ACRE),
            area_m2: fed().fold(0.0, |area_m2, ground| area_m2 + ground.area_m2),
        }
    }

    /// The total, with a decimal below a thousand.
    pub(super) fn total_text(&self, product: &TaskProduct) -> String {
        let decimals = if self.total < 1000.0 { 1 } else { 0 };
        format!("{} {}", thousands(self.total, decimals), product.unit.total_name())
    }

    /// "125.9 ac"
    pub(super) fn area_text(&self) -> String {
        format!("{} ac", thousands(self.area_m2 / M2_PER_ACRE, 1))
    }
}
