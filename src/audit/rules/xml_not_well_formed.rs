//! XML that is none.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "xml-not-well-formed",
    checks: "that the main file is well-formed XML in UTF-8",
    why: "a reader stops at the first fault, and the task set does not load",
    example: "an ampersand in a name that is not written `&amp;`",
    mend: "have the file written again; an editor for XML shows the place",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some((set, (line, why))) = task_set(of).and_then(|set| Some((set, set.not_well_formed.as_ref()?))) else {
        return Found::new();
    };
    let place = Place::Row { file: set.file.clone(), line: *line, columns: Vec::new() };
    vec![Diagnostic::error(&CODE, format!("not well-formed: {why}")).at(place)]
}
