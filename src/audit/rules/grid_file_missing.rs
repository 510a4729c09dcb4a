//! Grids without their file.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "grid-file-missing",
    checks: "that the file a grid names lies beside the main file",
    why: "without it the task has zones but no map; by an unofficial summary of ISO 11783-10",
    example: "only `TASKDATA.XML` was copied",
    mend: "copy the whole folder `TASKDATA`",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for grid in grids(set) {
        if let Some(stem) = grid.get("G").filter(|_| set.grid_file(grid).is_none()) {
            let message = format!("`{stem}.bin` is not there");
            found.push(Diagnostic::error(&CODE, message).at(set.place(grid, "G")));
        }
    }
    found
}
