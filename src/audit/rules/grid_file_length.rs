//! Grid files that are not as long as their grid.

use super::prelude::*;
use crate::audit::task_layers::template;
use crate::audit::task_set::zones;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "grid-file-length",
    checks: "that a grid's file has columns x rows bytes (type 1), or columns x rows x 4 x number of rates (type 2)",
    why: "a file one byte short shifts or loses cells without a word: no schema looks into it; by an unofficial summary of ISO 11783-10",
    example: "a stick pulled out too early",
    mend: "copy the file again; if it is so where it was made, have it written again",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for task in set.tasks() {
        let zones = zones(task);
        for grid in task.all("GRD") {
            let cells = grid.whole("E").zip(grid.whole("F")).and_then(|(a, b)| a.checked_mul(b));
            let a_cell = match grid.get("I") {
                Some("1") => Some(1),
                Some("2") => template(grid, &zones).map(|zone| 4 * zone.rates.len() as i64),
                _ => None,
            };
            let (Some(file), Some(cells), Some(a_cell)) = (set.grid_file(grid), cells, a_cell) else { continue };
            let wanted = cells.saturating_mul(a_cell);
            if file.bytes.len() as i64 != wanted {
                let message = format!("{} bytes; {wanted} expected for {cells} cells", file.bytes.len());
                let place = Place::File(file.shown.clone());
                found.push(
                    Diagnostic::error(&CODE, message).at(place).with_note(format!("see `{}`", set.place(grid, ""))),
                );
            }
        }
    }
    found
}
