//! Whether a circle fits into a patch of cells.
//!
//! The circle lies wholly within the patch's cells: a strip of three cells is three cells wide, a lone cell one. Cells of
//! another zone, ground outside the field and the raster's edge end it alike, so a strip along the field's edge is as
//! narrow as one inside. Middles are tried at every whole and half cell (centers, corners and the middles of sides; with
//! centers alone a strip of four cells would pass for three), so a circle up to 0.71 cells wider may be missed.

/// Looks for circles in patches of one raster; keeps its memory from patch to patch.
///
/// The distance to the nearest foreign cell is that of a Euclidean distance transform, exact, in two passes: up and down
/// the columns, then along each row. The rows need no lower envelope of parabolas, because only one distance is asked
/// about: every column rules out the places that lie too near its own nearest foreign cell.
pub(super) struct CircleSearch {
    n_cols: usize,
    /// Steps south to the next foreign cell, of the cells of the patch looked at.
    south_steps: Vec<u32>,
    /// Steps north to the next foreign cell, of the last cell looked at in each column.
    north_steps: Vec<u32>,
    line: Line,
}

/// Columns of a run of cells along one line, with a foreign cell at both ends.
#[derive(Default)]
struct Line {
    /// Distance from the line to the nearest foreign cell in each column, half cells.
    column_halves: Vec<u32>,
    /// How many more columns rule a place out than the place before it; places are half cells apart.
    changes: Vec<i32>,
}

impl CircleSearch {
    pub(super) fn new(n_cols: usize, n_rows: usize) -> Self {
        let (south_steps, north_steps) = (vec![0; n_cols * n_rows], vec![0; n_cols]);
        CircleSearch { n_cols, south_steps, north_steps, line: Line::default() }
    }

    /// Whether a circle `diameter_cells` wide, or wider, fits into a patch.
    ///
    /// # Shape
    /// `cells` are all cells of one patch, ascending; `labels` are those of the raster, row by row from the south. Cells
    /// of one label that share a side must be of one patch.
    ///
    /// # Cost
    /// Grows with the number of cells; ends at the first row, from the north, that holds such a circle.
    pub(super) fn fits(&mut self, labels: &[u16], cells: &[u32], diameter_cells: f64) -> bool {
        let n_cols = self.n_cols;
        let Some(&first) = cells.first() else { return false };
        let zone = labels[first as usize];
        for cell in cells.iter().map(|&cell| cell as usize) {
            let goes_on = cell >= n_cols && labels[cell - n_cols] == zone;
            self.south_steps[cell] = if goes_on { self.south_steps[cell - n_cols] + 1 } else { 1 };
        }
        let goes_on_north = |cell: usize| labels.get(cell + n_cols) == Some(&zone);
        let is_one_run = |a: &u32, b: &u32| a + 1 == *b && !(*b as usize).is_multiple_of(n_cols);
        for run in cells.chunk_by(is_one_run).rev() {
            let (start, end) = (run[0] as usize, run[0] as usize + run.len());
            let may_fit = run.len() as f64 >= diameter_cells;
            if may_fit && self.fits_on_north_side(start..end, goes_on_north, diameter_cells) {
                return true;
            }
            self.line.column_halves.clear();
            for cell in start..end {
                let north_steps = &mut self.north_steps[cell % n_cols];
                *north_steps = if goes_on_north(cell) { *north_steps + 1 } else { 1 };
                self.line.column_halves.push(2 * self.south_steps[cell].min(*north_steps) - 1);
            }
            if may_fit && self.line.has_room(diameter_cells) {
                return true;
            }
        }
        false
    }

    /// Tries middles on the north side of a run; `north_steps` are still those of the row above.
    fn fits_on_north_side(
        &mut self,
        run: std::ops::Range<usize>,
        goes_on_north: impl Fn(usize) -> bool,
        diameter_cells: f64,
    ) -> bool {
        let mut cell = run.start;
        while cell < run.end {
            self.line.column_halves.clear();
            while cell < run.end && goes_on_north(cell) {
                let steps = self.south_steps[cell].min(self.north_steps[cell % self.n_cols]);
                self.line.column_halves.push(2 * steps);
                cell += 1;
            }
            if self.line.column_halves.len() as f64 >= diameter_cells && self.line.has_room(diameter_cells) {
                return true;
            }
            cell += 1;
        }
        false
    }
}

