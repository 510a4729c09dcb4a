//! Rasters whose rows do not run east.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "raster-turned",
    checks: "that a raster states its place, its rows run due east and its first row is the northern one",
    why: "many loaders read only corner and cell size: a turned raster comes out straight, one with its first row in the south upside down",
    example: "a raster cut along the field's long side and turned by 12 degrees",
    mend: "have it written north up",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(raster) = raster(of) else { return Found::new() };
    let place = Place::File(raster.file.clone());
    let finding = match raster.affine {
        None => Diagnostic::error(&CODE, "it does not state where its cells lie"),
        Some(affine) if affine[2] != 0.0 || affine[4] != 0.0 => {
            Diagnostic::error(&CODE, "its rows do not run due east")
        }
        Some(affine) if affine[5] > 0.0 => Diagnostic::error(&CODE, "its first row is the southern one"),
        Some(_) => return Found::new(),
    };
    vec![finding.at(place)]
}
