//! Letters beyond ASCII without a word on their encoding.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "shapefile-encoding",
    checks: "that a table with letters beyond ASCII names their encoding, in a `.cpg` or by its own byte",
    why: "names read garbled, and a loader that wants UTF-8 may stop",
    example: "a product with an accent, no `.cpg`",
    mend: "add a `.cpg` that says `UTF-8` if it is that, or keep texts to ASCII",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some((file, table)) = shapefile(of).and_then(|file| Some((file, file.table.as_ref()?))) else {
        return Found::new();
    };
    if !table.has_other_letters || file.encoding.is_some() || table.encoding_byte != 0 {
        return Found::new();
    }
    let message = "it has letters beyond ASCII and does not say in which encoding";
    vec![Diagnostic::warning(&CODE, message).at(Place::File(table.file.clone()))]
}
