//! Files that are larger than any prescription, or grow while unpacked.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "package-too-large",
    checks: "that no file is larger than 128 MiB, all together than 256 MiB, no zip holds more than 4,000 names, and nothing in a zip unpacks to more than it states",
    why: "a small zip can unpack to more than a controller's memory; nothing real is that large",
    example: "a zip of 1 kB whose grid file states 4 GB",
    mend: "do not unpack it; ask for the files again. A real field this large needs coarser cells or fewer corners",
};

pub(super) fn find(package: &Package) -> Found {
    let fault = |(entry, why): &(String, String)| {
        Diagnostic::error(&CODE, format!("`{entry}` was left unread: {why}")).at(Place::File(package.name.clone()))
    };
    package.too_large.iter().map(fault).collect()
}
