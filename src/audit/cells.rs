//! Rates on a grid of cells in longitude and latitude.

use geo::{Coord, GeodesicArea as _, MultiPolygon, Polygon};

use crate::crs::LonLat;

/// A grid. A place is `origin + column * per_column + row * per_row`, whole numbers being cell edges.
#[derive(Debug, Clone, PartialEq)]
pub struct Cells {
    /// File as typed.
    pub file: String,
    /// Outer corner of the first cell.
    pub origin: LonLat,
    /// Step to the next column, degrees of longitude and latitude.
    pub per_column: (f64, f64),
    /// Step to the next row, degrees of longitude and latitude.
    pub per_row: (f64, f64),
    /// Number of columns.
    pub n_cols: usize,
    /// Number of rows.
    pub n_rows: usize,
    /// Rates, row by row; NaN where a cell has none.
    pub rates: Vec<f64>,
}

impl Cells {
    /// A place by column and row, fractions allowed.
    pub fn place(&self, column: f64, row: f64) -> LonLat {
        (
            self.origin.0 + column * self.per_column.0 + row * self.per_row.0,
            self.origin.1 + column * self.per_column.1 + row * self.per_row.1,
        )
    }

    /// Column and row of a place, fractions of cells; `None` where the grid has no ground.
    pub fn column_row(&self, (lon, lat): LonLat) -> Option<(f64, f64)> {
        let (dx, dy) = (lon - self.origin.0, lat - self.origin.1);
        let (c, r) = (self.per_column, self.per_row);
        let turn = c.0 * r.1 - c.1 * r.0;
        (turn != 0.0).then(|| ((dx * r.1 - dy * r.0) / turn, (c.0 * dy - c.1 * dx) / turn))
    }

    /// The rate at a place; `None` outside and where there is none.
    pub fn rate_at(&self, place: LonLat) -> Option<f64> {
        let (column, row) = self.column_row(place)?;
        let is_in = column >= 0.0 && row >= 0.0 && column < self.n_cols as f64 && row < self.n_rows as f64;
        let rate = *self.rates.get(if is_in { row as usize * self.n_cols + column as usize } else { usize::MAX })?;
        rate.is_finite().then_some(rate)
    }

    /// West, south, east, north, degrees.
    pub fn bounds(&self) -> [f64; 4] {
        let (c, r) = (self.n_cols as f64, self.n_rows as f64);
        let corners = [self.place(0.0, 0.0), self.place(c, 0.0), self.place(0.0, r), self.place(c, r)];
        let least = |of: fn(&LonLat) -> f64| corners.iter().map(of).fold(f64::INFINITY, f64::min);
        let most = |of: fn(&LonLat) -> f64| corners.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
        [least(|p| p.0), least(|p| p.1), most(|p| p.0), most(|p| p.1)]
    }

    /// Geodesic area of one cell of a row, square meters.
    pub fn cell_m2(&self, row: usize) -> f64 {
        let row = row as f64;
        let corner = |column, row| {
            let (x, y) = self.place(column, row);
            Coord { x, y }
        };
        let ring = vec![corner(0.0, row), corner(1.0, row), corner(1.0, row + 1.0), corner(0.0, row + 1.0)];
        // Rows may run north or south: a ring that runs clockwise has an area below 0, never the rest of the globe.
        Polygon::new(ring.into(), Vec::new()).geodesic_area_signed().abs()
    }

    /// Which cells have their center inside polygons, row by row.
    pub fn inside(&self, outline: &MultiPolygon) -> Vec<bool> {
        let mut inside = vec![false; self.rates.len()];
        // In columns and rows the edges are as straight as in degrees, and a row is one scan line.
        let edges: Vec<((f64, f64), (f64, f64))> = outline
            .iter()
            .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()))
            .flat_map(|ring| ring.lines().collect::<Vec<_>>())
            .filter_map(|line| {
                let at = |end: Coord| self.column_row((end.x, end.y));
                Some((at(line.start)?, at(line.end)?))
            })
            .collect();
        for row in 0..self.n_rows {
            let scan = row as f64 + 0.5;
            let mut crossings: Vec<f64> = edges
                .iter()
                .filter(|(a, b)| (a.1 <= scan) != (b.1 <= scan))
                .map(|(a, b)| a.0 + (scan - a.1) / (b.1 - a.1) * (b.0 - a.0))
                .collect();
            crossings.sort_by(f64::total_cmp);
            for pair in crossings.chunks_exact(2) {
                let first = (pair[0] - 0.5).ceil().clamp(0.0, self.n_cols as f64) as usize;
                let end = (pair[1] - 0.5).ceil().clamp(0.0, self.n_cols as f64) as usize;
                inside[row * self.n_cols + first..row * self.n_cols + end.max(first)].fill(true);
            }
        }
        inside
    }
}

#[cfg(test)]
mod tests {
    use geo::{Contains as _, Point, polygon};

    use super::*;

    fn cells() -> Cells {
        let rates = (0..6).map(f64::from).collect();
        Cells {
            file: String::new(),
            origin: (-93.6, 41.5),
            per_column: (0.001, 0.0),
            per_row: (0.0, 0.002),
            n_cols: 3,
            n_rows: 2,
            rates,
        }
    }

    #[test]
    fn a_place_finds_its_cell_and_a_row_its_area() {
        let cells = cells();
        assert_eq!(cells.rate_at((-93.5975, 41.5005)), Some(2.0));
        assert_eq!(cells.rate_at((-93.5995, 41.5035)), Some(3.0));
        assert_eq!(cells.rate_at((-93.6001, 41.5035)), None);
        let bounds = cells.bounds();
        assert!((bounds[2] + 93.597).abs() < 1e-12 && (bounds[3] - 41.504).abs() < 1e-12);
        // From memory: at 41.5 N a degree is 83.5 km east and 111.06 km north.
        assert!((cells.cell_m2(0) / (83.5 * 222.12) - 1.0).abs() < 0.001, "{}", cells.cell_m2(0));
        // The same cells with rows from north to south.
        let turned = Cells { per_row: (-cells.per_row.0, -cells.per_row.1), ..cells.clone() };
        assert!((turned.cell_m2(0) / cells.cell_m2(0) - 1.0).abs() < 0.001, "{}", turned.cell_m2(0));
    }

    #[test]
    fn cells_inside_are_those_whose_center_an_outside_test_finds_inside() {
        let mut cells = cells();
        (cells.n_cols, cells.n_rows, cells.per_column, cells.per_row) = (40, 30, (0.0001, 0.0), (0.00002, -0.0001));
        cells.rates = vec![1.0; 1200];
        let outline = MultiPolygon::new(vec![polygon![
            exterior: [(x: -93.5995, y: 41.4995), (x: -93.5968, y: 41.4997), (x: -93.5975, y: 41.4974), (x: -93.599, y: 41.498)],
            interiors: [[(x: -93.598, y: 41.499), (x: -93.5975, y: 41.4985), (x: -93.5985, y: 41.4985)]],
        ]]);
        let mut n = 0;
        for (index, inside) in cells.inside(&outline).iter().enumerate() {
            let (x, y) = cells.place((index % 40) as f64 + 0.5, (index / 40) as f64 + 0.5);
            assert_eq!(*inside, outline.contains(&Point::new(x, y)), "cell {index}");
            n += usize::from(*inside);
        }
        assert!(n > 200);
    }
}
