//! The most one pass may bring to ground of a zone: potash by what the ground holds, lime by how it is put down.
//!
//! The potash cap is a design heuristic, not agronomy: no published limit of one pass by CEC is known, and the two
//! published trials of splitting potash found no yield in it.

use super::{HoldSettings, Limit, Pass, Placement};
use crate::fields::HoldingClass;
use crate::units::{FURROW_SLICE_LB_AC, LB_PER_SHORT_TON};

/// Potassium that fills 1 meq/100 g in 2,000,000 lb of soil, lb. Source: Mengel, Ohio State Univ., 780 lb \[R2\].
const K_LB_PER_MEQ: f64 = 780.0;
/// K2O in one pound of K. Source: Virginia Tech SPES-201 \[R\]: 1.2051.
const K2O_PER_K: f64 = 1.2051;

/// Ground of one zone, as the placing of a season needs it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroundToFeed {
    /// Zone, from 1.
    pub zone: usize,
    /// Mean CEC, meq/100 g; `None` = unknown.
    pub cec_meq_100g: Option<f64>,
    /// How much the ground holds, where it is known otherwise; `None` = by the CEC and the edges of the settings.
    pub holding: Option<HoldingClass>,
    /// The CEC is read too high, as by extractants that dissolve lime: it must not widen a cap.
    pub cec_is_overread: bool,
}

impl GroundToFeed {
    /// How much the ground holds; `None` where neither class nor CEC is known. A CEC read too high makes no ground
    /// that holds much.
    pub fn class(&self, hold: &HoldSettings) -> Option<HoldingClass> {
        match self.holding.or_else(|| self.cec_meq_100g.map(|cec| hold.class(cec))) {
            Some(HoldingClass::Much) if self.cec_is_overread => Some(HoldingClass::Some),
            class => class,
        }
    }

    /// CEC that counts for a cap, meq/100 g: one read too high counts as no more than the edge up to which ground
    /// holds little.
    pub fn counted_cec_meq_100g(&self, hold: &HoldSettings) -> Option<f64> {
        let [little, _] = hold.edges_meq_100g;
        self.cec_meq_100g.map(|cec| if self.cec_is_overread { cec.min(little) } else { cec })
    }
}

/// K2O that raises the potassium share of the CEC by `rise_percent` in the soil a pass reaches, lb/ac.
///
/// # Source
/// Exchange stoichiometry \[A\] on 780 lb K a meq/100 g in 2,000,000 lb \[R2\] and 1.2051 lb K2O a lb K \[R\]: 9.4 lb K2O a
/// meq/100 g and percent. Check: CEC 8, 1 %: 75.2 lb (agronomy check 64). It is not a fertilizer need.
pub fn k_rise_k2o_lb_ac(cec_meq_100g: f64, rise_percent: f64, placement_lb_ac: f64) -> f64 {
    K_LB_PER_MEQ * K2O_PER_K / 100.0 * cec_meq_100g * rise_percent * placement_lb_ac / FURROW_SLICE_LB_AC
}

/// Most potash a pass may bring to the ground, lb K2O/ac, and why: the lesser of the rise allowed and the ceiling;
/// `None` = neither is set, or the rise cannot be told without a CEC and there is no ceiling.
///
/// The soil counted is what the pass reaches, never the depth of the cores.
pub fn k2o_cap(ground: &GroundToFeed, pass: &Pass, hold: &HoldSettings) -> Option<(f64, Limit)> {
    let rise = hold.k_rise_percent_of_cec.zip(ground.counted_cec_meq_100g(hold)).map(|(percent, cec_meq_100g)| {
        let placement_lb_ac = pass.placement_lb_ac();
        let k2o_lb_ac = k_rise_k2o_lb_ac(cec_meq_100g, percent, placement_lb_ac);
        (k2o_lb_ac, Limit::KRise { percent, cec_meq_100g, placement_lb_ac, k2o_lb_ac })
    });
    let ceiling = hold.k2o_most_lb_ac.map(|k2o_lb_ac| (k2o_lb_ac, Limit::KCeiling { k2o_lb_ac }));
    match (rise, ceiling) {
        (Some(rise), Some(ceiling)) => Some(if ceiling.0 < rise.0 { ceiling } else { rise }),
        (rise, ceiling) => rise.or(ceiling),
    }
}

