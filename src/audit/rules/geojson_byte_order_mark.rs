//! A byte order mark before the JSON.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "geojson-byte-order-mark",
    checks: "that the file begins with `{`, not with a byte order mark (RFC 8259, 8.1)",
    why: "many readers refuse the three bytes",
    example: "a file saved again by a text editor",
    mend: "save it as UTF-8 without a byte order mark",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(file) = geo_json(of).filter(|file| file.has_byte_order_mark) else { return Found::new() };
    vec![Diagnostic::warning(&CODE, "it begins with a byte order mark").at(Place::File(file.file.clone()))]
}
