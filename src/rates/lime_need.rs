//! Lime by a guide: worked out at the samples, mapped, and read off the map zone by zone.
//!
//! Buffer pH itself is never mapped: labs leave it out on neutral samples, so a map of the acid ones would lime all.

use super::guide::{
    EarlierLime, LimeNeed, LimeReading, LimeSoil, NoLime, SheetTests, TargetFault, doubted, target_fault,
    weakly_buffered,
};
use super::need::{GroundNeed, NO_FIGURE};
use super::need_settings::{LimeByGuide, NeedSource};
use super::{RateSettings, Supply};
use crate::diagnostic::{Code, Diagnostic, Place};
use crate::samples::{Analyte, Sample, SampleSet};
use crate::soil_surface::Variable;
use crate::units::LB_PER_SHORT_TON;
use crate::zones::ZoneSummary;

/// The pH to lime to is too high for the ground.
pub static LIME_TARGET: Code = Code {
    name: "lime-target",
    checks: "that no ground is limed beyond pH 7.0, and none that holds little beyond 6.5 without a warning",
    why: "too much lime ties up manganese, zinc and phosphorus, and sands pass the target fastest",
    example: "`target_ph = 7.2`",
    mend: "most field crops do well at 6.0 to 6.8; ask a certified adviser",
};
/// The amount of lime is to be doubted.
pub static LIME_DOUBTED: Code = Code {
    name: "lime-doubted",
    checks: "that lime is no more than one and a half times what the acidity of the sample takes up, and that the buffer \
             reads the ground truly",
    why: "on ground that holds little, lime buffers read too little; a slip of the buffer's name gives too much",
    example: "CEC 5: the buffer gives 0.6 short tons, a rule of thumb 2",
    mend: "look at both figures, choose, and test again in a year",
};
/// Messages of lime, for `holdground explain`.
pub static CODES: &[&Code] = &[&LIME_TARGET, &LIME_DOUBTED];

/// Lime at each sample.
#[derive(Debug, Clone, Default)]
pub struct LimeAtSamples {
    /// Short tons of the guide's lime an acre, one a sample; `None` = the guide gives no figure there.
    pub short_ton_ac: Vec<Option<f64>>,
    /// What must be told.
    pub told: Vec<Diagnostic>,
}

/// Lime at each sample by the guide asked for; `None` where no guide is asked for lime, or it lacks an answer.
///
/// `buffer_not_run_at_or_above_ph` is the lab's rule for blank buffers.
pub fn lime_at_samples(
    samples: &SampleSet,
    settings: &RateSettings,
    buffer_not_run_at_or_above_ph: Option<f64>,
) -> Option<LimeAtSamples> {
    let NeedSource::Lime(lime) = &settings.need(Supply::Lime)?.source else { return None };
    let guide = lime.choice.guide.as_ref()?;
    let rule = guide.lime.as_ref()?;
    let reading = guide.lime_reading(&SheetTests::of(samples))?;
    let mut at = LimeAtSamples::default();
    let (mut none, mut doubts): (Vec<(String, NoLime)>, Vec<String>) = (Vec::new(), Vec::new());
    for sample in &samples.samples {
        let soil = lime_soil(sample, reading, buffer_not_run_at_or_above_ph);
        match rule.need(&soil, lime.target_ph, lime.limed_depth_in) {
            Ok(need) => {
                if let Some(doubt) = doubt(&need, sample, lime.limed_depth_in) {
                    doubts.push(format!("sample `{}`: {doubt}", sample.id));
                }
                at.short_ton_ac.push(Some(need.short_ton_ac));
            }
            Err(reason) => {
                none.push((sample.id.clone(), reason));
                at.short_ton_ac.push(None);
            }
        }
    }
    if !none.is_empty() {
        at.told.push(no_figure(&none, samples.samples.len(), &guide.name));
    }
    if let Some((first, rest)) = doubts.split_first() {
        let message = format!("the lime of {} sample(s) is to be doubted", doubts.len());
        let told = Diagnostic::warning(&LIME_DOUBTED, message).with_note(first.clone());
        at.told.push(match rest.len() {
            0 => told,
            more => told.with_note(format!("and {more} more of this kind")),
        });
    }
    Some(at)
}

