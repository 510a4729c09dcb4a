//! The keys of `[zones]` that say which patches are too small for the machine of `[machine]`.

use super::Answer;
use super::reader::{MISSING_KEY, Reader, Section, ranged, wrong};
use crate::rates::MachineTravel;
use crate::units::{M_PER_FOOT, M2_PER_ACRE};
use crate::zones::PatchLimits;

/// Swaths a patch is wide at least, unless stated: narrower, and no run fits into it. Source: heuristic.
const NARROWEST_SWATHS: f64 = 1.0;
/// Changes of rate a patch is long at least, unless stated: one to come to its rate, one to leave it. Source: heuristic.
const SHORTEST_CHANGES: f64 = 2.0;

/// Which patches stay; smaller ones join a neighbor. 0 is no limit.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PatchSettings {
    /// Least area, acres.
    pub smallest_ac: f64,
    /// Least width, in swaths of the machine.
    pub narrowest_swaths: f64,
    /// Least length, in distances the machine covers from one rate to the next.
    pub shortest_changes: f64,
}

impl PatchSettings {
    /// The limits in meters. What the machine does not state is no limit.
    pub fn limits(&self, machine: &MachineTravel) -> PatchLimits {
        let (swath_ft, change_ft) = (machine.swath_ft.unwrap_or(0.0), machine.change_distance_ft().unwrap_or(0.0));
        PatchLimits {
            smallest_m2: self.smallest_ac * M2_PER_ACRE,
            narrowest_m: self.narrowest_swaths * swath_ft * M_PER_FOOT,
            shortest_m: self.shortest_changes * change_ft * M_PER_FOOT,
        }
    }
}

/// The keys as stated.
#[derive(Default)]
pub(super) struct PatchKeys {
    /// Whether there is a `[zones]` section.
    has_zones: bool,
    smallest_ac: Option<f64>,
    narrowest_swaths: StatedKey,
    shortest_changes: StatedKey,
}

#[derive(Default)]
struct StatedKey {
    value: Option<f64>,
    /// Absent, not answered "?" or "unknown".
    is_absent: bool,
    line: usize,
}

pub(super) fn patch_keys<'a>(reader: &mut Reader<'a>, zones: &mut Section<'a>) -> PatchKeys {
    let smallest_ac = ranged(reader, zones, "smallest_ac", 0.0, 1000.0);
    let mut stated = |key: &str| {
        let answer = reader.number(zones, key);
        let line = zones.line_of(reader, key);
        let is_absent = matches!(answer, Answer::Absent);
        let value = answer.given().filter(|number| {
            let fits = (0.0..=20.0).contains(number);
            if !fits {
                wrong(reader, zones, key, format!("{number} must lie between 0 and 20"));
            }
            fits
        });
        StatedKey { value, is_absent, line }
    };
    let narrowest_swaths = stated("narrowest_swaths");
    let shortest_changes = stated("shortest_changes");
    PatchKeys { has_zones: zones.is_there(), smallest_ac, narrowest_swaths, shortest_changes }
}

/// Adds the defaults, which hang on what the machine states, and refuses limits counted in what it does not state.
pub(super) fn settled(reader: &mut Reader<'_>, keys: &PatchKeys, machine: &MachineTravel) -> PatchSettings {
    if !keys.has_zones {
        return PatchSettings::default();
    }
    let swath = (machine.swath_ft.is_some(), &["machine.swath_ft"][..]);
    let change = (machine.change_distance_ft().is_some(), &["machine.speed_mph", "machine.change_s"][..]);
    PatchSettings {
        smallest_ac: keys.smallest_ac.unwrap_or(0.0),
        narrowest_swaths: counted(reader, "zones.narrowest_swaths", &keys.narrowest_swaths, swath, NARROWEST_SWATHS),
        shortest_changes: counted(reader, "zones.shortest_changes", &keys.shortest_changes, change, SHORTEST_CHANGES),
    }
}

/// A limit counted in something the machine states with the keys `needed`; `is_known` if it states all of them.
fn counted(
    reader: &mut Reader<'_>,
    key: &str,
    stated: &StatedKey,
    (is_known, needed): (bool, &[&str]),
    default: f64,
) -> f64 {
    if stated.is_absent && is_known {
        reader.default_row(key, &format!("{default}, heuristic"));
        return default;
    }
    let value = stated.value.unwrap_or(0.0);
    let is_told = |key: &&str| reader.told(key) || reader.is_unanswered_key(key) || reader.is_unanswered_key("machine");
    if value > 0.0 && !is_known && !needed.iter().any(is_told) {
        let message = format!("`{key}` counts in what `{}` states, but that is missing", needed.join("` and `"));
        let help = format!("add it to `[machine]`, or take `{key}` out");
        reader.fault(&MISSING_KEY, stated.line, key, message, &help);
    }
    value
}
