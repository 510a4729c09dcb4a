//! Zones a machine can follow: patches too small, too narrow or too short join a neighbor.
//!
//! ```text
//!   1 1 1 1 1 2 2      The lone 2 is too small. It has three sides to zone 1 and one to zone 3, so it goes to zone 1.
//!   1 1 2 1 1 2 2      The strip of 3 is large enough, but narrower than the machine: it goes to zone 1, too, with
//!   3 3 3 3 3 2 2      which it shares five sides against one with zone 2.
//! ```

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::inscribed_circle::CircleSearch;
use super::patch_length::longest2_cells;
use super::patches::Patches;
use crate::cell_grid::CellGrid;

/// Room for rounding: a patch that is as large as the limit is large enough.
const MARGIN: f64 = 1.0 - 1e-9;

/// What a patch must have to be spread on its own; 0 is no limit, and so is what is no positive number.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PatchLimits {
    /// Least area, m2.
    pub smallest_m2: f64,
    /// Least diameter of the widest circle within its cells, meters; middles are tried every half cell. The field's
    /// edge ends the circle, too.
    pub narrowest_m: f64,
    /// Least distance between the two outer corners of its cells that lie farthest apart, meters.
    pub shortest_m: f64,
}

/// What a patch lacks. A patch that lacks several is counted under the first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lack {
    /// Its area is too small.
    Area,
    /// It is too narrow.
    Width,
    /// It is too short.
    Length,
}

/// Patches that joined a neighbor for one reason.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PatchMoves {
    /// What they lacked.
    pub lack: Lack,
    /// How many.
    pub n_patches: usize,
    /// Their cells. A cell that moves on with its new patch is counted again.
    pub n_cells: usize,
}

/// Labels after fitting, and what it took.
#[derive(Debug, Clone, PartialEq)]
pub struct FittedLabels {
    /// `labels[row * n_cols + col]`, numbered as before.
    pub labels: Vec<u16>,
    /// Cells whose zone is another one now.
    pub n_changed: usize,
    /// Their share of the ground that has a zone, 0 to 1.
    pub changed_share: f64,
    /// Zones that have no cell left, ascending.
    pub vanished: Vec<u16>,
    /// Joined patches by reason, in the order of [`Lack`]; reasons that did not occur are left out.
    pub moves: Vec<PatchMoves>,
    /// Patches that lack something but stay, because no other zone lies beside them.
    pub n_without_neighbor: usize,
}

/// Joins every patch that lacks something to the neighboring zone with the longest common border.
///
/// Patches are cells joined across their sides; areas are cells times the area of a cell. The smallest patch goes first
/// (of one size the one of the lower zone). Its border with a zone is counted in cell sides, over all patches of that
/// zone (equal: the lower zone). It becomes one patch with those it touches there; this goes on until no patch with a
/// neighbor lacks anything.
///
/// # Shape
/// One label a cell of `grid`, row 0 in the south; 0 is no zone, zones count from 1.
///
/// # Guarantees
/// - every patch with a neighbor keeps to all limits; patches without stay as they are
/// - cells without a zone stay without; no label appears that was not there
/// - a raster turned by a quarter or mirrored gives the turned or mirrored result, without exception: two patches that
///   touch never tie, because they are of different zones, and two that do not touch may go in either order
/// - without limits nothing changes; fitting again changes nothing
///
/// # Cost
/// A patch is measured when its turn comes. One that keeps to the limits is never measured again, one that does not at
/// least doubles or ends in one that does, so each cell is measured at most as often as the cells can be halved.
///
/// # Panics
/// If there is not one label a cell, or 2^32 - 1 cells or more.
pub fn fit_patches(grid: &CellGrid, labels: &[u16], limits: &PatchLimits) -> FittedLabels {
    let mut fitted = labels.to_vec();
    let mut patches = Patches::of(grid, labels);
    let mut measures = Measures::new(grid, limits);
    let mut borders = Borders::new(grid, labels);
    let mut moves = [Lack::Area, Lack::Width, Lack::Length].map(|lack| PatchMoves { lack, n_patches: 0, n_cells: 0 });
    let mut n_without_neighbor = 0;
    // Smallest first; of one size by zone, then by first cell. `keeps`: a patch that keeps to the limits does so for
    // good, since it can only grow.
    let mut keeps = vec![false; patches.first_cells().len()];
    let mut queue: BinaryHeap<Reverse<(u32, u16, u32)>> = patches
        .first_cells()
        .zip(0..)
        .map(|(cell, patch)| Reverse((patches.n_cells(patch).unwrap_or(0), labels[cell], patch)))
        .collect();
    while let Some(Reverse((n_cells, zone, patch))) = queue.pop() {
        if patches.n_cells(patch) != Some(n_cells) {
            continue; // it has grown, or gone into another
        }
        let cells = patches.cells_of(patch);
        let Some(lack) = measures.lack_of(&fitted, &cells) else {
            keeps[patch as usize] = true;
            continue;
        };
        let Some(target) = borders.longest(&fitted, &cells, zone) else {
            n_without_neighbor += 1;
            continue;
        };
        let mut whole = patch;
        let mut whole_keeps = false;
        for cell in borders.cells_beside(&fitted, &cells, target) {
            whole_keeps |= patches.patch_at(cell).is_some_and(|beside| keeps[beside as usize]);
            whole = patches.join_cell(whole, cell);
        }
        cells.iter().for_each(|&cell| fitted[cell as usize] = target);
        keeps[whole as usize] = whole_keeps;
        if let (false, Some(n_cells)) = (whole_keeps, patches.n_cells(whole)) {
            queue.push(Reverse((n_cells, target, whole)));
        }
        let moved = &mut moves[lack as usize];
        moved.n_patches += 1;
        moved.n_cells += cells.len();
    }
    outcome(labels, fitted, moves, n_without_neighbor)
}

