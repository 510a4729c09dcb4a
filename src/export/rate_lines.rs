//! What goes where, and what it comes to against a flat rate: the lines of the summary, at most 80 columns.

use std::fmt::Write as _;

use super::Report;
use super::rate_units::PrintedUnit;
use super::summary::{WIDTH, wrapped};
use crate::rates::comparison::{Comparison, FedComparison, OFF_SHARE};
use crate::rates::loads::product_loads;
use crate::rates::rate_plan::PassPlan;
use crate::units::{M2_PER_ACRE, thousands};

/// The table of passes, one line a product, and the reason of each rate under its pass.
pub(super) fn pass_lines(text: &mut String, report: &Report<'_>) {
    text.push_str("What goes where: pounds, short tons or gallons of product, never of nutrient\n");
    let mut shown = 0;
    for plan in &report.plan.passes {
        if plan.number != shown {
            let window = plan.pass.window.as_ref().map_or(String::new(), |window| format!(", {window}"));
            let ground = report.plan.ground_of(plan);
            let head = format!("  {} {}{window}", plan.number, plan.pass.name);
            let numbers: String = ground.fed.iter().map(|fed| format!(" {:>6}", fed.zone)).collect();
            let room = 25_usize;
            if head.chars().count() < room {
                let _ = writeln!(text, "{head:<room$}{:>4}{numbers}{:>18}", ground.word(), "in all");
            } else {
                let _ = writeln!(text, "{head}");
                let _ = writeln!(text, "{:<room$}{:>4}{numbers}{:>18}", "", ground.word(), "in all");
            }
            shown = plan.number;
        }
        pass_line(text, report, plan);
    }
    text.push('\n');
    why_lines(text, report);
    left_over_lines(text, report);
    for note in &report.plan.notes {
        wrapped(text, note, "  ");
    }
    loads_lines(text, report);
    super::driven_lines::driven_lines(text, report);
}

fn pass_line(text: &mut String, report: &Report<'_>, plan: &PassPlan) {
    let printed = PrintedUnit::of(report.units(), plan.unit());
    let figures: String = plan.rates.iter().map(|rate| format!(" {:>6}", printed.rate_figure(rate.rate))).collect();
    let total = printed.total_text(plan.total());
    let line = format!("      {:<5}{:<18}{figures}{total:>18}", plan.product.short, printed.rate);
    if line.chars().count() <= WIDTH {
        let _ = writeln!(text, "{line}");
    } else {
        let _ = writeln!(text, "      {:<5}{:<18}{figures}", plan.product.short, printed.rate);
        let _ = writeln!(text, "{total:>WIDTH$}");
    }
}

/// One sentence a zone, product and pass.
fn why_lines(text: &mut String, report: &Report<'_>) {
    text.push_str("Why\n");
    for plan in &report.plan.passes {
        let word = report.plan.ground_of(plan).word();
        for rate in plan.rates.iter().filter(|rate| !rate.why.is_empty()) {
            let line = format!("{} {}, {word} {}: {}.", plan.number, plan.product.short, rate.zone, rate.why);
            wrapped(text, &line, "  ");
        }
    }
}

fn left_over_lines(text: &mut String, report: &Report<'_>) {
    let mut any = false;
    for (ground, fed) in report.plan.grounds.iter().flat_map(|ground| ground.fed.iter().map(move |fed| (ground, fed))) {
        for left in fed.season.iter().flat_map(|season| &season.left_over) {
            any = true;
            let season = fed.season.as_ref().expect("what is left over is of a season");
            let line = format!("{} {}: {}: {}.", ground.word(), fed.zone, season.left_over_text(left), left.why);
            wrapped(text, &line, "  ");
        }
    }
    if !any {
        wrapped(text, "Nothing is left over.", "  ");
    }
}

/// Loads and trips, where the machine's load is stated.
fn loads_lines(text: &mut String, report: &Report<'_>) {
    let Some(machine) = report.field_file.rates.machine else { return };
    let mut parts = Vec::new();
    for plan in &report.plan.passes {
        let loads = product_loads(&plan.product, plan.total_lb(), &machine, None);
        let Some(n_loads) = loads.n_loads else { continue };
        let volume = loads.volume_ft3.map_or(String::new(), |ft3| format!(", {} ft3", thousands(ft3, 0)));
        parts.push(format!("{} {} {n_loads}{volume}", plan.number, plan.product.short));
    }
    if !parts.is_empty() {
        wrapped(text, &format!("Loads: {}.", parts.join("; ")), "  ");
    }
}

