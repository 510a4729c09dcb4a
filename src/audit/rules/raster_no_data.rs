//! Rasters that do not mark cells without data.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "raster-no-data",
    checks: "that a raster states its value for no data",
    why: "cells outside the field then count as rates: of 0, or of the mark itself",
    example: "-9999 in corner cells, and nothing says that it is a mark",
    mend: "state the mark, or write 0 outside the field",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(raster) = raster(of).filter(|raster| raster.no_data.is_none()) else { return Found::new() };
    vec![Diagnostic::note(&CODE, "no value for no data is stated").at(Place::File(raster.file.clone()))]
}
