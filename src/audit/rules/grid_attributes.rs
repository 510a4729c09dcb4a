//! Sizes of a grid.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "grid-attributes",
    checks: "that cells are larger than 0 and smaller than 1 degree, columns and rows are at least 1, and the type is 1 or 2",
    why: "without them no reader knows where a rate lies; from the published schemas",
    example: "`C=\"20\"`: meters in the place of degrees",
    mend: "write cell sizes in degrees; 20 m are about 0.00018 degrees of latitude",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for grid in grids(set) {
        let mut fault = |key: &str, is_right: bool, expected: &str| {
            if let Some(text) = grid.get(key).filter(|_| !is_right) {
                let message = format!("`{text}` where {expected} is expected");
                found.push(Diagnostic::error(&CODE, message).at(set.place(grid, key)));
            }
        };
        for key in ["C", "D"] {
            let is_right = grid.number(key).is_none_or(|size| size > 0.0 && size < 1.0);
            fault(key, is_right, "a part of a degree");
        }
        for key in ["E", "F"] {
            fault(key, grid.whole(key).is_none_or(|n| n >= 1), "a number of cells");
        }
        fault("I", matches!(grid.get("I"), Some("1" | "2")), "1 (zone codes) or 2 (rates)");
    }
    found
}
