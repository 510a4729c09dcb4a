//! Quantities that are no setpoints.

use super::prelude::*;
use crate::audit::rate_entity;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "ddi-not-setpoint",
    checks: "that a rate's quantity is a setpoint of the data dictionary: 0001, 0006, 000B, 0010, 0024, 0029, 002E or 024C",
    why: "an actual, a least or a most is a report, not an order: the machine would not follow it",
    example: "0007, the actual mass per area, in the place of 0006",
    mend: "write the setpoint: 0001 for liquids, 0006 for solids, 000B for seeds",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for rate in set.root.walk().into_iter().filter(|element| element.name == "PDV") {
        let Some(number) = rate.get("A").and_then(rate_entity::number) else { continue };
        if rate_entity::setpoint(number).is_none() {
            let what = rate_entity::other_kind(number).unwrap_or_else(|| "no rate known here".to_owned());
            let message = format!("{number:04X} is {what}; a setpoint expected");
            found.push(Diagnostic::error(&CODE, message).at(set.place(rate, "A")));
        }
    }
    found
}
