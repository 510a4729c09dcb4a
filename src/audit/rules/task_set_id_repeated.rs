//! Ids that occur twice.

use std::collections::BTreeMap;

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "task-set-id-repeated",
    checks: "that no id occurs twice",
    why: "what refers to it can mean either; the published schema refuses it",
    example: "two products `PDT1`",
    mend: "give each element a number of its own, and the references with it",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let (mut seen, mut found) = (BTreeMap::new(), Found::new());
    for element in &set.root.children {
        let Some(id) = element.get("A").filter(|id| looks_like_id(&element.name, id)) else { continue };
        if let Some(line) = seen.insert(id, element.line) {
            let message = format!("`{id}` is the id of another element, on line {line}");
            found.push(Diagnostic::error(&CODE, message).at(set.place(element, "A")));
        }
    }
    found
}
