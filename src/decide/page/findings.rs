//! What was found, question by question: a small map or ruler and one or two sentences.

use maud::{Markup, html};

use super::super::pictures::{GroundBar, Ruler, patch_areas_m2, sample_map, short, zone_map};
use super::super::view::View;
use crate::chemistry::Cation;
use crate::coverage::ZoneOutlines;
use crate::export::{PrintedUnit, capitalized, machine_fit, panel_words, rate_colors, signed_usd};
use crate::rates::Supply;
use crate::rates::comparison::Comparison;
use crate::rates::need::GroundNeed;
use crate::rates::rate_plan::{LEFT_OVER, PassPlan};
use crate::samples::Analyte;
use crate::soil_surface::Variable;
use crate::units::{M2_PER_ACRE, thousands};

/// Side of a small map of the row of numbers of zones.
const SMALL: f64 = 150.0;

pub(super) fn of(view: &View<'_>, question: usize) -> Markup {
    match question {
        1 => samples(view),
        2 => counts(view),
        3 => patches(view),
        4 => needs(view),
        5 => passes(view),
        _ => money(view),
    }
}

fn samples(view: &View<'_>) -> Markup {
    let shown = view.shown;
    let left_out = &shown.inputs.field_file.samples.leave_out;
    let miss = shown.surfaces.quality_of(Variable::Cec).and_then(|quality| quality.error).map(|error| {
        let unit = Variable::Cec.unit_name(shown.samples.basis);
        format!(
            "Each sample hidden in turn: CEC missed by {:.1} {unit} (field mean alone: {:.1}).",
            error.error_rmse, error.mean_rmse
        )
    });
    html! {
        (sample_map(&shown.inputs.boundary, &view.field.samples, left_out))
        p { (shown.samples.samples.len()) " of " (view.field.samples.len()) " samples count. " (miss.unwrap_or_default()) }
        p.small { "Leave out what you know to be wrong, such as a core from an old pile; not what merely looks unusual." }
    }
}

fn counts(view: &View<'_>) -> Markup {
    let (shown, report) = (view.shown, view.shown.report());
    let Some(zones) = &shown.zones else { return html! { p { "The file asks for no zones." } } };
    let grid = zones.mask().grid();
    let panel = |consequence: &crate::rates::CountConsequence| {
        let candidate = zones.candidates().iter().find(|candidate| candidate.count == consequence.count)?;
        let outlines = ZoneOutlines::draw(grid, &candidate.labels, &shown.inputs.boundary, &[]).ok()?;
        let label = format!("Map of the field cut into {}", zones_text(consequence.count));
        let words = panel_words(&report, consequence, zones.verdict().row(consequence.count));
        let is_drawn = consequence.count == zones.verdict().drawn;
        Some(html! {
            li {
                (zone_map(&shown.inputs.boundary, &outlines, SMALL, &label))
                strong { (zones_text(consequence.count)) } @if is_drawn { " (shown)" } ". " (words.join(" "))
            }
        })
    };
    html! {
        ol.counts { @for panel in report.consequences.iter().filter_map(panel) { (panel) } }
        p { (capitalized(&zones.verdict().sentence())) "." }
    }
}

fn zones_text(count: usize) -> String {
    if count == 1 { "1 zone".to_owned() } else { format!("{count} zones") }
}

fn patches(view: &View<'_>) -> Markup {
    let (shown, report) = (view.shown, view.shown.report());
    let Some(outlines) = &shown.outlines else { return html! {} };
    let areas: Vec<f64> =
        patch_areas_m2(outlines, &shown.inputs.boundary).into_iter().map(|m2| m2 / M2_PER_ACRE).collect();
    let limit = shown.inputs.field_file.patches.smallest_ac;
    let marks: Vec<(f64, String)> =
        if limit > 0.0 { vec![(limit, format!("smallest {} ac", short(limit)))] } else { Vec::new() };
    let label = format!("Ruler of the areas of {} patches in acres", areas.len());
    let ruler = Ruler { label: &label, unit: "ac", ticks: &areas, marks: &marks, by_ratio: true };
    html! {
        (ruler.draw())
        p {
            "One tick a patch: " (areas.len()) " in all. "
            (machine_fit(&report).unwrap_or_else(|| "Every patch is one the machine can follow.".to_owned()))
        }
    }
}