impl Line {
    /// Whether a place of the line lies at least half a diameter from all foreign cells.
    ///
    /// The columns at both ends are foreign on the line itself; columns beyond them rule out nothing more.
    fn has_room(&mut self, diameter_cells: f64) -> bool {
        // Places are 0 at the first column's center, 2 at the next one's.
        let n_places = 2 * self.column_halves.len() as i64 - 1;
        self.changes.clear();
        self.changes.resize(n_places.max(0) as usize + 1, 0);
        let ends = [(-2, 0), (n_places + 1, 0)];
        for (center, halves) in (0..).step_by(2).zip(self.column_halves.iter().copied()).chain(ends) {
            // A radius is as many half cells as a diameter is cells.
            let left2 = diameter_cells.powi(2) - f64::from(halves).powi(2);
            if left2 > 0.0 {
                // A column is a half cell wide to each side; `as` takes what is larger to the largest.
                let reach: i64 = (left2.sqrt().ceil() as i64).min(2 * n_places + 4);
                let [first, end] = [center - reach, center + reach + 1].map(|place: i64| place.clamp(0, n_places));
                self.changes[first as usize] += 1;
                self.changes[end as usize] -= 1;
            }
        }
        let mut n_against = 0;
        self.changes.iter().take(n_places.max(0) as usize).any(|change| {
            n_against += change;
            n_against == 0
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::zones::patches::Patches;
    use crate::zones::patches::tests::raster;

    /// Whether a circle of each width fits into the patch that holds the first cell of `zone`.
    fn fits(picture: &[&str], zone: u16, diameters: &[f64]) -> Vec<bool> {
        let (grid, labels) = raster(picture);
        let mut patches = Patches::of(&grid, &labels);
        let cell = labels.iter().position(|&label| label == zone).unwrap();
        let patch = patches.patch_at(cell).unwrap();
        let cells = patches.cells_of(patch);
        let mut search = CircleSearch::new(grid.n_cols, grid.n_rows);
        diameters.iter().map(|&diameter| search.fits(&labels, &cells, diameter)).collect()
    }

    #[test]
    fn strips_are_as_wide_as_their_cells() {
        // Odd widths are found around a center, even ones around a corner; both zones lie along the raster's edge.
        let picture = ["1111111", "1111111", "1111111", "2222222", "2222222"];
        assert_eq!(fits(&picture, 1, &[3.0, 3.001]), [true, false]);
        assert_eq!(fits(&picture, 2, &[2.0, 2.001]), [true, false]);
        assert_eq!(fits(&["...", ".1.", "..."], 1, &[1.0, 1.001]), [true, false]);
        // Ground outside the field narrows a strip as another zone does.
        assert_eq!(fits(&["111.111", "111.111", "111.111"], 1, &[3.0, 3.001]), [true, false]);
        assert_eq!(fits(&["1111.111", "1111.111", "1111.111", "1111.111"], 1, &[4.0, 4.001]), [true, false]);
    }

    /// The plus: from its middle the four inner corners are (1/2, 1/2) off. The square of three without its north-east
    /// cell: half a cell south-west of the middle both near sides are 1 off; everywhere else a side or the inner corner
    /// is as near or nearer.
    #[test]
    fn hand_cases_of_inner_corners() {
        let plus = 2.0_f64.sqrt();
        assert_eq!(fits(&["2212222", "2111222", "2212222"], 1, &[plus - 1e-9, plus + 1e-9]), [true, false]);
        assert_eq!(fits(&["2112222", "2111222", "2111222"], 1, &[2.0, 2.0 + 1e-9]), [true, false]);
    }

    /// Squared widths of the six patches of this raster: the largest value of `scipy.ndimage.distance_transform_edt`
    /// (SciPy 1.17.1), squared, over the lattice of half cells where points in or on foreign cells are 0. A radius is as
    /// many half cells as a diameter is cells.
    #[test]
    fn widths_are_those_of_scipy() {
        #[rustfmt::skip]
        let picture = [
            "1111112333333",
            "1111122233333",
            "111.122223333",
            "1111222222333",
            "4111122222233",
            "4441112222223",
            "4444112222222",
            "5444222262222",
            "5544422666222",
            "5554442262222",
            "5555444.22222",
        ];
        for (zone, diameter2) in [(1, 9.0), (2, 16.0), (3, 9.0), (4, 5.0), (5, 4.0), (6, 2.0_f64)] {
            let diameter = diameter2.sqrt();
            let found = fits(&picture, zone, &[diameter - 1e-6, diameter + 1e-6]);
            assert_eq!(found, [true, false], "zone {zone}");
        }
    }

    #[test]
    fn any_width_has_an_answer() {
        assert_eq!(fits(&["11", "11"], 1, &[0.0, 1e300, f64::INFINITY]), [true, false, false]);
        assert_eq!(fits(&["1"], 1, &[1.0, 1.1]), [true, false]);
    }
}
