//! Corners that stand twice in a row.

use super::prelude::*;
use super::raw_rings::raw_rings;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "corners-repeated",
    checks: "that no corner stands twice in a row",
    why: "sides of no length make some readers stumble; they add nothing",
    example: "coordinates rounded so far that neighbors fall together",
    mend: "take repeated corners out",
};

pub(super) fn find(of: &Prescription) -> Found {
    let mut found = Found::new();
    for ring in raw_rings(of) {
        let n = ring.corners.windows(2).filter(|pair| pair[0] == pair[1]).count();
        if n > 0 && ring.corners.len() > 3 {
            let message = format!("corners that stand twice in a row: {n}");
            found.push(Diagnostic::note(&CODE, message).at(ring.place()));
        }
    }
    found
}
