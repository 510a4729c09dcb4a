//! Products: what a pound of them brings, how they are spread, what they cost.

use super::Supply;
use crate::units::LB_PER_SHORT_TON;

/// Least a product brings of a second supply, against what it is bought for, to be spread for it. Source: heuristic;
/// ammonium sulfate (21 N, 24 S) serves both, 11-52-0 and 18-46-0 no nitrogen.
const SECOND_SUPPLY_SHARE: f64 = 0.5;

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

    /// Whether it may be spread for a supply: for what it is bought for, or for another, but not lime, of which it
    /// brings at least half as much. A product that brings mainly something else would over-feed that.
    pub fn serves(&self, supply: Supply) -> bool {
        let most = self.bought_for().map_or(0.0, |main| self.share(main));
        self.bought_for() == Some(supply)
            || (supply != Supply::Lime && most > 0.0 && self.share(supply) >= SECOND_SUPPLY_SHARE * most)
    }

    /// Rate in its own unit of so many pounds an acre.
    pub fn rate_of_lb_ac(&self, product_lb_ac: f64) -> f64 {
        product_lb_ac / self.lb_per_unit()
    }

    /// Pounds an acre of a rate in its own unit.
    pub fn lb_ac_of_rate(&self, rate: f64) -> f64 {
        rate * self.lb_per_unit()
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
    use proptest::prelude::*;

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
    fn row_75_phosphate_and_potash_of_common_materials() {
        // agronomy check 75, A(R): OSU ANR-74 sample plan, 210 lb MAP, 240 lb DAP, 180 lb KCl.
        let dry = Form::Dry { lb_ft3: None };
        let brings = |percent: &[(Supply, f64)], supply, lb_ac| product(percent, dry).supply_lb_ac(supply, lb_ac);
        assert!((brings(&[(Supply::N, 11.0), (Supply::P2o5, 52.0)], Supply::P2o5, 210.0) - 109.2).abs() < 1e-9);
        assert!((brings(&[(Supply::N, 18.0), (Supply::P2o5, 46.0)], Supply::P2o5, 240.0) - 110.4).abs() < 1e-9);
        assert!((brings(&[(Supply::K2o, 60.0)], Supply::K2o, 180.0) - 108.0).abs() < 1e-9);
    }

    #[test]
    fn row_78_sulfur_by_analysis() {
        // agronomy check 78, A(R/M): 15 lb S as ammonium sulfate 62.5 lb (13.1 lb N), as K-Mg sulfate 68.2 (15.0 K2O).
        let dry = Form::Dry { lb_ft3: None };
        let sulfate = product(&[(Supply::N, 21.0), (Supply::S, 24.0)], dry);
        let lb_ac = sulfate.product_lb_ac(Supply::S, 15.0);
        assert!((lb_ac - 62.5).abs() < 0.1 && (sulfate.supply_lb_ac(Supply::N, lb_ac) - 13.1).abs() < 0.1);
        let k_mg = product(&[(Supply::K2o, 22.0), (Supply::S, 22.0)], dry);
        let lb_ac = k_mg.product_lb_ac(Supply::S, 15.0);
        assert!((lb_ac - 68.2).abs() < 0.1 && (k_mg.supply_lb_ac(Supply::K2o, lb_ac) - 15.0).abs() < 0.1);
        assert!(k_mg.serves(Supply::S) && k_mg.serves(Supply::K2o) && sulfate.serves(Supply::N));
    }

    #[test]
    fn what_mainly_brings_something_else_is_not_spread_for_a_supply() {
        let dry = Form::Dry { lb_ft3: None };
        assert!(!product(&[(Supply::N, 11.0), (Supply::P2o5, 52.0)], dry).serves(Supply::N));
        assert!(!product(&[(Supply::N, 18.0), (Supply::P2o5, 46.0)], dry).serves(Supply::N));
        assert!(!product(&[], dry).serves(Supply::N));
    }

    proptest! {
        #[test]
        fn rates_survive_the_way_to_pounds_and_back(rate in 0.0..500.0_f64, lb_gal in 8.0..13.0_f64) {
            let n = [(Supply::N, 28.0)];
            for product in [
                product(&n, Form::Liquid { lb_gal }),
                product(&n, Form::Dry { lb_ft3: None }),
                product(&[(Supply::Lime, 69.9)], Form::Dry { lb_ft3: None }),
            ] {
                prop_assert!((product.rate_of_lb_ac(product.lb_ac_of_rate(rate)) - rate).abs() < 1e-9);
                let main = product.bought_for().unwrap();
                let supply_lb_ac = product.supply_lb_ac(main, product.lb_ac_of_rate(rate));
                prop_assert!((product.product_lb_ac(main, supply_lb_ac) - product.lb_ac_of_rate(rate)).abs() < 1e-6);
            }
        }
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
