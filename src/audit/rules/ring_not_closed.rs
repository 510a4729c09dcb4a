//! Rings that do not end where they begin.

use super::prelude::*;
use super::raw_rings::raw_rings;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "ring-not-closed",
    checks: "that every ring ends with its first corner",
    why: "shapefile, GeoJSON and version 4 of the task set want it; version 3 does not, but readers pass the open ring on",
    example: "four corners, the first not repeated",
    mend: "repeat the first corner at the end of the ring",
};

pub(super) fn find(of: &Prescription) -> Found {
    let mut found = Found::new();
    for ring in raw_rings(of) {
        if ring.corners.len() >= 3 && ring.corners.first() != ring.corners.last() {
            let finding = match ring.may_be_open {
                true => Diagnostic::warning(&CODE, "the ring does not end with its first corner"),
                false => Diagnostic::error(&CODE, "the ring does not end with its first corner"),
            };
            found.push(finding.at(ring.place()));
        }
    }
    found
}
