//! What each zone needs for the season, with its reason.

use super::own_need::own_needs;
use super::rate_plan::RateSettings;
use super::tri_state_1995::{self, ADDED_K2O_LB_AC, DEPTH_BOTTOM_IN, EXTRACTANT, State};
use crate::chemistry::Cation;
use crate::diagnostic::{Code, Diagnostic, Place};
use crate::samples::{Analyte, CecSource, LabMethod, SampleSet};
use crate::soil_surface::{SurfaceSet, Variable};
use crate::units::{SoilBasis, depth_text};
use crate::zones::{FittedLabels, PatchLimits, ZoneMap, ZoneSummary};

/// The guide was made for another soil test.
pub static GUIDE_DOES_NOT_FIT: Code = Code {
    name: "guide-does-not-fit",
    checks: "that the sheet's extractant, depth and soil basis are those the guide was calibrated with",
    why: "the same soil gives other numbers with another extractant or depth, and the guide's levels would be wrong",
    example: "potassium by Mehlich-3 and the guide tri-state-1995, which is made for ammonium acetate",
    mend: "choose a guide made for the test on the sheet, or enter an adviser's figures as `k2o_lb_ac`",
};
/// The guide needs an answer that is open or unknown.
pub static GUIDE_NEEDS_AN_ANSWER: Code = Code {
    name: "guide-needs-an-answer",
    checks: "that everything a guide asks for is answered",
    why: "a rate on a guessed depth, method, crop or goal would be a guess; zones need none of them",
    example: "`depth_in = \"unknown\"` with the guide tri-state-1995",
    mend: "ask the lab or the grower and answer it in the field file",
};
/// The number of stated figures is not the number of zones.
pub static FIGURES_AND_ZONES: Code = Code {
    name: "figures-and-zones",
    checks: "that lists with one figure a zone are as long as there are zones",
    why: "a figure meant for one zone would be used on another",
    example: "three goals in `goal_bu_ac`, but two zones",
    mend: "give one figure for all, or one a zone, zone 1 first; fix `zones.count`",
};
/// The zone does not fit this nutrient.
pub static ZONE_UNLIKE_INSIDE: Code = Code {
    name: "zone-unlike-inside",
    checks: "that the rate for the zone's mean is within a tenth of the mean of the rates its cells would get",
    why: "where one half is poor and the other rich, the mean is right for neither",
    example: "half at 60 and half at 196 ppm K need 166 and 0 lb; their mean of 128 ppm prescribes 75 everywhere",
    mend: "draw more zones, or zones from this nutrient (`zones.from`), or sample the zone again",
};
/// The need stands within the error of the sample mean.
pub static NEAR_A_COIN_TOSS: Code = Code {
    name: "near-a-coin-toss",
    checks: "that a zone's mean lies farther from the guide's critical level than its own error",
    why: "a little more or less in the soil test would change the decision",
    example: "K 138 ppm against a level of 141, with a zone error of 12",
    mend: "sample the zone again before buying for it",
};
/// Messages of this stage, for `holdground explain`.
pub static CODES: &[&Code] =
    &[&GUIDE_DOES_NOT_FIT, &GUIDE_NEEDS_AN_ANSWER, &FIGURES_AND_ZONES, &ZONE_UNLIKE_INSIDE, &NEAR_A_COIN_TOSS];

/// A zone's rate and its cells' mean rate may differ by this share before it is said. Source: heuristic.
const UNLIKE_SHARE: f64 = 0.10;

/// Yield goal.
#[derive(Debug, Clone, PartialEq)]
pub enum GoalYield {
    /// The same everywhere, bu/ac.
    Field(f64),
    /// One a zone, zone 1 first, bu/ac.
    Zones(Vec<f64>),
}

/// How the potassium need is found.
#[derive(Debug, Clone, PartialEq)]
pub enum KNeed {
    /// By the Tri-State guide of 1995.
    TriState1995,
    /// An adviser's figures, lb K2O/ac: one for all, or one a zone.
    Fixed(Vec<f64>),
}

