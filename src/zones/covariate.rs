//! Dense covariates: elevation, a conductivity survey, earlier yield, brought to the cells of the field.
//!
//! A covariate comes as points, each with a value; of a raster these are the centers of its pixels. No surface is made of
//! it: a cell takes the mean of the points in it, or of those within reach. What is not measured stays unknown.

use rayon::prelude::*;

use super::k_means::spread_rows;
use crate::cell_grid::{CellGrid, CellMask, Site};
use crate::crs::WorkCrs;

/// Reach of points in cells, unless stated or the points lie wider apart (heuristic).
const REACH_CELLS: f64 = 2.0;
/// Points whose nearest neighbor is looked for, to learn how far apart they lie.
const SPACING_POINTS: usize = 100;
/// Seed of their choice.
const SPACING_SEED: u64 = 1;

/// One line of `[covariates]`.
#[derive(Debug, Clone, PartialEq)]
pub struct CovariateSettings {
    /// Name: the key.
    pub name: String,
    /// File, as typed.
    pub file: String,
    /// CRS of its coordinates, where the file does not state one.
    pub crs: Option<String>,
    /// Columns of a sheet with longitude and latitude, as they are named.
    pub lon_lat: Option<(String, String)>,
    /// Column or attribute with the value; a raster needs none.
    pub column: Option<String>,
    /// Unit, as it is to be printed.
    pub unit: Option<String>,
    /// Reach of its points, meters; `None` = two cells, or the spacing of the points if that is wider.
    pub reach_m: Option<f64>,
    /// Line in the field file.
    pub line: usize,
}

/// A covariate as read from its file: what the edge hands to the library.
#[derive(Debug, Clone, PartialEq)]
pub struct CovariateReading {
    /// Name, as in [`CovariateSettings`].
    pub name: String,
    /// Unit, as stated or as the file has it.
    pub unit: Option<String>,
    /// (longitude, latitude, value); degrees, WGS 84. Of a raster the centers of its pixels.
    pub places: Vec<(f64, f64, f64)>,
}

/// A covariate on the cells of the field.
#[derive(Debug, Clone, PartialEq)]
pub struct Covariate {
    /// Name.
    pub name: String,
    /// Unit, as printed.
    pub unit: Option<String>,
    /// One a cell of the raster, NaN where unknown and outside the field.
    pub values: Vec<f64>,
}

impl Covariate {
    /// Brings a reading to the cells. Places the work plane does not know, and values that are no number, are left out.
    pub fn of_reading(
        reading: &CovariateReading,
        reach_m: Option<f64>,
        mask: &CellMask,
        work_crs: &WorkCrs,
    ) -> Covariate {
        let lon_lat: Vec<_> = reading.places.iter().map(|&(lon, lat, _)| (lon, lat)).collect();
        let sites = work_crs.all_to_local(&lon_lat);
        let known = sites.into_iter().zip(&reading.places).filter_map(|(site, place)| Some((site?, place.2)));
        let values = on_cells(mask, &known.collect::<Vec<_>>(), reach_m);
        Covariate { name: reading.name.clone(), unit: reading.unit.clone(), values }
    }
}

/// Means of points on the cells of the field.
///
/// A cell takes the mean of the points in it; a cell without a point takes that of the points within `reach_m` of its
/// center. Unless stated, the reach is two cells or, if that is more, how far apart the points lie (the median distance
/// to the nearest other point), so that pixels wider than cells leave no gaps (heuristic). Points outside the raster
/// are not used.
///
/// # Units
/// Local work meters; values keep their unit.
///
/// # Returns
/// One a cell; NaN outside the field and where no point is within reach.
///
/// # Guarantees
/// - the order of the points changes nothing
/// - no value leaves the range of the points
pub fn on_cells(mask: &CellMask, points: &[(Site, f64)], reach_m: Option<f64>) -> Vec<f64> {
    let grid = mask.grid();
    let mut of_cells: Vec<(usize, Site, f64)> = points
        .iter()
        .filter(|(_, value)| value.is_finite())
        .filter_map(|&(site, value)| Some((grid.cell_at(site).map(|(col, row)| grid.index(col, row))?, site, value)))
        .collect();
    of_cells.sort_unstable_by(|(cell, a, x), (other, b, y)| {
        let by_place = a.north_m.total_cmp(&b.north_m).then(a.east_m.total_cmp(&b.east_m));
        cell.cmp(other).then(by_place).then(x.total_cmp(y))
    });
    let reach_m = reach_m.unwrap_or_else(|| (REACH_CELLS * grid.cell_m).max(spacing_m(&of_cells).unwrap_or(0.0)));
    let points = CellPoints::new(grid, &of_cells);
    let value_of = |cell: usize| {
        if !mask.inside()[cell] {
            return f64::NAN;
        }
        let own = points.of(cell);
        if own.is_empty() { points.mean_around(cell, reach_m) } else { mean(own.iter().map(|point| point.2)) }
    };
    (0..grid.n_cells()).into_par_iter().with_min_len(1024).map(value_of).collect()
}

/// Median distance to the nearest other point, over a seeded sample of the points; `None` with fewer than two places.
fn spacing_m(points: &[(usize, Site, f64)]) -> Option<f64> {
    let nearest = |&row: &usize| {
        let own = points[row].1;
        let others = points.iter().map(|(_, site, _)| own.distance_m(*site)).filter(|&distance_m| distance_m > 0.0);
        others.fold(f64::INFINITY, f64::min)
    };
    let mut nearest_m: Vec<f64> =
        spread_rows(points.len(), SPACING_POINTS, SPACING_SEED).par_iter().map(nearest).collect();
    nearest_m.sort_unstable_by(f64::total_cmp);
    nearest_m.get(nearest_m.len() / 2).copied().filter(|spacing_m| spacing_m.is_finite())
}

