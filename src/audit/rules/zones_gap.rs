//! Ground between polygons that has no rate.

use super::prelude::*;
use crate::audit::facts_text::{grouped, latitude, longitude};

/// See its page.
pub(super) static CODE: Code = Code {
    name: "zones-gap",
    checks: "that no ground between polygons is left out: slits from 5 cm to 2 m anywhere, and larger ground that polygons surround",
    why: "a slit turns the machine off and on again; larger ground gets the rate for out of field",
    example: "two zones simplified one by one: 0.8 m between them",
    mend: "let neighbors share their border, corner by corner; nothing, if the ground is meant to be left out",
};

/// What is narrower than this is no ground anyone would leave out on purpose, meters.
const SLIT_M: f64 = 3.0;

pub(super) fn find(of: &Prescription) -> Found {
    let mut found = Found::new();
    for set in &of.shape_sets {
        for gap in &set.overlay().gaps {
            let others: Vec<String> =
                gap.shapes.iter().skip(1).map(|index| set.shapes[*index].place.to_string()).collect();
            let note =
                format!("the other side is {}; at {}, {}", others.join("; "), latitude(gap.at.1), longitude(gap.at.0));
            let finding = match gap.width_m < SLIT_M {
                true => Diagnostic::warning(
                    &CODE,
                    format!("a gap of {:.1} m2, {:.1} m wide, beside it", gap.m2, gap.width_m),
                ),
                false => Diagnostic::note(&CODE, format!("{} m2 between polygons have no rate", grouped(gap.m2))),
            };
            found.push(finding.at(set.shapes[gap.shapes[0]].place.clone()).with_note(note));
        }
    }
    found
}
