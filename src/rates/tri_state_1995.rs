//! Potassium by the Tri-State Fertilizer Recommendations of 1995.

use super::Crop;
use crate::samples::LabMethod;

/// Name in the field file.
pub const NAME: &str = "tri-state-1995";
/// What the guide is, for people.
pub const CITATION: &str =
    "Vitosh, Johnson and Mengel 1995, Tri-State Fertilizer Recommendations (E-2567 / AY-9-32), Indiana, Michigan, Ohio";
/// Sample depths it is used for, bottom of a core from the surface, in. Source: field notes, 6 to 8 accepted.
pub const DEPTH_BOTTOM_IN: [f64; 2] = [6.0, 8.0];
/// Extractant it is calibrated for.
pub const EXTRACTANT: LabMethod = LabMethod::AmmoniumAcetate;
/// K2O added to removal in a crop-year, lb/ac. Source: paraphrase of the Purdue/OSU fact sheet \[R2\]; ANR-96 \[R\].
/// The Michigan text leaves it out (65 instead of 85 lb for the same soil).
pub const ADDED_K2O_LB_AC: f64 = 20.0;
/// Ceiling of the maintenance range above the critical level, ppm. Source: MSU Extension text \[R2\].
const MAINTENANCE_PPM: f64 = 30.0;
/// Width of the draw-down range above it, ppm. Source: from memory \[M\].
const DRAW_DOWN_PPM: f64 = 20.0;

/// Where a soil stands against the critical level.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// Below the critical level: raise it in four years.
    BuildUp,
    /// At the critical level up to 30 ppm above: replace what is removed.
    Maintenance,
    /// 30 to 50 ppm above: less and less.
    DrawDown,
    /// More than 50 ppm above: nothing.
    None,
}

impl State {
    /// Words for tables.
    pub fn name(self) -> &'static str {
        match self {
            State::BuildUp => "build-up",
            State::Maintenance => "maintenance",
            State::DrawDown => "draw-down",
            State::None => "none needed",
        }
    }
}

/// What the guide says of one soil and crop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recommendation {
    /// K2O for one crop-year, lb/ac.
    pub k2o_lb_ac: f64,
    /// Critical level, ppm K.
    pub critical_ppm: f64,
    /// Where the soil stands.
    pub state: State,
}

/// Critical potassium level, ppm (ammonium acetate): `75 + 2.5 * CEC`.
///
/// # Source
/// MSU Extension text of the Tri-State guide \[R2\]. CEC 10 gives 100; 5, 20, 30 give 87.5, 125, 150.
pub fn critical_ppm(cec_meq_100g: f64) -> f64 {
    75.0 + 2.5 * cec_meq_100g
}

