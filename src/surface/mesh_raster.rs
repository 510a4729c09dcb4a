//! The mesh method over a whole raster, without point location.
//!
//! Each mesh cell is filled row by row over the columns it covers; neighborhoods are merged once a mesh cell and band,
//! and eight raster cells of it are done at once. What no mesh cell covers lies beyond the hull or in a peeled sliver.
#![expect(clippy::needless_range_loop, reason = "loops over lanes read several arrays alike")]

use rayon::prelude::*;

use super::cell_rows::{CellShares, columns_of, rows_of};
use super::hull_walk::{HullSide, HullWalk};
use super::mesh_interpolation::MeshInterpolation;
use super::mesh_kernel::{Blended, LANES, MAX_CORNERS, Merged, Places, blend};
use super::mesh_setting::Power;
use super::surface_raster::{BAND_ROWS, Band, SurfaceRaster};
use crate::cell_grid::{CellGrid, CellMask, Site};
use crate::mesh::cell_shares;

/// One task: a band of rows and working space.
struct Task<'t, 'o> {
    of: &'t MeshInterpolation<'t>,
    grid: &'t CellGrid,
    band: Band<'o>,
    /// Cells that do not count, or are filled already.
    done: Vec<bool>,
    merged: Merged,
    /// The hull side whose neighborhoods are in `merged`.
    gathered_side: Option<[u32; 2]>,
    blended: Blended,
}

impl MeshInterpolation<'_> {
    /// Values of all variables at the centers of the cells that count.
    ///
    /// # Guarantees
    /// Equal to [`MeshInterpolation::at`] to rounding; every cell that counts is filled; the same bytes for any number
    /// of threads.
    pub fn raster(&self, mask: &CellMask) -> SurfaceRaster {
        let grid = mask.grid();
        let mut raster = SurfaceRaster::empty(grid, self.values.len());
        let cells_of_band = self.cells_of_bands(grid);
        let hull = HullWalk::new(self.mesh);
        raster.bands(grid).into_par_iter().zip(cells_of_band).for_each(|(mut band, cells)| {
            band.clear();
            let first_cell = band.first_row * grid.n_cols;
            let inside = &mask.inside()[first_cell..first_cell + band.extrapolated.len()];
            let task = Task {
                of: self,
                grid,
                band,
                done: inside.iter().map(|inside| !inside).collect(),
                merged: Merged::default(),
                gathered_side: None,
                blended: Blended::new(self.values.len()),
            };
            // One copy of the inner loops a power, so that the power is settled before the loop.
            match self.setting.power {
                Power::P1 => task.fill(&cells, &hull, |d_m2| Power::P1.weight(d_m2)),
                Power::P1_5 => task.fill(&cells, &hull, |d_m2| Power::P1_5.weight(d_m2)),
                Power::P2 => task.fill(&cells, &hull, |d_m2| Power::P2.weight(d_m2)),
                Power::P3 => task.fill(&cells, &hull, |d_m2| Power::P3.weight(d_m2)),
                Power::P4 => task.fill(&cells, &hull, |d_m2| Power::P4.weight(d_m2)),
            }
        });
        raster
    }

    /// Mesh cells that may reach into each band of rows.
    fn cells_of_bands(&self, grid: &CellGrid) -> Vec<Vec<u32>> {
        let mut bands = vec![Vec::new(); grid.n_rows.div_ceil(BAND_ROWS)];
        let band_m = BAND_ROWS as f64 * grid.cell_m;
        for (index, corners) in self.mesh.cells().enumerate() {
            let norths = corners.iter().map(|&c| self.mesh.sites()[c as usize].north_m);
            let (south, north) = norths.fold((f64::INFINITY, f64::NEG_INFINITY), |(s, n), y| (s.min(y), n.max(y)));
            let first = ((south - grid.south_m) / band_m).floor().max(0.0) as usize;
            let last = ((north - grid.south_m) / band_m).floor();
            if last < 0.0 {
                continue;
            }
            for band in bands.iter_mut().take(last as usize + 1).skip(first) {
                band.push(index as u32);
            }
        }
        bands
    }
}

/// Cells of the band waiting to be blended together.
struct Waiting {
    n: usize,
    cells: [usize; LANES],
    places: Places,
}

impl Waiting {
    fn none() -> Self {
        Waiting { n: 0, cells: [0; LANES], places: Places { east_m: [0.0; LANES], north_m: [0.0; LANES] } }
    }

    fn push(&mut self, cell: usize, at: Site) {
        self.cells[self.n] = cell;
        self.places.east_m[self.n] = at.east_m;
        self.places.north_m[self.n] = at.north_m;
        self.n += 1;
    }

    /// Fills free lanes with the first place, so that no lane divides by zero.
    fn pad(&mut self) {
        for lane in self.n..LANES {
            self.places.east_m[lane] = self.places.east_m[0];
            self.places.north_m[lane] = self.places.north_m[0];
        }
    }
}

impl Task<'_, '_> {
    fn fill(mut self, cells: &[u32], hull: &HullWalk<'_>, weight: impl Fn(f64) -> f64 + Copy) {
        let mut places: Vec<Site> = Vec::with_capacity(MAX_CORNERS);
        for &cell in cells {
            let corners = self.of.mesh.cell(cell);
            places.clear();
            places.extend(corners.iter().map(|&c| self.of.mesh.sites()[c as usize]));
            self.fill_cell(corners, &places, weight);
        }
        self.fill_beyond(hull, weight);
    }

