//! Coordinates with more digits than anyone can drive.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "geojson-decimals",
    checks: "that coordinates have at most 7 decimals (1.1 cm; RFC 7946, 11.2 advises 6)",
    why: "more digits make the file larger, and neighbors rounded apart",
    example: "-93.60000000000086",
    mend: "nothing, if the file loads; else have it written with 7 decimals",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(file) = geo_json(of) else { return Found::new() };
    let most = file.features.iter().map(|feature| feature.decimals).max().unwrap_or(0);
    if most <= 7 {
        return Found::new();
    }
    let message = format!("coordinates with {most} decimals; 7 are a centimeter");
    vec![Diagnostic::note(&CODE, message).at(Place::File(file.file.clone()))]
}
