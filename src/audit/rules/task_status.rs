//! The status of a task.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "task-status",
    checks: "that a task is planned (status 1)",
    why: "a task that is running, paused or done may not be offered to the operator",
    example: "`G=\"4\"`: the task counts as done",
    mend: "write the task with status 1",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for task in set.tasks() {
        if let Some(status) = task.get("G").filter(|status| *status != "1") {
            let message = format!("the status is `{status}`; 1, planned, expected");
            found.push(Diagnostic::warning(&CODE, message).at(set.place(task, "G")));
        }
    }
    found
}
