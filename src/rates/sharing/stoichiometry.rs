//! What a meq on the exchange sites is in pounds an acre, of the cation and of the materials that move it.
//!
//! Arithmetic of equivalents alone: what a soil takes up, fixes or loses is another matter, so none of it is a rate.

use crate::chemistry::{Cation, Exchange};
use crate::units::Compound;

/// Grams of one equivalent of gypsum, CaSO4.2H2O: half of 172.17. Source: standard atomic masses (IUPAC 2021, from memory
/// \[M\]). Test: 23.3 % calcium and 18.6 % sulfur; 1,722 lb a meq in 2,000,000 lb of soil.
const GYPSUM_G_EQ: f64 = GYPSUM_G_MOL / 2.0;
const GYPSUM_G_MOL: f64 = CALCIUM_G_MOL + SULFUR_G_MOL + 6.0 * 15.999 + 4.0 * 1.008;
const CALCIUM_G_MOL: f64 = 40.078;
const SULFUR_G_MOL: f64 = 32.06;
/// Grams of one equivalent of calcium carbonate: half of 100.09. Source: as above. Test: 1 short ton in 2,000,000 lb of
/// soil is 2 meq/100 g (field notes \[A\]).
const CALCITE_G_EQ: f64 = (CALCIUM_G_MOL + 12.011 + 3.0 * 15.999) / 2.0;
/// lb K2O it takes to raise the soil test by 1 ppm, from and to. Source: four years of the build-up of Tri-State 1995
/// (Vitosh, Johnson and Mengel, E-2567), `4 (1 + 0.05 CEC)`: 5 at CEC 5, 10 at CEC 30 \[A(R2)\]. By stoichiometry alone it
/// is 2.41 in 2,000,000 lb; soils fix and buffer the rest.
pub const K2O_LB_PER_PPM: [f64; 2] = [5.0, 10.0];

/// Pounds an acre of a cation in `meq_100g` of `soil_lb_ac` pounds of soil.
///
/// # Check values
/// Magnesium 6.15 meq in 2,000,000 lb: 1,476 lb. One percent of CEC 8 as potassium: 62.4 lb (agronomy check 64, A(R2)).
pub fn cation_lb_ac(cation: Cation, meq_100g: f64, soil_lb_ac: f64) -> f64 {
    meq_100g * cation.ppm_per_meq() * soil_lb_ac / 1e6
}

/// Pure gypsum with as much calcium as `meq_100g`, lb/ac.
///
/// # Check values
/// 1 meq in 2,000,000 lb: 1,722 lb; in an acre-foot of 4,000,000 lb 1.7 short tons (USDA Handbook 60 \[R2\]).
pub fn gypsum_lb_ac(meq_100g: f64, soil_lb_ac: f64) -> f64 {
    // 1 meq/100 g are 10 equivalents in 1,000,000 g, so the gram of an equivalent counts ten ppm.
    meq_100g * 10.0 * GYPSUM_G_EQ * soil_lb_ac / 1e6
}

/// Calcium (with magnesium, where the lime has it) that `lb_cce_ac` pounds of lime, as calcium carbonate, bring; meq/100 g.
pub fn lime_meq_100g(lb_cce_ac: f64, soil_lb_ac: f64) -> f64 {
    lb_cce_ac / (10.0 * CALCITE_G_EQ * soil_lb_ac / 1e6)
}

/// K2O with as much potassium as `meq_100g`, lb/ac, by stoichiometry.
///
/// Check: 1 % of CEC 8 in 2,000,000 lb is 75.2 lb (agronomy check 64, A(R2)).
pub fn k2o_lb_ac(meq_100g: f64, soil_lb_ac: f64) -> f64 {
    cation_lb_ac(Cation::K, meq_100g, soil_lb_ac) / Compound::K2o.element_share()
}

/// K2O that raises the soil test as far as `meq_100g`, lb/ac, by what soils take in the field: from and to.
pub fn field_k2o_lb_ac(meq_100g: f64) -> [f64; 2] {
    K2O_LB_PER_PPM.map(|lb_ppm| meq_100g * Cation::K.ppm_per_meq() * lb_ppm)
}

