//! The place of a row, from two cells of the sheet.

use super::coordinate_text::{Axis, read_degrees, read_plane};
use super::draft::MISSING_CELL;
use super::settings::SheetCoordinates;
use crate::diagnostic::{Code, Diagnostic};
use crate::sheet::{Row, SampleTable};

/// A cell of a place that is no coordinate.
pub static UNREADABLE_COORDINATE: Code = Code {
    name: "unreadable-coordinate",
    checks: "that the two cells of a place hold one coordinate each: decimal degrees, degrees and minutes, or degrees, minutes and seconds, with a sign or one of N, S, E, W; easting and northing as plain numbers",
    why: "a coordinate read by guess puts the sample on other ground, and nobody would see it",
    example: "`41.0042, -93.5048` in one cell, `-93.5 E`, or `41 75.3 N` with 75 minutes",
    mend: "correct the cell; west and south carry a minus or their letter",
};

/// Coordinates of a row in the CRS of the sheet, offset added; `None` after saying why, or when the CRS is unknown.
///
/// `is_geographic` is whether the CRS counts in degrees; `None` where it cannot be told, which is reported elsewhere.
pub(super) fn read(
    (table, row): (&SampleTable, &Row),
    sheet: &SheetCoordinates,
    columns: (usize, usize),
    is_geographic: Option<bool>,
    decimal_comma: bool,
    faults: &mut Vec<Diagnostic>,
) -> Option<[f64; 2]> {
    let mut coordinate = |column: usize, axis: Axis| -> Option<f64> {
        let (text, header) = (row.cells[column].as_str(), table.header[column].as_str());
        if text.is_empty() {
            faults.push(
                Diagnostic::error(&MISSING_CELL, "the place is blank")
                    .at(table.place(row.line, &[header]))
                    .with_help("fill the cell, or delete the row"),
            );
            return None;
        }
        let read = match is_geographic? {
            true => read_degrees(text, axis, decimal_comma),
            false => read_plane(text, decimal_comma),
        };
        let fault = |found: super::coordinate_text::CoordinateFault| {
            Diagnostic::error(&UNREADABLE_COORDINATE, found.message)
                .at(table.place(row.line, &[header]))
                .with_help(found.help)
        };
        read.map_err(|found| faults.push(fault(found))).ok()
    };
    let (x, y) = (coordinate(columns.0, Axis::Lon), coordinate(columns.1, Axis::Lat));
    Some([x? + sheet.offset[0], y? + sheet.offset[1]])
}
