//! Cells with a zone code that is not defined.

use super::prelude::*;
use crate::audit::task_set::zones;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "grid-cell-undefined",
    checks: "that every cell of a grid of type 1 holds the code of a treatment zone of its task",
    why: "what a controller orders there is up to it: 0, the default, or the last rate; no schema looks into the file; by an unofficial summary of ISO 11783-10",
    example: "a cell of code 7 where zones 0 to 3 are defined",
    mend: "define the zone, or have the grid written again",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for task in set.tasks() {
        let known: Vec<u8> = zones(task).iter().filter_map(|zone| zone.code).collect();
        for grid in task.all("GRD").filter(|grid| grid.get("I") == Some("1")) {
            let Some(file) = set.grid_file(grid) else { continue };
            let n_cols = grid.whole("E").and_then(|n| usize::try_from(n).ok()).unwrap_or(0).max(1);
            let mut counts = [0_usize; 256];
            let mut first = [None; 256];
            for (index, code) in file.bytes.iter().enumerate() {
                let code = usize::from(*code);
                counts[code] += 1;
                first[code].get_or_insert(index);
            }
            for code in (0..=255_u8).filter(|code| counts[usize::from(*code)] > 0 && !known.contains(code)) {
                let index = first[usize::from(code)].unwrap_or(0);
                let message = format!(
                    "{} of {} cells hold code {code}, which no zone has",
                    counts[usize::from(code)],
                    file.bytes.len()
                );
                let place =
                    Place::Cell { file: file.shown.clone(), column: index % n_cols + 1, row: index / n_cols + 1 };
                found.push(Diagnostic::error(&CODE, message).at(place));
            }
        }
    }
    found
}
