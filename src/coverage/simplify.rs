//! Fewer vertices on the borders, each border once, so that neighbors stay neighbors.
//!
//! Douglas-Peucker keeps the ends of each arc and every corner that lies farther than the tolerance from the line
//! without it. Then lines that would cross, touch, or jump over the start of another arc get their farthest corner
//! back, until none does. At worst all corners are back, and those do not cross.

use super::arcs::Arc;
use super::lattice::Vertex;
use super::segments::{Segment, conflict, for_pairs_near, is_inside};

/// Arcs with fewer vertices.
///
/// # Units
/// `tolerance_cells`: sides of a cell, 0 or more.
///
/// # Guarantees
/// - the ends of every arc are kept, and all vertices are corners of the arc
/// - no corner lies farther than the tolerance from its arc's new line
/// - arcs that met in ends only meet in ends only, and a closed arc has area
/// - an arc stays on its side of the others
pub(super) fn simplify(arcs: &[Arc], tolerance_cells: f64) -> Vec<Arc> {
    let mut kept: Vec<Vec<usize>> = arcs.iter().map(|arc| kept_corners(arc, tolerance_cells)).collect();
    let starts = Starts::of(arcs);
    let mut are_new: Vec<bool> = Vec::new();
    loop {
        let lines: Vec<Line> = (0..arcs.len())
            .flat_map(|arc| kept[arc].windows(2).map(move |ends| Line { arc, first: ends[0], last: ends[1] }))
            .collect();
        are_new.resize(lines.len(), true);
        let segments: Vec<Segment> = lines.iter().map(|line| line.segment(arcs)).collect();
        let mut is_split: Vec<bool> = lines
            .iter()
            .zip(&are_new)
            .map(|(line, &is_new)| is_new && line.last - line.first > 1 && starts.any_jumped(&arcs[line.arc], line))
            .collect();
        for_pairs_near(&segments, |i, j| {
            if (lines[i].is_short_cut() || lines[j].is_short_cut()) && conflict(segments[i], segments[j]) {
                is_split[i] |= lines[i].is_short_cut();
                is_split[j] |= lines[j].is_short_cut();
            }
        });
        if !is_split.contains(&true) {
            break;
        }
        kept.iter_mut().for_each(Vec::clear);
        are_new.clear();
        for (line, &is_split) in lines.iter().zip(&is_split) {
            let kept = &mut kept[line.arc];
            if kept.is_empty() {
                kept.push(line.first);
            }
            if is_split {
                kept.push(farthest(&arcs[line.arc], line.first, line.last).0);
                are_new.push(true);
            }
            kept.push(line.last);
            are_new.push(is_split);
        }
    }
    arcs.iter().zip(&kept).map(|(arc, kept)| kept.iter().map(|&corner| arc[corner]).collect()).collect()
}

/// A straight line from one corner of an arc to a later one.
struct Line {
    arc: usize,
    first: usize,
    last: usize,
}

impl Line {
    fn segment(&self, arcs: &[Arc]) -> Segment {
        [arcs[self.arc][self.first], arcs[self.arc][self.last]]
    }

    fn is_short_cut(&self) -> bool {
        self.last - self.first > 1
    }
}

/// Indices of the corners Douglas-Peucker keeps, ascending, ends included.
fn kept_corners(arc: &[Vertex], tolerance: f64) -> Vec<usize> {
    let end = arc.len() - 1;
    let mut kept = vec![0, end];
    let mut open = vec![(0, end)];
    // A closed arc is first cut in two at its farthest corner, whatever the tolerance.
    if arc[0] == arc[end] {
        let (middle, _) = farthest(arc, 0, end);
        kept.push(middle);
        open = vec![(0, middle), (middle, end)];
    }
    while let Some((first, last)) = open.pop() {
        if last - first < 2 {
            continue;
        }
        let (middle, squared) = farthest(arc, first, last);
        if squared > tolerance * tolerance {
            kept.push(middle);
            open.extend([(first, middle), (middle, last)]);
        }
    }
    kept.sort_unstable();
    kept
}

/// The corner between two others of an arc that is farthest from the line between them, and its distance squared. The
/// first of equals.
fn farthest(arc: &[Vertex], first: usize, last: usize) -> (usize, f64) {
    let [a, b] = [arc[first], arc[last]].map(|end| (f64::from(end.x), f64::from(end.y)));
    let along = (b.0 - a.0, b.1 - a.1);
    let length_squared = along.0 * along.0 + along.1 * along.1;
    let mut most = (first + 1, -1.0);
    for (index, corner) in arc.iter().enumerate().take(last).skip(first + 1) {
        let aside = (f64::from(corner.x) - a.0, f64::from(corner.y) - a.1);
        let share = (aside.0 * along.0 + aside.1 * along.1) / length_squared;
        let share = if length_squared > 0.0 { share.clamp(0.0, 1.0) } else { 0.0 };
        let (east, north) = (aside.0 - share * along.0, aside.1 - share * along.1);
        let squared = east * east + north * north;
        if squared > most.1 {
            most = (index, squared);
        }
    }
    most
}

