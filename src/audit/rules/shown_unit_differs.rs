//! Value presentations that show another number than is ordered.

use super::prelude::*;
use crate::audit::task_layers::Shown;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "shown-unit-differs",
    checks: "that the unit, scale and offset of a value presentation give the number the data dictionary's count stands for",
    why: "the machine spreads by the count, the operator trusts the screen: both must say the same; by an unofficial summary of ISO 11783-10",
    example: "a scale of 0.01, right for kg/ha, under the unit lb/ac: the screen shows 12 % too much",
    mend: "correct the scale: 0.01 for kg/ha of 0006, 0.0089218 for lb/ac, 0.0001 for L/ha of 0001, 0.00001069 for gal/ac",
};

/// How far the number shown may be off, as a share of it.
const ROOM: f64 = 0.001;

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for rate in set.root.walk().into_iter().filter(|element| element.name == "PDV") {
        let shown = Shown::of(set, rate);
        // A count large enough that an offset meant for rounding does not matter.
        let counts = rate.whole("B").filter(|counts| *counts != 0).unwrap_or(100_000) as f64;
        let (Some(on_screen), Some(ordered)) = (shown.rate(counts), shown.by_dictionary(counts)) else { continue };
        if (on_screen - ordered).abs() > ROOM * ordered.abs() {
            let unit = shown.unit.as_deref().unwrap_or("");
            let message = format!(
                "a count of {counts} is shown as {} {unit} and spread as {} {unit}",
                shown_rate(on_screen),
                shown_rate(ordered)
            );
            found.push(Diagnostic::error(&CODE, message).at(set.place(rate, "B")));
        }
    }
    found
}
