//! Grids larger than every controller must take.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "grid-too-many-cells",
    checks: "that a grid has at most 350 columns and 350 rows",
    why: "no conforming controller has to take more, by an unofficial summary of ISO 11783-10",
    example: "400 columns by 120 rows",
    mend: "have it written with wider cells, or by half fields",
};

/// Columns and rows every conforming controller takes.
pub(super) const MOST: i64 = 350;

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for grid in grids(set) {
        for (key, noun) in [("E", "columns"), ("F", "rows")] {
            if let Some(n) = grid.whole(key).filter(|n| *n > MOST) {
                let message = format!("{n} {noun}; more than {MOST} are not promised by any controller");
                found.push(Diagnostic::warning(&CODE, message).at(set.place(grid, key)));
            }
        }
    }
    found
}
