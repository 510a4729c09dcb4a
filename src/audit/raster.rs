//! What a raster file says of itself.

use super::StatedCrs;

/// A raster.
#[derive(Debug, Default)]
pub struct Raster {
    /// File as typed.
    pub file: String,
    /// Number of columns and rows.
    pub size: (usize, usize),
    /// Number of bands.
    pub n_bands: usize,
    /// The six numbers from column and row to x and y, where it states them.
    pub affine: Option<[f64; 6]>,
    /// Its CRS, or why what it names is none; `None` where it names none.
    pub crs: Option<Result<StatedCrs, String>>,
    /// Value of cells without data, of the first band.
    pub no_data: Option<f64>,
    /// Type of its numbers, in words.
    pub number_type: String,
    /// Whether its places are those of cell centers (`AREA_OR_POINT=Point`).
    pub is_by_points: bool,
}