/// Why magnesium is low; both may hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LowMagnesium {
    /// Under 5 % of the CEC.
    pub by_share: bool,
    /// Under 60 ppm.
    pub by_amount: bool,
}

/// Magnesium under this share of the CEC is low, percent.
pub const LOW_MG_PERCENT: f64 = 5.0;
/// Magnesium under this is low, ppm.
pub const LOW_MG_PPM: f64 = 60.0;

/// Whether magnesium is low enough that lime, where lime is due, had better bring some.
///
/// # Source
/// Penn State Agronomy Guide \[R\]: under 5 % of the CEC *or* under about 200 lb MgO/ac, which is 60 ppm \[A\].
pub fn low_magnesium(parts: &Exchange) -> Option<LowMagnesium> {
    let by_share = parts.saturation_percent(Cation::Mg).is_some_and(|percent| percent < LOW_MG_PERCENT);
    let by_amount = parts.mg_meq_100g * Cation::Mg.ppm_per_meq() < LOW_MG_PPM;
    (by_share || by_amount).then_some(LowMagnesium { by_share, by_amount })
}

/// Pounds of calcium carbonate one pound of sulfur neutralizes. Source: atomic masses \[A\]. Test: 3.12.
const CALCITE_LB_PER_LB_S: f64 = 2.0 * CALCITE_G_EQ / SULFUR_G_MOL;
/// Most elemental sulfur of one application, lb per 1,000 ft2, from and to. Source: Clemson Univ. EC 707 \[R\].
const SULFUR_LB_1000_FT2: [f64; 2] = [5.0, 10.0];
/// Square feet in an acre. Source: 4,840 yd2 of 9 ft2.
const FT2_PER_ACRE: f64 = 43_560.0;

/// Most elemental sulfur of one application, lb/ac, from and to; repeats two to three months apart at the least.
///
/// Check: 218 to 436 (agronomy check 62, Clemson \[R\]).
pub fn sulfur_most_lb_ac() -> [f64; 2] {
    SULFUR_LB_1000_FT2.map(|lb| lb * FT2_PER_ACRE / 1000.0)
}

/// Sulfur that free lime alone eats before the soil can become more acid, lb/ac.
///
/// Check: 2.5 % in 2,000,000 lb are 16,000 lb (agronomy check 63 \[A\]).
pub fn sulfur_for_lime_lb_ac(free_lime_percent: f64, soil_lb_ac: f64) -> f64 {
    free_lime_percent / 100.0 * soil_lb_ac / CALCITE_LB_PER_LB_S
}

/// Above this pH in water lime buffers whatever sulfur is spread. Source: Royal Horticultural Society, soil with free
/// chalk cannot realistically be made acid \[R\]; the figure is a heuristic.
const LIMED_ABOVE_PH: f64 = 7.5;

/// Sulfur would be eaten by lime.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("sulfur cannot make this ground acid: it holds free lime")]
pub struct SulfurRefused {
    /// What the lime alone would eat, lb/ac; `None` where it is not measured.
    pub eaten_lb_ac: Option<f64>,
}

/// Most elemental sulfur of one application to make ground more acid, lb/ac, from and to.
///
/// # Errors
/// [`SulfurRefused`] on free lime, measured or told by a pH above 7.5.
pub fn sulfur_lb_ac(
    ph_water: Option<f64>,
    free_lime_percent: Option<f64>,
    soil_lb_ac: f64,
) -> Result<[f64; 2], SulfurRefused> {
    let lime = free_lime_percent.filter(|percent| *percent > 0.0);
    if lime.is_some() || ph_water.is_some_and(|ph| ph > LIMED_ABOVE_PH) {
        return Err(SulfurRefused { eaten_lb_ac: lime.map(|percent| sulfur_for_lime_lb_ac(percent, soil_lb_ac)) });
    }
    Ok(sulfur_most_lb_ac())
}

#[cfg(test)]
mod tests {
    use super::*;

    const SLICE: f64 = 2e6;

    fn close(actual: f64, expected: f64, tolerance: f64) {
        assert!((actual - expected).abs() <= tolerance, "{actual} is not within {tolerance} of {expected}");
    }

