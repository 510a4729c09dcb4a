//! Products: what a pound of them brings, how they are spread, what they cost.

use super::Supply;
use crate::units::LB_PER_SHORT_TON;

/// How a product is handled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Form {
    /// A dry material; its bulk density where stated, lb/ft3.
    Dry {
        /// Bulk density, lb/ft3.
        lb_ft3: Option<f64>,
    },
    /// A liquid, with its density, lb/US gal.
    Liquid {
        /// Density, lb/US gal.
        lb_gal: f64,
    },
}

/// Unit in which rates of a product are stated, rounded and spread. Always of product, never of nutrient.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RateUnit {
    /// Pounds an acre.
    LbAc,
    /// Short tons an acre: lime.
    ShortTonAc,
    /// US gallons an acre: liquids.
    GalAc,
}

impl RateUnit {
    /// As printed.
    pub fn name(self) -> &'static str {
        match self {
            RateUnit::LbAc => "lb/ac",
            RateUnit::ShortTonAc => "short ton/ac",
            RateUnit::GalAc => "gal/ac",
        }
    }

    /// Unit of a total.
    pub fn total_name(self) -> &'static str {
        match self {
            RateUnit::LbAc => "lb",
            RateUnit::ShortTonAc => "short tons",
            RateUnit::GalAc => "gal",
        }
    }

    /// Decimals worth printing.
    pub fn decimals(self) -> usize {
        match self {
            RateUnit::LbAc => 0,
            RateUnit::ShortTonAc => 2,
            RateUnit::GalAc => 1,
        }
    }
}

/// A material with its guaranteed content.
#[derive(Debug, Clone, PartialEq)]
pub struct Product {
    /// Short name, 1 to 4 letters; starts file names.
    pub short: String,
    /// Printed name.
    pub name: String,
    /// What a pound of it brings, percent by mass, each supply once, none 0. Of lime: percent of the quality that the
    /// lime guide is stated for.
    pub percent: Vec<(Supply, f64)>,
    /// How it is handled.
    pub form: Form,
    /// Delivered price, USD a pound of product; `None` = unknown.
    pub usd_lb: Option<f64>,
}

impl Product {
    /// Share of a supply by mass, 0 to 1 (lime may be above 1); 0 where it brings none.
    pub fn share(&self, supply: Supply) -> f64 {
        self.percent.iter().find(|(of, _)| *of == supply).map_or(0.0, |(_, percent)| percent / 100.0)
    }

    /// What it is bought for: the supply it brings most of; of equals the first of [`Supply::ALL`].
    pub fn bought_for(&self) -> Option<Supply> {
        let most = self.percent.iter().map(|(_, percent)| *percent).fold(0.0, f64::max);
        Supply::ALL.into_iter().find(|supply| most > 0.0 && self.share(*supply) * 100.0 >= most)
    }

    /// Pounds of product an acre that bring `supply_lb_ac`; infinite where it brings none.
    ///
    /// Check: K2O 90 lb as 0-0-60 is 150 lb; P2O5 60 lb as 11-52-0 is 115.4 lb (agronomy check 76, A(R)).
    pub fn product_lb_ac(&self, supply: Supply, supply_lb_ac: f64) -> f64 {
        supply_lb_ac / self.share(supply)
    }

    /// Pounds of a supply an acre in `product_lb_ac`.
    pub fn supply_lb_ac(&self, supply: Supply, product_lb_ac: f64) -> f64 {
        product_lb_ac * self.share(supply)
    }

    /// Unit its rates are stated in.
    pub fn rate_unit(&self) -> RateUnit {
        match self.form {
            Form::Liquid { .. } => RateUnit::GalAc,
            Form::Dry { .. } if self.bought_for() == Some(Supply::Lime) => RateUnit::ShortTonAc,
            Form::Dry { .. } => RateUnit::LbAc,
        }
    }

    /// Pounds of product in one of its rate unit: 1, 2,000, or the pounds of a gallon.
    pub fn lb_per_unit(&self) -> f64 {
        match (self.rate_unit(), self.form) {
            (RateUnit::GalAc, Form::Liquid { lb_gal }) => lb_gal,
            (RateUnit::ShortTonAc, _) => LB_PER_SHORT_TON,
            _ => 1.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn product(percent: &[(Supply, f64)], form: Form) -> Product {
        Product { short: "X".into(), name: "X".into(), percent: percent.to_vec(), form, usd_lb: None }
    }

    #[test]
    fn row_76_product_by_analysis() {
        // agronomy check 76, A(R): arithmetic on the label analysis.
        let dry = Form::Dry { lb_ft3: None };
        let potash = product(&[(Supply::K2o, 60.0)], dry);
        assert!((potash.product_lb_ac(Supply::K2o, 90.0) - 150.0).abs() < 0.1);
        assert!((potash.supply_lb_ac(Supply::K2o, 150.0) - 90.0).abs() < 1e-9);
        let map = product(&[(Supply::N, 11.0), (Supply::P2o5, 52.0)], dry);
        let product_lb_ac = map.product_lb_ac(Supply::P2o5, 60.0);
        assert!((product_lb_ac - 115.4).abs() < 0.1);
        assert!((map.supply_lb_ac(Supply::N, product_lb_ac) - 12.7).abs() < 0.1);
        assert_eq!(map.bought_for(), Some(Supply::P2o5));
    }

    #[test]
    fn row_77_nitrogen_in_a_gallon() {
        // agronomy check 77, A(R2): UAN 28 at 10.67 lb/gal and UAN 32 at 11.06 lb/gal.
        for (percent, lb_gal, n_lb_gal) in [(28.0, 10.67, 2.99), (32.0, 11.06, 3.54)] {
            let uan = product(&[(Supply::N, percent)], Form::Liquid { lb_gal });
            assert_eq!(uan.rate_unit(), RateUnit::GalAc);
            assert!((uan.supply_lb_ac(Supply::N, uan.lb_per_unit()) - n_lb_gal).abs() < 0.01);
        }
    }
}
