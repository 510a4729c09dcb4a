//! Three lines: where the ground holds least, what to do about it, what it comes to.

use super::{Told, sentence};
use crate::export::in_units::InUnits;
use crate::export::rate_lines::headline;
use crate::rates::Supply;
use crate::rates::rate_plan::{FedGround, PassPlan};
use crate::soil_surface::Variable;

pub(super) fn lines(told: &Told<'_>) -> Vec<InUnits> {
    let mut money = money(told);
    if told.report.plan.comparison.is_some() && !told.unlike_inside().is_empty() {
        money = money
            .map(|words| format!("{words} That sum leans on ground that is unlike inside: see what it costs, below."));
    }
    if let Some(doubt) = doubt(told) {
        money = money.map(|words| format!("{words} {doubt}"));
    }
    vec![ground(told), what_to_do(told), money]
}

fn ground(told: &Told<'_>) -> InUnits {
    let Some(zones) = told.report.zones else {
        return InUnits::same("No zones were asked for: this page shows what the samples say.");
    };
    let all = zones.zones();
    let (Some(first), Some(last)) = (all.first(), all.last()) else { return InUnits::same("No zones.") };
    if all.len() == 1 {
        return told.both.told(|report| {
            let cec = first.mean(Variable::Cec).map_or(String::new(), |cec| format!(", CEC {cec:.1}"));
            format!("The whole field is one kind of ground: {}{cec}.", report.area_text(report.zone_area_m2(first)))
        });
    }
    if zones.verdict().told() == Some(false) {
        return InUnits::same(format!(
            "Not worth zoning: by the samples one rate is as good as these {} zones.",
            all.len()
        ));
    }
    told.both.told(|report| {
        let area = report.area_text(report.zone_area_m2(first));
        match first.mean(Variable::Cec).zip(last.mean(Variable::Cec)) {
            Some((least, most)) => format!(
                "Zone 1, {area}, holds {:.0} % of what zone {} holds: CEC {least:.1} against {most:.1}.",
                100.0 * least / most,
                last.zone
            ),
            None => format!("{} kinds of ground; zone 1 has {area}.", all.len()),
        }
    })
}

/// Passes that bring a supply to a zone.
fn n_passes(plans: &[PassPlan], zone: usize, supply: Supply) -> usize {
    let brings = |plan: &&PassPlan| {
        plan.product.bought_for() == Some(supply) && plan.rates.iter().any(|rate| rate.zone == zone && rate.rate > 0.0)
    };
    plans.iter().filter(brings).count()
}

fn what_to_do(told: &Told<'_>) -> InUnits {
    let plan = &told.report.plan;
    if !plan.has_rates() {
        let words = match plan.grounds.is_empty() {
            true => "No rates yet: what they need is not answered in the field file.",
            false => "No rate file: products, passes and machine are not all answered.",
        };
        return InUnits::same(words);
    }
    let zones: Vec<usize> =
        told.report.zones.map_or(Vec::new(), |zones| zones.zones().iter().map(|zone| zone.zone).collect());
    let mut words = Vec::new();
    for supply in [Supply::K2o, Supply::N, Supply::P2o5, Supply::Lime] {
        let counts: Vec<usize> = zones.iter().map(|zone| n_passes(&plan.passes, *zone, supply)).collect();
        let (Some(first), Some(most_rest)) = (counts.first(), counts.iter().skip(1).max()) else { continue };
        if first > most_rest && *first > 1 {
            let rest = match most_rest {
                0 => "none elsewhere".to_owned(),
                n => format!("elsewhere in {}", count(*n)),
            };
            words.push(format!("{} in {} smaller passes, {rest}", plain_name(supply), count(*first)));
        }
    }
    let trips: std::collections::BTreeSet<usize> = plan.passes.iter().map(|pass| pass.number).collect();
    let trips = match trips.len() {
        1 => "One pass in all.".to_owned(),
        n => format!("{} passes in all.", sentence(count(n))),
    };
    InUnits::same(match words.is_empty() {
        true => {
            format!("What each zone gets differs by zone and pass: see question {}. {trips}", question_of_passes(told))
        }
        false => format!("Zone 1 gets its {}. {trips}", words.join("; its ")),
    })
}

fn question_of_passes(told: &Told<'_>) -> usize {
    if told.sharings.is_empty() { 2 } else { 3 }
}

fn plain_name(supply: Supply) -> &'static str {
    match supply {
        Supply::K2o => "potash",
        Supply::N => "nitrogen",
        Supply::P2o5 => "phosphate",
        Supply::Lime => "lime",
        other => other.name(),
    }
}

fn count(n: usize) -> &'static str {
    ["no", "one", "two", "three", "four", "five", "six", "seven", "eight"].get(n).copied().unwrap_or("many")
}

fn money(told: &Told<'_>) -> InUnits {
    match &told.report.plan.comparison {
        Some(comparison) => told.both.told(|report| {
            let counted = match comparison.sampling_usd {
                Some(_) => "passes and sampling counted",
                None => "passes counted",
            };
            format!("{} Against your flat rates, {counted}.", headline(report, comparison))
        }),
        None if told.report.plan.has_rates() => {
            InUnits::same("What zones save or cost is not known: no flat rate to compare with is stated.")
        }
        None => InUnits::same("What it costs cannot be told without rates."),
    }
}

/// Zones whose rate hangs on the error of the map.
fn doubt(told: &Told<'_>) -> Option<String> {
    let fed = || told.report.plan.grounds.iter().flat_map(|ground| &ground.fed);
    let mut zones: Vec<usize> = fed().filter(|fed| is_coin_toss(fed)).map(|fed| fed.zone).collect();
    zones.sort_unstable();
    zones.dedup();
    let names: Vec<String> = zones.iter().map(usize::to_string).collect();
    match names.len() {
        0 => None,
        1 => Some(format!("Zone {} is near a coin toss: sample it before you buy for it.", names[0])),
        _ => Some(format!("Zones {} are near a coin toss: sample them before you buy for them.", names.join(" and "))),
    }
}

fn is_coin_toss(fed: &FedGround) -> bool {
    fed.needs.iter().any(|need| need.is_coin_toss())
}