/// The zoned programme against the flat one: product, trips, ground fed past or short of need, and what it comes to.
pub(super) fn comparison_lines(text: &mut String, report: &Report<'_>, comparison: &Comparison) {
    text.push_str("Against one flat rate, all years covered\n");
    let usd = |usd: Option<f64>| usd.map_or("-".to_owned(), |usd| format!("${}", thousands(usd, 0)));
    let _ = writeln!(text, "  {:<6}{:>22}{:>16}{:>16}{:>16}", "", "flat rate", "flat", "by zone", "difference");
    for line in &comparison.products {
        let unit = report.field_file.rates.products.iter().find(|product| product.short == line.short);
        let Some(unit) = unit.map(|product| PrintedUnit::of(report.units(), product.rate_unit())) else { continue };
        let stated = if line.flat_is_stated { "" } else { "mean " };
        let difference = line.flat_usd.zip(line.zoned_usd).map(|(flat, zoned)| zoned - flat);
        let _ = writeln!(
            text,
            "  {:<6}{:>22}{:>16}{:>16}{:>16}",
            line.short,
            format!("{stated}{}", unit.rate_text(line.flat_rate)),
            usd(line.flat_usd),
            usd(line.zoned_usd),
            difference.map_or("-".to_owned(), signed_usd),
        );
    }
    let trips = comparison.trips;
    let trip_line = |text: &mut String, name: &str, flat: f64, zoned: f64| {
        let (flat_text, zoned_text) = (usd(Some(flat)), usd(Some(zoned)));
        let _ = writeln!(text, "  {name:<28}{flat_text:>16}{zoned_text:>16}{:>16}", signed_usd(zoned - flat));
    };
    trip_line(text, "trips", trips.flat_usd, trips.zoned_usd);
    if let Some(sampling) = comparison.sampling_usd {
        trip_line(text, "sampling for zones", 0.0, sampling);
    }
    wrapped(text, &trip_words(comparison), "  ");
    wrapped(text, &headline(report, comparison), "  ");
    for fed in &comparison.fed {
        wrapped(text, &fed_words(report, fed), "  ");
    }
    if let Some(words) = past_limit_words(comparison) {
        wrapped(text, &words, "  ");
    }
    text.push('\n');
}

/// Ground fed past or short of its need, flat and by zone.
pub(super) fn fed_words(report: &Report<'_>, fed: &FedComparison) -> String {
    let ac = |ac: f64| report.area_text(ac * M2_PER_ACRE);
    format!(
        "{}: off the need by more than {:.0} %: flat over on {}, short on {}; by zone over on {}, short on {}.",
        fed.supply.name(),
        100.0 * OFF_SHARE,
        ac(fed.flat_ac[0]),
        ac(fed.flat_ac[1]),
        ac(fed.zoned_ac[0]),
        ac(fed.zoned_ac[1])
    )
}

/// What the flat rate would bring beyond the limit of a pass; `None` where no limit is set.
pub(super) fn past_limit_words(comparison: &Comparison) -> Option<String> {
    let lb = comparison.past_the_limit_k2o_lb?;
    Some(match lb > 0.0 {
        true => format!(
            "The flat rate would put {} lb K2O on ground beyond what one pass may bring there by your setting: a rule of thumb, \
             not a measurement.",
            thousands(lb, 0)
        ),
        false => "The flat rate keeps within what one pass may bring, on all ground.".to_owned(),
    })
}

/// What of the trips is due to zones.
pub(super) fn trip_words(comparison: &Comparison) -> String {
    let trips = comparison.trips;
    let mut words = format!(
        "Of the trips ${} for varying the rate, ${} for passes the flat programme does not drive.",
        thousands(trips.surcharge_usd, 0),
        thousands(trips.extra_pass_usd, 0)
    );
    if trips.n_unknown > 0 {
        words += &format!(" {} pass(es) have no stated cost and are not counted.", trips.n_unknown);
    }
    if comparison.sampling_usd.is_none() {
        words += " What sampling for zones costs is not stated and not counted.";
    }
    words
}

/// Whether zones pay, in one sentence; a loss is told as a loss.
pub(super) fn headline(report: &Report<'_>, comparison: &Comparison) -> String {
    let Some(saved) = comparison.saved_usd else {
        return "What zones save cannot be told: a price is not stated.".to_owned();
    };
    let per_area = match report.units() {
        crate::units::UnitSystem::Us => format!("${}/ac", thousands(saved.abs() / comparison.field_ac, 0)),
        crate::units::UnitSystem::Si => {
            format!("${}/ha", thousands(saved.abs() / (comparison.field_ac * M2_PER_ACRE / 10_000.0), 0))
        }
    };
    let how = if saved >= 0.0 { "Zones save" } else { "Zones cost" };
    let more = if saved >= 0.0 { "" } else { " more" };
    let mut words = format!("{how} ${}{more} in all ({per_area}).", thousands(saved.abs(), 0));
    let most = comparison
        .products
        .iter()
        .filter_map(|line| Some((line.flat_usd? - line.zoned_usd?, line)))
        .max_by(|a, b| a.0.total_cmp(&b.0));
    if let Some((most_usd, line)) = most.filter(|(most_usd, _)| *most_usd > 0.0) {
        words += &format!(" Most of the saving is {}: ${}.", line.name, thousands(most_usd, 0));
    }
    words
}

/// "+$670", "-$4,319", "$0".
pub(crate) fn signed_usd(usd: f64) -> String {
    let figure = thousands(usd.abs(), 0);
    match figure.as_str() {
        "0" => "$0".to_owned(),
        _ => format!("{}${figure}", if usd < 0.0 { "-" } else { "+" }),
    }
}
