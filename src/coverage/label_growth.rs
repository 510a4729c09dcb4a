//! Labels for all cells and a rim around the raster, so that zone borders run beyond the field's boundary.

use super::error::CoverageError;
use crate::cell_grid::{CellGrid, Site};

/// Cells added on each side. The boundary may lie on the raster's edge, or up to [`MAX_BEYOND_CELLS`] beyond it; the
/// borders must end outside.
pub(super) const RIM: usize = 3;
/// How far the boundary may reach beyond the raster, cells: less than [`RIM`], so that borders still cross it.
pub(super) const MAX_BEYOND_CELLS: f64 = 1.0;

/// A raster without cells of no label, with a rim.
pub(super) struct GrownLabels {
    /// Cells a row, rim included.
    pub(super) n_cols: usize,
    /// Rows, rim included.
    pub(super) n_rows: usize,
    /// One label a cell, from 1; row 0 is the south row of the rim.
    pub(super) labels: Vec<u16>,
    /// South-west corner of the rim, and cell side, meters.
    west_m: f64,
    south_m: f64,
    cell_m: f64,
}

impl GrownLabels {
    /// Grows labels outward, ring by ring over cell sides.
    ///
    /// A cell takes the label of the neighbor it is reached from first; cells are taken in row-major order, so the same
    /// raster gives the same labels.
    ///
    /// # Errors
    /// If there is not one label a cell, no label at all, the raster is none, or has 2^31 cells or more.
    pub(super) fn of(grid: &CellGrid, labels: &[u16]) -> Result<Self, CoverageError> {
        let limit = i32::MAX as usize;
        let too_many = CoverageError::TooManyCells { n_cols: grid.n_cols, n_rows: grid.n_rows, limit };
        let side = |n: usize| n.checked_add(2 * RIM).filter(|&n| n < limit);
        let (Some(n_cols), Some(n_rows)) = (side(grid.n_cols), side(grid.n_rows)) else { return Err(too_many) };
        if n_cols.checked_mul(n_rows).is_none_or(|n_cells| n_cells >= limit) {
            return Err(too_many);
        }
        if labels.len() != grid.n_cells() {
            return Err(CoverageError::LabelCount { found: labels.len(), expected: grid.n_cells() });
        }
        let (west_m, south_m, cell_m) = (grid.west_m, grid.south_m, grid.cell_m);
        if !(cell_m > 0.0 && [west_m, south_m, cell_m].iter().all(|number| number.is_finite())) {
            return Err(CoverageError::Raster { cell_m, west_m, south_m });
        }
        if labels.iter().all(|&label| label == 0) {
            return Err(CoverageError::NoZones { cells: labels.len() });
        }
        let mut grown = vec![0; n_cols * n_rows];
        for (row, cells) in labels.chunks_exact(grid.n_cols).enumerate() {
            let first = (row + RIM) * n_cols + RIM;
            grown[first..first + grid.n_cols].copy_from_slice(cells);
        }
        grow(&mut grown, n_cols, n_rows);
        let shift_m = RIM as f64 * cell_m;
        Ok(GrownLabels { n_cols, n_rows, labels: grown, west_m: west_m - shift_m, south_m: south_m - shift_m, cell_m })
    }

    /// A corner of the cells, rim included, in local meters.
    pub(super) fn corner(&self, col: i32, row: i32) -> Site {
        let at = |edge_m: f64, n: i32| edge_m + f64::from(n) * self.cell_m;
        Site { east_m: at(self.west_m, col), north_m: at(self.south_m, row) }
    }

    /// A place in cells from the center of the south-west cell of the rim.
    pub(super) fn in_cells(&self, site: Site) -> (f64, f64) {
        let at = |m: f64, edge_m: f64| (m - edge_m) / self.cell_m - 0.5;
        (at(site.east_m, self.west_m), at(site.north_m, self.south_m))
    }

