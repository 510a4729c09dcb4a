//! Stems loaders stumble over.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "shapefile-stem",
    checks: "that the stem has at most 13 letters of ASCII, digits, `_` and `-`, no blanks; common practice, no source",
    why: "small screens cut long names so that passes look alike, and some loaders stop at a blank or an accent",
    example: "`North field potash 2026.shp`",
    mend: "rename all parts together",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(file) = shapefile(of) else { return Found::new() };
    let is_plain = |letter: char| letter.is_ascii_alphanumeric() || letter == '_' || letter == '-';
    let message = if !file.stem.chars().all(is_plain) {
        format!("the name `{}` has letters other than A to Z, digits, `_` and `-`", file.stem)
    } else if file.stem.len() > 13 {
        format!("the name `{}` has {} letters; small screens show 13", file.stem, file.stem.len())
    } else {
        return Found::new();
    };
    vec![Diagnostic::note(&CODE, message).at(Place::File(file.file.clone()))]
}