/// Need of a zone.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneNeed {
    /// Zone, from 1.
    pub zone: usize,
    /// K2O for the season, lb/ac.
    pub k2o_lb_ac: f64,
    /// Why, with the numbers.
    pub why: String,
    /// Critical level, ppm; `None` for an adviser's figures.
    pub critical_ppm: Option<f64>,
    /// Mean over cells of what each cell alone would get, lb K2O/ac.
    pub mean_of_cells_k2o_lb_ac: Option<f64>,
    /// Share of the zone's cells below the critical level, 0 to 1.
    pub below_critical_share: Option<f64>,
}

/// What is needed where.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Needs {
    /// One a zone, or one a class of own need; empty without an answered need.
    pub zones: Vec<ZoneNeed>,
    /// Where rates follow classes of the need itself: the class of each cell, 0 = none.
    pub own_labels: Option<Vec<u16>>,
    /// What fitting those classes to the machine took.
    pub own_fitted: Option<FittedLabels>,
}

/// What each zone needs; nothing where no need is asked for, or the guide lacks an answer. `limits` is what patches of
/// classes of own need must have. `field_file` is named in faults.
///
/// # Errors
/// All reasons why the need cannot be worked out.
pub fn needs(
    samples: &SampleSet,
    surfaces: &SurfaceSet,
    zones: &ZoneMap,
    settings: &RateSettings,
    limits: &PatchLimits,
    field_file: &str,
) -> Result<(Needs, Vec<Diagnostic>), Vec<Diagnostic>> {
    let mut found = Vec::new();
    let Some(need) = &settings.need else { return Ok((Needs::default(), found)) };
    let count = zones.zones().len();
    let file_place = || Place::File(field_file.to_owned());
    let lists = [
        ("field.goal_bu_ac", matches!(&settings.goal, Some(GoalYield::Zones(list)) if list.len() != count)),
        ("need.k.k2o_lb_ac", matches!(need, KNeed::Fixed(list) if list.len() != 1 && list.len() != count)),
    ];
    for (key, is_wrong) in lists {
        if is_wrong {
            found.push(
                Diagnostic::error(&FIGURES_AND_ZONES, format!("`{key}` has not one figure for each of {count} zones"))
                    .at(file_place())
                    .with_note(match zones.verdict().drawn - count {
                        0 => format!("{count} zones were drawn"),
                        gone => format!(
                            "{} zones were drawn; {gone} had no patch a machine can follow and went to its neighbors",
                            zones.verdict().drawn
                        ),
                    })
                    .with_help(format!("give one figure, or {count}, zone 1 first")),
            );
        }
    }
    if !found.is_empty() {
        return Err(found);
    }
    if *need == KNeed::TriState1995 {
        let lacking = lacking(samples, settings);
        if !lacking.is_empty() {
            let message = format!(
                "no rates: {} not answered, and the guide {} needs it",
                lacking.join(", "),
                tri_state_1995::NAME
            );
            found.push(
                Diagnostic::warning(&GUIDE_NEEDS_AN_ANSWER, message)
                    .at(file_place())
                    .with_help("answer it in the field file; zones are drawn without"),
            );
            return Ok((Needs::default(), found));
        }
    }
    if let (KNeed::TriState1995, Some(n_classes), Some(crop), Some(goal)) =
        (need, settings.own_classes, settings.crop, &settings.goal)
    {
        let own = own_needs(surfaces, zones, crop, goal, n_classes, limits).map_err(|error| {
            vec![Diagnostic::error(&GUIDE_NEEDS_AN_ANSWER, format!("no classes of own need: {error}")).at(file_place())]
        })?;
        return Ok((Needs { zones: own.needs, own_labels: Some(own.labels), own_fitted: Some(own.fitted) }, found));
    }
    let needs: Vec<ZoneNeed> = zones
        .zones()
        .iter()
        .map(|zone| match need {
            KNeed::Fixed(list) => fixed_need(zone, list),
            KNeed::TriState1995 => guide_need(zone, surfaces, zones, settings, &mut found),
        })
        .collect();
    Ok((Needs { zones: needs, ..Needs::default() }, found))
}

