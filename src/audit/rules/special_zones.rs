//! What is ordered by default, without a place, and out of the field.

use super::prelude::*;
use crate::audit::task_set::{zone_of, zones};

/// See its page.
pub(super) static CODE: Code = Code {
    name: "special-zones",
    checks: "that a task with zones names one for the default (`H`), one for a lost place (`I`) and one for out of field (`J`), all defined",
    why: "where nothing is named the controller does as it likes at a start, under trees and on the road; by an unofficial summary of ISO 11783-10",
    example: "`J=\"9\"` where zones 0 to 3 are defined",
    mend: "name a zone for each; 0 out of field is the safe choice",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for task in set.tasks() {
        let zones = zones(task);
        if zones.is_empty() {
            continue;
        }
        for (key, words) in [("H", "the default"), ("I", "a lost place"), ("J", "out of field")] {
            match task.get(key) {
                None => {
                    let message = format!("no zone is named for {words}");
                    found.push(Diagnostic::warning(&CODE, message).at(set.place(task, key)));
                }
                Some(code) if zone_of(&zones, code).is_none() => {
                    let message = format!("zone {code}, named for {words}, is not defined");
                    found.push(Diagnostic::error(&CODE, message).at(set.place(task, key)));
                }
                Some(_) => (),
            }
        }
    }
    found
}
