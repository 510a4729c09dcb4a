//! Figures stated one a zone, brought to another number of zones over the same ground.

use super::edit::Answers;
use super::slot::{Slot, SlotKind};
use crate::pipeline::Outcome;

/// For each list that has one figure for each zone of `shown` and not for each of `count` zones: the name of its slot and
/// the mean of its figures over the ground of the new zones. A proposal: nothing is changed by it.
///
/// `count` of `None` is what the samples suggest. Whole numbers, but short tons to two decimals.
pub fn figures_over(shown: &Outcome, slots: &[Slot], answers: &Answers, count: Option<usize>) -> Vec<(String, String)> {
    let Some(zones) = &shown.zones else { return Vec::new() };
    let count = count.unwrap_or(zones.verdict().suggested);
    let Some(candidate) = zones.candidates().iter().find(|candidate| candidate.count == count) else {
        return Vec::new();
    };
    let n_drawn = zones.zones().len();
    let lists = slots.iter().filter(|slot| slot.kind == SlotKind::Numbers);
    let over = |slot: &Slot| {
        let text = answers.get(&slot.name).and_then(|given| given.first()).map_or(slot.text(), String::as_str);
        let list: Vec<f64> = text.split(',').map(|part| part.trim().parse().ok()).collect::<Option<_>>()?;
        if list.len() != n_drawn || list.len() == candidate.zones.len() || list.len() < 2 {
            return None;
        }
        let mut sums = vec![(0.0, 0_usize); candidate.zones.len()];
        for (&new, &drawn) in candidate.labels.iter().zip(zones.labels()) {
            if new > 0 && drawn > 0 {
                let sum = &mut sums[usize::from(new) - 1];
                sum.0 += list[usize::from(drawn) - 1];
                sum.1 += 1;
            }
        }
        let decimals = if slot.name.ends_with("short_ton_ac") { 2 } else { 0 };
        let figure = |(sum, n): &(f64, usize)| (*n > 0).then(|| format!("{:.decimals$}", sum / *n as f64));
        let figures: Vec<String> = sums.iter().map(figure).collect::<Option<_>>()?;
        Some((slot.name.clone(), figures.join(", ")))
    };
    lists.filter_map(over).collect()
}
