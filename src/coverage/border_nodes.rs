//! Places on the boundary's edges where zone borders and setback outlines end, chosen so that the boundary stays
//! straight.
//!
//! The crossing of two lines is hardly ever on the lattice; rounded to it, it bends the boundary by up to half a step,
//! and a bend of 5 mm in the middle of an 800 m edge is 2 m2 of field. Two things keep the area:
//!
//! ```text
//!          . line          .        The line is led to v, the lattice vertex nearest to the edge within some steps of
//!   --g---/---o-------g----         the crossing. A vertex of the boundary is always the best.
//!        ^    v                     If v still lies beside the edge, guides g are put before and after it where a
//!                                   lattice vertex lies nearly on the edge: the bend is no longer than from g to g.
//! ```

use super::lattice::Vertex;
use super::segments::{Segment, crosses_inside, for_pairs_near, turn};

/// Farthest a zone border's end is led along the boundary, lattice steps: 0.36 m at most, below what a zone border is
/// worth by far.
pub(super) const ZONE_BORDER_SHIFT: i32 = 32;
/// Farthest a setback's end is led along the boundary, lattice steps: 0.09 m at most, less than guidance is off.
pub(super) const SETBACK_SHIFT: i32 = 8;

/// What lies nearer to an edge than this share of a step (0.7 mm) is on it: 800 m of edge bent so is 0.3 m2.
const NEAR_SHARE: i64 = 16;
/// Farthest a guide is looked for, steps. An edge that has none within this runs along a parallel for longer.
const GUIDE_REACH: i32 = 4096;

/// Lines that may cross the boundary, with how far their crossings may be led along it, steps.
pub(super) struct Crossing<'a> {
    pub(super) lines: &'a mut [Vec<Vertex>],
    pub(super) shift: i32,
}

/// The lines without edges that are edges of the boundary: those part nothing, and once the boundary has got nodes they
/// would run hardly beside it.
pub(super) fn apart_from(boundary: &[Vec<Vertex>], lines: &[Vec<Vertex>]) -> Vec<Vec<Vertex>> {
    let sorted = |edge: &[Vertex]| [edge[0].min(edge[1]), edge[0].max(edge[1])];
    let mut own: Vec<Segment> = boundary.iter().flat_map(|ring| ring.windows(2)).map(sorted).collect();
    own.sort_unstable();
    let mut apart = Vec::new();
    for line in lines {
        let mut part: Vec<Vertex> = line.first().copied().into_iter().collect();
        for edge in line.windows(2) {
            if own.binary_search(&sorted(edge)).is_ok() {
                apart.push(std::mem::take(&mut part));
            }
            part.push(edge[1]);
        }
        apart.push(part);
    }
    apart.retain(|part| part.len() > 1);
    apart
}

/// Gives the boundary and the lines a common vertex wherever they cross.
///
/// # Guarantees
/// - all vertices stay, in their order
/// - each new vertex is at most half a step from the boundary's edge; those of a line are at most `shift` steps, and half
///   a step, from the crossing in each direction
/// - the order of the lines changes nothing
pub(super) fn lead_to_boundary(boundary: &mut [Vec<Vertex>], crossings: &mut [Crossing]) {
    // All edges in one list: boundary rings, then lines.
    let mut edges: Vec<Segment> = Vec::new();
    for path in boundary.iter() {
        edges.extend(path.windows(2).map(|edge| [edge[0], edge[1]]));
    }
    let n_boundary = edges.len();
    let mut shifts: Vec<i32> = Vec::new();
    for crossing in crossings.iter() {
        for path in crossing.lines.iter() {
            edges.extend(path.windows(2).map(|edge| [edge[0], edge[1]]));
        }
        shifts.resize(edges.len() - n_boundary, crossing.shift);
    }
    let mut found: Vec<(usize, Vertex)> = Vec::new();
    for_pairs_near(&edges, |i, j| {
        if i < n_boundary && j >= n_boundary && crosses_inside(edges[i], edges[j]) {
            let vertex = best_vertex(edges[i], edges[j], shifts[j - n_boundary]);
            found.extend([(i, vertex), (j, vertex)]);
            found.extend(guides(edges[i], vertex).map(|guide| (i, guide)));
        }
    });
    found.sort_unstable_by_key(|&(edge, vertex)| (edge, along(edges[edge], vertex), vertex));
    found.dedup();
    let mut at_edge = 0;
    let mut found = &found[..];
    let lines = crossings.iter_mut().flat_map(|crossing| crossing.lines.iter_mut());
    for path in boundary.iter_mut().chain(lines) {
        let mut whole: Vec<Vertex> = path.first().copied().into_iter().collect();
        for edge in path.windows(2) {
            let n_here = found.partition_point(|&(index, _)| index <= at_edge);
            whole.extend(found[..n_here].iter().map(|&(_, vertex)| vertex).filter(|vertex| !edge.contains(vertex)));
            found = &found[n_here..];
            whole.push(edge[1]);
            at_edge += 1;
        }
        *path = whole;
    }
}

