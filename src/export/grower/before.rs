//! Before anyone spreads: cautions, what is kept off, who has the last word.

use super::{Told, plain};
use crate::export::in_units::InUnits;
use crate::export::page::{Block, Line};

pub(super) fn blocks(told: &Told<'_>) -> Vec<Block> {
    let mut kept_off: Vec<&str> =
        told.report.plan.passes.iter().flat_map(|pass| &pass.kept_off).map(String::as_str).collect();
    kept_off.sort_unstable();
    kept_off.dedup();
    let keep = match (kept_off.is_empty(), told.report.plan.has_rates()) {
        (false, _) => format!("Kept off here, by the distances in the field file: {}. Your local rules decide, not this page.", kept_off.join("; ")),
        (true, true) => "No ground is kept off: the field file names no well, water or line to stay away from. If there is one, put it in before anything is spread.".to_owned(),
        (true, false) => "Local rules and a certified adviser come before this page.".to_owned(),
    };
    let mut blocks = vec![plain(keep)];
    if told.report.plan.has_rates() {
        let lines = told.report.plan_holds().sentences().into_iter().map(|sentence| Line {
            id: None,
            name: InUnits::same("\u{2013}"),
            words: InUnits::same(sentence),
        });
        blocks.push(Block::Lines(lines.collect()));
    }
    blocks
}
