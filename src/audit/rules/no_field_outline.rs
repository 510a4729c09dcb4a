//! Fields without an outline.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "no-field-outline",
    checks: "that the field of each task has an outline",
    why: "without one there is no out of field: the machine spreads the default wherever the map ends, by an unofficial summary of ISO 11783-10",
    example: "a field with a name and an area only",
    mend: "write the outline into the field (`PFD` with a `PLN` of type 1)",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for task in set.tasks() {
        match (task.get("E"), set.field(task)) {
            (None, _) => found.push(Diagnostic::warning(&CODE, "the task names no field").at(set.place(task, "E"))),
            (Some(_), Some(field)) if field.all("PLN").all(|polygon| polygon.get("A") != Some("1")) => {
                found.push(Diagnostic::warning(&CODE, "the field has no outline").at(set.place(field, "")));
            }
            _ => (),
        }
    }
    found.dedup_by(|a, b| a.place == b.place);
    found
}
