//! Parts of a shapefile that are not there.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "shapefile-part-missing",
    checks: "that `.shp`, `.shx` and `.dbf` are all there",
    why: "shapes, where they begin and their rates are three files: without one of them nothing loads",
    example: "only `NORTH.shp` was sent",
    mend: "copy all files of that name together",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(file) = shapefile(of) else { return Found::new() };
    let missing =
        ["shp", "shx", "dbf"].into_iter().filter(|ending| file.parts.iter().all(|part| part.ending != *ending));
    missing
        .map(|ending| {
            let message = format!("`{}.{ending}` is not there", file.stem);
            Diagnostic::error(&CODE, message).at(Place::File(file.file.clone()))
        })
        .collect()
}
