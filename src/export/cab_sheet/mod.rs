//! `cab-sheets.pdf`: one page a rate file, for whoever loads and spreads it: large letters, no meaning by color alone.

mod column;
mod sheet;

use super::cab_files::{lost_position, trips};
use super::ground_drawn::GroundDrawn;
use super::page::lettering::Lettering;
use super::page::{Paper, pdf};
use super::rate_units::PrintedUnit;
use super::screen_facts::ScreenFacts;
use super::stick::{StickField, lost_position_words, place_text, rate_text, unit_words};
use super::{OutputFile, Report};
use crate::field_file::{ControllerFormat, TaskSetPlace};
use crate::rates::loads::product_loads;
use crate::rates::rate_plan::PassPlan;
use crate::units::{UnitSystem, thousands};
use sheet::{CabSheet, Carried, Place};

/// `cab-sheets.pdf`.
pub fn cab_sheets(report: &Report<'_>, StickField { field, places, stems, .. }: &StickField) -> OutputFile {
    let lettering = Lettering::new();
    let drawn = GroundDrawn::of(report, &lettering);
    let paper = Paper::of(report.units());
    let mut pages = Vec::new();
    let passes = trips(report).into_iter().zip(&field.passes).zip(stems).zip(places).zip(1..);
    for ((((trip, pass), stems), places), index) in passes {
        for (nth, ((plan, product), stem)) in trip.iter().zip(&pass.products).zip(stems).enumerate() {
            let facts = ScreenFacts::of(product);
            let window = plan.pass.window.as_ref().map_or(String::new(), |window| format!(", {window}"));
            let of_products = match trip.len() {
                1 => String::new(),
                n => format!(" (product {} of {n})", nth + 1),
            };
            let sites = places.places.iter().filter_map(|place| {
                let site = report.boundary.work_crs().to_local((place.lon, place.lat))?;
                Some((site, place.name.to_string()))
            });
            let id = format!("cab-{}-{}", plan.number, plan.product.short);
            let sheet = CabSheet {
                head: format!("Pass {index} of {}: {}{window}{of_products}", field.passes.len(), plan.pass.name),
                field: match &report.field_file.field.issued {
                    Some(issued) => format!("{}, issued {issued}", report.field_file.field.name),
                    None => report.field_file.field.name.clone(),
                },
                product: plan.product.name.to_uppercase(),
                unit: format!("All rates are {} of PRODUCT an acre, not of nutrient.", unit_words(product.unit)),
                map: drawn.cab_map((&id, &plan.product.name), plan, sites.collect()),
                load: load(report, plan, stem),
                screen: screen(&facts, product),
                places: places
                    .places
                    .iter()
                    .map(|place| Place {
                        name: place.name,
                        at: place_text(place),
                        rate: rate_text(product, place.rates[nth]),
                    })
                    .collect(),
                not_told: !places.not_told.is_empty(),
                carried: carried(report, plan, product),
                in_all: in_all(report, plan, &facts, product),
                machine: machine(report, plan),
                lost_place: report
                    .field_file
                    .write
                    .controller
                    .iter()
                    .any(|format| format.is_task_set())
                    .then(|| lost_position_words(lost_position(report)).to_owned()),
                keep_off: match plan.kept_off.is_empty() {
                    true => "No ground is named to keep off. Wells, water, neighbors: local rules.".to_owned(),
                    false => format!("{}.", plan.kept_off.join("; ")),
                },
                cautions: report.holds(std::iter::once(&plan.product)).sentences(),
            };
            pages.extend(sheet.set(&paper, &lettering));
        }
    }
    let title = format!("Cab sheets, {}", field.name);
    OutputFile::new("cab-sheets.pdf", pdf(&title, &pages))
}

