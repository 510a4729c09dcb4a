//! Text between elements.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "xml-text",
    checks: "that no text stands between the elements: a task set says everything in attributes",
    why: "the published schema allows no text; a strict reader refuses the file",
    example: "`<TSK ...>spread on Monday</TSK>`",
    mend: "move the text into a name of at most 32 letters, or leave it out",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let with_text = set.root.walk().into_iter().filter(|element| element.has_text);
    with_text.map(|element| Diagnostic::error(&CODE, "text stands in it").at(set.place(element, ""))).collect()
}
