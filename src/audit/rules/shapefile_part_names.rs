//! Parts of a shapefile that are named unlike.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "shapefile-part-names",
    checks: "that all parts of a shapefile have one stem, capitals counted, and endings either all small or all capital",
    why: "where capitals count, as in a zip or on many controllers, `north.dbf` is not the table of `NORTH.shp`",
    example: "`NORTH.shp` beside `north.DBF`",
    mend: "name all parts alike",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(file) = shapefile(of) else { return Found::new() };
    let mut found = Found::new();
    for part in &file.parts {
        let (stem, ending) = stem_and_ending(&part.name);
        let is_plain = ending == ending.to_lowercase() || ending == ending.to_uppercase();
        let first_is_small = file.parts.first().is_some_and(|first| stem_and_ending(&first.name).1 == first.ending);
        if stem != file.stem || !is_plain || (ending == part.ending) != first_is_small {
            let message = format!("named `{}` beside `{}`", part.name, file.parts[0].name);
            found.push(Diagnostic::warning(&CODE, message).at(Place::File(part.shown.clone())));
        }
    }
    found
}
