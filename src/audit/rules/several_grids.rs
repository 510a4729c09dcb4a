//! More than one grid in a task.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "several-grids",
    checks: "that a task has at most one grid",
    why: "one grid a task is the rule, by an unofficial summary of ISO 11783-10; which of two is taken is up to the reader",
    example: "a task with a grid for each of two products",
    mend: "write a task for each grid, or one grid of type 2 with a number for each product",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let second = set.tasks().into_iter().filter_map(|task| task.all("GRD").nth(1));
    second.map(|grid| Diagnostic::error(&CODE, "a second grid in one task").at(set.place(grid, ""))).collect()
}