/// What the guide needs and nobody has answered.
fn lacking(samples: &SampleSet, settings: &RateSettings) -> Vec<&'static str> {
    let answers = [
        ("the method of potassium is", samples.method(Analyte::K) == Some(LabMethod::Unknown)),
        ("the depth of the cores is", samples.depth_in.is_none()),
        ("the method of CEC is", samples.cec_source == CecSource::Lab(LabMethod::Unknown)),
        ("the crop is", settings.crop.is_none()),
        ("the yield goal is", settings.goal.is_none()),
    ];
    answers.into_iter().filter(|(_, is_lacking)| *is_lacking).map(|(what, _)| what).collect()
}

/// Why the sheet contradicts the guide asked for; nothing where no guide is asked for.
pub fn misfits(samples: &SampleSet, settings: &RateSettings, field_file: &str) -> Vec<Diagnostic> {
    if settings.need != Some(KNeed::TriState1995) {
        return Vec::new();
    }
    let guide = tri_state_1995::NAME;
    let mut reasons = Vec::new();
    match samples.method(Analyte::K) {
        Some(method) if method == EXTRACTANT || method == LabMethod::Unknown => {}
        Some(method) => reasons.push(format!(
            "potassium on the sheet is by {}, the guide {guide} needs {}",
            method.name(),
            EXTRACTANT.name()
        )),
        None => reasons.push(format!("the sheet has no potassium, which the guide {guide} needs")),
    }
    if let Some([top, bottom]) = samples.depth_in
        && !(top == 0.0 && (DEPTH_BOTTOM_IN[0]..=DEPTH_BOTTOM_IN[1]).contains(&bottom))
    {
        let depth = depth_text([top, bottom]);
        reasons.push(format!("cores from {depth}, the guide {guide} needs 0 to 6 .. 8 in"));
    }
    if samples.basis == SoilBasis::Volume {
        reasons.push("the sheet is by volume of soil, the guide is by mass (ppm)".to_owned());
    }
    match samples.cec_source {
        CecSource::Lab(LabMethod::Effective) => {
            reasons.push(format!("the sheet's CEC is effective CEC, the guide {guide} is made for CEC at pH 7"));
        }
        _ if samples.samples.iter().all(|sample| sample.exchange.is_none()) => {
            reasons.push(format!("the sheet gives no CEC, which the guide {guide} needs"));
        }
        _ => {}
    }
    let fault = |message: String| {
        Diagnostic::error(&GUIDE_DOES_NOT_FIT, message)
            .at(Place::File(field_file.to_owned()))
            .with_note(tri_state_1995::CITATION)
            .with_help("enter an adviser's figures as `need.k = { k2o_lb_ac = [..] }`")
    };
    reasons.into_iter().map(fault).collect()
}

fn fixed_need(zone: &ZoneSummary, list: &[f64]) -> ZoneNeed {
    let k2o_lb_ac = list.get(zone.zone - 1).copied().unwrap_or(list[0]);
    ZoneNeed {
        zone: zone.zone,
        k2o_lb_ac,
        why: format!("{k2o_lb_ac:.0} lb K2O as stated in the field file"),
        critical_ppm: None,
        mean_of_cells_k2o_lb_ac: None,
        below_critical_share: None,
    }
}

