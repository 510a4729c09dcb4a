//! Databases that do not hold together.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "geopackage-damaged",
    checks: "that the database finds nothing wrong with itself",
    why: "a damaged database loses records without a word, or does not open",
    example: "a file copied while it was being written",
    mend: "copy it again from where it was made",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(package) = geo_package(of).filter(|package| package.integrity != "ok") else { return Found::new() };
    let message = format!("the database says of itself: {}", package.integrity);
    vec![Diagnostic::error(&CODE, message).at(Place::File(package.file.clone()))]
}