fn outcome(before: &[u16], labels: Vec<u16>, moves: [PatchMoves; 3], n_without_neighbor: usize) -> FittedLabels {
    let n_zones = 1 + before.iter().copied().max().map_or(0, usize::from);
    let (mut was, mut is) = (vec![false; n_zones], vec![false; n_zones]);
    let (mut n_changed, mut n_zoned) = (0_usize, 0_usize);
    for (&old, &new) in before.iter().zip(&labels) {
        was[usize::from(old)] = true;
        is[usize::from(new)] = true;
        n_changed += usize::from(old != new);
        n_zoned += usize::from(old != 0);
    }
    let vanished = (1..n_zones).filter(|&zone| was[zone] && !is[zone]).map(|zone| zone as u16).collect();
    let changed_share = n_changed as f64 / n_zoned.max(1) as f64;
    let moves = moves.into_iter().filter(|moves| moves.n_patches > 0).collect();
    FittedLabels { labels, n_changed, changed_share, vanished, moves, n_without_neighbor }
}

/// The limits in cells, and the means to hold patches against them.
struct Measures {
    n_cols: usize,
    smallest_cells: f64,
    narrowest_cells: f64,
    shortest2_cells: f64,
    circles: CircleSearch,
}

impl Measures {
    fn new(grid: &CellGrid, limits: &PatchLimits) -> Self {
        let limit = |least: f64, of_cell: f64| if least > 0.0 { least / of_cell * MARGIN } else { 0.0 };
        Measures {
            n_cols: grid.n_cols,
            smallest_cells: limit(limits.smallest_m2, grid.cell_area_m2()),
            narrowest_cells: limit(limits.narrowest_m, grid.cell_m),
            shortest2_cells: limit(limits.shortest_m, grid.cell_m).powi(2),
            circles: CircleSearch::new(grid.n_cols, grid.n_rows),
        }
    }

    /// The first thing a patch lacks.
    fn lack_of(&mut self, labels: &[u16], cells: &[u32]) -> Option<Lack> {
        if (cells.len() as f64) < self.smallest_cells {
            return Some(Lack::Area);
        }
        // One cell is one cell wide.
        if self.narrowest_cells > 1.0 && !self.circles.fits(labels, cells, self.narrowest_cells) {
            return Some(Lack::Width);
        }
        let is_short = || (longest2_cells(self.n_cols, cells) as f64) < self.shortest2_cells;
        (self.shortest2_cells > 0.0 && is_short()).then_some(Lack::Length)
    }
}

/// Sides shared with each zone, counted patch by patch.
struct Borders {
    n_cols: usize,
    /// Sides by zone, all 0 between two patches.
    n_sides: Vec<usize>,
}

impl Borders {
    fn new(grid: &CellGrid, labels: &[u16]) -> Self {
        let most = labels.iter().copied().max().unwrap_or(0);
        Borders { n_cols: grid.n_cols, n_sides: vec![0; usize::from(most) + 1] }
    }

    /// The cells across the sides of a cell, within the raster.
    fn beside(&self, cell: usize, n_cells: usize) -> impl Iterator<Item = usize> + use<> {
        let n_cols = self.n_cols;
        let col = cell % n_cols;
        let west = (col > 0).then(|| cell - 1);
        let east = (col + 1 < n_cols).then_some(cell + 1);
        let south = cell.checked_sub(n_cols);
        let north = Some(cell + n_cols).filter(|&north| north < n_cells);
        [west, east, south, north].into_iter().flatten()
    }

    /// The zone with the longest border to a patch of `zone`, the lower of equals; `None` without any.
    fn longest(&mut self, labels: &[u16], cells: &[u32], zone: u16) -> Option<u16> {
        let mut met: Vec<u16> = Vec::new();
        for &cell in cells {
            for beside in self.beside(cell as usize, labels.len()) {
                let other = labels[beside];
                if other != zone && other != 0 {
                    let n_sides = &mut self.n_sides[usize::from(other)];
                    if *n_sides == 0 {
                        met.push(other);
                    }
                    *n_sides += 1;
                }
            }
        }
        let longest = met.iter().copied().max_by_key(|&other| (self.n_sides[usize::from(other)], Reverse(other)));
        met.iter().for_each(|&other| self.n_sides[usize::from(other)] = 0);
        longest
    }

    /// Cells of zone `target` beside a patch, some of them more than once.
    fn cells_beside(&self, labels: &[u16], cells: &[u32], target: u16) -> Vec<usize> {
        let beside = cells.iter().flat_map(|&cell| self.beside(cell as usize, labels.len()));
        beside.filter(|&cell| labels[cell] == target).collect()
    }
}

#[cfg(test)]
mod tests;
