//! Ways to read a grid: the right one, and the seven that turn or mirror it.

use crate::export::iso11783::GridFrame;

/// A wrong way to read a grid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reading {
    /// Columns are taken for rows.
    swaps_columns_and_rows: bool,
    /// Columns run from east to west.
    from_east: bool,
    /// Rows run from north to south.
    from_north: bool,
}

impl Reading {
    /// The seven wrong ones.
    pub const WRONG: [Reading; 7] = [
        Reading { swaps_columns_and_rows: false, from_east: false, from_north: true },
        Reading { swaps_columns_and_rows: false, from_east: true, from_north: false },
        Reading { swaps_columns_and_rows: false, from_east: true, from_north: true },
        Reading { swaps_columns_and_rows: true, from_east: false, from_north: false },
        Reading { swaps_columns_and_rows: true, from_east: false, from_north: true },
        Reading { swaps_columns_and_rows: true, from_east: true, from_north: false },
        Reading { swaps_columns_and_rows: true, from_east: true, from_north: true },
    ];

    /// In words.
    pub fn words(self) -> &'static str {
        match (self.swaps_columns_and_rows, self.from_east, self.from_north) {
            (false, false, false) => "as it is",
            (false, false, true) => "upside down",
            (false, true, false) => "left for right",
            (false, true, true) => "turned half round",
            (true, false, false) => "columns for rows",
            (true, false, true) => "columns for rows, upside down",
            (true, true, false) => "columns for rows, left for right",
            (true, true, true) => "columns for rows, turned half round",
        }
    }

    /// Index of the cell whose value this reading shows at a place of the field; `None` where it shows none.
    ///
    /// A grid read columns for rows lies from the same south-west corner, as many cells high as it should be wide.
    pub(super) fn cell_read(self, frame: &GridFrame, (col, row): (usize, usize)) -> Option<usize> {
        let (n_cols, n_rows) = match self.swaps_columns_and_rows {
            false => (frame.n_cols, frame.n_rows),
            true => (frame.n_rows, frame.n_cols),
        };
        if col >= n_cols || row >= n_rows {
            return None;
        }
        let col = if self.from_east { n_cols - 1 - col } else { col };
        let row = if self.from_north { n_rows - 1 - row } else { row };
        Some(if self.swaps_columns_and_rows { frame.index(row, col) } else { frame.index(col, row) })
    }
}
