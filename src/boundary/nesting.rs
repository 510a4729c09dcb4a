//! Which ring lies in which: exteriors and holes by nesting depth.

use std::collections::BTreeMap;

use geo::coordinate_position::{CoordPos, CoordinatePosition};
use geo::{Coord, LineString, Polygon};

use super::ring_faults::{OUTLINE_CROSSES, SoundRings, Touching};
use crate::crs::show_lon_lat;
use crate::diagnostic::{Code, Diagnostic};

/// Rings that play another role than the file states.
pub static OUTLINE_ROLES_CHANGED: Code = Code {
    name: "outline-roles-changed",
    checks: "whether the file's own parts and holes are those that follow from which ring lies in which",
    why: "many writers mix up parts and holes, which changes the area; but a polygon inside the outline may also be something else that does not belong in the file",
    example: "a pond stored as a polygon of its own inside the field: taken as a hole",
    mend: "look at the parts and holes on the map; if a ring does not belong to the outline, remove it from the file",
};

/// A polygon as the file has it: indices of its rings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StatedPolygon {
    /// Index of the outer ring.
    pub exterior: usize,
    /// Indices of the holes.
    pub interiors: Vec<usize>,
}

/// A part of the field: indices of its rings.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Part {
    pub(super) exterior: usize,
    pub(super) holes: Vec<usize>,
}

/// Sorts rings into parts with holes; even depth is exterior. Parts and holes keep the order of the rings.
pub(super) fn nest(sound: &SoundRings) -> Result<Vec<Part>, Vec<Diagnostic>> {
    let shells: Vec<Polygon<f64>> =
        sound.rings.iter().map(|ring| Polygon::new(LineString(ring.clone()), Vec::new())).collect();
    let mut faults = Vec::new();
    for &(low, high) in sound.touching.keys() {
        for (of, against) in [(low, high), (high, low)] {
            if let Some(place) = crosses_at_a_vertex(&sound.rings[of], &shells[against]) {
                let message =
                    format!("rings {} and {} cross near {}", low + 1, high + 1, show_lon_lat((place.x, place.y)));
                faults.push(
                    Diagnostic::error(&OUTLINE_CROSSES, message)
                        .with_help("correct the outline at that place and run again"),
                );
                break;
            }
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let containers: Vec<Vec<usize>> = (0..shells.len())
        .map(|ring| {
            (0..shells.len()).filter(|&other| other != ring && lies_in(&sound.rings[ring], &shells[other])).collect()
        })
        .collect();
    let is_exterior = |ring: usize| containers[ring].len().is_multiple_of(2);
    let mut parts: Vec<Part> = (0..shells.len())
        .filter(|&ring| is_exterior(ring))
        .map(|exterior| Part { exterior, holes: Vec::new() })
        .collect();
    for hole in (0..shells.len()).filter(|&ring| !is_exterior(ring)) {
        // The innermost container has the most containers itself; it is an exterior, as it lies one less deep.
        let parent = containers[hole].iter().copied().max_by_key(|&container| containers[container].len());
        if let Some(part) = parts.iter_mut().find(|part| Some(part.exterior) == parent) {
            part.holes.push(hole);
        }
    }
    let faults: Vec<Diagnostic> = parts.iter().filter_map(|part| cut_apart(part, &sound.touching)).collect();
    if faults.is_empty() { Ok(parts) } else { Err(faults) }
}

/// A part whose holes, touching each other or the exterior, close a chain is cut in two: a chain closes when a touch
/// joins rings that other touches have joined already.
fn cut_apart(part: &Part, touching: &Touching) -> Option<Diagnostic> {
    let belongs = |ring: usize| ring == part.exterior || part.holes.contains(&ring);
    // Rings and points of touch are knots of one net, a ring and each point on it are tied.
    let mut group_of: BTreeMap<Knot, usize> = BTreeMap::new();
    let mut ties: BTreeMap<(Knot, Knot), Coord<f64>> = BTreeMap::new();
    for (&(low, high), places) in touching.iter().filter(|((low, high), _)| belongs(*low) && belongs(*high)) {
        for &place in places {
            let point = Knot::Point(place.x.to_bits(), place.y.to_bits());
            ties.insert((Knot::Ring(low), point), place);
            ties.insert((Knot::Ring(high), point), place);
        }
    }
    for (n_groups, (&(ring, point), &place)) in ties.iter().enumerate() {
        let ring_group = *group_of.entry(ring).or_insert(2 * n_groups);
        let point_group = *group_of.entry(point).or_insert(2 * n_groups + 1);
        if ring_group == point_group {
            let message = format!(
                "holes cut the part inside ring {} in two, the last touch is near {}",
                part.exterior + 1,
                show_lon_lat((place.x, place.y))
            );
            let help = "draw the two sides as parts of their own";
            return Some(Diagnostic::error(&OUTLINE_CROSSES, message).with_help(help));
        }
        group_of.values_mut().filter(|group| **group == point_group).for_each(|group| *group = ring_group);
    }
    None
}

/// A ring, or a point where rings touch (bits of its coordinates).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Knot {
    Ring(usize),
    Point(u64, u64),
}

/// Corners of a ring and the middles of its sides.
fn trial_places(ring: &[Coord<f64>]) -> impl Iterator<Item = Coord<f64>> + '_ {
    ring.windows(2).flat_map(|side| [side[0], (side[0] + side[1]) / 2.0])
}

