//! Files in another reference system.

use super::crs_not_stated::stated;
use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "crs-not-wgs-84",
    checks: "that coordinates are longitude and latitude on WGS 84",
    why: "that is what controllers read; of meters, feet or another datum many take the numbers as degrees or refuse the file",
    example: "a shapefile in UTM zone 15 north",
    mend: "have it written in longitude and latitude, WGS 84 (EPSG:4326)",
};

pub(super) fn find(of: &Prescription) -> Found {
    let mut found = Found::new();
    for (place, crs) in stated(of) {
        match crs {
            Some(Err(why)) => {
                let message = format!("its reference system names none that is known: {why}");
                found.push(Diagnostic::error(&CODE, message).at(place));
            }
            Some(Ok(crs)) if !crs.is_wgs_84 => {
                let message = format!("it is in {}; longitude and latitude on WGS 84 expected", crs.name);
                found.push(Diagnostic::error(&CODE, message).at(place));
            }
            _ => (),
        }
    }
    found
}
