//! Tasks that order nothing.

use super::prelude::*;
use crate::audit::task_set::zones;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "task-without-rates",
    checks: "that the file has a task, and each task a grid or zones with polygons, and rates",
    why: "a task without them loads and spreads nothing, or one rate everywhere",
    example: "a task with zones but without its grid",
    mend: "write the grid, or polygons into the zones",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of).filter(|set| set.root.name == "ISO11783_TaskData") else { return Found::new() };
    let tasks = set.tasks();
    if tasks.is_empty() && set.not_well_formed.is_none() && set.expands_at.is_none() {
        return vec![Diagnostic::error(&CODE, "there is no task in it").at(set.place(&set.root, ""))];
    }
    let mut found = Found::new();
    for task in tasks {
        let zones = zones(task);
        let has_map = task.all("GRD").next().is_some() || zones.iter().any(|zone| !zone.polygons.is_empty());
        let message = match (has_map, zones.iter().any(|zone| !zone.rates.is_empty())) {
            (true, true) => continue,
            (false, _) => "it has neither a grid nor zones with polygons",
            (true, false) => "no zone of it carries a rate",
        };
        found.push(Diagnostic::error(&CODE, message).at(set.place(task, "")));
    }
    found
}
