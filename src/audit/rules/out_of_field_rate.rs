//! Rates out of the field.

use super::prelude::*;
use crate::audit::task_set::{zone_of, zones};

/// See its page.
pub(super) static CODE: Code = Code {
    name: "out-of-field-rate",
    checks: "that the zone for out of field (`J`) orders 0",
    why: "the machine would go on spreading on the road, in the ditch and on the neighbor's ground",
    example: "`J=\"2\"`, a zone of 120 lb/ac",
    mend: "name a zone whose rates are all 0",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for task in set.tasks() {
        let zones = zones(task);
        let Some(zone) = task.get("J").and_then(|code| zone_of(&zones, code)) else { continue };
        if let Some(rate) = zone.rates.iter().find(|rate| rate.whole("B").is_some_and(|counts| counts != 0)) {
            let shown = Shown::of(set, rate);
            let message = format!(
                "out of field {} {} are ordered; 0 expected",
                shown.rate_of(rate).map_or_else(String::new, shown_rate),
                shown.unit.unwrap_or_default()
            );
            found.push(Diagnostic::error(&CODE, message).at(set.place(task, "J")));
        }
    }
    found
}
