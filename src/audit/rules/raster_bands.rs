//! Rasters with several bands.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "raster-bands",
    checks: "that a raster has one band of plain numbers",
    why: "loaders take the first band; pictures of three colors are no rates",
    example: "a map saved as a picture: bands of red, green and blue",
    mend: "save the rates as one band of numbers",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(raster) = raster(of).filter(|raster| raster.n_bands != 1) else { return Found::new() };
    let message = format!("{} bands of {}; one expected", raster.n_bands, raster.number_type);
    vec![Diagnostic::warning(&CODE, message).at(Place::File(raster.file.clone()))]
}
