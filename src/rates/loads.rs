//! What a pass takes to the field: totals, loads, volume, truckloads, ground driven.

use super::{Form, Machine, Product};
use crate::units::LB_PER_SHORT_TON;

/// A total of one product as it is ordered, hauled and loaded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProductLoads {
    /// Product, lb.
    pub total_lb: f64,
    /// Product, short tons.
    pub total_short_ton: f64,
    /// Product in its rate unit's total: lb, short tons or gal.
    pub total: f64,
    /// Volume of a dry product, ft3; `None` = the bulk density is not stated, or a liquid.
    pub volume_ft3: Option<f64>,
    /// Volume of a liquid, gal; `None` = a dry product.
    pub volume_gal: Option<f64>,
    /// Machine loads of at most what it carries; `None` = not stated.
    pub n_loads: Option<u64>,
    /// Truckloads of the size asked for; `None` = none asked for.
    pub n_truckloads: Option<u64>,
}

/// Counts the loads of `total_lb` of a product. `truck_lb` is what a truck brings, lb of product.
pub fn product_loads(product: &Product, total_lb: f64, machine: &Machine, truck_lb: Option<f64>) -> ProductLoads {
    let total = product.rate_of_lb_ac(total_lb);
    let (volume_ft3, volume_gal, machine_loads) = match product.form {
        Form::Dry { lb_ft3 } => {
            (lb_ft3.map(|lb_ft3| total_lb / lb_ft3), None, machine.load_lb.map(|most| n_loads(total_lb, most)))
        }
        Form::Liquid { .. } => (None, Some(total), machine.load_gal.map(|most| n_loads(total, most))),
    };
    ProductLoads {
        total_lb,
        total_short_ton: total_lb / LB_PER_SHORT_TON,
        total,
        volume_ft3,
        volume_gal,
        n_loads: machine_loads,
        n_truckloads: truck_lb.map(|most| n_loads(total_lb, most)),
    }
}

/// Loads of at most `most` that `total` takes; 0 for nothing. A load over by a billionth is no further load.
pub fn n_loads(total: f64, most: f64) -> u64 {
    (total / most - 1e-9).ceil().max(0.0) as u64
}

/// Ground a pass is driven over, acres: the zones in which it spreads anything. `zones` are acres and whether it does.
pub fn trip_area_ac(zones: impl IntoIterator<Item = (f64, bool)>) -> f64 {
    zones.into_iter().filter(|(_, is_driven)| *is_driven).fold(0.0, |sum, (area_ac, _)| sum + area_ac)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rates::Supply;
    use proptest::prelude::*;

    fn product(percent: (Supply, f64), form: Form) -> Product {
        Product { short: "X".into(), name: "X".into(), percent: vec![percent], form, usd_lb: None }
    }

    #[test]
    fn a_load_of_the_handbook() {
        // agronomy section 12 [A]: 80 ac at 300 lb and 60 lb/ft3 are 24,000 lb, 400 ft3.
        let potash = product((Supply::K2o, 60.0), Form::Dry { lb_ft3: Some(60.0) });
        let machine = Machine { load_lb: Some(16_000.0), load_gal: Some(1_200.0), ..Machine::default() };
        let loads = product_loads(&potash, 80.0 * 300.0, &machine, Some(48_000.0));
        assert_eq!((loads.total_lb, loads.total_short_ton, loads.volume_ft3), (24_000.0, 12.0, Some(400.0)));
        assert_eq!((loads.n_loads, loads.n_truckloads, loads.volume_gal), (Some(2), Some(1), None));
    }

    #[test]
    fn a_liquid_is_counted_in_gallons_and_lime_in_short_tons() {
        // agronomy section 12 [A]: 150 lb N are 50.2 gal of UAN 28; here on 100 ac.
        let uan = product((Supply::N, 28.0), Form::Liquid { lb_gal: 10.67 });
        let machine = Machine { load_gal: Some(1_200.0), ..Machine::default() };
        let loads = product_loads(&uan, uan.product_lb_ac(Supply::N, 150.0) * 100.0, &machine, None);
        assert!((loads.volume_gal.unwrap() - 5_020.0).abs() < 5.0);
        assert_eq!((loads.n_loads, loads.volume_ft3), (Some(5), None));
        let lime = product((Supply::Lime, 69.9), Form::Dry { lb_ft3: None });
        let loads = product_loads(&lime, 114_000.0, &machine, None);
        assert_eq!((loads.total, loads.n_loads), (57.0, None));
    }

    #[test]
    fn loads_of_the_cab_sheet() {
        // interface 4d, an invented sheet: 17,238 lb are 3 loads of at most 8,000.
        assert_eq!(n_loads(17_238.0, 8_000.0), 3);
        assert_eq!((n_loads(16_000.0, 8_000.0), n_loads(0.0, 8_000.0), n_loads(1.0, 8_000.0)), (2, 0, 1));
        assert_eq!(trip_area_ac([(38.0, true), (91.2, false), (31.2, true)]), 69.2);
    }

    proptest! {
        #[test]
        fn loads_carry_everything_and_no_load_is_empty(total in 0.0..1e6_f64, most in 1.0..1e5_f64) {
            let n = n_loads(total, most) as f64;
            prop_assert!(n * most >= total * (1.0 - 1e-6) - 1e-6);
            prop_assert!(n == 0.0 || (n - 1.0) * most < total);
        }
    }
}