/// What to put where, and what it is called there.
fn load(report: &Report<'_>, plan: &PassPlan, stem: &str) -> Vec<String> {
    let write = &report.field_file.write;
    let mut lines = Vec::new();
    if write.controller.iter().any(|format| format.is_task_set()) {
        let what = match write.task_set_place {
            TaskSetPlace::Folder => "The folder TASKDATA to the top of an empty stick",
            TaskSetPlace::Zip => "What TASKDATA.zip holds to the top of an empty stick",
        };
        lines.push(format!("{what}; task \u{201c}{} {}\u{201d}", plan.number, plan.pass.name));
    }
    if write.controller.contains(&ControllerFormat::Shapefile) {
        let or = if lines.is_empty() { "" } else { "or " };
        lines.push(format!("{or}{stem} (.shp .shx .dbf .prj .cpg together), column RATE, {}", plan.unit().name()));
    }
    if write.controller.contains(&ControllerFormat::GeoJson) {
        lines.push(format!("or {stem}.geojson, RATE, {}", plan.unit().name()));
    }
    lines
}

fn screen(facts: &ScreenFacts, product: &super::iso11783::TaskProduct) -> Vec<String> {
    let (Some(least), Some(most)) = (facts.rates.first(), facts.rates.last()) else {
        return vec!["nothing: every rate is 0".to_owned()];
    };
    let unit = product.unit.name();
    let least_figure = rate_text(product, *least).replace(&format!(" {unit}"), "");
    let zero = if facts.has_zero { ", and ground with 0" } else { "" };
    let mut lines = match facts.rates.len() {
        1 => vec![format!("1 rate, {}{zero}", rate_text(product, *least))],
        n => vec![format!("{n} rates{zero}"), format!("least {least_figure}, most {}", rate_text(product, *most))],
    };
    lines.push(format!("total {} on {}", facts.total_text(product), facts.area_text()));
    lines
}

fn carried(report: &Report<'_>, plan: &PassPlan, product: &super::iso11783::TaskProduct) -> Vec<Carried> {
    let word = report.plan.ground_of(plan).word();
    let per_unit = plan.product.lb_per_unit();
    plan.rates
        .iter()
        .map(|rate| Carried {
            ground: format!("{word} {}", rate.zone),
            area: format!("{} ac", thousands(rate.area_ac, 1)),
            rate: match report.units() {
                UnitSystem::Us => rate_text(product, rate.rate),
                UnitSystem::Si => {
                    let printed = PrintedUnit::of(UnitSystem::Si, plan.unit());
                    format!("{} = {}", rate_text(product, rate.rate), printed.rate_text(rate.rate))
                }
            },
            total: PrintedUnit::of(UnitSystem::Us, plan.unit()).total_text(rate.total_lb / per_unit),
        })
        .collect()
}

fn in_all(report: &Report<'_>, plan: &PassPlan, facts: &ScreenFacts, product: &super::iso11783::TaskProduct) -> String {
    let mut words = format!("In all {}", facts.total_text(product));
    let machine = report.field_file.rates.machine.as_ref();
    let loads = machine.map(|machine| (machine, product_loads(&plan.product, plan.total_lb(), machine, None)));
    if let Some((machine, loads)) = loads
        && let Some(n) = loads.n_loads
    {
        let plural = if n == 1 { "" } else { "s" };
        let most = match (loads.volume_gal.is_some(), machine.load_lb, machine.load_gal) {
            (true, _, Some(gal)) => format!(" of at most {} gal", thousands(gal, 0)),
            (false, Some(lb), _) => format!(" of at most {} lb", thousands(lb, 0)),
            _ => String::new(),
        };
        words += &format!(" = {n} load{plural}{most}");
        if let Some(ft3) = loads.volume_ft3 {
            words += &format!(", {} ft3", thousands(ft3, 0));
        }
    }
    words + "."
}

fn machine(report: &Report<'_>, plan: &PassPlan) -> Option<String> {
    let travel = &report.field_file.rates.travel;
    let mut parts = Vec::new();
    parts.extend(travel.swath_ft.map(|ft| format!("swath {} ft", thousands(ft, 0))));
    parts.extend(travel.speed_mph.map(|mph| format!("{} mph", thousands(mph, 1).trim_end_matches(".0"))));
    parts.extend(travel.change_distance_ft().map(|ft| {
        format!("a new rate is reached after about {} ft; look-ahead stays with the controller", thousands(ft, 0))
    }));
    let within = report.as_driven.and_then(|driven| driven.of(plan)).and_then(|driven| driven.within_share());
    parts.extend(
        within.map(|share| format!("by simulation {:.0} % of the ground gets its rate within 10 %", 100.0 * share)),
    );
    (!parts.is_empty()).then(|| format!("{}.", parts.join("; ")))
}
