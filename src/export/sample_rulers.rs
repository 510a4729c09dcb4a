//! Map 9: what the lab measured, a ruler a quantity, for whoever looks for the sample that does not fit.

use super::figure::tick_ruler::{TickRow, tick_rulers};
use super::in_units::InUnits;
use super::maps::capitalized;
use super::page::lettering::Lettering;
use super::page::{Block, Page, Paper, paginate, picture};
use super::{Report, map_png};
use crate::chemistry::Cation;
use crate::rates::Supply;
use crate::samples::Analyte;
use crate::soil_surface::Variable;

/// The picture; `None` where nothing is mapped.
pub(super) fn sample_rulers_png(report: &Report<'_>, field_line: &str) -> Option<Vec<u8>> {
    let rows: Vec<TickRow> = report
        .surfaces
        .quality
        .iter()
        .filter(|quality| !matches!(quality.variable, Variable::CaMgSaturation | Variable::LimeNeed))
        .map(|quality| {
            let variable = quality.variable;
            let unit = variable.unit_name(report.samples.basis);
            let label = capitalized(variable.label());
            TickRow {
                name: if unit == "pH" { label } else { format!("{label}, {unit}") },
                decimals: variable.decimals(),
                values: quality.measured.iter().copied().filter(|value| value.is_finite()).collect(),
                means: report
                    .zones
                    .map_or(&[][..], |zones| zones.zones())
                    .iter()
                    .filter_map(|zone| Some((zone.zone, zone.mean(variable)?)))
                    .collect(),
                levels: levels(report, variable),
            }
        })
        .filter(|row| !row.values.is_empty())
        .collect();
    if rows.is_empty() {
        return None;
    }
    let drawing = tick_rulers(&rows, InUnits::same("Rulers of every quantity measured"));
    let words = "A short tick a sample, a numbered dot the mean of a zone, a long tick a critical level of the guide. A tick \
                 that stands alone: look at that sample on the sheet and in the field.";
    let blocks = vec![
        Block::Heading(InUnits::same("Map 9. What did the lab measure?")),
        Block::Words(InUnits::same(field_line.replace("   ", ", "))),
        Block::Figure { caption: InUnits::same(""), drawings: vec![drawing] },
        Block::Words(InUnits::same(words)),
    ];
    let page = Page { title: String::new(), units: report.units(), blocks };
    let sheets = paginate(&page, &Paper::TELEPHONE, "", &Lettering::new());
    sheets.first().map(|sheet| picture(sheet, map_png::WIDTH_PX))
}

/// Unlike critical levels of the zones, least first.
fn levels(report: &Report<'_>, variable: Variable) -> Vec<f64> {
    let supply = match variable {
        Variable::Amount(Cation::K) => Supply::K2o,
        Variable::Reading(Analyte::P) => Supply::P2o5,
        _ => return Vec::new(),
    };
    let needs = report.plan.needs().filter(|need| need.supply == supply);
    let mut levels: Vec<f64> = needs.filter_map(|need| need.critical_ppm).collect();
    levels.sort_by(f64::total_cmp);
    levels.dedup();
    levels
}
