//! Values of several variables on a raster, filled in bands of rows.

use crate::cell_grid::CellGrid;

/// Rows a task takes. Fixed, so that results do not depend on the threads.
pub(super) const BAND_ROWS: usize = 16;

/// Values of all variables on a raster, south row first.
#[derive(Debug, Clone, PartialEq)]
pub struct SurfaceRaster {
    /// `values[variable][cell]`; NaN where the mask is off or the method has no value.
    pub values: Vec<Vec<f64>>,
    /// Whether a cell lies beyond the outermost samples; false where the mask is off.
    pub extrapolated: Vec<bool>,
}

/// Some rows of a [`SurfaceRaster`] for one task to fill.
pub(super) struct Band<'o> {
    pub(super) first_row: usize,
    pub(super) n_rows: usize,
    /// `values[variable][cell of the band]`
    pub(super) values: Vec<&'o mut [f64]>,
    pub(super) extrapolated: &'o mut [bool],
}

impl SurfaceRaster {
    /// Room for values; a band is [cleared](Band::clear) by the task that fills it, so that fresh memory is first touched
    /// there.
    pub(super) fn empty(grid: &CellGrid, n_variables: usize) -> Self {
        let n_cells = grid.n_cells();
        SurfaceRaster {
            values: (0..n_variables).map(|_| vec![0.0; n_cells]).collect(),
            extrapolated: vec![false; n_cells],
        }
    }

    /// The rows in bands, south first.
    pub(super) fn bands(&mut self, grid: &CellGrid) -> Vec<Band<'_>> {
        let band_cells = BAND_ROWS * grid.n_cols;
        let n_variables = self.values.len();
        let chunks = self.extrapolated.chunks_mut(band_cells).enumerate();
        let mut bands: Vec<Band<'_>> = chunks
            .map(|(band, extrapolated)| Band {
                first_row: band * BAND_ROWS,
                n_rows: extrapolated.len() / grid.n_cols,
                values: Vec::with_capacity(n_variables),
                extrapolated,
            })
            .collect();
        for variable in &mut self.values {
            for (band, chunk) in bands.iter_mut().zip(variable.chunks_mut(band_cells)) {
                band.values.push(chunk);
            }
        }
        bands
    }
}

impl Band<'_> {
    /// No value in any cell.
    pub(super) fn clear(&mut self) {
        self.values.iter_mut().for_each(|values| values.fill(f64::NAN));
    }
}
