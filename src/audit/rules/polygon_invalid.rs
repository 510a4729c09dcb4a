//! Polygons that cross themselves.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "polygon-invalid",
    checks: "that every polygon is valid by the rules of simple features, as GEOS sees them: no ring crosses itself or another, holes lie inside, parts do not overlap",
    why: "inside and outside are not defined where lines cross: controllers refuse the file or spread nothing there",
    example: "a figure of eight: two corners exchanged",
    mend: "redraw the polygon there; a map editor's `make valid` needs a look afterwards",
};

pub(super) fn find(of: &Prescription) -> Found {
    let shapes = of.shape_sets.iter().flat_map(|set| &set.shapes);
    let invalid = shapes.filter_map(|shape| Some((shape, shape.invalid.as_ref()?)));
    invalid.map(|(shape, why)| Diagnostic::error(&CODE, why.clone()).at(shape.place.clone())).collect()
}
