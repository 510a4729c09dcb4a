//! Rings that go round the wrong way.

use super::prelude::*;
use crate::audit::ring_roles::{Role, roles};

/// See its page.
pub(super) static CODE: Code = Code {
    name: "shapefile-ring-direction",
    checks: "that outer rings go clockwise and holes counter-clockwise, by how rings lie in one another",
    why: "direction is all that tells a hole from an outer ring: turned, a pond is spread on, or a field counts as a hole",
    example: "rings copied from GeoJSON, which goes the other way",
    mend: "have it written by a program that turns rings as the format wants them",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(shapes) = shapefile(of).and_then(|file| file.shapes.as_ref()) else { return Found::new() };
    let mut found = Found::new();
    for (index, record) in shapes.records.iter().enumerate() {
        let rings: Vec<geo::LineString> = record.rings.iter().map(|ring| geo::LineString::from(ring.clone())).collect();
        let roles = if rings.len() == 1 { vec![Role::Exterior] } else { roles(&rings) };
        for (number, (ring, role)) in rings.iter().zip(roles).enumerate() {
            let doubled = doubled_area(ring);
            let is_outer = role == Role::Exterior;
            if doubled == 0.0 || (doubled < 0.0) == is_outer {
                continue;
            }
            let message = match is_outer {
                true => "an outer ring goes counter-clockwise",
                false => "a hole goes clockwise",
            };
            let place = record_place(&shapes.file, index, format!("ring {}", number + 1));
            found.push(Diagnostic::error(&CODE, message).at(place));
        }
    }
    found
}