fn needs(view: &View<'_>) -> Markup {
    let shown = view.shown;
    let plan = &shown.plan;
    let by_guide: Vec<&GroundNeed> =
        plan.needs().filter(|need| matches!(need.supply, Supply::K2o | Supply::P2o5 | Supply::Lime)).collect();
    if by_guide.is_empty() {
        return html! { p { "No need is worked out yet: the file names no guide and no figures, or an answer is open." } };
    }
    let of = |supply: Supply| by_guide.iter().filter(move |need| need.supply == supply);
    let ruler = |(supply, variable, name): (Supply, Variable, &str)| {
        // Zones of one level share a mark.
        let mut levels: Vec<(f64, Vec<String>)> = Vec::new();
        for (level, zone) in of(supply).filter_map(|need| Some((need.critical_ppm?, need.zone.to_string()))) {
            match levels.iter_mut().find(|(known, _)| *known == level) {
                Some((_, zones)) => zones.push(zone),
                None => levels.push((level, vec![zone])),
            }
        }
        let words = |(level, zones): (f64, Vec<String>)| {
            let word = if zones.len() == 1 { "zone" } else { "zones" };
            (level, format!("level in {word} {}: {level:.0}", zones.join(", ")))
        };
        let marks: Vec<(f64, String)> = levels.into_iter().map(words).collect();
        let ticks = shown.surfaces.quality_of(variable).map_or(Vec::new(), |quality| quality.measured.clone());
        let label = format!("Ruler of {name}, one tick a sample, with the level of each zone");
        (!marks.is_empty()).then(|| {
            let ruler = Ruler { label: &label, unit: "ppm", ticks: &ticks, marks: &marks, by_ratio: false };
            html! { p.small { (capitalized(name)) ", one tick a sample:" } (ruler.draw()) }
        })
    };
    let rulers = [
        (Supply::K2o, Variable::Amount(Cation::K), "potassium"),
        (Supply::P2o5, Variable::Reading(Analyte::P), "phosphorus"),
    ];
    html! {
        @for ruler in rulers.into_iter().filter_map(ruler) { (ruler) }
        details open {
            summary { "What each zone needs, and why" }
            ul.small {
                @for need in &by_guide { li { "Zone " (need.zone) ", " (need.supply.name()) ": " (need.why()) "." } }
            }
        }
        p.small {
            "A guide holds for its region, soil test, depth and crop. Only guides that fit the sheet are listed; \
             `holdground guides` prints the page of each."
        }
    }
}

fn passes(view: &View<'_>) -> Markup {
    let (shown, report) = (view.shown, view.shown.report());
    if !shown.plan.has_rates() {
        return html! { p { "No pass spreads anything yet: products, passes and machine are needed." } };
    }
    let bar = |plan: &PassPlan| {
        let unit = PrintedUnit::of(report.units(), plan.unit());
        let all: f64 = plan.rates.iter().map(|rate| rate.area_ac).sum();
        let pieces = plan.rates.iter().zip(rate_colors(plan)).map(|(rate, color)| {
            (rate.area_ac / all.max(1e-9), color, format!("{}: {}", rate.zone, unit.rate_figure(rate.rate)))
        });
        let title = format!("{} {}: {}, {}", plan.number, plan.pass.name, plan.product.name, unit.rate);
        let total = unit.total_text(plan.total());
        (GroundBar { title, pieces: pieces.collect() }, total)
    };
    let bars: Vec<(GroundBar, String)> = shown.plan.passes.iter().map(bar).collect();
    let left: Vec<&str> =
        shown.warnings.iter().filter(|told| *told.code == LEFT_OVER).map(|told| told.message.as_str()).collect();
    html! {
        p.small { "Zone and rate of product, as long as its share of the ground:" }
        @for (bar, total) in &bars { (bar.draw()) p.small { "In all " (total) "." } }
        @if left.is_empty() { p { "Nothing is left over." } }
        @for left in left { p { (capitalized(left)) "." } }
        p.small { "The limits of one pass are a rule of thumb and yours to set, not a measurement." }
    }
}

fn money(view: &View<'_>) -> Markup {
    match &view.shown.plan.comparison {
        Some(comparison) => against_flat(comparison),
        None => {
            let line = |plan: &PassPlan| (plan.number, plan.product.name.clone(), plan.product_usd());
            let lines: Vec<(usize, String, Option<f64>)> = view.shown.plan.passes.iter().map(line).collect();
            html! {
                ul { @for (number, name, usd) in lines { li { "Pass " (number) ", " (name) ": " (usd_text(usd)) } } }
                p.small { "State flat rates below to hold the zones against one rate." }
            }
        }
    }
}

fn against_flat(comparison: &Comparison) -> Markup {
    let rows = comparison.cost_lines();
    let (flat, zoned) = rows.last().map_or((None, None), |sum| (sum.flat_usd, sum.zoned_usd));
    let marks: Vec<(f64, String)> = [("one flat rate", flat), ("by zone", zoned)]
        .into_iter()
        .filter_map(|(words, usd)| Some((usd?, format!("{words}: ${}", thousands(usd?, 0)))))
        .collect();
    let ruler =
        Ruler { label: "Ruler of what it costs in all", unit: "USD", ticks: &[0.0], marks: &marks, by_ratio: false };
    let verdict = comparison.saved_usd.map(|usd| match usd {
        usd if usd < 0.0 => format!("Zones cost ${} more in all.", thousands(-usd, 0)),
        usd => format!("Zones save ${} in all.", thousands(usd, 0)),
    });
    html! {
        (ruler.draw())
        table {
                thead { tr { th scope="col" { "all years" } th scope="col" { "flat" } th scope="col" { "by zone" } th scope="col" { "difference" } } }
                tbody {
                    @for row in &rows {
                        tr { th scope="row" { bdi { (row.of.words()) } } td { (usd_text(row.flat_usd)) } td { (usd_text(row.zoned_usd)) }
                            td { (row.difference_usd().map_or("-".to_owned(), signed_usd)) } }
                    }
                }
        }
        p { (verdict.unwrap_or_else(|| "A price or the cost of a trip is not known: no sum is told.".to_owned())) }
    }
}

fn usd_text(usd: Option<f64>) -> String {
    usd.map_or("not known".to_owned(), |usd| format!("${}", thousands(usd, 0)))
}
