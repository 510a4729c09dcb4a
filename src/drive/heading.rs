//! Which way a field is driven, where the user does not say: along its longest straight side.

use crate::cell_grid::Site;

/// Most an edge may turn from the first edge of a side and still belong to it, degrees: a side walked or drawn by hand
/// has vertices along it (heuristic).
const SAME_SIDE_DEG: f64 = 2.0;

/// Direction of the longest straight side of closed rings, degrees clockwise from the north of the work plane, from 0 to
/// under 180; `None` without an edge.
///
/// Edges one after another that turn less than 2 degrees from the first count as one side, by the line between its ends.
/// Of sides of one length the first is taken.
pub fn longest_side_deg(rings: &[Vec<Site>]) -> Option<f64> {
    let mut longest: Option<(f64, f64)> = None;
    for ring in rings {
        let corners = ring.len().saturating_sub(1);
        for first in 0..corners {
            let start = ring[first];
            let Some(direction) = direction_deg(start, ring[first + 1]) else { continue };
            let mut end = ring[first + 1];
            for next in 1..corners {
                let (from, to) = (ring[(first + next) % corners], ring[(first + next) % corners + 1]);
                match direction_deg(from, to) {
                    Some(turned) if turn_deg(direction, turned) >= SAME_SIDE_DEG => break,
                    _ => end = to,
                }
            }
            let length_m = start.distance_m(end);
            // A side as long but for rounding is no longer side.
            if longest.is_none_or(|(most_m, _)| length_m > most_m * (1.0 + 1e-9)) {
                longest = direction_deg(start, end).map(|deg| (length_m, deg.rem_euclid(180.0))).or(longest);
            }
        }
    }
    longest.map(|(_, deg)| deg)
}

/// Degrees clockwise from north; `None` between two places that are one.
fn direction_deg(from: Site, to: Site) -> Option<f64> {
    let (east_m, north_m) = (to.east_m - from.east_m, to.north_m - from.north_m);
    (east_m != 0.0 || north_m != 0.0).then(|| east_m.atan2(north_m).to_degrees())
}

fn turn_deg(a: f64, b: f64) -> f64 {
    let turn = (a - b).rem_euclid(360.0);
    turn.min(360.0 - turn)
}
