//! Zones of one task that set unlike quantities.

use super::prelude::*;
use crate::audit::task_layers::sets_same;
use crate::audit::task_set::{entities, zones};

/// See its page.
pub(super) static CODE: Code = Code {
    name: "zones-unlike",
    checks: "that all zones of a task set the same quantities in the same order",
    why: "some readers take the first zone as typical of all; a quantity a zone leaves out keeps its last rate there",
    example: "zone 0 without any rate, zones 1 to 3 with one",
    mend: "give every zone the same list, with 0 where nothing is spread",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for task in set.tasks() {
        let zones = zones(task);
        if sets_same(&zones) {
            continue;
        }
        let odd = zones.iter().find(|zone| entities(zone) != entities(&zones[0]));
        if let Some(zone) = odd {
            let shown =
                |zone| entities(zone).iter().map(|entity| format!("{entity:04X}")).collect::<Vec<_>>().join(", ");
            let none_for_blank = |text: String| if text.is_empty() { "nothing".to_owned() } else { text };
            let message = format!(
                "this zone sets {}, the first sets {}",
                none_for_blank(shown(zone)),
                none_for_blank(shown(&zones[0]))
            );
            found.push(Diagnostic::warning(&CODE, message).at(set.place(zone.element, "")));
        }
    }
    found
}
