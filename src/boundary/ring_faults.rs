//! What may be wrong with the rings of an outline, each alone and against each other.

use std::collections::BTreeMap;

use geo::line_intersection::{LineIntersection, line_intersection};
use geo::{Coord, Line};

use crate::crs::{LonLat, show_lon_lat};
use crate::diagnostic::{Code, Diagnostic};

/// Coordinates of an outline that are not longitude and latitude.
pub static OUTLINE_COORDINATES: Code = Code {
    name: "outline-coordinates",
    checks: "that every point of the outline is a number in range (longitude -180 to 180, latitude -90 to 90) and that no ring spans half the globe",
    why: "one bad point moves the area, the work plane and every cell",
    example: "a point at longitude 41.0, latitude -93.5: swapped",
    mend: "correct the point, or state the CRS the outline is really in",
};

/// A ring that encloses nothing.
pub static OUTLINE_RING_TOO_SMALL: Code = Code {
    name: "outline-ring-too-small",
    checks: "that each ring has at least three different points and encloses 1 m2 or more",
    why: "such a ring is a slip of the pen or a left-over of an editing tool, not ground",
    example: "a ring of two points, there and back",
    mend: "remove the ring from the outline, or draw it again",
};

/// Rings that cross or run along themselves or each other.
pub static OUTLINE_CROSSES: Code = Code {
    name: "outline-crosses",
    checks: "that no ring crosses, touches or runs along itself, that two rings meet in single points at most, and that holes do not cut a part in two",
    why: "inside and outside are not defined then, and the area would be wrong",
    example: "a bow-tie: two corners of a square taken in the wrong order",
    mend: "correct the outline at the place named; adjoining polygons: join (dissolve) them into one in a GIS",
};

/// The same ring stated twice.
pub static OUTLINE_RING_REPEATED: Code = Code {
    name: "outline-ring-repeated",
    checks: "that no ring is stated twice",
    why: "a field drawn twice could mean the field, or a hole as large as the field",
    example: "two features with the same polygon in one file",
    mend: "keep one of them",
};

/// A ring whose last point was added.
pub static OUTLINE_RING_CLOSED: Code = Code {
    name: "outline-ring-closed",
    checks: "whether each ring ends where it began",
    why: "formats ask for closed rings; an open one may have lost points",
    example: "a walked outline that stops 3 m before its start",
    mend: "look at the map; nothing to do if the last side is right",
};

/// Least ground a ring must enclose, m2.
const MIN_RING_M2: f64 = 1.0;
/// A ring wider than this crosses the date line or is not a field, degrees.
const MAX_WIDTH_DEG: f64 = 180.0;

/// Points in which pairs of rings (lower index first) meet.
pub(super) type Touching = BTreeMap<(usize, usize), Vec<Coord<f64>>>;

/// Rings that passed every check.
#[derive(Debug)]
pub(super) struct SoundRings {
    /// Closed, no repeated neighbors, in stated order.
    pub(super) rings: Vec<Vec<Coord<f64>>>,
    /// Pairs of rings (lower index first) that meet in single points, with the points.
    pub(super) touching: Touching,
}

/// Checks rings alone, then against each other; all faults at once, with notes on rings closed.
pub(super) fn check(stated: &[Vec<LonLat>]) -> Result<(SoundRings, Vec<Diagnostic>), Vec<Diagnostic>> {
    let (mut faults, mut notes) = (Vec::new(), Vec::new());
    // A ring with a fault of its own is left out of the comparison: `None`.
    let mut rings: Vec<Option<Vec<Coord<f64>>>> = Vec::with_capacity(stated.len());
    for (index, points) in stated.iter().enumerate() {
        let ring = check_ring(index + 1, points, &mut faults, &mut notes);
        rings.push(ring);
    }
    let mut first_of: BTreeMap<Vec<(u64, u64)>, usize> = BTreeMap::new();
    for (index, slot) in rings.iter_mut().enumerate() {
        let Some(ring) = slot else { continue };
        if let Some(first) = first_of.get(&canonical(ring)) {
            let place = show_lon_lat((ring[0].x, ring[0].y));
            let message = format!("ring {} repeats ring {}, from {place}", index + 1, first + 1);
            faults.push(Diagnostic::error(&OUTLINE_RING_REPEATED, message));
            *slot = None;
        } else {
            first_of.insert(canonical(ring), index);
        }
    }
    let touching = check_meetings(&rings, &mut faults);
    if faults.is_empty() {
        Ok((SoundRings { rings: rings.into_iter().flatten().collect(), touching }, notes))
    } else {
        Err(faults)
    }
}

