//! A byte order mark before the XML.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "xml-byte-order-mark",
    checks: "that the main file begins with `<?xml`, not with a byte order mark",
    why: "some readers stop at the three bytes, by an unofficial summary of ISO 11783-10",
    example: "a task set saved again by a text editor",
    mend: "save it as UTF-8 without a byte order mark",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of).filter(|set| set.has_byte_order_mark) else { return Found::new() };
    vec![Diagnostic::warning(&CODE, "it begins with a byte order mark").at(Place::File(set.file.clone()))]
}
