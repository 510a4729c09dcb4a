//! Sample, depth, day and use: which of several columns it is.

use std::collections::HashSet;

use super::fallow::{Fallow, fallow};
use super::name::Name;
use super::sheet_reading::SheetReading;
use super::values::N_ROWS;
use super::{DepthUnit, Found, Role};
use crate::samples::{NumberForm, depth_span};

/// Settles sample names, depths, days and use.
pub(super) fn settle_sheet_roles(sheet: &mut SheetReading) {
    settle_depths(sheet);
    settle_sample_id(sheet);
    settle_day(sheet);
    settle_status(sheet);
    keep_first(sheet, |role| matches!(role, Role::Cores));
}

fn columns_where(sheet: &SheetReading, is_it: impl Fn(&Role) -> bool) -> Vec<usize> {
    (0..sheet.readings.len()).filter(|column| is_it(&sheet.readings[*column].role)).collect()
}

/// Leaves all but the first column of a role aside.
fn keep_first(sheet: &mut SheetReading, is_it: impl Fn(&Role) -> bool) {
    let columns = columns_where(sheet, is_it);
    for later in columns.iter().skip(1) {
        let reason = format!("stands twice: `{}` is taken", sheet.header(columns[0]));
        sheet.set_aside(*later, reason, "by name");
    }
}

/// Depths are numbers; a unit printed at one holds for the other.
fn settle_depths(sheet: &mut SheetReading) {
    let is_depth = |role: &Role| matches!(role, Role::DepthTop(_) | Role::DepthBottom(_));
    for column in columns_where(sheet, is_depth) {
        if sheet.values[column].n_numbers == 0 && !sheet.table.rows.is_empty() {
            let is_blank = sheet.values[column].n_filled == 0;
            let is_bottom = matches!(sheet.readings[column].role, Role::DepthBottom(_));
            if is_bottom && !is_blank && are_spans(sheet, column) {
                continue;
            }
            let reason = if is_blank { "blank in every row" } else { "words, no depth" };
            sheet.set_aside(column, reason, "by its cells");
        }
    }
    keep_first(sheet, |role| matches!(role, Role::DepthTop(_)));
    // Beside a top, the bottom is the column that says so, not a plain `Depth`.
    let mut bottoms = columns_where(sheet, |role| matches!(role, Role::DepthBottom(_)));
    if bottoms.len() > 1 {
        let has_top = !columns_where(sheet, |role| matches!(role, Role::DepthTop(_))).is_empty();
        let plain = |c: &usize| matches!(sheet.senses[*c].words.to_lowercase().as_str(), "depth" | "sample depth");
        let taken = bottoms.iter().position(|c| plain(c) != has_top).unwrap_or(0);
        let taken = bottoms.remove(taken);
        for other in bottoms {
            let reason = format!("stands twice: `{}` is taken", sheet.header(taken));
            sheet.set_aside(other, reason, "by name");
        }
    }
    let columns = columns_where(sheet, is_depth);
    let printed: Vec<(usize, DepthUnit)> = columns.iter().filter_map(|c| Some((*c, depth_unit(sheet, *c)?))).collect();
    let [(from, unit)] = printed[..] else { return };
    let reason = format!("as `{}`", sheet.header(from));
    for column in columns.into_iter().filter(|column| *column != from) {
        if let Role::DepthTop(found) | Role::DepthBottom(found) = &mut sheet.readings[column].role {
            *found = Found::Inferred(unit, reason.clone());
        }
    }
}

/// Whether most cells are depths such as `0-6`.
fn are_spans(sheet: &SheetReading, column: usize) -> bool {
    let cells = sheet.table.rows.iter().take(N_ROWS).map(|row| row.cells[column].as_str());
    let cells: Vec<&str> = cells.filter(|cell| !cell.is_empty()).collect();
    2 * cells.iter().filter(|cell| depth_span(cell, &NumberForm::default()).is_some()).count() > cells.len()
}

fn depth_unit(sheet: &SheetReading, column: usize) -> Option<DepthUnit> {
    match &sheet.readings[column].role {
        Role::DepthTop(unit) | Role::DepthBottom(unit) => unit.value(),
        _ => None,
    }
}

/// One column names the samples: the one whose values are unique, else the one whose name says so best.
fn settle_sample_id(sheet: &mut SheetReading) {
    let rank = |sheet: &SheetReading, column: usize| match sheet.senses[column].name {
        Some(Name::SampleId(rank)) => rank,
        _ => u8::MAX,
    };
    let mut candidates = columns_where(sheet, |role| *role == Role::SampleId);
    // Not by order, so that moved columns stay what they are.
    candidates.sort_by_key(|column| (rank(sheet, *column), sheet.header(*column).to_lowercase()));
    let depths = columns_where(sheet, |role| matches!(role, Role::DepthTop(_) | Role::DepthBottom(_)));
    let is_unique = |column: &usize| candidates.len() > 1 && has_unique_names(sheet, *column, &depths);
    let unique: Vec<usize> = candidates.iter().copied().filter(is_unique).collect();
    let (taken, why) = match (candidates.as_slice(), unique.as_slice()) {
        ([], _) => return,
        ([only], _) => (*only, "by name"),
        (_, [only]) => (*only, "by name; of several, the only one with a name of its own in every row looked at"),
        ([best, ..], []) | (_, [best, ..]) => (*best, "by name"),
    };
    sheet.readings[taken].why = why.to_owned();
    let header = sheet.header(taken);
    for other in candidates.into_iter().filter(|column| *column != taken) {
        let reason = match sheet.senses[other].name {
            Some(Name::SampleId(3)) => format!("the lab's own number; `{header}` names the samples"),
            Some(Name::SampleId(2)) => format!("names the ground; `{header}` names the samples"),
            _ => format!("`{header}` names the samples"),
        };
        sheet.set_aside(other, reason, "by name");
    }
}

