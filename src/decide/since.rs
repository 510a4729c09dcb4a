//! [`Since`]: what answers change against the file, in one line.

use std::collections::BTreeMap;

use crate::export::PrintedUnit;
use crate::pipeline::Outcome;
use crate::rates::rate_plan::PassPlan;
use crate::units::{M2_PER_ACRE, thousands};

/// Changes of rates told one by one; more are counted.
const TOLD: usize = 2;
/// Changes of a rate and of money below these are none: rounding of sums.
const SAME_RATE: f64 = 1e-9;
const SAME_USD: f64 = 0.5;

/// What answers change against the file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Since {
    /// "Since the file: zone 1 +10 lb/ac of POT in pass 3; +$48; 38.2 ac."
    pub words: String,
    /// Ground on which any rate changes, m2.
    pub changed_m2: f64,
    /// What product and trips cost more, USD, below 0 less; `None` where a price is unknown.
    pub more_usd: Option<f64>,
}

/// A rate that is another than the file's.
struct RateChange {
    zone: usize,
    words: String,
    weight: f64,
}

impl Since {
    /// Holds what the answers come to against what the file comes to; both over the same raster.
    pub fn between(file: &Outcome, now: &Outcome) -> Since {
        let (changes, changed_m2, same_zones) = changes(file, now);
        let more_usd = cost_usd(now).zip(cost_usd(file)).map(|(now, file)| now - file);
        let mut words = Vec::new();
        let count = |outcome: &Outcome| outcome.zones.as_ref().map_or(0, |zones| zones.zones().len());
        if count(file) != count(now) {
            words.push(format!("{} zones, not {}", count(now), count(file)));
        } else if !same_zones {
            words.push("other borders of zones".to_owned());
        }
        let n_samples = [file, now].map(|outcome| outcome.samples.samples.len());
        if n_samples[0] != n_samples[1] {
            words.push(format!("{} samples, not {}", n_samples[1], n_samples[0]));
        }
        let told = if same_zones { TOLD } else { 1 };
        let zone = |change: &RateChange| match same_zones {
            true => format!("zone {} {}", change.zone, change.words),
            false => format!("rates move by up to {}", change.words.trim_start_matches(['+', '-'])),
        };
        words.extend(changes.iter().take(told).map(zone));
        if changes.len() > told && same_zones {
            words.push(format!("{} more rates", changes.len() - told));
        }
        if let Some(usd) = more_usd.filter(|usd| usd.abs() >= SAME_USD) {
            let sign = if usd < 0.0 { "-" } else { "+" };
            words.push(format!("{sign}${}", thousands(usd.abs(), 0)));
        }
        if changed_m2 > 0.0 {
            words.push(now.report().area_text(changed_m2));
        }
        if words.is_empty() {
            words.push("no rate and no cost changes".to_owned());
        }
        Since { words: format!("Since the file: {}.", words.join("; ")), changed_m2, more_usd }
    }
}

/// Product of all passes, trips and sampling where they are known, USD.
fn cost_usd(outcome: &Outcome) -> Option<f64> {
    let product: f64 = outcome.plan.passes.iter().map(PassPlan::product_usd).sum::<Option<f64>>()?;
    let comparison = outcome.plan.comparison.as_ref();
    let beside = comparison.map_or(0.0, |c| c.trips.zoned_usd + c.sampling_usd.unwrap_or(0.0));
    Some(product + beside)
}

/// Changed rates, the weightiest first; the ground they lie on; whether the zones are the same ground.
fn changes(file: &Outcome, now: &Outcome) -> (Vec<RateChange>, f64, bool) {
    let (Some(file_zones), Some(now_zones)) = (&file.zones, &now.zones) else {
        return (Vec::new(), 0.0, file.zones.is_none() && now.zones.is_none());
    };
    let same_zones = file_zones.labels() == now_zones.labels();
    if file_zones.mask().grid() != now_zones.mask().grid() {
        return (Vec::new(), 0.0, same_zones);
    }
    let key = |plan: &PassPlan| (plan.number, plan.product.short.clone());
    let mut plans: BTreeMap<(usize, String), [Option<&PassPlan>; 2]> = BTreeMap::new();
    for plan in &file.plan.passes {
        plans.entry(key(plan)).or_default()[0] = Some(plan);
    }
    for plan in &now.plan.passes {
        plans.entry(key(plan)).or_default()[1] = Some(plan);
    }
    let n_cells = now_zones.labels().len();
    let mut is_changed = vec![false; n_cells];
    let mut found = Vec::new();
    for ((number, short), [before, after]) in plans {
        let Some(any) = after.or(before) else { continue };
        let labels = |outcome: &Outcome, plan: Option<&PassPlan>| {
            let zones = outcome.zones.as_ref()?;
            Some(outcome.report().rate_labels(plan?, zones).to_vec())
        };
        let (before_labels, after_labels) = (labels(file, before), labels(now, after));
        let rate = |plan: Option<&PassPlan>, label: usize| {
            plan.and_then(|plan| plan.rates.iter().find(|rate| rate.zone == label)).map_or(0.0, |rate| rate.rate)
        };
        // Pairs of a zone of the file and one of the answers that share a cell, with how their rates differ.
        let mut pairs: BTreeMap<(usize, usize), f64> = BTreeMap::new();
        for (cell, changed) in is_changed.iter_mut().enumerate() {
            let at = |labels: &Option<Vec<u16>>| labels.as_ref().map_or(0, |labels| usize::from(labels[cell]));
            let pair = (at(&before_labels), at(&after_labels));
            if pair == (0, 0) {
                continue;
            }
            let more = *pairs.entry(pair).or_insert_with(|| rate(after, pair.1) - rate(before, pair.0));
            *changed |= more.abs() > SAME_RATE;
        }
        let unit = PrintedUnit::of(now.report().units(), any.unit());
        for ((before_zone, after_zone), more) in pairs.into_iter().filter(|(_, more)| more.abs() > SAME_RATE) {
            let sign = if more < 0.0 { "-" } else { "+" };
            let words = format!("{sign}{} of {short} in pass {number}", unit.rate_text(more.abs()));
            let weight = more.abs() * any.product.lb_per_unit() * any.product.usd_lb.unwrap_or(1.0);
            let zone = if after_zone > 0 { after_zone } else { before_zone };
            found.push(RateChange { zone, words, weight });
        }
    }
    found.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    let n_changed = is_changed.iter().filter(|changed| **changed).count();
    let n_all = now_zones.labels().iter().filter(|label| **label > 0).count().max(1);
    let field_m2 = now.inputs.boundary.area_ac() * M2_PER_ACRE;
    (found, n_changed as f64 / n_all as f64 * field_m2, same_zones)
}
