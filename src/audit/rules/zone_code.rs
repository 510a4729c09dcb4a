//! Codes of treatment zones.

use super::prelude::*;
use crate::audit::task_set::zones;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "zone-code",
    checks: "that treatment zones have codes from 0 to 254, each once in its task",
    why: "the published schema takes no other; of two zones of one code either may be taken",
    example: "a zone with `A=\"255\"`",
    mend: "number the zones from 0",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for task in set.tasks() {
        let mut seen = [false; 255];
        for zone in zones(task) {
            let Some(text) = zone.element.get("A") else { continue };
            let message = match zone.code {
                None => format!("`{text}` is no code from 0 to 254"),
                Some(code) if std::mem::replace(&mut seen[usize::from(code)], true) => {
                    format!("a second zone of code {code} in this task")
                }
                Some(_) => continue,
            };
            found.push(Diagnostic::error(&CODE, message).at(set.place(zone.element, "A")));
        }
    }
    found
}
