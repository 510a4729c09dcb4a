//! Products or tasks of one name.

use std::collections::BTreeMap;

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "task-set-names-alike",
    checks: "that no two products and no two tasks have one name",
    why: "the operator picks by name: two of one name cannot be told apart on the screen",
    example: "two tasks `Potash`, one before planting, one after",
    mend: "put the pass or the date into the names",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let (mut seen, mut found) = (BTreeMap::new(), Found::new());
    for element in set.root.children.iter().filter(|element| ["PDT", "TSK"].contains(&element.name.as_str())) {
        let Some(name) = element.get("B") else { continue };
        if let Some(line) = seen.insert((&element.name, name), element.line) {
            let message = format!("`{name}` is also the name on line {line}");
            found.push(Diagnostic::warning(&CODE, message).at(set.place(element, "B")));
        }
    }
    found
}
