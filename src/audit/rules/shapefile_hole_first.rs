//! Holes that do not follow their outer ring.

use super::prelude::*;
use crate::audit::ring_roles::{Role, roles};

/// See its page.
pub(super) static CODE: Code = Code {
    name: "shapefile-hole-first",
    checks: "that each hole directly follows its outer ring or another hole of it",
    why: "the format leaves the order free, but common readers give a hole to the ring before it: the wrong polygon loses ground",
    example: "a record whose first ring is the hole",
    mend: "have it written with each outer ring followed by its own holes",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(shapes) = shapefile(of).and_then(|file| file.shapes.as_ref()) else { return Found::new() };
    let mut found = Found::new();
    for (index, record) in shapes.records.iter().enumerate().filter(|(_, record)| record.rings.len() > 1) {
        let rings: Vec<geo::LineString> = record.rings.iter().map(|ring| geo::LineString::from(ring.clone())).collect();
        let mut last_outer = None;
        for (number, role) in roles(&rings).into_iter().enumerate() {
            match role {
                Role::Exterior => last_outer = Some(number),
                Role::HoleOf(outer) if last_outer != Some(outer) => {
                    let message = format!("a hole that does not follow its outer ring, which is ring {}", outer + 1);
                    let place = record_place(&shapes.file, index, format!("ring {}", number + 1));
                    found.push(Diagnostic::warning(&CODE, message).at(place));
                }
                Role::HoleOf(_) => (),
            }
        }
    }
    found
}
