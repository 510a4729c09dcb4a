//! The six questions, and which of them a message belongs to.

use crate::diagnostic::{Diagnostic, Place};
use crate::rates::need::FIGURES_AND_ZONES;

/// Number of questions.
pub const N_QUESTIONS: usize = 6;
/// The questions as headings, first to last.
pub(super) const QUESTIONS: [&str; N_QUESTIONS] = [
    "Which samples count?",
    "How many kinds of ground?",
    "How small a patch can you treat?",
    "Which guide?",
    "Which passes and limits?",
    "What does it cost?",
];

/// The question a message stands beside, from 1; 0 where it belongs to none.
pub fn question_of(diagnostic: &Diagnostic) -> usize {
    if *diagnostic.code == FIGURES_AND_ZONES {
        return 2;
    }
    match &diagnostic.place {
        Some(Place::Key { key, .. }) => of_key(key),
        Some(Place::Row { .. } | Place::Column { .. }) => 1,
        _ => 0,
    }
}

fn of_key(key: &str) -> usize {
    let starts = |starts: &[&str]| starts.iter().any(|start| key.starts_with(start));
    match () {
        () if starts(&["samples"]) => 1,
        () if starts(&["zones.smallest_ac", "zones.narrowest_swaths", "zones.shortest_changes"]) => 3,
        () if starts(&["zones", "field.crop", "field.goal"]) => 2,
        () if starts(&["products", "compare"]) || key.ends_with("usd_ac") || key.contains("usd_ac.") => 6,
        () if starts(&["hold", "passes", "machine", "need.place_first"]) => 5,
        () if starts(&["need"]) => 4,
        () => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::field_file::WRONG_VALUE;

    #[test]
    fn every_key_of_a_slot_has_its_question() {
        let at = |key: &str| {
            let place = Place::Key { file: "field.toml".to_owned(), line: 1, key: key.to_owned() };
            question_of(&Diagnostic::error(&WRONG_VALUE, "x").at(place))
        };
        for (key, question) in [
            ("samples.leave_out", 1),
            ("zones.count", 2),
            ("field.crops[2].goal_bu_ac", 2),
            ("zones.smallest_ac", 3),
            ("need.lime.target_ph", 4),
            ("hold.k2o_most_lb_ac", 5),
            ("passes.order[1].usd_ac.flat", 6),
            ("passes.order[1].fall", 5),
            ("compare.flat.POT", 6),
            ("write.controller", 0),
        ] {
            assert_eq!(at(key), question, "{key}");
        }
    }
}