/// K2O for one crop-year.
///
/// # Units
/// `k_ppm` by ammonium acetate; `cec_meq_100g` meq/100 g; `yield_bu_ac` bu/ac; `added_k2o_lb_ac` is 20 here and 0 in the
/// Michigan text.
///
/// # Source
/// Build-up `(CL-STL)*(1+0.05*CEC) + removal + 20` \[R2\]; maintenance up to CL+30 \[R2\]; draw-down to CL+50 \[M\].
///
/// # Guarantees
/// Never negative; never rises with `k_ppm`.
pub fn recommend(k_ppm: f64, cec_meq_100g: f64, crop: Crop, yield_bu_ac: f64, added_k2o_lb_ac: f64) -> Recommendation {
    let critical_ppm = critical_ppm(cec_meq_100g);
    let upkeep = yield_bu_ac * crop.k2o_removed_lb_bu() + added_k2o_lb_ac;
    let above_ppm = k_ppm - critical_ppm;
    let (state, k2o_lb_ac) = if above_ppm < 0.0 {
        (State::BuildUp, -above_ppm * (1.0 + 0.05 * cec_meq_100g) + upkeep)
    } else if above_ppm <= MAINTENANCE_PPM {
        (State::Maintenance, upkeep)
    } else if above_ppm < MAINTENANCE_PPM + DRAW_DOWN_PPM {
        (State::DrawDown, upkeep * (1.0 - (above_ppm - MAINTENANCE_PPM) / DRAW_DOWN_PPM))
    } else {
        (State::None, 0.0)
    };
    Recommendation { k2o_lb_ac, critical_ppm, state }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn k2o(k_ppm: f64, cec: f64, yield_bu_ac: f64) -> f64 {
        recommend(k_ppm, cec, Crop::Corn, yield_bu_ac, ADDED_K2O_LB_AC).k2o_lb_ac
    }

    #[test]
    fn rows_14_and_15_critical_level() {
        // agronomy checks 14, 15, A(R2): MSU text of the Tri-State guide.
        for (cec, critical) in [(10.0, 100.0), (5.0, 87.5), (20.0, 125.0), (30.0, 150.0)] {
            assert_eq!(critical_ppm(cec), critical);
        }
    }

    #[test]
    fn rows_16_and_17_the_michigan_text_leaves_out_20_lb() {
        // agronomy check 16 [R2], MSU E2904 worked example: 65 lb; check 17 A(R2): 85 lb with the 20.
        assert!((recommend(91.0, 11.0, Crop::Corn, 175.0, 0.0).k2o_lb_ac - 65.0).abs() < 1.0);
        assert!((k2o(91.0, 11.0, 175.0) - 85.0).abs() < 1.0);
    }

    #[test]
    fn rows_18_to_21_build_up_maintenance_draw_down_none() {
        // agronomy checks 18, 19 A(R2) and 20, 21 A(M).
        assert!((k2o(75.0, 10.0, 150.0) - 98.0).abs() < 0.5);
        assert!((k2o(125.0, 20.0, 150.0) - 60.5).abs() < 0.5);
        assert!((k2o(125.0, 5.0, 150.0) - 37.8).abs() < 0.5);
        assert_eq!(k2o(150.0, 10.0, 150.0), 0.0);
    }

    #[test]
    fn computed_table_of_the_handbook_holds() {
        // agronomy 3.1, computed K2O for corn 180 bu [A on R2 formulas]; printed to whole pounds.
        let columns = [25.0, 50.0, 75.0, 100.0, 130.0, 150.0];
        let rows = [
            (5.0, [147.0, 116.0, 84.0, 69.0, 26.0, 0.0]),
            (10.0, [181.0, 144.0, 106.0, 69.0, 69.0, 0.0]),
            (20.0, [269.0, 219.0, 169.0, 119.0, 69.0, 69.0]),
            (30.0, [381.0, 319.0, 256.0, 194.0, 119.0, 69.0]),
        ];
        for (cec, expected) in rows {
            for (k_ppm, expected) in columns.into_iter().zip(expected) {
                assert!((k2o(k_ppm, cec, 180.0) - expected).abs() <= 0.75, "CEC {cec}, K {k_ppm}");
            }
        }
    }

    #[test]
    fn row_29_and_30_removal() {
        // agronomy checks 29, 30 [R2]: 150 bu corn 41 lb, 40 bu soybean 56 lb K2O.
        assert!((150.0 * Crop::Corn.k2o_removed_lb_bu() - 41.0).abs() < 1.0);
        assert!((40.0 * Crop::Soybean.k2o_removed_lb_bu() - 56.0).abs() < 1.0);
    }

    proptest! {
        #[test]
        fn never_negative_and_never_more_on_richer_ground(
            k in 0.0..400.0_f64, more in 0.0..100.0_f64, cec in 1.0..45.0_f64, goal in 0.0..300.0_f64,
        ) {
            let (poor, rich) = (k2o(k, cec, goal), k2o(k + more, cec, goal));
            prop_assert!(rich >= 0.0 && rich <= poor + 1e-9);
        }
    }
}