/// Whether a ring lies in a shell it does not cross: decided by the first place off the shell's own ring.
fn lies_in(ring: &[Coord<f64>], shell: &Polygon<f64>) -> bool {
    let positions = trial_places(ring).map(|place| shell.coordinate_position(&place));
    positions.into_iter().find(|position| *position != CoordPos::OnBoundary) == Some(CoordPos::Inside)
}

/// Two rings may pass through each other exactly at a vertex, which no pair of sides shows: then some places lie
/// inside and some outside. Returns the place after which the side changes.
fn crosses_at_a_vertex(ring: &[Coord<f64>], shell: &Polygon<f64>) -> Option<Coord<f64>> {
    let (mut seen, mut last_on_boundary) = (None, ring[0]);
    for place in trial_places(ring) {
        match shell.coordinate_position(&place) {
            CoordPos::OnBoundary => last_on_boundary = place,
            position if seen.is_some_and(|earlier| earlier != position) => return Some(last_on_boundary),
            position => seen = Some(position),
        }
    }
    None
}

/// Warnings where a ring's role is not the stated one. A ring's direction is no role.
pub(super) fn changed_roles(parts: &[Part], stated: &[StatedPolygon]) -> Vec<Diagnostic> {
    let parent_of = |ring: usize| parts.iter().find(|part| part.holes.contains(&ring)).map(|part| part.exterior);
    let is_part = |ring: usize| parts.iter().any(|part| part.exterior == ring);
    let mut warnings = Vec::new();
    for polygon in stated {
        if let Some(parent) = parent_of(polygon.exterior) {
            let message = format!(
                "ring {} is stated as a polygon of its own but lies inside ring {}: taken as a hole",
                polygon.exterior + 1,
                parent + 1
            );
            warnings.push(
                Diagnostic::warning(&OUTLINE_ROLES_CHANGED, message)
                    .with_help("if that ground is farmed, remove the inner polygon from the outline file"),
            );
        }
        for &hole in &polygon.interiors {
            let message = match parent_of(hole) {
                None if is_part(hole) => format!(
                    "ring {} is stated as a hole of ring {} but lies in no part: taken as a part",
                    hole + 1,
                    polygon.exterior + 1
                ),
                Some(parent) if parent != polygon.exterior => {
                    format!(
                        "ring {} is stated as a hole of ring {} but lies inside ring {}: taken as a hole of that",
                        hole + 1,
                        polygon.exterior + 1,
                        parent + 1
                    )
                }
                _ => continue,
            };
            warnings.push(
                Diagnostic::warning(&OUTLINE_ROLES_CHANGED, message)
                    .with_help("look at the parts and holes on the map"),
            );
        }
    }
    warnings
}
