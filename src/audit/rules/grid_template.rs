//! Which zone says what the numbers of a grid are.

use super::prelude::*;
use crate::audit::task_set::{zone_of, zones};

/// See its page.
pub(super) static CODE: Code = Code {
    name: "grid-template",
    checks: "that a grid of type 2 names a defined zone with rates (`J`), and one of type 1 names none",
    why: "of type 2 that zone says how many numbers a cell has and what they are; by an unofficial summary of ISO 11783-10",
    example: "a grid of type 2 without `J`",
    mend: "write `J` with the code of a zone that lists the quantities in the order of the file",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for task in set.tasks() {
        let zones = zones(task);
        for grid in task.all("GRD") {
            let message = match (grid.get("I"), grid.get("J")) {
                (Some("1"), Some(_)) => "a grid of type 1 names a zone for its numbers".to_owned(),
                (Some("2"), None) => "a grid of type 2 names no zone for its numbers".to_owned(),
                (Some("2"), Some(code)) => match zone_of(&zones, code) {
                    None => format!("zone {code} is not defined"),
                    Some(zone) if zone.rates.is_empty() => format!("zone {code} lists no rates"),
                    Some(_) => continue,
                },
                _ => continue,
            };
            found.push(Diagnostic::error(&CODE, message).at(set.place(grid, "J")));
        }
    }
    found
}
