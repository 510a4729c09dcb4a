//! Rings from directed edges, by going around the vertices.
//!
//! ```text
//!    u --> v     Arriving at v, the next edge is the first of the same group clockwise from the way back: the ground
//!         /|\    on the left, between the two, is one wedge. So a ring never crosses itself; where it passes a vertex
//!        1 2 3   twice, it is cut into rings that touch there.
//! ```

use std::collections::HashMap;

use super::error::CoverageError;
use super::lattice::Vertex;
use super::segments::doubled_area;

/// A polygon on the lattice.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct LatticePolygon {
    /// Closed ring (first = last), counter-clockwise, from its smallest vertex.
    pub exterior: Vec<Vertex>,
    /// Closed rings, clockwise, each from its smallest vertex, sorted.
    pub interiors: Vec<Vec<Vertex>>,
}

impl LatticePolygon {
    /// Twice the area, holes taken off, square lattice steps.
    pub fn doubled_area(&self) -> i64 {
        self.rings().map(doubled_area).sum()
    }

    /// The exterior, then the holes.
    pub fn rings(&self) -> impl Iterator<Item = &[Vertex]> {
        std::iter::once(&self.exterior).chain(&self.interiors).map(Vec::as_slice)
    }
}

/// A directed edge of a border, its ground on the left.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct BorderEdge {
    /// Ground joined across edges.
    pub(super) group: usize,
    pub(super) from: Vertex,
    pub(super) to: Vertex,
}

/// One polygon for each group, by group.
///
/// # Errors
/// [`CoverageError::RingOpen`] and [`CoverageError::Exteriors`] if the edges are not whole borders of joined ground.
pub(super) fn polygons(mut edges: Vec<BorderEdge>) -> Result<Vec<(usize, LatticePolygon)>, CoverageError> {
    edges.sort_unstable();
    let mut is_walked = vec![false; edges.len()];
    let mut polygons: Vec<(usize, LatticePolygon)> = Vec::new();
    let mut rings: Vec<Vec<Vertex>> = Vec::new();
    for first in 0..edges.len() {
        if !is_walked[first] {
            split(walk(&edges, first, &mut is_walked)?, &mut rings);
        }
        let group = edges[first].group;
        if edges.get(first + 1).is_none_or(|edge| edge.group != group) {
            polygons.push((group, polygon(std::mem::take(&mut rings), group)?));
        }
    }
    Ok(polygons)
}

fn polygon(rings: Vec<Vec<Vertex>>, group: usize) -> Result<LatticePolygon, CoverageError> {
    let (mut exteriors, mut interiors): (Vec<_>, Vec<_>) = rings.into_iter().partition(|ring| doubled_area(ring) > 0);
    let found = exteriors.len();
    interiors.sort_unstable();
    match exteriors.pop() {
        Some(exterior) if found == 1 => Ok(LatticePolygon { exterior, interiors }),
        _ => Err(CoverageError::Exteriors { found, group }),
    }
}

/// Vertices of the ring an edge lies on, the first not repeated.
fn walk(edges: &[BorderEdge], first: usize, is_walked: &mut [bool]) -> Result<Vec<Vertex>, CoverageError> {
    let mut ring = Vec::new();
    let mut at = first;
    loop {
        let edge = edges[at];
        is_walked[at] = true;
        ring.push(edge.from);
        let start = edges.partition_point(|other| (other.group, other.from) < (edge.group, edge.to));
        let leaving = edges[start..].iter().take_while(|other| (other.group, other.from) == (edge.group, edge.to));
        let back = direction(edge.to, edge.from);
        let next = leaving.enumerate().reduce(|best, other| {
            let [a, b] = [best, other].map(|(_, edge)| direction(edge.from, edge.to));
            if comes_first_clockwise(back, b, a) { other } else { best }
        });
        let open = CoverageError::RingOpen { x: edge.to.x, y: edge.to.y, edges: ring.len() };
        at = start + next.ok_or(open.clone())?.0;
        if at == first {
            return Ok(ring);
        }
        if is_walked[at] {
            return Err(open);
        }
    }
}

