//! Rates of a task set that are no integers.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "rate-not-integer",
    checks: "that a rate's value is an integer of 32 bits",
    why: "the published schema takes nothing else; a reader refuses it, or cuts what stands after the point",
    example: "`B=\"10088.5\"`",
    mend: "round to the count of the data dictionary; the value presentation brings the decimals back",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for rate in set.root.walk().into_iter().filter(|element| element.name == "PDV") {
        if let Some(text) = rate.get("B").filter(|text| !text.is_empty() && text.parse::<i32>().is_err()) {
            let message = format!("`{text}` is no integer of 32 bits");
            found.push(Diagnostic::error(&CODE, message).at(set.place(rate, "B")));
        }
    }
    found
}
