//! A zip that lies among the files.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "archive-in-archive",
    checks: "that no zip lies within the zip or folder",
    why: "no controller looks for a prescription in a zip within something else",
    example: "`NORTH.zip` beside `TASKDATA` on the stick",
    mend: "unpack it and audit what it holds; copy the files themselves to the stick",
};

pub(super) fn find(package: &Package) -> Found {
    let is_zip = |entry: &&String| entry.to_lowercase().ends_with(".zip");
    let found = package.entries.iter().filter(is_zip).map(|entry| {
        let message = format!("`{entry}` is a zip within what was named; it was not looked into");
        Diagnostic::warning(&CODE, message).at(Place::File(package.name.clone()))
    });
    found.collect()
}
