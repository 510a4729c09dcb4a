//! What is not known.

use super::{Told, plain};
use crate::diagnostic::Severity;
use crate::export::in_units::InUnits;
use crate::export::page::{Block, Line};
use crate::units::{M_PER_FOOT, UnitSystem, thousands};

pub(super) fn blocks(told: &Told<'_>) -> Vec<Block> {
    let (drawing, steps_m) = told.drawn.doubt(("doubt", "Map of the distance to the nearest sample"));
    let caption = InUnits::of(|units| {
        let [near, far] = steps_m.map(|m| distance(units, m));
        format!(
            "Map of doubt. Light: a sample within {near}. Grey: within {far}. Dark: farther. Slant lines: beyond the outermost samples"
        )
    });
    let mut blocks = vec![Block::Figure { caption, drawings: vec![drawing] }];
    if let Some((_, far_m)) = told.drawn.least_known() {
        blocks.push(Block::Words(InUnits::of(|units| {
            format!(
                "The + lies farthest from any sample, {}: one more core there tells most about ground nobody looked at.",
                distance(units, far_m)
            )
        })));
    }
    blocks.extend(super::holding::measured_against_mapped(told));
    let worse: Vec<String> = told
        .report
        .surfaces
        .quality
        .iter()
        .filter(|quality| {
            quality.error.and_then(|error| error.prediction_efficiency_percent()).is_none_or(|percent| percent <= 0.0)
        })
        .map(|quality| quality.variable.label().to_owned())
        .collect();
    blocks.push(plain(match worse.is_empty() {
        true => "Every map is better than the field's mean, each sample hidden in turn.".to_owned(),
        false => format!(
            "Maps no better than the field's mean: {}. One rate is as good for what hangs on them.",
            worse.join(", ")
        ),
    }));
    let file = told.report.field_file;
    for (keys, words) in [(&file.unknown, "Left out because unknown"), (&file.open, "Still to be answered")] {
        let keys: Vec<&str> = keys.iter().map(|(_, key)| key.as_str()).collect();
        if !keys.is_empty() {
            blocks.push(plain(format!("{words}: {}.", keys.join(", "))));
        }
    }
    let set_aside = told.report.samples.n_set_aside;
    if set_aside > 0 {
        blocks.push(plain(format!("{set_aside} samples of other depths were set aside.")));
    }
    let mut said = std::collections::BTreeSet::new();
    let warnings: Vec<Line> = told
        .report
        .warnings
        .iter()
        .filter(|warning| warning.severity == Severity::Warning && said.insert(&warning.message))
        .map(|warning| {
            let help = warning.help.as_ref().map_or(String::new(), |help| format!(" {}.", super::sentence(help)));
            let words = format!("{}.{help}", super::sentence(&warning.message));
            Line { id: None, name: InUnits::same("Look at this:"), words: InUnits::same(super::quoted(&words)) }
        })
        .collect();
    // The same may be said of several places, which the run record names.
    let mut told_once: Vec<Line> = Vec::new();
    for line in warnings {
        if !told_once.contains(&line) {
            told_once.push(line);
        }
    }
    let warnings = told_once;
    if !warnings.is_empty() {
        blocks.push(Block::Lines(warnings));
    }
    blocks
}

fn distance(units: UnitSystem, m: f64) -> String {
    match units {
        UnitSystem::Us => format!("{} ft", thousands((m / M_PER_FOOT / 10.0).round() * 10.0, 0)),
        UnitSystem::Si => format!("{} m", thousands(m, 0)),
    }
}
