//! Rings that go round the other way.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "geojson-ring-direction",
    checks: "that outer rings go counter-clockwise and holes clockwise (RFC 7946, 3.1.6)",
    why: "readers should not refuse the other way, but some take such a ring as a hole, or as the rest of the earth",
    example: "rings copied from a shapefile, which goes the other way",
    mend: "have it written by a program that turns rings as RFC 7946 wants them",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(file) = geo_json(of) else { return Found::new() };
    let mut found = Found::new();
    for (index, feature) in file.features.iter().enumerate() {
        for (number, ring) in feature.rings.iter().enumerate() {
            let doubled = doubled_area(&geo::LineString::from(ring.positions.clone()));
            if doubled == 0.0 || doubled.is_nan() || (doubled > 0.0) == ring.is_exterior {
                continue;
            }
            let message = match ring.is_exterior {
                true => "an outer ring goes clockwise",
                false => "a hole goes counter-clockwise",
            };
            let place = record_place(&file.file, index, format!("ring {}", number + 1));
            found.push(Diagnostic::warning(&CODE, message).at(place));
        }
    }
    found
}
