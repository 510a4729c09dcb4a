//! The extent a table states.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "geopackage-extent",
    checks: "that the extent listed for a table is that of its polygons",
    why: "a loader that shows only what is listed shows nothing, or another place",
    example: "the extent of last year's field",
    mend: "have the extent renewed by a program for GeoPackages",
};

/// How far the extent may be off, degrees.
const ROOM_DEG: f64 = 1e-6;

pub(super) fn find(of: &Prescription) -> Found {
    let Some(package) = geo_package(of) else { return Found::new() };
    let mut found = Found::new();
    for table in &package.tables {
        let (Some(stated), Some(extent)) = (table.stated_extent, table.extent) else { continue };
        if stated.iter().zip(extent).any(|(stated, is)| (stated - is).abs() > ROOM_DEG) {
            let message = format!("`{}` lists {stated:?}, its polygons reach {extent:?}", table.name);
            found.push(Diagnostic::warning(&CODE, message).at(Place::File(package.file.clone())));
        }
    }
    found
}
