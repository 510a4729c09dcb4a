//! Which ground each cell's center lies on, exactly.
//!
//! Corners of polygons are whole 1e-7 degrees and centers of cells whole halves of 1e-9 degree, so every question has an
//! answer without rounding: where two grounds share a border, no center falls to both or to neither.

use super::GridFrame;
use crate::coverage::{Lattice, LatticePolygon, Vertex};

/// Halves of 1e-9 degree in a step of the lattice.
const HALVES_PER_STEP: i64 = 200;

/// Index from 1 of the ground each cell's center lies on, 0 = none; south row first.
///
/// A center on an edge belongs to the ground east or north of it. Where grounds overlap, the last one is told.
///
/// Cost: edges times the rows they span, plus the cells.
pub fn ground_of_cells(frame: &GridFrame, lattice: &Lattice, grounds: &[&[LatticePolygon]]) -> Vec<u16> {
    let mut cells = vec![0; frame.n_cells()];
    for (index, polygons) in (1..).zip(grounds) {
        fill(frame, lattice, polygons, index, &mut cells);
    }
    cells
}

fn fill(frame: &GridFrame, lattice: &Lattice, polygons: &[LatticePolygon], index: u16, cells: &mut [u16]) {
    let mut crossings: Vec<Vec<usize>> = vec![Vec::new(); frame.n_rows];
    for ring in polygons.iter().flat_map(LatticePolygon::rings) {
        for edge in ring.windows(2) {
            cross(frame, [in_frame(frame, lattice, edge[0]), in_frame(frame, lattice, edge[1])], &mut crossings);
        }
    }
    for (row, cols) in crossings.iter_mut().enumerate() {
        cols.sort_unstable();
        for pair in cols.chunks_exact(2) {
            cells[frame.index(pair[0], row)..frame.index(pair[1], row)].fill(index);
        }
    }
}

/// A vertex in halves of 1e-9 degree from the grid's south-west corner.
fn in_frame(frame: &GridFrame, lattice: &Lattice, vertex: Vertex) -> (i64, i64) {
    let (lon, lat) = lattice.lon_lat_e7(vertex);
    (lon * HALVES_PER_STEP - 2 * frame.west_e9, lat * HALVES_PER_STEP - 2 * frame.south_e9)
}

/// Adds, to each row whose centers an edge crosses, the first column whose center is not west of the crossing.
fn cross(frame: &GridFrame, [a, b]: [(i64, i64); 2], crossings: &mut [Vec<usize>]) {
    // From south to north, so that both grounds beside an edge work out the same.
    let (low, high) = if a.1 <= b.1 { (a, b) } else { (b, a) };
    let first_at = |halves: i64, cell: i64, n: usize| first_center(i128::from(halves), 1, cell, n);
    let first_row = first_at(low.1, frame.cell_north_e9, frame.n_rows);
    let end_row = first_at(high.1, frame.cell_north_e9, frame.n_rows);
    let rise = i128::from(high.1 - low.1);
    for (row, cols) in crossings.iter_mut().enumerate().take(end_row).skip(first_row) {
        let center = (2 * row as i64 + 1) * frame.cell_north_e9;
        let across = i128::from(low.0) * rise + i128::from(high.0 - low.0) * i128::from(center - low.1);
        cols.push(first_center(across, rise, frame.cell_east_e9, frame.n_cols));
    }
}

/// Index of the first center, (2 i + 1) `cell` halves from the start, at or beyond `place / scale`; at most `n`.
fn first_center(place: i128, scale: i128, cell: i64, n: usize) -> usize {
    let cell = i128::from(cell) * scale;
    // Rounded up: whole steps of two cells from the first center.
    let steps = (place - cell + 2 * cell - 1).div_euclid(2 * cell);
    steps.clamp(0, n as i128) as usize
}