fn lime_soil(sample: &Sample, reading: LimeReading, not_run_from_ph: Option<f64>) -> LimeSoil {
    let value = |analyte| sample.reading(analyte).map(|reading| reading.map_value());
    let ph_water = value(Analyte::PhWater);
    let buffer_ph = value(Analyte::BufferPh).filter(|_| reading == LimeReading::BufferPh);
    let is_blank = buffer_ph.is_none() && reading == LimeReading::BufferPh;
    let by_rule = ph_water.zip(not_run_from_ph).is_some_and(|(ph, from)| ph >= from);
    LimeSoil {
        ph_water,
        buffer_ph,
        acidity_meq: value(Analyte::Acidity).filter(|_| reading == LimeReading::Acidity),
        not_run_by_rule: is_blank && by_rule,
        earlier: None::<EarlierLime>,
    }
}

fn doubt(need: &LimeNeed, sample: &Sample, limed_depth_in: f64) -> Option<String> {
    let acidity_meq_100g = sample.exchange.as_ref()?.rest_meq_100g;
    doubted(need, acidity_meq_100g, limed_depth_in)
}

fn no_figure(none: &[(String, NoLime)], n_samples: usize, guide: &str) -> Diagnostic {
    let names: Vec<String> = none.iter().take(5).map(|(id, _)| format!("`{id}`")).collect();
    let more = if none.len() > names.len() { format!(" and {} more", none.len() - names.len()) } else { String::new() };
    let message = format!("{guide} gives no lime figure for {} of {n_samples} samples", none.len());
    let mut reasons: Vec<String> = none.iter().map(|(_, reason)| reason.to_string()).collect();
    reasons.dedup();
    let told = Diagnostic::warning(&NO_FIGURE, message).with_note(format!("{}{more}", names.join(", ")));
    let told = reasons.iter().take(3).fold(told, |told, reason| told.with_note(reason.clone()));
    told.with_help("lime is mapped from the other samples; look whether these stand together")
}

/// Lime of one zone: the mean over its ground of what the samples need. `None` where it is not mapped.
pub(super) fn lime_need(
    lime: &LimeByGuide,
    zone: &ZoneSummary,
    field_file: &str,
    found: &mut Vec<Diagnostic>,
) -> Option<GroundNeed> {
    let guide = lime.choice.guide.as_ref()?;
    let rule = guide.lime.as_ref()?;
    let short_ton_ac = zone.mean(Variable::LimeNeed)?;
    let cec = zone.mean(Variable::Cec);
    let ph = zone.mean(Variable::Reading(Analyte::PhWater));
    match target_fault(lime.target_ph, cec) {
        Some(TargetFault::Refused(message)) => {
            found.push(Diagnostic::error(&LIME_TARGET, message).at(Place::File(field_file.to_owned())));
            return None;
        }
        Some(TargetFault::Warned(message)) => {
            found.push(Diagnostic::warning(&LIME_TARGET, message).at(Place::Zone(zone.zone)));
        }
        None => {}
    }
    if let Some(weak) = ph.zip(cec).and_then(|(ph, cec)| weakly_buffered(ph, lime.target_ph, cec)) {
        let message =
            format!("zone {}: the guide gives {short_ton_ac:.2} short tons of lime, but {}", zone.zone, weak.text());
        found.push(Diagnostic::warning(&LIME_DOUBTED, message).at(Place::Zone(zone.zone)));
    }
    let ph_words = ph.map_or(String::new(), |ph| format!(", pH {ph:.1}"));
    // What rounds to nothing is nothing: the map blends neutral samples with their acid neighbors.
    let ground_words = match short_ton_ac < LEAST_SHORT_TON_AC {
        true => format!("no lime needed to pH {}{ph_words}", lime.target_ph),
        false => format!(
            "{} to pH {} in {} in of soil, the mean over its ground{ph_words}, by {}",
            rule.basis.words(),
            lime.target_ph,
            lime.limed_depth_in,
            guide.name
        ),
    };
    let lb_ac = if short_ton_ac < LEAST_SHORT_TON_AC { 0.0 } else { short_ton_ac * LB_PER_SHORT_TON };
    Some(GroundNeed {
        zone: zone.zone,
        supply: Supply::Lime,
        years_lb_ac: vec![(1, lb_ac)],
        year_words: Vec::new(),
        ground_words,
        test_ppm: None,
        critical_ppm: None,
        mean_of_cells_lb_ac: None,
        below_critical_share: None,
        error_ppm: None,
    })
}

/// A mean need below this is no need, short tons/ac: half of the finest tenth the Oregon table prints.
const LEAST_SHORT_TON_AC: f64 = 0.05;
