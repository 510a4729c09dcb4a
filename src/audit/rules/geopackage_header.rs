//! What a GeoPackage's database says it is.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "geopackage-header",
    checks: "that the database says it is a GeoPackage (`GPKG`) of version 1.2 to 1.4",
    why: "a strict reader takes no other; from the standard, OGC 12-128",
    example: "a database with the right tables and application id 0",
    mend: "have it written by a program for GeoPackages",
};

/// `GPKG`.
const GPKG: u32 = 0x4750_4b47;

pub(super) fn find(of: &Prescription) -> Found {
    let Some(package) = geo_package(of) else { return Found::new() };
    let place = Place::File(package.file.clone());
    let mut found = Found::new();
    if package.application_id != GPKG {
        let message = format!("its application id is {:#010x}; {GPKG:#010x} expected", package.application_id);
        found.push(Diagnostic::warning(&CODE, message).at(place));
    } else if !(10_200..=10_499).contains(&package.user_version) {
        let message = format!("its version is {}; 10200 to 10499 expected", package.user_version);
        found.push(Diagnostic::warning(&CODE, message).at(place));
    }
    found
}