    fn fill_cell(&mut self, corners: &[u32], places: &[Site], weight: impl Fn(f64) -> f64 + Copy) {
        let mut shares = None;
        let mut waiting = Waiting::none();
        for row in rows_of(places, self.grid, self.band.first_row, self.band.n_rows) {
            let north_m = self.grid.center_north_m(self.band.first_row + row);
            let Some((start, end)) = columns_of(corners, places, self.grid, north_m) else { continue };
            for col in start..end {
                let cell = row * self.grid.n_cols + col;
                if self.done[cell] {
                    continue;
                }
                self.done[cell] = true;
                waiting.push(cell, Site { east_m: self.grid.center_east_m(col), north_m });
                if waiting.n == LANES {
                    self.blend_in_cell(corners, places, &mut shares, &mut waiting, weight);
                }
            }
        }
        if waiting.n > 0 {
            waiting.pad();
            self.blend_in_cell(corners, places, &mut shares, &mut waiting, weight);
        }
    }

    /// Blends and stores the waiting places of one mesh cell. What the cell needs is prepared at its first places.
    #[inline(always)]
    fn blend_in_cell(
        &mut self,
        corners: &[u32],
        places: &[Site],
        shares: &mut Option<CellShares>,
        waiting: &mut Waiting,
        weight: impl Fn(f64) -> f64 + Copy,
    ) {
        if shares.is_none() {
            *shares = CellShares::of(places);
            if shares.is_some() {
                self.merged.gather(self.of, corners);
            }
        }
        if let Some(shares) = shares {
            blend(&self.merged, &waiting.places, &shares.at(&waiting.places), &mut self.blended, weight);
        } else {
            for lane in 0..waiting.n {
                let at = Site { east_m: waiting.places.east_m[lane], north_m: waiting.places.north_m[lane] };
                self.blend_one(lane, at, corners.iter().copied().zip(cell_shares(places, at)));
            }
        }
        self.store(waiting);
    }

    /// Cells that no mesh cell covered: along the nearest side of the hull.
    fn fill_beyond(&mut self, hull: &HullWalk<'_>, weight: impl Fn(f64) -> f64 + Copy) {
        let n_cols = self.grid.n_cols;
        let mut nearest = 0;
        let mut waiting = Waiting::none();
        for row in 0..self.band.n_rows {
            for col in 0..n_cols {
                let cell = row * n_cols + col;
                if self.done[cell] {
                    continue;
                }
                let at = self.grid.center(col, self.band.first_row + row);
                let side = hull.nearest(nearest, at);
                if waiting.n == LANES || (waiting.n > 0 && side != Some(nearest)) {
                    self.blend_beside(hull.side(nearest), &mut waiting, weight);
                }
                self.band.extrapolated[cell] = true;
                if let Some(side) = side {
                    nearest = side;
                    waiting.push(cell, at);
                } else {
                    // Inside the hull, but in no cell: a peeled sliver, or a hull side within rounding.
                    let position = self.of.mesh.position(at);
                    self.band.extrapolated[cell] = position.extrapolated;
                    self.blend_one(0, at, position.shares.into_iter());
                    waiting.push(cell, at);
                    self.store(&mut waiting);
                }
            }
        }
        if waiting.n > 0 {
            self.blend_beside(hull.side(nearest), &mut waiting, weight);
        }
    }

    /// Blends and stores the waiting places beyond one side of the hull.
    #[inline(always)]
    fn blend_beside(&mut self, side: &HullSide, waiting: &mut Waiting, weight: impl Fn(f64) -> f64 + Copy) {
        waiting.pad();
        if self.gathered_side != Some(side.sites) {
            self.merged.gather(self.of, &side.sites);
            self.gathered_side = Some(side.sites);
        }
        let mut shares = [[0.0; LANES]; MAX_CORNERS];
        for lane in 0..LANES {
            let at = Site { east_m: waiting.places.east_m[lane], north_m: waiting.places.north_m[lane] };
            let share = side.share(at);
            shares[0][lane] = 1.0 - share;
            shares[1][lane] = share;
        }
        blend(&self.merged, &waiting.places, &shares, &mut self.blended, weight);
        self.store(waiting);
    }

    /// One place, corner by corner.
    fn blend_one(&mut self, lane: usize, at: Site, shares: impl Iterator<Item = (u32, f64)>) {
        for result in &mut self.blended.result {
            result[lane] = 0.0;
        }
        for (corner, share) in shares.filter(|(_, share)| *share > 0.0) {
            for (variable, result) in self.blended.result.iter_mut().enumerate() {
                result[lane] += share * self.of.mean_at(corner, at, variable);
            }
        }
    }

    /// Stores what was blended; nothing waits then.
    fn store(&mut self, waiting: &mut Waiting) {
        for (values, result) in self.band.values.iter_mut().zip(&self.blended.result) {
            for (&cell, value) in waiting.cells.iter().zip(result).take(waiting.n) {
                values[cell] = *value;
            }
        }
        waiting.n = 0;
    }
}