/// The ends of all arcs, by row. Lines that cross nothing and jump over no end leave every arc on its side.
struct Starts {
    /// By row, then column, each once.
    places: Vec<(i32, i32)>,
}

impl Starts {
    fn of(arcs: &[Arc]) -> Self {
        let ends = arcs.iter().flat_map(|arc| [arc[0], arc[arc.len() - 1]]);
        let mut places: Vec<(i32, i32)> = ends.map(|end| (end.y, end.x)).collect();
        places.sort_unstable();
        places.dedup();
        Starts { places }
    }

    /// Whether an end lies between a line and the part of the arc it stands for.
    fn any_jumped(&self, arc: &[Vertex], line: &Line) -> bool {
        let part = &arc[line.first..=line.last];
        let range = |of: fn(&Vertex) -> i32| {
            part.iter().map(of).fold((i32::MAX, i32::MIN), |(low, high), at| (low.min(at), high.max(at)))
        };
        let (south, north) = range(|corner| corner.y);
        let (west, east) = range(|corner| corner.x);
        let closing = [part[part.len() - 1], part[0]];
        let mut row = self.places.partition_point(|&place| place < (south, west));
        while let Some(&(y, x)) = self.places.get(row) {
            if y > north {
                return false;
            }
            if x < west {
                row += self.places[row..].partition_point(|&place| place < (y, west));
            } else if x > east {
                row += self.places[row..].partition_point(|&place| place < (y + 1, west));
            } else {
                let place = Vertex { x, y };
                let is_own = place == part[0] || place == closing[0];
                if !is_own && is_inside((i64::from(x), i64::from(y)), 1, [part, &closing[..]]) {
                    return true;
                }
                row += 1;
            }
        }
        false
    }
}

#[cfg(test)]
mod tests {
    use super::super::segments::{doubled_area, is_on};
    use super::*;

    fn arc(corners: &[(i32, i32)]) -> Arc {
        corners.iter().map(|&(x, y)| Vertex { x, y }).collect()
    }

    #[test]
    fn stairs_become_a_line_with_the_same_ends() {
        let stairs: Vec<(i32, i32)> = (0..20).map(|step| (step / 2, (step + 1) / 2)).collect();
        assert_eq!(simplify(&[arc(&stairs)], 1.0), [arc(&[stairs[0], stairs[19]])]);
        assert_eq!(simplify(&[arc(&stairs)], 0.0), [arc(&stairs)]);
    }

    #[test]
    fn a_small_island_keeps_its_area() {
        let island = arc(&[(0, 0), (1, 0), (1, 1), (0, 1), (0, 0)]);
        let after = simplify(&[island], 50.0);
        assert!(doubled_area(&after[0]).abs() >= 1, "{after:?}");
    }

    #[test]
    fn two_arcs_between_the_same_nodes_stay_apart() {
        let bulge = arc(&[(0, 0), (0, 1), (9, 1), (9, 0)]);
        let after = simplify(&[arc(&[(0, 0), (9, 0)]), bulge.clone()], 5.0);
        assert_eq!(after[0].len(), 2);
        assert!(after[1].len() > 2);
    }

    #[test]
    fn an_arc_does_not_jump_over_an_island() {
        let bay = arc(&[(0, 0), (10, 0), (10, 4), (20, 4), (20, 0), (30, 0)]);
        let island = arc(&[(14, 1), (16, 1), (16, 2), (14, 2), (14, 1)]);
        let alone = simplify(std::slice::from_ref(&bay), 5.0);
        assert_eq!(alone[0].len(), 2);
        let after = simplify(&[bay, island], 5.0);
        // The island stays south of the border: a way from it to the south crosses the border nowhere.
        let ring: Vec<Vertex> = after[0].iter().copied().chain(arc(&[(30, -9), (0, -9), (0, 0)])).collect();
        assert!(is_inside((30, 3), 2, [&ring[..]]));
    }

    #[test]
    fn no_corner_is_farther_than_the_tolerance() {
        let mut corners = vec![(0, 0)];
        let mut state = 7_u32;
        for _ in 0..400 {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let (x, y) = corners[corners.len() - 1];
            corners.push((x + 1, y));
            corners.push((x + 1, y + (state >> 28) as i32 - 7));
        }
        let before = arc(&corners);
        for tolerance in [0.5, 2.0, 10.0] {
            let after = &simplify(std::slice::from_ref(&before), tolerance)[0];
            for corner in &before {
                let distance = |edge: &[Vertex]| {
                    let line = [edge[0], *corner, edge[1]];
                    if is_on(*corner, [edge[0], edge[1]]) { 0.0 } else { farthest(&line, 0, 2).1.sqrt() }
                };
                let least = after.windows(2).map(distance).fold(f64::INFINITY, f64::min);
                assert!(least <= tolerance + 1e-9);
            }
        }
    }
}
