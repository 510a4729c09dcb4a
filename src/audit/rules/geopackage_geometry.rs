//! Geometry types of a table.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "geopackage-geometry",
    checks: "that a table of rates declares polygons or multipolygons, and holds nothing else",
    why: "a table of mixed or undeclared types is passed over by some loaders",
    example: "a table of type GEOMETRY",
    mend: "have it written with the type MULTIPOLYGON",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(package) = geo_package(of) else { return Found::new() };
    let mut found = Found::new();
    for table in &package.tables {
        let is_polygon = |kind: &str| ["POLYGON", "MULTIPOLYGON"].contains(&kind.to_uppercase().as_str());
        let message = if let Some(kind) = table.kinds.iter().find(|kind| !is_polygon(kind)) {
            format!("`{}` holds {kind}", table.name)
        } else if !is_polygon(&table.geometry) {
            format!("`{}` declares {}; MULTIPOLYGON expected", table.name, table.geometry)
        } else {
            continue;
        };
        found.push(Diagnostic::warning(&CODE, message).at(Place::File(package.file.clone())));
    }
    found
}