    /// The label of the cell a place lies in or, beyond the rim, of the nearest.
    pub(super) fn label_at(&self, (col, row): (f64, f64)) -> u16 {
        // `as` takes values beyond the range to its ends, and what is no number to 0.
        let within = |at: f64, n: usize| (at.round() as usize).min(n - 1);
        self.labels[within(row, self.n_rows) * self.n_cols + within(col, self.n_cols)]
    }
}

fn grow(labels: &mut [u16], n_cols: usize, n_rows: usize) {
    let neighbors = |cell: usize| {
        let (col, row) = (cell % n_cols, cell / n_cols);
        [
            (row > 0).then(|| cell - n_cols),
            (col > 0).then(|| cell - 1),
            (col + 1 < n_cols).then(|| cell + 1),
            (row + 1 < n_rows).then(|| cell + n_cols),
        ]
    };
    let mut ring: Vec<usize> = Vec::new();
    for cell in 0..labels.len() {
        if labels[cell] != 0 && neighbors(cell).into_iter().flatten().any(|next| labels[next] == 0) {
            ring.push(cell);
        }
    }
    while !ring.is_empty() {
        let mut next_ring = Vec::new();
        for cell in ring {
            for next in neighbors(cell).into_iter().flatten() {
                if labels[next] == 0 {
                    labels[next] = labels[cell];
                    next_ring.push(next);
                }
            }
        }
        ring = next_ring;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(n_cols: usize, n_rows: usize) -> CellGrid {
        CellGrid { west_m: 10.0, south_m: 20.0, cell_m: 2.0, n_cols, n_rows }
    }

    #[test]
    fn every_cell_gets_the_label_of_a_nearest_one() {
        let (n_cols, n_rows) = (9, 6);
        let mut labels = vec![0; n_cols * n_rows];
        for (cell, label) in [(3, 1), (13, 2), (40, 3), (41, 1), (53, 7)] {
            labels[cell] = label;
        }
        let grown = GrownLabels::of(&grid(n_cols, n_rows), &labels).unwrap();
        let seeds: Vec<(usize, usize, u16)> = (0..labels.len())
            .filter(|&cell| labels[cell] != 0)
            .map(|cell| (cell % n_cols + RIM, cell / n_cols + RIM, labels[cell]))
            .collect();
        for (cell, &label) in grown.labels.iter().enumerate() {
            let (col, row) = (cell % grown.n_cols, cell / grown.n_cols);
            let steps = |seed: &(usize, usize, u16)| seed.0.abs_diff(col) + seed.1.abs_diff(row);
            let least = seeds.iter().map(steps).min();
            assert!(seeds.iter().any(|seed| Some(steps(seed)) == least && seed.2 == label), "{col}, {row}");
        }
    }

    #[test]
    fn places_are_those_of_the_grid() {
        let grown = GrownLabels::of(&grid(2, 1), &[1, 2]).unwrap();
        assert_eq!(grown.corner(RIM as i32, RIM as i32), grid(2, 1).corner(0, 0));
        let east = grown.in_cells(grid(2, 1).center(1, 0));
        assert_eq!(east, (RIM as f64 + 1.0, RIM as f64));
        assert_eq!(grown.label_at(east), 2);
        assert_eq!(grown.label_at((-1e300, f64::NAN)), 1);
    }

    #[test]
    fn what_is_no_raster_is_refused() {
        let error = |grid: CellGrid, labels: &[u16]| GrownLabels::of(&grid, labels).err();
        assert_eq!(error(grid(2, 2), &[1]), Some(CoverageError::LabelCount { found: 1, expected: 4 }));
        assert_eq!(error(grid(2, 1), &[0, 0]), Some(CoverageError::NoZones { cells: 2 }));
        assert_eq!(error(grid(0, 5), &[]), Some(CoverageError::NoZones { cells: 0 }));
        assert!(matches!(error(grid(usize::MAX, 2), &[1]), Some(CoverageError::TooManyCells { .. })));
        let flat = CellGrid { cell_m: 0.0, ..grid(1, 1) };
        assert!(matches!(error(flat, &[1]), Some(CoverageError::Raster { .. })));
    }
}
