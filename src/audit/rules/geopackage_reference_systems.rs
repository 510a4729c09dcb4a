//! Rows every GeoPackage has.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "geopackage-reference-systems",
    checks: "that the reference systems -1, 0 and 4326 are listed",
    why: "the standard (OGC 12-128) wants all three; a strict reader refuses the file",
    example: "only 4326 is listed",
    mend: "have it written by a program for GeoPackages",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(package) = geo_package(of) else { return Found::new() };
    let missing: Vec<String> =
        [-1, 0, 4326].iter().filter(|id| !package.reference_systems.contains(id)).map(ToString::to_string).collect();
    if missing.is_empty() {
        return Found::new();
    }
    let message = format!("reference systems {} are not listed", missing.join(", "));
    vec![Diagnostic::warning(&CODE, message).at(Place::File(package.file.clone()))]
}
