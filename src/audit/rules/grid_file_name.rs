//! How a grid names its file.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "grid-file-name",
    checks: "that a grid names its file `GRD` and five digits, without ending",
    why: "the published schema takes exactly these 8 characters",
    example: "`GRD1`, `GRD00001.bin`",
    mend: "name the file `GRD00001.bin` and write `G=\"GRD00001\"`",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for grid in grids(set) {
        let Some(name) = grid.get("G") else { continue };
        let digits = name.strip_prefix("GRD").unwrap_or("");
        if digits.len() != 5 || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
            let message = format!("`{name}` is not `GRD` and five digits");
            found.push(Diagnostic::error(&CODE, message).at(set.place(grid, "G")));
        }
    }
    found
}