/// Closed ring without repeated neighbors, or `None` after reporting why not.
fn check_ring(
    number: usize,
    points: &[LonLat],
    faults: &mut Vec<Diagnostic>,
    notes: &mut Vec<Diagnostic>,
) -> Option<Vec<Coord<f64>>> {
    let n_before = faults.len();
    for (index, &(lon, lat)) in points.iter().enumerate() {
        if !(lon.is_finite() && lat.is_finite()) {
            let message = format!("ring {number}, point {}: not a number (lon {lon}, lat {lat})", index + 1);
            faults.push(Diagnostic::error(&OUTLINE_COORDINATES, message));
        } else if lon.abs() > 180.0 || lat.abs() > 90.0 {
            let message = format!(
                "ring {number}, point {}: {} is out of range, longitude lies in -180 to 180, latitude in -90 to 90",
                index + 1,
                show_lon_lat((lon, lat))
            );
            let fault = Diagnostic::error(&OUTLINE_COORDINATES, message);
            let swapped = lon.abs() <= 90.0 && lat.abs() <= 180.0;
            let help = if swapped {
                "longitude and latitude seem to be swapped; longitude comes first"
            } else {
                "state the CRS the outline is in"
            };
            faults.push(fault.with_help(help));
        }
    }
    if faults.len() > n_before {
        return None;
    }
    let mut ring: Vec<Coord<f64>> = points.iter().map(|&(x, y)| Coord { x, y }).collect();
    ring.dedup();
    if let (Some(&first), Some(&last)) = (ring.first(), ring.last())
        && first != last
    {
        ring.push(first);
        if ring.len() >= 4 {
            let message = format!(
                "ring {number} did not end where it began and was closed at {}",
                show_lon_lat((first.x, first.y))
            );
            notes.push(Diagnostic::note(&OUTLINE_RING_CLOSED, message));
        }
    }
    if ring.len() < 4 {
        let n_different = ring.len().saturating_sub(1).max(usize::from(!ring.is_empty()));
        let message = format!("ring {number} has {n_different} different points in a row, at least 3 are expected");
        faults.push(Diagnostic::error(&OUTLINE_RING_TOO_SMALL, message));
        return None;
    }
    let lons = ring.iter().map(|at| at.x);
    let width = lons.clone().fold(f64::NEG_INFINITY, f64::max) - lons.fold(f64::INFINITY, f64::min);
    if width > MAX_WIDTH_DEG {
        let message = format!("ring {number} spans {width:.1} degrees of longitude, at most 180 are accepted");
        let help = "a field across the date line must be drawn as one part on each side of it";
        faults.push(Diagnostic::error(&OUTLINE_COORDINATES, message).with_help(help));
        return None;
    }
    // The two loops of a bow-tie cancel out: its crossing is the better reason, and found later.
    let area_m2 = small_area_m2(&ring);
    if area_m2 < MIN_RING_M2 && !crosses_itself(&ring) {
        let place = show_lon_lat((ring[0].x, ring[0].y));
        let message = format!("ring {number} near {place} encloses {area_m2:.3} m2, at least 1 m2 is expected");
        faults.push(Diagnostic::error(&OUTLINE_RING_TOO_SMALL, message));
        return None;
    }
    Some(ring)
}

/// Area with straight sides on the plane of degrees, m2, good to 1 %. Geodesic sides bulge: three points in a line
/// 1 km long would enclose some 100 m2.
fn small_area_m2(ring: &[Coord<f64>]) -> f64 {
    const M_PER_DEG: f64 = 111_320.0; // of longitude at the equator; latitude differs by less than 1 %
    doubled_plane_area(ring).abs() / 2.0 * M_PER_DEG * M_PER_DEG * ring[0].y.to_radians().cos()
}

/// Twice the area on the plane of degrees, positive if counter-clockwise.
pub(super) fn doubled_plane_area(ring: &[Coord<f64>]) -> f64 {
    let origin = ring[0]; // degrees are large against a field: measure from a corner
    ring.windows(2)
        .map(|side| (side[0].x - origin.x) * (side[1].y - origin.y) - (side[1].x - origin.x) * (side[0].y - origin.y))
        .sum()
}

/// The same key for the same ring, wherever it starts and whichever way it runs.
fn canonical(ring: &[Coord<f64>]) -> Vec<(u64, u64)> {
    let open = &ring[..ring.len() - 1];
    // Adding 0 makes -0 and 0 the same.
    let mut forward: Vec<(u64, u64)> = open.iter().map(|at| ((at.x + 0.0).to_bits(), (at.y + 0.0).to_bits())).collect();
    let mut backward = forward.clone();
    backward.reverse();
    for points in [&mut forward, &mut backward] {
        let least = (0..points.len()).min_by_key(|&start| points[start]).unwrap_or(0);
        points.rotate_left(least);
    }
    forward.min(backward)
}

/// One side of a ring with its bounds.
struct Side {
    ring: usize,
    index: usize,
    line: Line<f64>,
    west: f64,
    east: f64,
    south: f64,
    north: f64,
}

/// How two sides meet where they should not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Meeting {
    Crosses,
    RunsAlong,
    Touches,
}

