//! Rings with too few corners.

use super::prelude::*;
use super::raw_rings::raw_rings;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "ring-too-short",
    checks: "that every ring has at least three unlike corners",
    why: "fewer enclose no ground; some readers refuse the whole file for one",
    example: "a ring that goes out and back on one line",
    mend: "delete the ring, or draw it whole",
};

pub(super) fn find(of: &Prescription) -> Found {
    let mut found = Found::new();
    for ring in raw_rings(of) {
        let mut corners: Vec<(u64, u64)> = ring.corners.iter().map(|(x, y)| (x.to_bits(), y.to_bits())).collect();
        if corners.len() > 16 {
            continue; // a long ring of fewer than three places would be invalid anyway
        }
        corners.sort_unstable();
        corners.dedup();
        if corners.len() < 3 {
            let message = format!("a ring with {} unlike corners", corners.len());
            found.push(Diagnostic::error(&CODE, message).at(ring.place()));
        }
    }
    found
}
