//! More polygons or corners than loaders like.

use geo::CoordsIter as _;

use super::prelude::*;
use crate::audit::facts_text::grouped;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "many-polygons",
    checks: "that a file has at most 500 polygons, and a polygon at most 1,000 corners; common practice, no source",
    why: "large files load slowly or not at all on small screens",
    example: "a polygon for each cell of a grid",
    mend: "join polygons of one rate, and simplify borders together",
};

/// Polygons loaders take as a rule.
const MOST_POLYGONS: usize = 500;
/// Corners of a polygon loaders take as a rule.
const MOST_CORNERS: usize = 1000;

pub(super) fn find(of: &Prescription) -> Found {
    let mut found = Found::new();
    for set in &of.shape_sets {
        let n: usize = set.shapes.iter().map(|shape| shape.polygons.0.len()).sum();
        if n > MOST_POLYGONS {
            let message =
                format!("{} polygons; more than {MOST_POLYGONS} load slowly or not at all", grouped(n as f64));
            found.push(Diagnostic::warning(&CODE, message).at(Place::File(set.file.clone())));
        }
        for shape in &set.shapes {
            let corners = shape.polygons.iter().map(|part| part.coords_count()).max().unwrap_or(0);
            if corners > MOST_CORNERS {
                let message = format!(
                    "a polygon with {} corners; at most {MOST_CORNERS} load everywhere",
                    grouped(corners as f64)
                );
                found.push(Diagnostic::warning(&CODE, message).at(shape.place.clone()));
            }
        }
    }
    found
}
