//! What lies in each face: the zone by its cells, and the setbacks over it.

use std::collections::BTreeMap;

use super::error::CoverageError;
use super::faces::Faces;
use super::label_growth::GrownLabels;
use super::lattice::Vertex;
use super::segments::{is_inside, turn};

/// Zone of each face: that of most cell centers in it, the smaller of equals; in a face without centers, that of the
/// cell at the middle of its largest triangle.
///
/// `to_cells` gives a lattice place (a vertex, or a mean of vertices) in cells from the center of the first cell.
///
/// # Errors
/// Those of `to_cells`.
pub(super) fn zones_of(
    faces: &Faces,
    raster: &GrownLabels,
    to_cells: impl Fn(Vertex) -> Result<(f64, f64), CoverageError>,
) -> Result<Vec<u16>, CoverageError> {
    let mut votes: Vec<BTreeMap<u16, usize>> = vec![BTreeMap::new(); faces.count];
    let mut middles: Vec<Option<(i64, (f64, f64))>> = vec![None; faces.count];
    let mut in_cells: Vec<Vertex> = faces.triangles.iter().flat_map(|(_, corners)| *corners).collect();
    in_cells.sort_unstable();
    in_cells.dedup();
    let places = in_cells.iter().map(|&vertex| to_cells(vertex)).collect::<Result<Vec<_>, _>>()?;
    for (face, corners) in &faces.triangles {
        let at = corners.map(|corner| places[in_cells.partition_point(|&other| other < corner)]);
        count_centers(at, raster, &mut votes[*face]);
        let area = turn(corners[0], corners[1], corners[2]);
        if middles[*face].is_none_or(|(largest, _)| area > largest) {
            let mean = |of: fn((f64, f64)) -> f64| (of(at[0]) + of(at[1]) + of(at[2])) / 3.0;
            middles[*face] = Some((area, (mean(|place| place.0), mean(|place| place.1))));
        }
    }
    let zone = |face: usize| {
        let (votes, middle) = (&votes[face], middles[face]);
        let most = votes.iter().max_by_key(|&(&label, &n_cells)| (n_cells, std::cmp::Reverse(label)));
        most.map_or_else(|| raster.label_at(middle.map_or((0.0, 0.0), |(_, place)| place)), |(&label, _)| label)
    };
    Ok((0..faces.count).map(zone).collect())
}

/// Counts the cells, by label, whose centers lie in a triangle. A center on a side may be counted in both neighbors.
fn count_centers(triangle: [(f64, f64); 3], raster: &GrownLabels, votes: &mut BTreeMap<u16, usize>) {
    let [a, b, c] = triangle;
    let low = a.1.min(b.1).min(c.1).ceil().max(0.0);
    let high = a.1.max(b.1).max(c.1).floor().min(raster.n_rows as f64 - 1.0);
    if low > high {
        return;
    }
    for row in low as usize..=high as usize {
        let north = row as f64;
        let (mut west, mut east) = (f64::INFINITY, f64::NEG_INFINITY);
        for [p, q] in [[a, b], [b, c], [c, a]] {
            if (p.1 <= north) != (q.1 <= north) {
                let col = p.0 + (q.0 - p.0) * ((north - p.1) / (q.1 - p.1));
                west = west.min(col);
                east = east.max(col);
            }
        }
        let (west, east) = (west.ceil().max(0.0), east.floor().min(raster.n_cols as f64 - 1.0));
        if west > east {
            continue;
        }
        let first = row * raster.n_cols;
        for run in raster.labels[first + west as usize..=first + east as usize].chunk_by(|a, b| a == b) {
            *votes.entry(run[0]).or_default() += run.len();
        }
    }
}

/// A setback: polygons of closed rings on the lattice.
pub(super) type SetbackArea = Vec<Vec<Vec<Vertex>>>;

/// Indices of the setbacks over each face, ascending: those that hold the middle of its largest triangle.
///
/// The net's edges lie up to a step beside the outlines, so a face thinner than that may be put on either side.
pub(super) fn setbacks_over(faces: &Faces, setbacks: &[SetbackArea]) -> Vec<Vec<usize>> {
    let mut largest: Vec<Option<(i64, (i64, i64))>> = vec![None; faces.count];
    for (face, corners) in &faces.triangles {
        let area = turn(corners[0], corners[1], corners[2]);
        if largest[*face].is_none_or(|(most, _)| area > most) {
            let sum = |of: fn(Vertex) -> i32| corners.iter().map(|&corner| i64::from(of(corner))).sum();
            largest[*face] = Some((area, (sum(|corner| corner.x), sum(|corner| corner.y))));
        }
    }
    let mut over = vec![Vec::new(); faces.count];
    for (index, setback) in setbacks.iter().enumerate() {
        for (face, middle) in largest.iter().enumerate() {
            let Some((_, tripled)) = *middle else { continue };
            let holds = |rings: &Vec<Vec<Vertex>>| is_inside(tripled, 3, rings.iter().map(Vec::as_slice));
            if setback.iter().any(holds) {
                over[face].push(index);
            }
        }
    }
    over
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cell_grid::CellGrid;

    fn vertex(x: i32, y: i32) -> Vertex {
        Vertex { x, y }
    }

    #[test]
    fn centers_are_counted_row_by_row() {
        let grid = CellGrid { west_m: 0.0, south_m: 0.0, cell_m: 1.0, n_cols: 1, n_rows: 1 };
        let raster = GrownLabels::of(&grid, &[4]).unwrap();
        let mut votes = BTreeMap::new();
        // Centers 1..=4 by 1..=4 with col + row < 5.5: 4 + 3 + 2 + 1 less those beyond the slant.
        count_centers([(0.5, 0.5), (5.0, 0.5), (0.5, 5.0)], &raster, &mut votes);
        assert_eq!(votes, BTreeMap::from([(4, 10)]));
    }

    #[test]
    fn most_cells_decide_and_small_faces_take_the_cell_they_lie_in() {
        let grid = CellGrid { west_m: 0.0, south_m: 0.0, cell_m: 1.0, n_cols: 4, n_rows: 4 };
        let labels: Vec<u16> = (0..16).map(|cell| if cell % 4 < 1 { 1 } else { 2 }).collect();
        let raster = GrownLabels::of(&grid, &labels).unwrap();
        let to_cells = |vertex: Vertex| {
            let hundredth = |step: i32| f64::from(step) / 100.0 + 2.5;
            Ok((hundredth(vertex.x), hundredth(vertex.y)))
        };
        let large = [vertex(0, 0), vertex(400, 0), vertex(400, 400)];
        let small = [vertex(10, 10), vertex(12, 10), vertex(11, 12)];
        let faces = Faces { count: 2, left_of: Vec::new(), triangles: vec![(0, large), (1, small)] };
        assert_eq!(zones_of(&faces, &raster, to_cells), Ok(vec![2, 1]));
    }

    #[test]
    fn setbacks_with_holes() {
        let square = |low: i32, high: i32| {
            vec![vertex(low, low), vertex(high, low), vertex(high, high), vertex(low, high), vertex(low, low)]
        };
        let setback = vec![vec![square(0, 100), square(40, 60)]];
        let at = |place: i32| [vertex(place, place), vertex(place + 3, place), vertex(place, place + 3)];
        let faces = Faces { count: 3, left_of: Vec::new(), triangles: vec![(0, at(10)), (1, at(50)), (2, at(200))] };
        assert_eq!(setbacks_over(&faces, &[setback]), [vec![0], vec![], vec![]]);
    }
}
