//! What no lime guide may be used for, and where its amount is to be doubted.

use crate::units::{FURROW_SLICE_LB_AC, soil_lb_ac};

use super::lime_need::LimeNeed;

/// Highest target on any ground. Source: field notes; report any zone whose planned target exceeds about 7.0.
pub const HIGHEST_TARGET_PH: f64 = 7.0;
/// Highest target without a warning on ground that holds little. Source: Delaware warns of sandy low-CEC ground \[R\]; the
/// figure: field notes, heuristic.
pub const HIGHEST_TARGET_ON_LITTLE_PH: f64 = 6.5;
/// Ground that holds little, for lime, meq/100 g. Source: as above.
pub const LITTLE_CEC_MEQ_100G: f64 = 5.0;
/// Below this CEC lime buffers read too little. Source: field notes, 5 to 7; Tri-State 2020 calls ground below 5 weakly
/// buffered \[R2\].
pub const WEAKLY_BUFFERED_CEC_MEQ_100G: f64 = 7.0;
/// meq/100 g of acidity that 1 short ton of calcium carbonate an acre takes up in 2,000,000 lb. Source: field notes \[A\]:
/// 2,000 lb of 50 g/eq in 2,000,000 lb.
const MEQ_PER_SHORT_TON: f64 = 2.0;
/// An amount above this many times what the acidity takes up is to be doubted. Source: field notes, heuristic.
const DOUBTED_ABOVE: f64 = 1.5;

/// A target that must not be planned, or not without a warning.
#[derive(Debug, Clone, PartialEq)]
pub enum TargetFault {
    /// No plan is made.
    Refused(String),
    /// A person must look.
    Warned(String),
}

/// What is wrong with a target pH on ground of a CEC (`None` = not known), if anything.
///
/// A table may go higher than a plan may: EM 9585 prints 20.2 short tons for pH 7.2.
pub fn target_fault(target_ph: f64, cec_meq_100g: Option<f64>) -> Option<TargetFault> {
    let is_little = cec_meq_100g.is_some_and(|cec| cec <= LITTLE_CEC_MEQ_100G);
    if !target_ph.is_finite() || target_ph > HIGHEST_TARGET_PH {
        return Some(TargetFault::Refused(format!(
            "target pH {target_ph} lies above {HIGHEST_TARGET_PH:.1}: no plan limes any ground that far"
        )));
    }
    (is_little && target_ph > HIGHEST_TARGET_ON_LITTLE_PH).then(|| {
        TargetFault::Warned(format!(
            "target pH {target_ph} lies above {HIGHEST_TARGET_ON_LITTLE_PH} on ground of CEC {:.1}: sands are easily limed too far",
            cec_meq_100g.unwrap_or(f64::NAN)
        ))
    })
}

/// Why an amount is to be doubted: it is more than one and a half times what the acidity takes up.
///
/// # Units
/// `acidity_meq_100g` of the same sample by its own buffer, meq/100 g; `limed_depth_in` in.
///
/// # Check values
/// 1 short ton of calcium carbonate = 2 meq/100 g in 2,000,000 lb; 3 meq to 7 in: up to 2.25 short tons stand.
pub fn doubted(need: &LimeNeed, acidity_meq_100g: f64, limed_depth_in: f64) -> Option<String> {
    let takes_up = acidity_meq_100g / MEQ_PER_SHORT_TON * soil_lb_ac(limed_depth_in) / FURROW_SLICE_LB_AC;
    let caco3 = need.short_ton_ac * need.basis.caco3_share();
    (caco3 > DOUBTED_ABOVE * takes_up).then(|| {
        format!(
            "{caco3:.2} short tons of calcium carbonate an acre are more than one and a half times the {takes_up:.2} that an \
             acidity of {acidity_meq_100g:.1} meq/100 g takes up"
        )
    })
}

/// What a rule of thumb gives where a buffer reads too little, beside the guide's amount; the user chooses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeaklyBuffered {
    /// Least, short tons an acre as spread.
    pub least_short_ton_ac: f64,
    /// Most, short tons an acre as spread.
    pub most_short_ton_ac: f64,
}

impl WeaklyBuffered {
    /// In words.
    pub fn text(self) -> String {
        format!(
            "weakly buffered ground: lime buffers read too little below a CEC of 5 to 7; a laboratory's rule of thumb gives \
             {:.1} to {:.1} short tons; choose, and test again in a year",
            self.least_short_ton_ac, self.most_short_ton_ac
        )
    }
}

/// The rule of thumb for weakly buffered ground; `None` on other ground, or where the target is met.
///
/// # Source
/// A laboratory's note \[R2\]: 1 short ton an acre for 0.3 to 0.4 pH, at most 2.
pub fn weakly_buffered(ph_water: f64, target_ph: f64, cec_meq_100g: f64) -> Option<WeaklyBuffered> {
    const PH_PER_SHORT_TON: [f64; 2] = [0.3, 0.4];
    const MOST_SHORT_TON_AC: f64 = 2.0;
    let lacking = target_ph - ph_water;
    if lacking.is_nan() || lacking <= 0.0 || cec_meq_100g.is_nan() || cec_meq_100g >= WEAKLY_BUFFERED_CEC_MEQ_100G {
        return None;
    }
    let [most, least] = PH_PER_SHORT_TON.map(|ph| (lacking / ph).min(MOST_SHORT_TON_AC));
    Some(WeaklyBuffered { least_short_ton_ac: least, most_short_ton_ac: most })
}
