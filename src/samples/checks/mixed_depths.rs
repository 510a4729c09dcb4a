//! Rows of several depths, or of none that was asked for.

use super::{CheckInput, counted, first_ten};
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::{DepthSetting, depth_span};

/// Rows of several depths, or of none that was asked for.
pub static MIXED_DEPTHS: Code = Code {
    name: "mixed-depths",
    checks: "that all rows mapped come from one depth of soil",
    why: "topsoil and subsoil differ more than one end of a field from the other; lime and K guides are made for one depth",
    example: "sample `012` has a row of 0 to 8 in and one of 8 to 24 in",
    mend: "name the depth to map: `take = [0, 8]` in `samples.depth_in`",
};

/// At most one error.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let DepthSetting::Columns { top, bottom, unit, take_in } = &input.settings.depth else { return Vec::new() };
    let depths = depths_of_sheet(input, top.as_deref(), bottom);
    let spell = |[top, bottom]: [f64; 2]| format!("{top} to {bottom} {}", unit.name());
    let take = take_in.map(|[top, bottom]| [top / unit.inches(), bottom / unit.inches()]);
    let is_taken = |found: [f64; 2]| take_in.is_some_and(|take| found.map(|depth| depth * unit.inches()) == take);
    let Some((most, _)) = depths.iter().rev().max_by_key(|(_, n_rows)| *n_rows) else { return Vec::new() };
    let spelled =
        first_ten(depths.iter().map(|(depth, n_rows)| format!("{} ({})", spell(*depth), counted(*n_rows, "row"))));
    let fault = |message: String| {
        vec![
            Diagnostic::error(&MIXED_DEPTHS, message)
                .at(input.key_place("samples.depth_in", input.settings.lines.depth))
                .with_help(format!("write `take = [{}, {}]` in `samples.depth_in`", most[0], most[1])),
        ]
    };
    match take {
        None if depths.len() > 1 => fault(format!("rows of {} depths: {}", depths.len(), spelled)),
        Some(depth) if !depths.iter().any(|(found, _)| is_taken(*found)) => {
            let mut found = fault(format!("no row has the depth asked for, {}", spell(depth)));
            found[0].notes.push(format!("the sheet has {}", spelled));
            found
        }
        _ => Vec::new(),
    }
}

/// Depths, in the unit of the sheet, with their numbers of rows, from the top down. Read from the sheet, because drafts of other depths than the one
/// asked for are already set aside.
fn depths_of_sheet(input: &CheckInput<'_>, top: Option<&str>, bottom: &str) -> Vec<([f64; 2], usize)> {
    let column = |header: &str| input.table.header.iter().position(|h| h == header);
    let (top, Some(bottom)) = (top.map(column), column(bottom)) else { return Vec::new() };
    let mut of_rows: Vec<[f64; 2]> = Vec::new();
    for row in &input.table.rows {
        let numbers = &input.settings.numbers;
        let number = |index: usize| numbers.reading(&row.cells[index]).map(|reading| reading.value);
        let span = match top {
            None => depth_span(&row.cells[bottom], numbers),
            Some(top) => top.and_then(number).zip(number(bottom)).map(|(top, bottom)| [top, bottom]),
        };
        of_rows.extend(span);
    }
    of_rows.sort_by(|[a, b], [c, d]| a.total_cmp(c).then(b.total_cmp(d)));
    of_rows.chunk_by(|a, b| a == b).map(|rows| (rows[0], rows.len())).collect()
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;
    use crate::samples::DepthUnit;

    const TWO_DEPTHS: &str = "ID,x,y,From,To,pH\n1,0,0,0,8,6\n1,0,0,8,24,7\n2,9,0,0,8.0,6\n";

    fn take(depth: Option<[f64; 2]>) -> Vec<Diagnostic> {
        let mut sheet = sheet(TWO_DEPTHS);
        sheet.settings.depth = DepthSetting::Columns {
            top: Some("From".to_owned()),
            bottom: "To".to_owned(),
            unit: DepthUnit::Inches,
            take_in: depth,
        };
        sheet.with_input(check)
    }

    #[test]
    fn several_depths_ask_which_to_map() {
        let found = take(None);
        assert_eq!(lines(&found), ["error: rows of 2 depths: 0 to 8 in (2 rows), 8 to 24 in (1 row)"]);
        assert_eq!(found[0].help.as_deref(), Some("write `take = [0, 8]` in `samples.depth_in`"));
        assert_eq!(found[0].place.as_ref().expect("has a place").to_string(), "field.toml:12, `samples.depth_in`");
    }

    #[test]
    fn a_depth_that_is_there_settles_it_and_one_that_is_not_is_an_error() {
        assert!(take(Some([8.0, 24.0])).is_empty());
        let found = take(Some([0.0, 7.0]));
        assert_eq!(lines(&found), ["error: no row has the depth asked for, 0 to 7 in"]);
        assert_eq!(found[0].notes, ["the sheet has 0 to 8 in (2 rows), 8 to 24 in (1 row)"]);
    }

    #[test]
    fn one_depth_needs_no_answer() {
        assert!(sheet("ID,x,y,From,To,pH\n1,0,0,0,8,6\n2,9,0,0,8,6\n").with_input(check).is_empty());
    }
}
