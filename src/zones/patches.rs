//! Patches of a label raster that grow together, with their cells at hand.

use crate::cell_grid::CellGrid;

/// No patch.
const NONE: u32 = u32::MAX;

/// All patches: cells of one zone joined across their sides.
///
/// Patches are numbered by their first cell. A joined patch goes by the smallest number in it; it is a chain of the
/// patches it was joined from, so that joining moves no cells.
pub(super) struct Patches {
    /// The patch each cell was in at first; `NONE` without a zone.
    first_patch: Vec<u32>,
    /// The patch each patch went into; itself if none. Always the smaller number.
    parent: Vec<u32>,
    /// Cells of each patch that went into no other.
    n_cells: Vec<u32>,
    /// Cells by first patch, ascending in each.
    cells: Vec<u32>,
    /// Where each first patch's cells begin, and the end of the last.
    starts: Vec<u32>,
    /// The next first patch in a chain, `NONE` at its end.
    next: Vec<u32>,
    /// The last first patch of the chain.
    last: Vec<u32>,
}

impl Patches {
    /// Finds all patches.
    ///
    /// # Panics
    /// If there is not one label a cell, or 2^32 - 1 cells or more.
    pub(super) fn of(grid: &CellGrid, labels: &[u16]) -> Self {
        assert_eq!(labels.len(), grid.n_cells(), "one label a cell");
        assert!(labels.len() < NONE as usize, "{} cells are too many", labels.len());
        let mut first_patch = vec![NONE; labels.len()];
        let mut parent: Vec<u32> = Vec::new();
        for (cell, &label) in labels.iter().enumerate().filter(|(_, label)| **label != 0) {
            let alike = |other: usize| (labels[other] == label).then(|| first_patch[other]);
            let west = if cell % grid.n_cols > 0 { alike(cell - 1) } else { None };
            let south = if cell >= grid.n_cols { alike(cell - grid.n_cols) } else { None };
            first_patch[cell] = match (west, south) {
                (Some(west), Some(south)) if west != south => join(&mut parent, west, south),
                (Some(patch), _) | (None, Some(patch)) => patch,
                (None, None) => {
                    parent.push(parent.len() as u32);
                    parent.len() as u32 - 1
                }
            };
        }
        // The smallest number of a patch was given at its first cell, so the order stays.
        let mut numbers = vec![NONE; parent.len()];
        let mut n_cells: Vec<u32> = Vec::new();
        for patch in first_patch.iter_mut().filter(|patch| **patch != NONE) {
            let found = root(&mut parent, *patch) as usize;
            if numbers[found] == NONE {
                numbers[found] = n_cells.len() as u32;
                n_cells.push(0);
            }
            *patch = numbers[found];
            n_cells[*patch as usize] += 1;
        }
        let n = n_cells.len();
        let mut starts = vec![0; n + 1];
        for patch in 0..n {
            starts[patch + 1] = starts[patch] + n_cells[patch];
        }
        let mut cells = vec![0; starts[n] as usize];
        let mut ends = starts.clone();
        for (cell, &patch) in first_patch.iter().enumerate().filter(|(_, patch)| **patch != NONE) {
            let end = &mut ends[patch as usize];
            cells[*end as usize] = cell as u32;
            *end += 1;
        }
        let own: Vec<u32> = (0..n as u32).collect();
        Patches { first_patch, parent: own.clone(), n_cells, cells, starts, next: vec![NONE; n], last: own }
    }

    /// The first cell of each patch there was at first.
    pub(super) fn first_cells(&self) -> impl ExactSizeIterator<Item = usize> + '_ {
        self.starts[..self.parent.len()].iter().map(|&start| self.cells[start as usize] as usize)
    }

    /// The patch a cell is in now; `None` without a zone.
    pub(super) fn patch_at(&mut self, cell: usize) -> Option<u32> {
        let patch = self.first_patch[cell];
        (patch != NONE).then(|| root(&mut self.parent, patch))
    }

    /// Cells of a patch that went into no other; `None` if it did.
    pub(super) fn n_cells(&self, patch: u32) -> Option<u32> {
        (self.parent[patch as usize] == patch).then(|| self.n_cells[patch as usize])
    }

    /// All cells of a patch that went into no other, ascending.
    pub(super) fn cells_of(&self, patch: u32) -> Vec<u32> {
        let mut cells = Vec::with_capacity(self.n_cells[patch as usize] as usize);
        let mut part = patch;
        while part != NONE {
            let (start, end) = (self.starts[part as usize], self.starts[part as usize + 1]);
            cells.extend(&self.cells[start as usize..end as usize]);
            part = self.next[part as usize];
        }
        cells.sort(); // made of sorted runs, which this sort uses
        cells
    }

    /// Joins the patch of a cell to `patch`; the number the whole goes by.
    pub(super) fn join_cell(&mut self, patch: u32, cell: usize) -> u32 {
        let from = self.first_patch[cell];
        if from == NONE {
            return patch;
        }
        let (a, b) = (root(&mut self.parent, patch), root(&mut self.parent, from));
        if a == b {
            return a;
        }
        let whole = join(&mut self.parent, a, b);
        let part = if whole == a { b } else { a };
        self.n_cells[whole as usize] += self.n_cells[part as usize];
        self.next[self.last[whole as usize] as usize] = part;
        self.last[whole as usize] = self.last[part as usize];
        whole
    }
}

/// The patch a patch is in by now; shortens the way there.
fn root(parent: &mut [u32], mut patch: u32) -> u32 {
    while parent[patch as usize] != patch {
        let above = parent[parent[patch as usize] as usize];
        parent[patch as usize] = above;
        patch = above;
    }
    patch
}

/// Joins two patches under the smaller number.
fn join(parent: &mut [u32], a: u32, b: u32) -> u32 {
    let (a, b) = (root(parent, a), root(parent, b));
    parent[a.max(b) as usize] = a.min(b);
    a.min(b)
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// A raster of 1 m cells from a picture, north row first; `.` is no zone.
    pub(in crate::zones) fn raster(picture: &[&str]) -> (CellGrid, Vec<u16>) {
        let (n_cols, n_rows) = (picture[0].len(), picture.len());
        let label = |c: char| c.to_digit(10).unwrap_or(0) as u16;
        let labels = picture.iter().rev().flat_map(|row| row.chars().map(label)).collect();
        (CellGrid { west_m: 0.0, south_m: 0.0, cell_m: 1.0, n_cols, n_rows }, labels)
    }

    #[test]
    fn cells_join_across_sides_only() {
        let (grid, labels) = raster(&["2121", "1112", "1.12"]);
        let mut patches = Patches::of(&grid, &labels);
        assert_eq!(patches.first_cells().collect::<Vec<_>>(), [0, 3, 8, 10, 11]);
        // South row first: the 1s hang together round the gap, but for the one in the north-east corner.
        assert_eq!(patches.cells_of(0), [0, 2, 4, 5, 6, 9]);
        assert_eq!(patches.cells_of(1), [3, 7]);
        assert_eq!((patches.patch_at(1), patches.patch_at(8), patches.patch_at(11)), (None, Some(2), Some(4)));
        assert_eq!(patches.join_cell(4, 3), 1);
        assert_eq!(patches.join_cell(1, 0), 0);
        assert_eq!(patches.cells_of(0), [0, 2, 3, 4, 5, 6, 7, 9, 11]);
        assert_eq!((patches.n_cells(0), patches.n_cells(4), patches.patch_at(11)), (Some(9), None, Some(0)));
    }
}
