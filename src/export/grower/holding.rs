//! Where the ground holds least.

use super::{Told, plain};
use crate::chemistry::Cation;
use crate::export::figure::scatter::scatter;
use crate::export::in_units::InUnits;
use crate::export::maps::LOOK_AT_MISSES;
use crate::export::page::{Block, Line, Table};
use crate::samples::Analyte;
use crate::soil_surface::{Quality, Variable};
use crate::zones::{HoldingClass, ZoneMap, ZoneSummary};

pub(super) fn blocks(told: &Told<'_>) -> Vec<Block> {
    let unit = Variable::Cec.unit_name(told.report.samples.basis);
    let mut blocks = vec![plain(format!(
        "CEC, cation exchange capacity, is how much the ground can hold on to, in {unit}: about 5 on sands, 30 to 40 on clays \
         (common practice, no source). Ground that holds little cannot keep much at once."
    ))];
    blocks.extend(map_of_zones(told));
    if let Some(zones) = told.report.zones {
        blocks.push(means(told, zones));
    }
    blocks.push(Block::Sure(told.both.told(|report| {
        let beyond_m2 = report.surfaces.extrapolated_share() * report.area_m2();
        let beyond = match beyond_m2 > 0.0 {
            true => format!(
                " {} lie beyond the outermost samples (slant lines): trust them less.",
                report.area_text(beyond_m2)
            ),
            false => String::new(),
        };
        format!("{}{beyond}", how_sure(report.surfaces.quality_of(Variable::Cec)))
    })));
    blocks.extend(told.report.zones.and_then(zones_tell).map(|words| Block::Sure(InUnits::same(words))));
    blocks
}

/// The map, its bar, and a line a zone.
pub(super) fn map_of_zones(told: &Told<'_>) -> Vec<Block> {
    let Some(zones) = told.report.zones else { return Vec::new() };
    let words = |zone: &ZoneSummary| {
        zone.holding.map_or_else(|| zone.name.clone().unwrap_or_default(), |holding| holding.words().to_owned())
    };
    let drawings = told.drawn.zones(("ground", "Map of the zones, zone 1 holds least"), zones, true, &words);
    vec![
        Block::Figure { caption: InUnits::same("Map 1. Where the ground holds least"), drawings },
        plain(
            "Pale ground with dots holds least. Rings are samples; a ring with a bar through it is one the map misses: look \
             at it.",
        ),
        Block::Lines(zone_lines(told, zones)),
    ]
}

/// What zones tell about a sample they were not drawn from.
fn zones_tell(zones: &ZoneMap) -> Option<String> {
    let verdict = zones.verdict();
    let row = verdict.row(verdict.drawn).filter(|_| zones.zones().len() > 1)?;
    let (told, error) = (row.efficiency?, row.standard_error?);
    Some(match told > 0.0 {
        true => format!(
            "by these zones a hidden sample is told {:.0} % better, in squares, than by one figure for the field, give or take \
             {:.0}.",
            100.0 * told,
            100.0 * error
        ),
        false => "by these zones a hidden sample is told no better than by one figure for the field.".to_owned(),
    })
}

fn how_sure(quality: Option<&Quality>) -> String {
    match quality.and_then(|quality| quality.error) {
        Some(error) => format!(
            "hide any sample and the map misses its CEC by {:.1} as a rule; the field's mean alone misses it by {:.1}.",
            error.error_rmse, error.mean_rmse
        ),
        None => "how far the map misses cannot be told from these samples.".to_owned(),
    }
}

fn zone_lines(told: &Told<'_>, zones: &ZoneMap) -> Vec<Line> {
    zones
        .zones()
        .iter()
        .map(|zone| {
            let words = told.both.told(|report| {
                let mut words = report.area_text(report.zone_area_m2(zone));
                if let Some(holding) = zone.holding {
                    words += &format!(", {}", holding.words());
                }
                if let Some(cec) = zone.mean(Variable::Cec) {
                    words += &format!(", CEC {cec:.1}");
                }
                words += ".";
                if zone.holding == Some(HoldingClass::Little) {
                    words += " Feed it in more, smaller passes.";
                }
                words
            });
            let name = match &zone.name {
                Some(name) => format!("Zone {} ({name}):", zone.zone),
                None => format!("Zone {}:", zone.zone),
            };
            Line { id: Some(format!("ground-zone-{}", zone.zone)), name: InUnits::same(name), words }
        })
        .collect()
}

/// What was measured, zone by zone.
fn means(told: &Told<'_>, zones: &ZoneMap) -> Block {
    // Shares of Ca, Mg and K have a question of their own.
    let columns = [
        ("CEC", Variable::Cec, 1),
        ("pH", Variable::Reading(Analyte::PhWater), 1),
        ("organic matter", Variable::Reading(Analyte::OrganicMatter), 1),
        ("P", Variable::Reading(Analyte::P), 0),
        ("K", Variable::Amount(Cation::K), 0),
    ];
    let shown =
        columns.into_iter().filter(|(_, variable, _)| zones.zones().iter().any(|zone| zone.mean(*variable).is_some()));
    let shown: Vec<_> = shown.collect();
    let named = |(name, variable, _): &(&str, Variable, usize)| match *name {
        "CEC" | "pH" => (*name).to_owned(),
        name => format!("{name} {}", variable.unit_name(told.report.samples.basis)),
    };
    let head = std::iter::once("zone".to_owned()).chain(shown.iter().map(named)).map(InUnits::same).collect();
    let rows = zones
        .zones()
        .iter()
        .map(|zone| {
            let figures = shown.iter().map(|(_, variable, decimals)| {
                zone.mean(*variable).map_or("-".to_owned(), |mean| format!("{mean:.decimals$}"))
            });
            std::iter::once(zone.zone.to_string()).chain(figures).map(InUnits::same).collect()
        })
        .collect();
    let caption = told.both.told(|report| format!("Means over the ground of each zone, {}", soil(report)));
    Block::Table(Table { caption, head, rows, has_sum: false })
}

fn soil(report: &crate::export::Report<'_>) -> String {
    report.samples_text().split_once(", ").map_or("depth unknown".to_owned(), |(_, depth)| depth.to_owned())
}

/// A ring a sample, each hidden in turn.
pub(super) fn measured_against_mapped(told: &Told<'_>) -> Option<Block> {
    let quality = told.report.surfaces.quality_of(Variable::Cec)?;
    let error = quality.error?;
    let pairs: Vec<(f64, f64, bool)> = quality
        .measured
        .iter()
        .zip(&quality.predicted)
        .filter(|(measured, mapped)| measured.is_finite() && mapped.is_finite())
        .map(|(measured, mapped)| (*measured, *mapped, (measured - mapped).abs() > LOOK_AT_MISSES * error.error_rmse))
        .collect();
    let unit = Variable::Cec.unit_name(told.report.samples.basis);
    let told_words = InUnits::same("Measured CEC across, mapped CEC up, a ring a sample");
    let drawing = scatter(&pairs, (&format!("CEC, {unit}"), 0), told_words, told.lettering);
    (pairs.len() > 2).then(|| Block::Figure {
        caption: InUnits::same("Measured against mapped: on the slanting line the map is right"),
        drawings: vec![drawing],
    })
}
