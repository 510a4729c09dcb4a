//! The numbers below a header, in the first rows: enough to tell what a name cannot.

use crate::samples::{CellNumber, Limit, NumberForm, Reading, SampleTable};

/// Rows looked at. Sheets keep one order of magnitude from top to bottom.
pub(super) const N_ROWS: usize = 500;
/// Half a step where a lab prints whole numbers.
const HALF: f64 = 0.5;

/// Numbers of one column.
pub(super) struct ColumnValues {
    /// One a row looked at: the number as printed; `None` where it is a limit, a word or blank.
    pub(super) numbers: Vec<Option<f64>>,
    /// Cells that are not blank.
    pub(super) n_filled: usize,
    /// Cells that are numbers or limits.
    pub(super) n_numbers: usize,
    /// Half of the last printed place: how far rounding may move a number.
    pub(super) half_step: f64,
    /// Most figures printed behind the decimal mark.
    pub(super) n_decimals: usize,
}

impl ColumnValues {
    /// A column whose numbers nobody asks for.
    pub(super) fn none() -> Self {
        ColumnValues { numbers: Vec::new(), n_filled: 0, n_numbers: 0, half_step: HALF, n_decimals: 0 }
    }

    /// Reads a column.
    pub(super) fn of(table: &SampleTable, column: usize, numbers: &NumberForm) -> Self {
        let mut values = Self::none();
        let cells = table.rows.iter().map(|row| row.cells.get(column).map_or("", |cell| cell.trim()));
        for (row, cell) in cells.enumerate() {
            // Past the rows looked at, only a column without any number so far is of interest.
            if row >= N_ROWS && (values.n_numbers > 0 || cell.is_empty()) {
                if values.n_numbers > 0 {
                    break;
                }
                continue;
            }
            let reading = reading(cell, numbers);
            values.n_filled += usize::from(!cell.is_empty());
            values.n_numbers += usize::from(reading.is_some());
            if row >= N_ROWS {
                continue;
            }
            let exact = reading.filter(|reading| reading.limit == Limit::Exact).map(|reading| reading.value);
            if exact.is_some() {
                let decimals = cell.rsplit_once(['.', ',']).map_or("", |(_, rest)| rest);
                let n_decimals = decimals.chars().take_while(char::is_ascii_digit).count();
                values.n_decimals = values.n_decimals.max(n_decimals);
            }
            values.numbers.push(exact);
        }
        values.half_step = HALF * 10f64.powi(-(values.n_decimals.min(9) as i32));
        values
    }

    /// Number of a row looked at.
    pub(super) fn at(&self, row: usize) -> Option<f64> {
        self.numbers.get(row).copied().flatten()
    }

    /// Numbers in rising order.
    fn sorted(&self) -> Vec<f64> {
        let mut sorted: Vec<f64> = self.numbers.iter().copied().flatten().collect();
        sorted.sort_by(f64::total_cmp);
        sorted
    }

    /// Least and greatest number.
    pub(super) fn range(&self) -> Option<[f64; 2]> {
        let sorted = self.sorted();
        Some([*sorted.first()?, *sorted.last()?])
    }

    /// The middle number.
    pub(super) fn median(&self) -> Option<f64> {
        let sorted = self.sorted();
        sorted.get(sorted.len() / 2).copied()
    }
}

/// A cell's number, a rating beside it left aside.
fn reading(cell: &str, numbers: &NumberForm) -> Option<Reading> {
    match numbers.cell(cell)? {
        CellNumber::Reading(reading) | CellNumber::Rated(reading) => Some(reading),
        CellNumber::Blank | CellNumber::OpenWord => None,
    }
}

/// How many pairs agree, of how many.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Agreement {
    /// Pairs that agree.
    pub(super) n_agree: usize,
    /// Pairs compared.
    pub(super) n_pairs: usize,
}

impl Agreement {
    /// Counts one pair.
    pub(super) fn count(&mut self, agrees: bool) {
        self.n_agree += usize::from(agrees);
        self.n_pairs += 1;
    }

    /// Adds the pairs of another.
    pub(super) fn add(&mut self, other: Agreement) {
        self.n_agree += other.n_agree;
        self.n_pairs += other.n_pairs;
    }

    /// Whether more than two thirds agree, of at least `least` pairs.
    pub(super) fn is_most(self, least: usize) -> bool {
        self.n_pairs >= least.max(1) && 3 * self.n_agree > 2 * self.n_pairs
    }

    /// Whether less than a third agree.
    pub(super) fn is_few(self) -> bool {
        3 * self.n_agree < self.n_pairs
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::Row;

    #[test]
    fn numbers_limits_ratings_words_and_blanks_are_told_apart() {
        let cells = ["3.1 M", "<5", "", "HI", "2-", "12"];
        let rows = cells.iter().enumerate().map(|(n, cell)| Row { line: n + 2, cells: vec![(*cell).to_owned()] });
        let table = SampleTable {
            file: "lab.csv".into(),
            header: vec!["P".into()],
            rows: rows.collect(),
            samples_in: crate::sheet::SamplesIn::Rows,
        };
        let values = ColumnValues::of(&table, 0, &NumberForm::default());
        assert_eq!(values.numbers, [Some(3.1), None, None, None, None, Some(12.0)]);
        assert_eq!((values.n_filled, values.n_numbers), (5, 3));
        assert!((values.half_step - 0.05).abs() < 1e-12);
        assert_eq!(values.range(), Some([3.1, 12.0]));
        assert_eq!(ColumnValues::of(&table, 7, &NumberForm::default()).n_filled, 0);
    }
}