/// How far along an edge a vertex lies, times the edge's length.
fn along([a, b]: Segment, vertex: Vertex) -> i64 {
    let diff = |to: Vertex| (i64::from(to.x) - i64::from(a.x), i64::from(to.y) - i64::from(a.y));
    diff(b).0 * diff(vertex).0 + diff(b).1 * diff(vertex).1
}

/// The vertex near the crossing of `edge` and `line` that is nearest to `edge`, its ends included.
fn best_vertex(edge: Segment, line: Segment, shift: i32) -> Vertex {
    let (sa, sb) = (turn(line[0], line[1], edge[0]) as f64, turn(line[0], line[1], edge[1]) as f64);
    let steps = Steps::along(edge);
    let middle = (sa / (sa - sb) * f64::from(steps.length)).round() as i32;
    let (low, high) = (steps.length.min(0), steps.length.max(0));
    let near = ((middle - shift).max(low)..=(middle + shift).min(high)).map(|step| (step, steps.vertex(step)));
    let best = near.min_by_key(|&(step, vertex)| (aside(edge, vertex), step.abs_diff(middle), vertex));
    // The range holds at least the end nearest to the crossing.
    best.map_or(edge[0], |(_, vertex)| vertex)
}

/// Vertices nearly on an edge before and after one that lies beside it; none if it is near enough itself.
fn guides(edge: Segment, vertex: Vertex) -> impl Iterator<Item = Vertex> {
    let length = f64::from(edge[1].x - edge[0].x).hypot(f64::from(edge[1].y - edge[0].y)) as i64;
    let is_near = move |place: Vertex| aside(edge, place) * NEAR_SHARE.unsigned_abs() <= length.unsigned_abs();
    let steps = Steps::along(edge);
    let at = if steps.is_flat { vertex.x - edge[0].x } else { vertex.y - edge[0].y };
    let room = |direction: i32| {
        let end = if (direction > 0) == (steps.length > 0) { steps.length } else { 0 };
        (end - at).abs().min(GUIDE_REACH)
    };
    let side = move |direction: i32| {
        let mut best: Option<(u64, Vertex)> = None;
        for away in 1..=room(direction) {
            let place = steps.vertex(at + direction * away);
            if best.is_none_or(|(least, _)| aside(edge, place) < least) {
                best = Some((aside(edge, place), place));
            }
            if is_near(place) {
                break;
            }
        }
        best.map(|(_, place)| place)
    };
    let found = if is_near(vertex) { [None, None] } else { [side(-1), side(1)] };
    found.into_iter().flatten()
}

/// Distance from an edge's line, times its length.
fn aside(edge: Segment, vertex: Vertex) -> u64 {
    turn(edge[0], edge[1], vertex).unsigned_abs()
}

/// An edge by steps along the longer of its two directions.
#[derive(Clone, Copy)]
struct Steps {
    start: Vertex,
    is_flat: bool,
    length: i32,
    rise: i32,
}