/// Most lime a pass may bring, lb of product as spread an acre, and why; `None` = no limit is set. Bands count as the
/// surface: they are not mixed with the soil.
pub fn lime_cap(pass: &Pass, hold: &HoldSettings) -> Option<(f64, Limit)> {
    let short_ton_ac = match pass.placement {
        Placement::Tilled => hold.lime_tilled_short_ton_ac,
        Placement::Surface | Placement::Band => hold.lime_surface_short_ton_ac,
    }?;
    Some((short_ton_ac * LB_PER_SHORT_TON, Limit::LimePass { placement: pass.placement, short_ton_ac }))
}

/// What must be said about the potash cap of the ground; `None` where nothing is unusual.
pub fn told_of_cap(ground: &GroundToFeed, hold: &HoldSettings) -> Option<String> {
    let percent = hold.k_rise_percent_of_cec?;
    let [little, _] = hold.edges_meq_100g;
    match ground.cec_meq_100g {
        None => Some(match hold.k2o_most_lb_ac {
            Some(most) => format!(
                "the CEC is not known: only the ceiling of {most:.0} lb K2O limits a pass, not the {percent} % of the CEC"
            ),
            None => format!("the CEC is not known, so the {percent} % of the CEC a pass may bring cannot be held"),
        }),
        Some(cec) if ground.cec_is_overread && cec > little => Some(format!(
            "the CEC of {cec:.1} is read too high on limy ground and does not widen what a pass may bring: it counts as {little}, up to which ground holds little"
        )),
        Some(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rates::TripCost;
    use proptest::prelude::*;

    fn hold(percent: f64, most: Option<f64>) -> HoldSettings {
        HoldSettings {
            edges_meq_100g: [8.0, 12.0],
            k_rise_percent_of_cec: Some(percent),
            k2o_most_lb_ac: most,
            lime_tilled_short_ton_ac: Some(2.0),
            lime_surface_short_ton_ac: Some(1.5),
            fall_n_on_little: false,
            no_build_up_to_cec: None,
        }
    }

    fn pass(placement: Placement, reaches_in: f64) -> Pass {
        Pass {
            name: "Before corn".into(),
            window: None,
            year: 1,
            products: vec![],
            placement,
            reaches_in,
            standing_crop: false,
            fall: false,
            holds: None,
            trip: TripCost::default(),
        }
    }

    fn ground(cec: Option<f64>, cec_is_overread: bool) -> GroundToFeed {
        GroundToFeed { zone: 1, cec_meq_100g: cec, holding: None, cec_is_overread }
    }

    fn cap(cec: f64, placement: Placement, reaches_in: f64, most: Option<f64>) -> f64 {
        k2o_cap(&ground(Some(cec), false), &pass(placement, reaches_in), &hold(2.0, most)).unwrap().0
    }

    #[test]
    fn row_64_one_percent_of_the_cec_in_2_million_lb() {
        // agronomy section 6 [A on 780, 1.2051] and check 64: K 31, 62, 94, 156 and K2O 37.6, 75, 113, 188 lb.
        for (cec, k_lb, k2o_lb) in [(4.0, 31.2, 37.6), (8.0, 62.4, 75.2), (12.0, 93.6, 112.8), (20.0, 156.0, 188.0)] {
            let k2o = k_rise_k2o_lb_ac(cec, 1.0, 2e6);
            assert!((k2o - k2o_lb).abs() < 0.1, "CEC {cec}: {k2o}");
            assert!((k2o / 1.2051 - k_lb).abs() < 0.1);
        }
        assert!((k_rise_k2o_lb_ac(1.0, 1.0, 2e6) - 9.4).abs() < 0.001);
    }

    #[test]
    fn caps_of_the_demo_fields_table() {
        // field notes 3, "2 % cap K2O (tilled / 3 in)": 96 / 43 on the ridge, 278 / 125 on the flat, ceiling 200.
        let (tilled, surface) = (Placement::Tilled, Placement::Surface);
        assert!((cap(5.11, tilled, 7.0, Some(200.0)) - 96.0).abs() < 0.5);
        assert!((cap(5.11, surface, 3.0, Some(200.0)) - 43.0).abs() < 0.5);
        assert!((cap(14.76, tilled, 7.0, None) - 278.0).abs() < 0.7);
        assert_eq!(cap(14.76, tilled, 7.0, Some(200.0)), 200.0);
        assert!((cap(14.76, surface, 3.0, Some(200.0)) - 125.0).abs() < 0.5);
        // field notes 1 C 17: the corner's CEC of 23.74 ("24") at 2 % would be 446 lb in one pass.
        assert!((cap(23.74, tilled, 7.0, None) - 446.0).abs() < 0.5);
    }

    #[test]
    fn a_cec_read_too_high_widens_no_cap_and_an_unknown_one_leaves_the_ceiling() {
        let (hold, pass) = (hold(2.0, Some(400.0)), pass(Placement::Tilled, 7.0));
        let overread = ground(Some(30.0), true);
        let (k2o, limit) = k2o_cap(&overread, &pass, &hold).unwrap();
        assert!((k2o - 150.4).abs() < 0.1);
        assert_eq!(
            limit.to_string(),
            "one pass may bring 150 lb K2O: 2 % of a CEC of 8.0 in the 2,000,000 lb it reaches"
        );
        assert!(told_of_cap(&overread, &hold).unwrap().contains("30.0 is read too high"));
        assert_eq!(overread.class(&hold), Some(HoldingClass::Some));
        let unknown = ground(None, false);
        assert_eq!(k2o_cap(&unknown, &pass, &hold).unwrap().1, Limit::KCeiling { k2o_lb_ac: 400.0 });
        assert!(told_of_cap(&unknown, &hold).unwrap().contains("not known"));
        assert_eq!(k2o_cap(&unknown, &pass, &HoldSettings { k2o_most_lb_ac: None, ..hold.clone() }), None);
        assert_eq!(unknown.class(&hold), None);
        assert_eq!(told_of_cap(&ground(Some(5.0), false), &hold), None);
    }

    #[test]
    fn lime_is_capped_as_spread_by_how_it_is_put_down() {
        // 2 t/ac at a time in Ohio [R2]; 1 to 2 t/ac left on the surface, Oregon EM 9057 [R].
        let hold = hold(2.0, None);
        assert_eq!(lime_cap(&pass(Placement::Tilled, 6.0), &hold).unwrap().0, 4000.0);
        assert_eq!(lime_cap(&pass(Placement::Surface, 3.0), &hold).unwrap().0, 3000.0);
        assert_eq!(lime_cap(&pass(Placement::Band, 3.0), &hold).unwrap().0, 3000.0);
    }

    proptest! {
        #[test]
        fn over_reading_never_widens_a_cap(
            cec in 0.5..40.0_f64, over in 0.0..40.0_f64, percent in 0.1..5.0_f64, reach in 1.0..12.0_f64,
        ) {
            let (hold, pass) = (hold(percent, Some(300.0)), pass(Placement::Tilled, reach));
            let cap = |cec, overread| k2o_cap(&ground(Some(cec), overread), &pass, &hold).unwrap().0;
            prop_assert!(cap(cec + over, true) <= cap(cec + over, false));
            prop_assert!(cap(cec + over, true) <= cap(cec.max(8.0), false) + 1e-9);
            prop_assert!(cap(cec, false) <= cap(cec + over, false) + 1e-9);
        }
    }
}