/// Whether no cell is blank and none stands twice at one depth, in the rows looked at.
fn has_unique_names(sheet: &SheetReading, column: usize, depths: &[usize]) -> bool {
    let mut seen = HashSet::new();
    sheet.table.rows.iter().take(N_ROWS).all(|row| {
        let cell = |column: Option<&usize>| column.and_then(|c| row.cells.get(*c)).map_or("", String::as_str);
        let name = cell(Some(&column));
        !name.is_empty() && seen.insert((name, cell(depths.first()), cell(depths.get(1))))
    })
}

fn settle_day(sheet: &mut SheetReading) {
    let mut days = columns_where(sheet, |role| *role == Role::SampledOn);
    days.sort_by_key(|column| match sheet.senses[*column].name {
        Some(Name::SampledOn(rank)) => (rank, *column),
        _ => (u8::MAX, *column),
    });
    for other in days.iter().skip(1) {
        let reason = format!("`{}` is the day of sampling", sheet.header(days[0]));
        sheet.set_aside(*other, reason, "by name");
    }
}

/// A crop column tells the use of the ground only where some ground lies fallow.
fn settle_status(sheet: &mut SheetReading) {
    for column in columns_where(sheet, |role| *role == Role::Status) {
        if sheet.senses[column].name != Some(Name::Crop) {
            continue;
        }
        let is_fallow = |cell: &String| fallow(cell) != Fallow::Unsaid;
        if sheet.table.rows.iter().any(|row| row.cells.get(column).is_some_and(is_fallow)) {
            sheet.readings[column].why = "by name; some ground lies fallow".to_owned();
        } else {
            sheet.set_aside(column, "the crop; no row says that ground lies fallow", "by its cells");
        }
    }
    let status = columns_where(sheet, |role| *role == Role::Status);
    let named = status.iter().copied().find(|column| sheet.senses[*column].name == Some(Name::Status));
    let Some(taken) = named.or(status.first().copied()) else { return };
    for other in status.into_iter().filter(|column| *column != taken) {
        let reason = format!("`{}` tells the use of the ground", sheet.header(taken));
        sheet.set_aside(other, reason, "by name");
    }
}

#[cfg(test)]
mod tests {
    use super::super::invented_sheet::{aside, understood};
    use super::*;

    #[test]
    fn the_sample_is_named_by_the_best_name_or_by_unlike_values() {
        let readings = understood("Lab No,Sample ID", &["1,A", "2,B"]);
        assert_eq!(readings[1].role, Role::SampleId);
        let readings = understood("Lab #,Field", &["1,North", "2,North"]);
        assert_eq!(readings[0].role, Role::SampleId);
        assert!(readings[0].why.contains("the only one"));
        assert!(aside(&readings[1]).contains("names the ground"));
        assert_eq!(understood("Lab #", &["1"])[0].role, Role::SampleId);
        // One name at two depths is no repeat.
        let readings = understood("Field,Samp ID,B Depth,E Depth", &["N,012,0,8", "N,012,8,24", "N,013,0,8"]);
        assert_eq!(readings[1].role, Role::SampleId);
    }

    #[test]
    fn depths_are_numbers_and_share_their_unit() {
        let readings = understood("Depth From (cm),Depth To", &["0,10"]);
        let inferred = Found::Inferred(DepthUnit::Centimeters, "as `Depth From (cm)`".to_owned());
        assert_eq!(readings[1].role, Role::DepthBottom(inferred));
        assert!(matches!(understood("Depth", &["0-6"])[0].role, Role::DepthBottom(_)));
        assert!(aside(&understood("Depth", &["topsoil"])[0]).contains("no depth"));
        // `Top` over names of fields is no depth.
        assert!(!aside(&understood("Top", &["North"])[0]).is_empty());
    }

    #[test]
    fn a_crop_tells_the_use_only_with_fallow_ground() {
        assert_eq!(understood("Crop", &["corn", "Brache"])[0].role, Role::Status);
        assert!(!aside(&understood("Crop", &["corn"])[0]).is_empty());
        assert!(!aside(&understood("Crop", &["corn, middle"])[0]).is_empty());
        let readings = understood("Date received,Date,Date sampled,Fertilizer 2024,lb K2O applied", &["a,b,c,d,1"]);
        let taken: Vec<&Role> = readings.iter().map(|reading| &reading.role).collect();
        assert_eq!(*taken[2], Role::SampledOn);
        assert!(!aside(&readings[0]).is_empty() && !aside(&readings[1]).is_empty());
        assert_eq!((taken[3], taken[4]), (&Role::Programme, &Role::Programme));
    }
}
