//! A raster of square cells over the field. **Row 0 is the south row**; columns run west to east.

/// A place in local work meters: easting and northing from the work origin ([`crate::crs::WorkCrs`]).
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Site {
    /// Meters east of the work origin.
    pub east_m: f64,
    /// Meters north of the work origin.
    pub north_m: f64,
}

impl Site {
    /// Distance to another place, meters.
    pub fn distance_m(self, other: Site) -> f64 {
        (self.east_m - other.east_m).hypot(self.north_m - other.north_m)
    }
}

/// Where the cells lie: origin at the south-west corner of the south-west cell, local work meters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CellGrid {
    /// West edge of column 0, local meters.
    pub west_m: f64,
    /// South edge of row 0, local meters.
    pub south_m: f64,
    /// Side of a cell, meters.
    pub cell_m: f64,
    /// Number of columns.
    pub n_cols: usize,
    /// Number of rows.
    pub n_rows: usize,
}

impl CellGrid {
    /// The smallest raster of `cell_m` cells on whole multiples of `cell_m` that covers `[west, east, south, north]`.
    pub fn covering(bounds_m: [f64; 4], cell_m: f64) -> Self {
        let [west, east, south, north] = bounds_m;
        let first_col = (west / cell_m).floor();
        let first_row = (south / cell_m).floor();
        let n_cols = ((east / cell_m).ceil() - first_col).max(1.0) as usize;
        let n_rows = ((north / cell_m).ceil() - first_row).max(1.0) as usize;
        CellGrid { west_m: first_col * cell_m, south_m: first_row * cell_m, cell_m, n_cols, n_rows }
    }

    /// Number of cells in the rectangle.
    pub fn n_cells(&self) -> usize {
        self.n_cols * self.n_rows
    }

    /// Area of one cell on the work plane, m2.
    pub fn cell_area_m2(&self) -> f64 {
        self.cell_m * self.cell_m
    }

    /// Easting of the centers of a column, local meters.
    pub fn center_east_m(&self, col: usize) -> f64 {
        self.west_m + (col as f64 + 0.5) * self.cell_m
    }

    /// Northing of the centers of a row, local meters.
    pub fn center_north_m(&self, row: usize) -> f64 {
        self.south_m + (row as f64 + 0.5) * self.cell_m
    }

    /// Center of a cell, local meters.
    pub fn center(&self, col: usize, row: usize) -> Site {
        Site { east_m: self.center_east_m(col), north_m: self.center_north_m(row) }
    }

    /// Corner of the cell lattice (`0..=n_cols`, `0..=n_rows`), local meters.
    pub fn corner(&self, col: usize, row: usize) -> Site {
        Site { east_m: self.west_m + col as f64 * self.cell_m, north_m: self.south_m + row as f64 * self.cell_m }
    }

    /// Index of a cell in row-major order, south row first.
    pub fn index(&self, col: usize, row: usize) -> usize {
        row * self.n_cols + col
    }

    /// The cell a place lies in, `None` outside the rectangle.
    pub fn cell_at(&self, site: Site) -> Option<(usize, usize)> {
        let col = ((site.east_m - self.west_m) / self.cell_m).floor();
        let row = ((site.north_m - self.south_m) / self.cell_m).floor();
        let inside = col >= 0.0 && row >= 0.0 && col < self.n_cols as f64 && row < self.n_rows as f64;
        inside.then_some((col as usize, row as usize))
    }
}

/// Which cells count: center inside the field's outline.
#[derive(Debug, Clone, PartialEq)]
pub struct CellMask {
    grid: CellGrid,
    inside: Vec<bool>,
    n_inside: usize,
}

impl CellMask {
    /// A mask of `inside[row * n_cols + col]`.
    ///
    /// # Panics
    /// If the length is not that of the grid.
    pub fn new(grid: CellGrid, inside: Vec<bool>) -> Self {
        assert_eq!(inside.len(), grid.n_cells(), "one flag a cell");
        let n_inside = inside.iter().filter(|&&cell| cell).count();
        CellMask { grid, inside, n_inside }
    }

    /// A mask in which every cell counts.
    pub fn all(grid: CellGrid) -> Self {
        CellMask::new(grid, vec![true; grid.n_cells()])
    }

    /// The grid.
    pub fn grid(&self) -> &CellGrid {
        &self.grid
    }

    /// One flag a cell, south row first.
    pub fn inside(&self) -> &[bool] {
        &self.inside
    }

    /// How many cells count.
    pub fn n_inside(&self) -> usize {
        self.n_inside
    }

    /// Indices of the cells that count, ascending.
    pub fn cells(&self) -> impl Iterator<Item = usize> + '_ {
        self.inside.iter().enumerate().filter_map(|(index, &inside)| inside.then_some(index))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn row_0_is_the_south_row() {
        let grid = CellGrid::covering([2.0, 21.0, 3.0, 9.0], 5.0);
        assert_eq!((grid.west_m, grid.south_m, grid.n_cols, grid.n_rows), (0.0, 0.0, 5, 2));
        assert_eq!(grid.center(0, 0), Site { east_m: 2.5, north_m: 2.5 });
        assert_eq!(grid.cell_at(Site { east_m: 24.9, north_m: 9.9 }), Some((4, 1)));
        assert_eq!(grid.cell_at(Site { east_m: 25.0, north_m: 9.9 }), None);
    }
}
