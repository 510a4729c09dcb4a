//! Rates of zones that are polygons.

use super::prelude::*;
use crate::audit::task_set::zones;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "polygon-zone-rates",
    checks: "that a zone with polygons carries exactly one rate",
    why: "one rate a polygon is the rule, by an unofficial summary of ISO 11783-10; a second is dropped or refuses the file",
    example: "a polygon with a rate of urea and one of potash",
    mend: "write a task for each product",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let zones =
        set.tasks().into_iter().flat_map(zones).filter(|zone| !zone.polygons.is_empty() && zone.rates.len() != 1);
    zones
        .map(|zone| {
            let message = format!("a zone with polygons carries {} rates; exactly one expected", zone.rates.len());
            Diagnostic::error(&CODE, message).at(set.place(zone.element, ""))
        })
        .collect()
}
