//! A walked or driven outline that is a line: closed into a ring where the field file asks for it.

use geo::line_intersection::{LineIntersection, line_intersection};
use geo::{Coord, Distance, Geodesic, Line, Point};
use holdground::crs::{LonLat, show_lon_lat};
use holdground::diagnostic::{Code, Diagnostic};
use holdground::units::feet_and_meters;

/// A line taken as an outline.
pub(crate) static WALKED_LINE_CLOSED: Code = Code {
    name: "walked-line-closed",
    checks: "how far apart the ends of a line are that `outline_line = \"close\"` closes into an outline",
    why: "the piece between the ends was not walked: it is drawn straight",
    example: "a walk of 1,240 m ends 3 m before its start",
    mend: "nothing, if the straight piece is right; else walk the rest, or draw the outline in a map editor",
};

/// A line that does not come back to its start.
pub(crate) static WALK_NOT_A_ROUND: Code = Code {
    name: "walk-not-a-round",
    checks: "that a line to be closed leaves at most 100 m and a tenth of its length open",
    why: "a side that was not walked would be drawn by guess, and the field's area with it",
    example: "three sides of a field walked, and the fourth left to the road",
    mend: "walk the missing side, or draw the outline as a polygon in a map editor",
};

/// Longest gap that is bridged, m (heuristic).
const MAX_GAP_M: f64 = 100.0;
/// Longest gap as a share of the length walked (heuristic).
const MAX_GAP_SHARE: f64 = 0.1;

/// Closes a walk into a ring, with a note of the gap. `pieces` are the walk in order; `number` counts lines from 1.
///
/// Where the walk ran past its start and crosses itself there, the ends are cut off at the crossing, and the note says so.
///
/// # Errors
/// [`WALK_NOT_A_ROUND`], without a place.
pub(super) fn close(number: usize, pieces: &[Vec<LonLat>]) -> Result<(Vec<LonLat>, Diagnostic), Box<Diagnostic>> {
    let apart_m = |from: &LonLat, to: &LonLat| Geodesic.distance(Point::from(*from), Point::from(*to));
    let pieces: Vec<&Vec<LonLat>> = pieces.iter().filter(|piece| !piece.is_empty()).collect();
    let walked_m: f64 = pieces.iter().flat_map(|piece| piece.windows(2)).map(|step| apart_m(&step[0], &step[1])).sum();
    let mut ring: Vec<LonLat> = pieces.iter().flat_map(|piece| piece.iter().copied()).collect();
    let gaps = (0..pieces.len()).filter_map(|index| {
        let next = pieces[(index + 1) % pieces.len()];
        Some(apart_m(pieces[index].last()?, next.first()?))
    });
    let gap_m: f64 = gaps.sum();
    let in_pieces = if pieces.len() > 1 { format!(" in {} pieces", pieces.len()) } else { String::new() };
    let limit_m = MAX_GAP_M.min(MAX_GAP_SHARE * walked_m);
    let (gap, walked) = (feet_and_meters(gap_m), feet_and_meters(walked_m));
    if gap_m > limit_m {
        let message = format!("line {number} is not a round: {gap} are open, {walked} walked{in_pieces}");
        let fault = Diagnostic::error(&WALK_NOT_A_ROUND, message);
        let fault = match (ring.first(), ring.last()) {
            (Some(&first), Some(&last)) => {
                fault.with_note(format!("it goes from {} to {}", show_lon_lat(first), show_lon_lat(last)))
            }
            _ => fault,
        };
        let limit = feet_and_meters(limit_m);
        let help = format!("at most {limit} may be open here: walk the missing side, or draw the outline as a polygon");
        return Err(Box::new(fault.with_help(help)));
    }
    let mut message = match gap_m > 0.0 {
        true => format!("line {number} is closed over a gap of {gap}, {walked} walked{in_pieces}"),
        false => format!("line {number} ends where it began, {walked} walked{in_pieces}"),
    };
    ring.dedup();
    if ring.first() != ring.last() {
        ring.extend(ring.first().copied());
    }
    if let Some((cut, at)) = without_overlap(&ring, limit_m) {
        let length_m = |ring: &[LonLat]| ring.windows(2).map(|step| apart_m(&step[0], &step[1])).sum::<f64>();
        let cut_off = feet_and_meters(length_m(&ring) - length_m(&cut));
        message = format!(
            "line {number} runs past its start: its ends, {cut_off}, are cut off where they cross, at {}, {walked} walked",
            show_lon_lat(at)
        );
        ring = cut;
    }
    Ok((ring, Diagnostic::note(&WALKED_LINE_CLOSED, message)))
}