/// Mean, NaN of nothing.
fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (n, sum) = values.fold((0.0, 0.0), |(n, sum), value| (n + 1.0, sum + value));
    if n > 0.0 { sum / n } else { f64::NAN }
}

/// Points sorted by cell.
struct CellPoints<'a> {
    grid: &'a CellGrid,
    points: &'a [(usize, Site, f64)],
    /// Where the points of each cell begin; one more at the end.
    starts: Vec<usize>,
}

impl<'a> CellPoints<'a> {
    fn new(grid: &'a CellGrid, points: &'a [(usize, Site, f64)]) -> Self {
        let mut starts = vec![0; grid.n_cells() + 1];
        points.iter().for_each(|(cell, ..)| starts[cell + 1] += 1);
        for cell in 0..grid.n_cells() {
            starts[cell + 1] += starts[cell];
        }
        CellPoints { grid, points, starts }
    }

    fn of(&self, cell: usize) -> &[(usize, Site, f64)] {
        &self.points[self.starts[cell]..self.starts[cell + 1]]
    }

    /// Mean of the points within a distance of a cell's center.
    fn mean_around(&self, cell: usize, reach_m: f64) -> f64 {
        let (col, row) = (cell % self.grid.n_cols, cell / self.grid.n_cols);
        let center = self.grid.center(col, row);
        let n_around = (reach_m / self.grid.cell_m).ceil() as usize;
        let cols = col.saturating_sub(n_around)..=col.saturating_add(n_around).min(self.grid.n_cols - 1);
        let rows = row.saturating_sub(n_around)..=row.saturating_add(n_around).min(self.grid.n_rows - 1);
        // Cells of a row lie side by side, and so do their points.
        let points = rows.flat_map(|row| {
            let (first, last) = (self.grid.index(*cols.start(), row), self.grid.index(*cols.end(), row));
            &self.points[self.starts[first]..self.starts[last + 1]]
        });
        mean(points.filter(|(_, site, _)| site.distance_m(center) <= reach_m).map(|point| point.2))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(n_cols: usize, n_rows: usize) -> CellGrid {
        CellGrid { west_m: 0.0, south_m: 0.0, cell_m: 10.0, n_cols, n_rows }
    }

    fn at(east_m: f64, north_m: f64) -> Site {
        Site { east_m, north_m }
    }

    /// Six cells of 10 m in a row, centers 5 to 55, reach 2 cells = 20 m: two points in the first, one in the second.
    /// The third center, 25, reaches all of them: (1 + 3 + 5) / 3; the fourth, 35, only the one at 15.
    #[test]
    fn hand_case_of_six_cells() {
        let mask = CellMask::all(grid(6, 1));
        let points = [(at(6.0, 5.0), 1.0), (at(8.0, 5.0), 3.0), (at(15.0, 5.0), 5.0)];
        let values = on_cells(&mask, &points, None);
        assert_eq!(values[..4], [2.0, 5.0, 3.0, 5.0]);
        assert!(values[4].is_nan() && values[5].is_nan());
        // A stated reach of 5 m leaves all but the cells with points; 40 m reaches the fifth center, 45, too.
        assert_eq!(on_cells(&mask, &points, Some(5.0)).iter().filter(|value| value.is_nan()).count(), 4);
        assert_eq!(on_cells(&mask, &points, Some(40.0))[4], 3.0);
    }

    #[test]
    fn outside_the_field_and_without_a_number_nothing_is_known() {
        let mask = CellMask::new(grid(3, 1), vec![true, true, false]);
        let points = [(at(5.0, 5.0), f64::NAN), (at(15.0, 5.0), 4.0), (at(25.0, 5.0), 8.0), (at(-5.0, 5.0), 99.0)];
        let values = on_cells(&mask, &points, Some(1.0));
        assert!(values[0].is_nan() && values[2].is_nan());
        assert_eq!(values[1], 4.0);
        assert!(on_cells(&mask, &[], None).iter().all(|value| value.is_nan()));
    }

    /// Pixels of 60 m under cells of 10 m: two cells of reach would leave gaps, the spacing of the pixels does not.
    #[test]
    fn pixels_wider_than_cells_leave_no_gap() {
        let mask = CellMask::all(grid(36, 36));
        let pixels: Vec<(Site, f64)> = (0..36)
            .map(|i| (at(30.0 + 60.0 * f64::from(i % 6), 30.0 + 60.0 * f64::from(i / 6)), f64::from(i)))
            .collect();
        assert!(on_cells(&mask, &pixels, None).iter().all(|value| value.is_finite()));
        assert!(on_cells(&mask, &pixels, Some(20.0)).iter().any(|value| value.is_nan()));
    }

    #[test]
    fn the_order_of_the_points_changes_nothing() {
        let mask = CellMask::all(grid(9, 9));
        let mut points: Vec<(Site, f64)> = (0..300)
            .map(|i| {
                let along = f64::from(i) * 0.618_034;
                (at(90.0 * along.fract(), 0.3 * f64::from(i)), (0.1 + along).sin())
            })
            .collect();
        let bits =
            |points: &[(Site, f64)]| on_cells(&mask, points, None).iter().map(|v| v.to_bits()).collect::<Vec<_>>();
        let before = bits(&points);
        points.reverse();
        points.rotate_left(77);
        assert_eq!(before, bits(&points));
    }
}