fn direction(from: Vertex, to: Vertex) -> (i64, i64) {
    (i64::from(to.x) - i64::from(from.x), i64::from(to.y) - i64::from(from.y))
}

/// Whether, turning clockwise from `back`, direction `a` comes before `b`.
fn comes_first_clockwise(back: (i64, i64), a: (i64, i64), b: (i64, i64)) -> bool {
    let cross = |p: (i64, i64), q: (i64, i64)| p.0 * q.1 - p.1 * q.0;
    let dot = |p: (i64, i64), q: (i64, i64)| p.0 * q.0 + p.1 * q.1;
    // Right half, straight on, left half, and last the way back.
    let sector = |p: (i64, i64)| match cross(back, p).signum() {
        -1 => 0,
        0 if dot(back, p) < 0 => 1,
        1 => 2,
        _ => 3,
    };
    (sector(a), cross(a, b).signum()) < (sector(b), 0)
}

/// Cuts a ring at vertices it passes more than once; the rings are closed and start at their smallest vertex.
fn split(ring: Vec<Vertex>, rings: &mut Vec<Vec<Vertex>>) {
    let mut place_of: HashMap<Vertex, usize> = HashMap::with_capacity(ring.len());
    let mut path: Vec<Vertex> = Vec::with_capacity(ring.len());
    for vertex in ring {
        if let Some(&place) = place_of.get(&vertex) {
            let part: Vec<Vertex> = path.drain(place..).collect();
            part.iter().for_each(|vertex| _ = place_of.remove(vertex));
            rings.push(closed(part));
        }
        place_of.insert(vertex, path.len());
        path.push(vertex);
    }
    rings.push(closed(path));
}

fn closed(mut ring: Vec<Vertex>) -> Vec<Vertex> {
    let smallest = ring.iter().enumerate().min_by_key(|(_, vertex)| **vertex).map_or(0, |(place, _)| place);
    ring.rotate_left(smallest);
    ring.extend(ring.first().copied());
    ring
}

#[cfg(test)]
mod tests {
    use super::*;

    fn edges(group: usize, places: &[(i32, i32)]) -> Vec<BorderEdge> {
        let vertex = |at: usize| Vertex { x: places[at % places.len()].0, y: places[at % places.len()].1 };
        (0..places.len()).map(|at| BorderEdge { group, from: vertex(at), to: vertex(at + 1) }).collect()
    }

    #[test]
    fn a_square_with_a_hole_touching_its_corner() {
        let mut all = edges(0, &[(0, 0), (9, 0), (9, 9), (0, 9)]);
        all.extend(edges(0, &[(0, 0), (2, 5), (5, 2)]));
        let found = polygons(all).unwrap();
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].1.interiors.len(), 1);
        assert_eq!(found[0].1.doubled_area(), 162 - 21);
        assert!(found[0].1.rings().all(|ring| ring[0] == Vertex { x: 0, y: 0 } && ring.last() == ring.first()));
    }

    #[test]
    fn two_holes_touching_are_two_rings() {
        let mut all = edges(3, &[(0, 0), (9, 0), (9, 9), (0, 9)]);
        all.extend(edges(3, &[(2, 2), (2, 4), (4, 4), (4, 2)]));
        all.extend(edges(3, &[(4, 4), (4, 6), (6, 6), (6, 4)]));
        let found = polygons(all).unwrap();
        assert_eq!((found[0].0, found[0].1.interiors.len()), (3, 2));
    }

    #[test]
    fn groups_that_meet_in_a_vertex_are_apart() {
        let mut all = edges(0, &[(0, 0), (4, 0), (4, 4), (0, 4)]);
        all.extend(edges(1, &[(4, 4), (8, 4), (8, 8), (4, 8)]));
        assert_eq!(polygons(all).unwrap().len(), 2);
    }

    #[test]
    fn what_is_no_border_is_refused() {
        let mut open = edges(0, &[(0, 0), (4, 0), (4, 4)]);
        open.pop();
        assert!(matches!(polygons(open), Err(CoverageError::RingOpen { .. })));
        let clockwise = edges(0, &[(0, 0), (0, 4), (4, 4)]);
        assert_eq!(polygons(clockwise), Err(CoverageError::Exteriors { found: 0, group: 0 }));
    }
}