/// The closed ring without its two ends, where they cross each other within `reach_m` of the start, and the crossing.
fn without_overlap(ring: &[LonLat], reach_m: f64) -> Option<(Vec<LonLat>, LonLat)> {
    let sides: Vec<Line<f64>> =
        ring.windows(2).map(|ends| Line::new(Coord::from(ends[0]), Coord::from(ends[1]))).collect();
    let length_m = |side: &Line<f64>| Geodesic.distance(Point(side.start), Point(side.end));
    let reach = |sides: &mut dyn Iterator<Item = &Line<f64>>| {
        let mut walked_m = 0.0;
        let within = |side: &&Line<f64>| {
            let starts_within = walked_m <= reach_m;
            walked_m += length_m(side);
            starts_within
        };
        sides.take_while(within).count()
    };
    let n_head = reach(&mut sides.iter());
    let n_tail = reach(&mut sides.iter().rev());
    // Rounds shorter than their two ends are left to the checks of the boundary.
    let first_of_tail = sides.len().checked_sub(n_tail).filter(|&first| first > n_head)?;
    // The crossing that leaves the most of the walk: first along the tail, then along the head.
    for tail in first_of_tail..sides.len() {
        for head in 0..n_head {
            if let Some(LineIntersection::SinglePoint { intersection, is_proper: true }) =
                line_intersection(sides[tail], sides[head])
            {
                let at = (intersection.x, intersection.y);
                let kept = ring[head + 1..=tail].iter().copied();
                return Some(([at].into_iter().chain(kept).chain([at]).collect(), at));
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square walk of 4 x 100 m near the equator, a corner every side, ending `short_m` before its start.
    fn walk(short_m: f64) -> Vec<LonLat> {
        // WGS 84 at the equator: 111,319.49 m a degree of longitude, 110,574.3 m of latitude (to 1e-6 of this length).
        let at = |east_m: f64, north_m: f64| (east_m / 111_319.49, north_m / 110_574.3);
        vec![at(0.0, 0.0), at(100.0, 0.0), at(100.0, 100.0), at(0.0, 100.0), at(0.0, short_m)]
    }

    #[test]
    fn a_small_gap_is_bridged_and_told() {
        let (ring, note) = close(1, &[walk(3.0)]).expect("a round");
        assert_eq!((ring.len(), ring[0]), (6, ring[5]));
        assert_eq!(note.message, "line 1 is closed over a gap of 9.8 ft (3.0 m), 1,302 ft (397 m) walked");
        let (ring, note) = close(2, &[walk(0.0)]).expect("closed already");
        assert_eq!((ring.len(), note.message.as_str()), (5, "line 2 ends where it began, 1,312 ft (400 m) walked"));
    }

    #[test]
    fn pieces_are_one_walk_in_their_order() {
        let whole = walk(2.0);
        let (ring, note) = close(1, &[whole[..2].to_vec(), Vec::new(), whole[1..].to_vec()]).expect("a round");
        assert_eq!(ring.len(), 6, "the joint stands once");
        assert!(note.message.ends_with("walked in 2 pieces"), "{}", note.message);
        // A side of 100 m lost between two pieces.
        assert!(close(1, &[whole[..2].to_vec(), whole[2..].to_vec()]).is_err());
    }

    #[test]
    fn an_open_walk_is_refused() {
        let fault = close(1, &[walk(60.0)]).expect_err("60 of 340 m");
        assert_eq!(fault.message, "line 1 is not a round: 197 ft (60 m) are open, 1,115 ft (340 m) walked");
        assert!(fault.help.as_deref().is_some_and(|help| help.starts_with("at most 112 ft (34 m) may be open")));
        // 101 m of 4 km: under a tenth, over 100 m.
        let large: Vec<LonLat> = walk(10.1).into_iter().map(|(x, y)| (10.0 * x, 10.0 * y)).collect();
        assert!(close(1, &[large]).is_err());
        assert!(close(1, &[walk(0.0)[..2].to_vec()]).is_err(), "there and no way back");
    }

    #[test]
    fn an_overlap_that_crosses_is_cut_off() {
        // Past the start and across the first side: 4 m inside the square, then 3 m south of it.
        let m = |east_m: f64, north_m: f64| (east_m / 111_319.49, north_m / 110_574.3);
        let mut walked = walk(2.0);
        walked.extend([m(4.0, 2.0), m(4.0, -3.0)]);
        let (ring, note) = close(1, &[walked]).expect("a round");
        // Off: 4 m of the first side, 3 m past the crossing, and the 5 m back to the start (4 west, 3 north).
        let told = "line 1 runs past its start: its ends, 39 ft (12 m), are cut off where they cross, at lon 0.000036,";
        assert!(note.message.starts_with(told), "{}", note.message);
        let crossing = m(4.0, 0.0);
        assert!((ring[0].0 - crossing.0).abs() < 1e-12 && ring[0].1.abs() < 1e-12, "{:?}", ring[0]);
        assert_eq!(ring.first(), ring.last());
        assert!(without_overlap(&ring, 30.0).is_none(), "nothing crosses any more");
    }
}
