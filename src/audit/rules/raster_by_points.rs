//! Rasters whose places are those of cell centers.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "raster-by-points",
    checks: "that a raster's places are those of cell edges, not of centers",
    why: "a loader that does not look lays everything half a cell to the south-east",
    example: "`AREA_OR_POINT=Point`",
    mend: "have it written by areas",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(raster) = raster(of).filter(|raster| raster.is_by_points) else { return Found::new() };
    vec![Diagnostic::warning(&CODE, "its places are those of cell centers").at(Place::File(raster.file.clone()))]
}
