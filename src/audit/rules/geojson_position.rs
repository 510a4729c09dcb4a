//! Positions that are no pair of numbers.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "geojson-position",
    checks: "that every position is two or three numbers (RFC 7946, 3.1.1)",
    why: "`null` is what some writers make of a coordinate that is no number; the ring then has a hole in its border",
    example: "`[null, 41.5]`",
    mend: "correct or delete the corner",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(file) = geo_json(of) else { return Found::new() };
    let mut found = Found::new();
    for (index, feature) in file.features.iter().enumerate() {
        if let Some(text) = &feature.bad_position {
            let message = format!("`{text}` is no position");
            found.push(Diagnostic::error(&CODE, message).at(record_place(&file.file, index, String::new())));
        }
    }
    found
}
