//! The length a grid states for its file.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "grid-length-stated",
    checks: "that the length a grid states (`H`) is the length of its file",
    why: "a reader that relies on it stops too early, or refuses the file",
    example: "`H=\"24\"` for a file of 192 bytes",
    mend: "state the length of the file in bytes",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for grid in grids(set) {
        let (Some(stated), Some(file)) = (grid.whole("H"), set.grid_file(grid)) else { continue };
        if stated != file.bytes.len() as i64 {
            let message = format!("{stated} bytes stated, the file has {}", file.bytes.len());
            found.push(Diagnostic::error(&CODE, message).at(set.place(grid, "H")));
        }
    }
    found
}