    #[test]
    fn row_57_an_acre_foot_takes_1_7_short_tons_a_meq() {
        // agronomy check 57, USDA Handbook 60 [R2]: 1.7 t in 4,000,000 lb; half of it in 6 in.
        close(gypsum_lb_ac(1.0, 4e6) / 2000.0, 1.7, 0.05);
        close(gypsum_lb_ac(1.0, SLICE), 1722.0, 1.0);
    }

    #[test]
    fn row_61_gypsum_is_23_3_percent_calcium_and_18_6_sulfur() {
        // agronomy check 61 [A].
        close(100.0 * CALCIUM_G_MOL / GYPSUM_G_MOL, 23.3, 0.1);
        close(100.0 * SULFUR_G_MOL / GYPSUM_G_MOL, 18.6, 0.1);
    }

    #[test]
    fn rows_62_and_63_sulfur_is_capped_and_lost_on_free_lime() {
        // agronomy check 62, Clemson EC 707 [R]; check 63 [A].
        let [from, to] = sulfur_most_lb_ac();
        close(from, 218.0, 1.0);
        close(to, 436.0, 1.0);
        close(CALCITE_LB_PER_LB_S, 3.12, 0.005);
        let refused = sulfur_lb_ac(Some(8.0), Some(2.5), SLICE).unwrap_err();
        close(refused.eaten_lb_ac.unwrap(), 16_000.0, 500.0);
        assert_eq!(sulfur_lb_ac(Some(7.6), None, SLICE), Err(SulfurRefused { eaten_lb_ac: None }));
        assert_eq!(sulfur_lb_ac(Some(7.4), Some(0.0), SLICE), Ok([from, to]));
    }

    #[test]
    fn row_64_one_percent_of_the_cec_as_potassium() {
        // agronomy check 64, Mengel 780 A(R2): CEC 8.
        close(cation_lb_ac(Cation::K, 0.08, SLICE), 62.4, 0.1);
        close(k2o_lb_ac(0.08, SLICE), 75.2, 0.1);
    }

    #[test]
    fn a_potassium_share_costs_more_in_the_field_than_by_stoichiometry() {
        // Field notes 22 [A]: from 210 to 278 ppm, 68 ppm, are 163 lb K2O by stoichiometry, 340 to 680 in the field.
        let meq = 68.0 / Cation::K.ppm_per_meq();
        close(k2o_lb_ac(meq, SLICE), 163.0, 1.5);
        let [from, to] = field_k2o_lb_ac(meq);
        close(from, 340.0, 1e-6);
        close(to, 680.0, 1e-6);
        close(0.03 * 23.74 * Cation::K.ppm_per_meq(), 278.0, 0.5);
    }

    #[test]
    fn a_ton_of_lime_is_two_meq() {
        // Field notes 26 [A]: 1 short ton of calcium carbonate an acre = 2 meq/100 g in 2,000,000 lb.
        close(lime_meq_100g(2000.0, SLICE), 2.0, 0.01);
        close(lime_meq_100g(2000.0, 2.0 * SLICE), 1.0, 0.01);
    }

    #[test]
    fn low_magnesium_is_an_or_of_both_halves() {
        // Penn State [R]: under 5 % of the CEC or under 60 ppm.
        let parts = |mg, rest| Exchange {
            ca_meq_100g: 3.0,
            mg_meq_100g: mg,
            k_meq_100g: 0.2,
            na_meq_100g: None,
            rest_meq_100g: rest,
        };
        let low = |by_share, by_amount| Some(LowMagnesium { by_share, by_amount });
        // 0.6 meq are 72 ppm: 4.2 % of CEC 14.3, 12 % of CEC 5.
        assert_eq!(low_magnesium(&parts(0.6, 10.5)), low(true, false));
        // 0.4 meq are 48 ppm: 9.5 % of CEC 4.2.
        assert_eq!(low_magnesium(&parts(0.4, 0.6)), low(false, true));
        assert_eq!(low_magnesium(&parts(0.4, 10.0)), low(true, true));
        assert_eq!(low_magnesium(&parts(0.6, 1.0)), None);
    }
}
