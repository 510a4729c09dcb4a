//! Records with several polygons.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "several-parts",
    checks: "which records have more than one polygon",
    why: "a few loaders take only the first part of a record",
    example: "one record a zone, with all its patches",
    mend: "if a part is missing on the screen, have it written with one record a patch",
};

pub(super) fn find(of: &Prescription) -> Found {
    let mut found = Found::new();
    for set in &of.shape_sets {
        let n = set.shapes.iter().filter(|shape| shape.polygons.0.len() > 1).count();
        if n > 0 {
            let message = format!("{n} of {} records have several polygons", set.shapes.len());
            found.push(Diagnostic::note(&CODE, message).at(Place::File(set.file.clone())));
        }
    }
    found
}
