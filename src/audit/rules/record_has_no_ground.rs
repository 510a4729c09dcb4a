//! Records without a polygon.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "record-has-no-ground",
    checks: "that every record and every drawn zone has a polygon",
    why: "its rate is for no ground; some readers stop at a record without a shape",
    example: "a record of type 0, or `\"geometry\": null`",
    mend: "delete the record, or draw its polygon",
};

pub(super) fn find(of: &Prescription) -> Found {
    let shapes = of.shape_sets.iter().flat_map(|set| &set.shapes).filter(|shape| shape.polygons.0.is_empty());
    shapes.map(|shape| Diagnostic::error(&CODE, "it has no polygon").at(shape.place.clone())).collect()
}