impl Steps {
    fn along([a, b]: Segment) -> Self {
        let (dx, dy) = (b.x - a.x, b.y - a.y);
        let is_flat = dx.unsigned_abs() >= dy.unsigned_abs();
        let (length, rise) = if is_flat { (dx, dy) } else { (dy, dx) };
        Steps { start: a, is_flat, length, rise }
    }

    /// The vertex nearest to the edge at a step.
    fn vertex(&self, step: i32) -> Vertex {
        let across = (f64::from(step) * f64::from(self.rise) / f64::from(self.length)).round() as i32;
        let (x, y) = if self.is_flat { (step, across) } else { (across, step) };
        Vertex { x: self.start.x + x, y: self.start.y + y }
    }
}

#[cfg(test)]
mod tests {
    use super::super::segments::doubled_area;
    use super::*;

    fn vertex(x: i32, y: i32) -> Vertex {
        Vertex { x, y }
    }

    #[test]
    fn a_crossing_goes_to_the_vertex_nearest_to_the_edge() {
        // The edge passes through (10, 1), (20, 2), ...
        let edge = [vertex(0, 0), vertex(1000, 100)];
        assert_eq!(best_vertex(edge, [vertex(33, -50), vertex(33, 50)], 8), vertex(30, 3));
        assert_eq!(best_vertex(edge, [vertex(33, -50), vertex(33, 50)], 0), vertex(33, 3));
        assert_eq!(best_vertex(edge, [vertex(3, -50), vertex(3, 50)], 8), vertex(0, 0));
    }

    #[test]
    fn boundary_and_line_share_the_vertex() {
        let mut boundary = [vec![vertex(0, 0), vertex(1000, 100), vertex(0, 500), vertex(0, 0)]];
        let mut lines = [vec![vertex(33, -50), vertex(33, 50)]];
        lead_to_boundary(&mut boundary, &mut [Crossing { lines: &mut lines, shift: 8 }]);
        assert_eq!(boundary[0][..3], [vertex(0, 0), vertex(30, 3), vertex(1000, 100)]);
        assert_eq!(lines[0], [vertex(33, -50), vertex(30, 3), vertex(33, 50)]);
    }

    #[test]
    fn edges_of_the_boundary_are_taken_off_lines() {
        let [a, b, c, d] = [vertex(0, 0), vertex(9, 0), vertex(9, 9), vertex(0, 9)];
        let boundary = [vec![a, b, c, d, a]];
        assert_eq!(apart_from(&boundary, &[vec![b, a, c, d]]), [vec![a, c]]);
        assert!(apart_from(&boundary, &[vec![b, a, d]]).is_empty());
        assert_eq!(apart_from(&boundary, &[vec![a, c, b, vertex(20, 3), a]]), [vec![a, c], vec![b, vertex(20, 3), a]]);
    }

    #[test]
    fn an_edge_of_900_m_keeps_its_area() {
        // Doubled square steps; 1e-6 of a square field of that side is 6400.
        let (mut worst, mut worst_rounded) = (0, 0);
        for rise in (20..40_000).step_by(173) {
            let corners = [vertex(0, 0), vertex(80_001, rise), vertex(0, 80_001), vertex(0, 0)];
            let mut lines = [vec![vertex(41_003, -90_000), vertex(41_017, 90_000)]];
            let mut boundary = [corners.to_vec()];
            lead_to_boundary(&mut boundary, &mut [Crossing { lines: &mut lines, shift: ZONE_BORDER_SHIFT }]);
            let change = |ring: &[Vertex]| (doubled_area(ring) - doubled_area(&corners)).abs();
            let on_edge = boundary[0].iter().position(|&vertex| vertex == corners[1]).unwrap();
            let with = [&boundary[0][..on_edge], &corners[1..]].concat();
            worst = worst.max(change(&with));
            let rounded = best_vertex([corners[0], corners[1]], [lines[0][0], lines[0][lines[0].len() - 1]], 0);
            worst_rounded = worst_rounded.max(change(&[corners[0], rounded, corners[1], corners[2], corners[0]]));
        }
        assert!(worst < 6400, "{worst}");
        assert!(worst_rounded > 30_000, "{worst_rounded}");
    }
}