fn sides_of(ring: usize, points: &[Coord<f64>]) -> impl Iterator<Item = Side> + '_ {
    points.windows(2).enumerate().map(move |(index, ends)| Side {
        ring,
        index,
        line: Line::new(ends[0], ends[1]),
        west: ends[0].x.min(ends[1].x),
        east: ends[0].x.max(ends[1].x),
        south: ends[0].y.min(ends[1].y),
        north: ends[0].y.max(ends[1].y),
    })
}

/// Calls `found` for every pair of sides that meet, but for neighbors in a ring at their shared point.
fn sweep(rings: &[Option<Vec<Coord<f64>>>], mut found: impl FnMut(usize, usize, Meeting, Coord<f64>)) {
    let present = rings.iter().enumerate().filter_map(|(index, ring)| Some((index, ring.as_ref()?)));
    let mut sides: Vec<Side> = present.flat_map(|(index, ring)| sides_of(index, ring)).collect();
    sides.sort_by(|a, b| a.west.total_cmp(&b.west));
    for (at, a) in sides.iter().enumerate() {
        for b in sides[at + 1..].iter().take_while(|b| b.west <= a.east) {
            if b.south > a.north || b.north < a.south {
                continue;
            }
            let n_sides = rings[a.ring].as_ref().map_or(0, |ring| ring.len() - 1);
            let step = a.index.abs_diff(b.index);
            let neighbors = a.ring == b.ring && (step == 1 || step == n_sides - 1);
            let (low, high) = (a.ring.min(b.ring), a.ring.max(b.ring));
            match line_intersection(a.line, b.line) {
                Some(LineIntersection::Collinear { intersection }) if intersection.start != intersection.end => {
                    let ends = (intersection.start, intersection.end);
                    let west_end = if (ends.0.x, ends.0.y) <= (ends.1.x, ends.1.y) { ends.0 } else { ends.1 };
                    found(low, high, Meeting::RunsAlong, west_end);
                }
                _ if neighbors => {}
                Some(LineIntersection::SinglePoint { intersection, is_proper }) => {
                    found(low, high, if is_proper { Meeting::Crosses } else { Meeting::Touches }, intersection);
                }
                Some(LineIntersection::Collinear { intersection }) => {
                    found(low, high, Meeting::Touches, intersection.start)
                }
                None => {}
            }
        }
    }
}

fn crosses_itself(ring: &[Coord<f64>]) -> bool {
    let mut crosses = false;
    sweep(&[Some(ring.to_vec())], |_, _, meeting, _| crosses |= meeting != Meeting::RunsAlong);
    crosses
}

/// Reports crossings and shared stretches; returns the pairs of rings that meet in single points.
fn check_meetings(rings: &[Option<Vec<Coord<f64>>>], faults: &mut Vec<Diagnostic>) -> Touching {
    let mut meetings: BTreeMap<(usize, usize, Meeting), Vec<Coord<f64>>> = BTreeMap::new();
    sweep(rings, |low, high, meeting, place| meetings.entry((low, high, meeting)).or_default().push(place));
    let mut touching = Touching::new();
    for (&(low, high, meeting), places) in &mut meetings {
        places.sort_by(|a, b| (a.x, a.y).partial_cmp(&(b.x, b.y)).unwrap_or(std::cmp::Ordering::Equal));
        places.dedup();
        let (first, second) = (low + 1, high + 1);
        let what = match (low == high, meeting) {
            (true, Meeting::Crosses) => format!("ring {first} crosses itself"),
            (true, Meeting::RunsAlong) => format!("ring {first} runs along itself"),
            (true, Meeting::Touches) => format!("ring {first} touches itself"),
            (false, Meeting::Crosses) => format!("rings {first} and {second} cross"),
            (false, Meeting::RunsAlong) => format!("rings {first} and {second} share a stretch"),
            (false, Meeting::Touches) => {
                touching.insert((low, high), std::mem::take(places));
                continue;
            }
        };
        let mut fault =
            Diagnostic::error(&OUTLINE_CROSSES, format!("{what} near {}", show_lon_lat((places[0].x, places[0].y))));
        if places.len() > 1 {
            let others: Vec<String> = places[1..].iter().take(4).map(|at| show_lon_lat((at.x, at.y))).collect();
            let more = if places.len() > 5 { format!(" and {} more", places.len() - 5) } else { String::new() };
            fault = fault.with_note(format!("also near {}{more}", others.join("; ")));
        }
        let help = match (low == high, meeting) {
            (true, Meeting::RunsAlong) => "a hole must be a ring of its own, not joined to the outline by a cut",
            (false, Meeting::RunsAlong) => "join (dissolve) adjoining polygons into one and run again",
            _ => "correct the outline at that place and run again",
        };
        faults.push(fault.with_help(help));
    }
    touching
}