fn guide_need(
    zone: &ZoneSummary,
    surfaces: &SurfaceSet,
    zones: &ZoneMap,
    settings: &RateSettings,
    found: &mut Vec<Diagnostic>,
) -> ZoneNeed {
    let crop = settings.crop.expect("a guide without a crop was set aside");
    let goal = match settings.goal.as_ref().expect("a guide without a goal was set aside") {
        GoalYield::Field(goal) => *goal,
        GoalYield::Zones(list) => list[zone.zone - 1],
    };
    let k_variable = Variable::Amount(Cation::K);
    let (k_ppm, cec) = (zone.mean(k_variable).unwrap_or(f64::NAN), zone.mean(Variable::Cec).unwrap_or(f64::NAN));
    let told = tri_state_1995::recommend(k_ppm, cec, crop, goal, ADDED_K2O_LB_AC);
    let removal = goal * crop.k2o_removed_lb_bu();
    let upkeep = format!("{removal:.1} removal + {ADDED_K2O_LB_AC:.0}");
    let reason = match told.state {
        State::BuildUp => {
            format!("{:.1} lb a year toward the level + {upkeep}", told.k2o_lb_ac - removal - ADDED_K2O_LB_AC)
        }
        State::Maintenance => upkeep,
        State::DrawDown => {
            format!("{:.0} % of ({upkeep})", 100.0 * told.k2o_lb_ac / (removal + ADDED_K2O_LB_AC))
        }
        State::None => "more than 50 ppm above the level".to_owned(),
    };
    let why = format!(
        "{:.0} lb K2O for {goal:.0} bu {}: K {k_ppm:.0} ppm, level {:.0} at CEC {cec:.1} ({}): {reason}",
        told.k2o_lb_ac,
        crop.name(),
        told.critical_ppm,
        told.state.name(),
    );
    let (mut sum, mut n, mut n_below) = (0.0, 0_usize, 0_usize);
    for (cell, _) in zones.labels().iter().enumerate().filter(|(_, label)| usize::from(**label) == zone.zone) {
        let Some(parts) = surfaces.exchange_at(cell) else { continue };
        let k_ppm = parts.k_meq_100g * Cation::K.ppm_per_meq();
        let cell = tri_state_1995::recommend(k_ppm, parts.cec_meq_100g(), crop, goal, ADDED_K2O_LB_AC);
        sum += cell.k2o_lb_ac;
        n += 1;
        n_below += usize::from(cell.state == State::BuildUp);
    }
    let mean_of_cells = sum / n.max(1) as f64;
    let below_share = n_below as f64 / n.max(1) as f64;
    let larger = told.k2o_lb_ac.max(mean_of_cells);
    if larger > 0.0 && (told.k2o_lb_ac - mean_of_cells).abs() > UNLIKE_SHARE * larger {
        found.push(
            Diagnostic::warning(
                &ZONE_UNLIKE_INSIDE,
                format!(
                    "zone {} needs {:.0} lb K2O/ac by its mean, its cells {mean_of_cells:.0} by theirs: it does not fit this nutrient well",
                    zone.zone, told.k2o_lb_ac
                ),
            )
            .at(Place::Zone(zone.zone))
            .with_note(format!("{:.0} % of the zone lies below the level", 100.0 * below_share)),
        );
    }
    let rmse = surfaces.quality_of(k_variable).and_then(|quality| quality.error).map(|error| error.error_rmse);
    match rmse {
        Some(rmse) if zone.n_sites >= 3 => {
            let zone_error = rmse / (zone.n_sites as f64).sqrt();
            if (k_ppm - told.critical_ppm).abs() < zone_error {
                found.push(
                    Diagnostic::warning(
                        &NEAR_A_COIN_TOSS,
                        format!(
                            "zone {} is near a coin toss: K {k_ppm:.0} ppm against a level of {:.0}, give or take at least {zone_error:.0}",
                            zone.zone, told.critical_ppm
                        ),
                    )
                    .at(Place::Zone(zone.zone))
                    .with_help("sample it again before buying for it"),
                );
            }
        }
        _ => found.push(
            Diagnostic::warning(
                &NEAR_A_COIN_TOSS,
                format!(
                    "zone {} has {} place(s) with samples: how sure its mean is cannot be told",
                    zone.zone, zone.n_sites
                ),
            )
            .at(Place::Zone(zone.zone)),
        ),
    }
    ZoneNeed {
        zone: zone.zone,
        k2o_lb_ac: told.k2o_lb_ac,
        why,
        critical_ppm: Some(told.critical_ppm),
        mean_of_cells_k2o_lb_ac: Some(mean_of_cells),
        below_critical_share: Some(below_share),
    }
}
