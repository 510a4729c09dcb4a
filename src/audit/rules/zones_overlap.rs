//! Polygons over one another.

use super::prelude::*;
use crate::audit::facts_text::{latitude, longitude};

/// See its page.
pub(super) static CODE: Code = Code {
    name: "zones-overlap",
    checks: "that no two polygons lie over one another by 0.5 m2 or more, slits under 5 cm left aside",
    why: "where two rates are ordered for one place, one controller takes the first, another the last, a third refuses the file",
    example: "a new zone drawn over the old ones",
    mend: "cut one polygon at the other's border",
};

pub(super) fn find(of: &Prescription) -> Found {
    let mut found = Found::new();
    for (index, set) in of.shape_sets.iter().enumerate() {
        for overlap in &set.overlay().overlaps {
            let (a, b) = overlap.shapes;
            let rates = of.layers.iter().filter_map(|layer| match &layer.ground {
                Ground::Shapes { set, rates } if *set == index => Some((rates.get(a)?, rates.get(b)?)),
                _ => None,
            });
            let is_unlike = rates.into_iter().any(|(one, other)| one != other);
            let message = format!(
                "{:.1} m2 lie under another polygon too{}",
                overlap.m2,
                if is_unlike { ", with another rate" } else { "" }
            );
            let finding =
                if is_unlike { Diagnostic::error(&CODE, message) } else { Diagnostic::warning(&CODE, message) };
            let other = &set.shapes[b].place;
            let note = format!("the other is {other}; at {}, {}", latitude(overlap.at.1), longitude(overlap.at.0));
            found.push(finding.at(set.shapes[a].place.clone()).with_note(note));
        }
    }
    found
}
