//! [`View`]: what the page shows.

use super::edit::Answers;
use super::since::Since;
use super::slot::Slot;
use crate::cell_grid::Site;
use crate::diagnostic::Diagnostic;
use crate::pipeline::Outcome;

/// What is the same while the page is open.
#[derive(Debug, Clone)]
pub struct DeskField {
    /// The field file, as typed.
    pub file: String,
    /// All samples of the sheet, those left out too: name, and place where it is known.
    pub samples: Vec<(String, Option<Site>)>,
}

/// What the page shows.
pub struct View<'a> {
    /// The field.
    pub field: &'a DeskField,
    /// What can be answered.
    pub slots: &'a [Slot],
    /// Answers of the inputs; a slot without one shows the file's.
    pub answers: &'a Answers,
    /// Questions with an answer that is not the file's.
    pub changed: &'a [usize],
    /// Why nothing could be worked out with these answers, each with its question, 0 for none.
    pub faults: &'a [(usize, Diagnostic)],
    /// The last that could be worked out.
    pub shown: &'a Outcome,
    /// What it changes against the file.
    pub since: &'a Since,
    /// Figures brought to another number of zones, proposed: name of the slot, figures.
    pub carried: &'a [(String, String)],
    /// What a press of a button came to.
    pub said: Option<&'a str>,
}

impl View<'_> {
    /// The answer an input shows.
    pub(super) fn answer<'s>(&'s self, slot: &'s Slot) -> &'s [String] {
        let is_list = matches!(slot.kind, super::SlotKind::Names(_) | super::SlotKind::Yes);
        match self.answers.get(&slot.name) {
            Some(answer) => answer,
            None if is_list && !self.answers.is_empty() => &[],
            None => &slot.answer,
        }
    }
}
