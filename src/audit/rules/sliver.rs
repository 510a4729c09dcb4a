//! Polygons too small or too narrow to be driven.

use geo::Area as _;

use super::prelude::*;
use crate::audit::overlay::mean_width_m;
use crate::audit::shape::is_on_earth;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "sliver",
    checks: "that no polygon is smaller than 40 m2 (0.01 ac) or narrower than 3 m on the mean; limits of this program, no source",
    why: "no machine can follow it: the rate jumps there and back within the time it takes to change",
    example: "a strip of 0.4 m left by cutting zones at the field's edge",
    mend: "join it to the neighbor with the longest border, not to a gap",
};

/// Smallest polygon, square meters.
const LEAST_M2: f64 = 40.0;
/// Narrowest polygon, meters.
const LEAST_WIDTH_M: f64 = 3.0;

pub(super) fn find(of: &Prescription) -> Found {
    let mut found = Found::new();
    for set in &of.shape_sets {
        let Some(plane) = set.plane() else { continue };
        for shape in set.shapes.iter().filter(|shape| shape.invalid.is_none() && is_on_earth(&shape.polygons)) {
            for part in &shape.polygons {
                let part = plane.polygon(part);
                let (m2, width_m) = (part.unsigned_area(), mean_width_m(&part));
                if m2 < LEAST_M2 || width_m < LEAST_WIDTH_M {
                    let message = format!("a polygon of {m2:.1} m2, {width_m:.1} m wide");
                    found.push(Diagnostic::warning(&CODE, message).at(shape.place.clone()));
                }
            }
        }
    }
    found
}
