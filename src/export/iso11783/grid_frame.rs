//! Where the cells of a task set's grid lie: along longitude and latitude, south row first.

use geo::{Distance, Geodesic, Point};

use super::TaskField;
use crate::coverage::{Lattice, LatticePolygon};

/// Most columns, and most rows, that every conforming controller takes \[S].
pub const MAX_CELLS_A_SIDE: usize = 350;

/// 1e-9 degree in a step of the lattice.
const E9_PER_STEP: i64 = 100;
const E9_PER_DEG: f64 = 1e9;
/// Side of a cell, in cells of the map.
const SHARE_OF_MAP_CELL: f64 = 0.5;
/// Length of the trial lines for meters in a degree.
const TRIAL_DEG: f64 = 0.01;

/// Cells of one field. Edges are whole numbers of 1e-9 degree, which is what the file carries; nothing is rounded after.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GridFrame {
    /// West edge, 1e-9 degree.
    pub west_e9: i64,
    /// South edge, 1e-9 degree.
    pub south_e9: i64,
    /// Size of a cell eastwards, 1e-9 degree.
    pub cell_east_e9: i64,
    /// Size of a cell northwards, 1e-9 degree.
    pub cell_north_e9: i64,
    /// Columns, west to east.
    pub n_cols: usize,
    /// Rows, south to north.
    pub n_rows: usize,
    /// Size of a cell eastwards, meters in the middle of the field.
    pub cell_east_m: f64,
    /// Size of a cell northwards, meters in the middle of the field.
    pub cell_north_m: f64,
    /// Side of the cells, meters, where they had to be larger than those of the map.
    pub widened_to_m: Option<f64>,
}

impl GridFrame {
    /// Cells over a field's outline, from its south-west corner to its north-east one.
    ///
    /// Cells are half as wide as those of the map, for a grid follows borders by half a cell; or as much wider as it takes
    /// to have at most [`MAX_CELLS_A_SIDE`] columns and rows. They are made a little smaller so that a whole number of
    /// them spans the outline: a last row that is only half on the field would spread too much or too little along it.
    ///
    /// # Panics
    /// Without outline, or with cells of no size; [`super::task_set`] refuses both.
    pub fn covering(field: &TaskField) -> Self {
        let [west, east, south, north] = bounds_e9(&field.lattice, &field.boundary);
        let [per_deg_east, per_deg_north] = meters_per_deg([west, east, south, north]);
        let most = MAX_CELLS_A_SIDE as f64;
        let meters = |length_e9: i64, per_deg: f64| length_e9.max(1) as f64 / E9_PER_DEG * per_deg;
        let (wide_m, high_m) = (meters(east - west, per_deg_east), meters(north - south, per_deg_north));
        let cell_m = (field.cell_m * SHARE_OF_MAP_CELL).max(wide_m / most).max(high_m / most);
        let count = |length_m: f64| ((length_m / cell_m).ceil() as usize).clamp(1, MAX_CELLS_A_SIDE);
        let (n_cols, n_rows) = (count(wide_m), count(high_m));
        let size = |length_e9: i64, n: usize| (length_e9.max(1) as u64).div_ceil(n as u64) as i64;
        let (cell_east_e9, cell_north_e9) = (size(east - west, n_cols), size(north - south, n_rows));
        GridFrame {
            west_e9: west,
            south_e9: south,
            cell_east_e9,
            cell_north_e9,
            n_cols,
            n_rows,
            cell_east_m: meters(cell_east_e9, per_deg_east),
            cell_north_m: meters(cell_north_e9, per_deg_north),
            widened_to_m: (cell_m > field.cell_m).then_some(cell_m),
        }
    }

    /// Number of cells.
    pub fn n_cells(&self) -> usize {
        self.n_cols * self.n_rows
    }

    /// Index of a cell, south row first.
    pub fn index(&self, col: usize, row: usize) -> usize {
        row * self.n_cols + col
    }

    /// Longitude and latitude of a cell's center, degrees.
    pub fn center(&self, col: usize, row: usize) -> (f64, f64) {
        let at = |start: i64, cell: i64, index: usize| (2 * start + (2 * index as i64 + 1) * cell) as f64 / 2e9;
        (at(self.west_e9, self.cell_east_e9, col), at(self.south_e9, self.cell_north_e9, row))
    }

    /// The cell a place lies in, degrees; `None` outside the grid.
    pub fn cell_at(&self, (lon, lat): (f64, f64)) -> Option<(usize, usize)> {
        let index = |degrees: f64, start: i64, cell: i64| ((degrees * E9_PER_DEG) - start as f64) / cell as f64;
        let (col, row) = (index(lon, self.west_e9, self.cell_east_e9), index(lat, self.south_e9, self.cell_north_e9));
        let inside = (0.0..self.n_cols as f64).contains(&col) && (0.0..self.n_rows as f64).contains(&row);
        inside.then_some((col as usize, row as usize))
    }
}

/// West, east, south, north of exteriors, 1e-9 degree.
fn bounds_e9(lattice: &Lattice, polygons: &[LatticePolygon]) -> [i64; 4] {
    let mut bounds = [i64::MAX, i64::MIN, i64::MAX, i64::MIN];
    for vertex in polygons.iter().flat_map(|polygon| &polygon.exterior) {
        let (lon, lat) = lattice.lon_lat_e7(*vertex);
        let (lon, lat) = (lon * E9_PER_STEP, lat * E9_PER_STEP);
        bounds = [bounds[0].min(lon), bounds[1].max(lon), bounds[2].min(lat), bounds[3].max(lat)];
    }
    bounds
}

/// Meters in a degree eastwards and northwards, in the middle of bounds, on the ellipsoid.
fn meters_per_deg([west, east, south, north]: [i64; 4]) -> [f64; 2] {
    let (lon, lat) = ((west + east) as f64 / 2.0 / E9_PER_DEG, (south + north) as f64 / 2.0 / E9_PER_DEG);
    let half = TRIAL_DEG / 2.0;
    let meters = |a: (f64, f64), b: (f64, f64)| Geodesic.distance(Point::new(a.0, a.1), Point::new(b.0, b.1));
    [meters((lon - half, lat), (lon + half, lat)) / TRIAL_DEG, meters((lon, lat - half), (lon, lat + half)) / TRIAL_DEG]
}
