//! A table of lime by buffer pH and target pH, read off between its cells, never beyond them.

/// Lime by buffer pH and target pH, short tons an acre.
///
/// ```text
///             target 5.6   6.0   6.4
/// buffer 6.9       0.0   0.0   0.5
/// buffer 6.8       0.0   0.4   0.8
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct LimeTable {
    /// Targets, ascending.
    pub target_ph: Vec<f64>,
    /// Buffer pH, descending, each with one amount a target.
    pub rows: Vec<(f64, Vec<f64>)>,
}

/// Outside the table: no number, whatever the neighbors say.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum OffTable {
    /// Buffer pH outside.
    #[error("buffer pH {ph} lies outside the guide's table, {least} to {most}: it gives no number there")]
    Buffer {
        /// The reading.
        ph: f64,
        /// Lowest of the table.
        least: f64,
        /// Highest of the table.
        most: f64,
    },
    /// Target outside.
    #[error("target pH {ph} lies outside the guide's table, {least} to {most}: it gives no number there")]
    Target {
        /// The target.
        ph: f64,
        /// Lowest of the table.
        least: f64,
        /// Highest of the table.
        most: f64,
    },
}

impl LimeTable {
    /// Lime by straight lines between the four cells about a reading and a target.
    ///
    /// # Guarantees
    /// - exact on every cell; continuous inside; within the four cells about it
    /// - keeps the table's own bends (Oregon's is steep between 5.8 and 5.7): no line is fitted through it
    ///
    /// # Errors
    /// [`OffTable`] outside, for a number that is none too.
    pub fn short_ton_ac(&self, buffer_ph: f64, target_ph: f64) -> Result<f64, OffTable> {
        let [least, most] = self.buffer_window();
        if !(least..=most).contains(&buffer_ph) {
            return Err(OffTable::Buffer { ph: buffer_ph, least, most });
        }
        let [least, most] = self.target_window();
        if !(least..=most).contains(&target_ph) {
            return Err(OffTable::Target { ph: target_ph, least, most });
        }
        let (row, down) = between(self.rows.len(), |index| -self.rows[index].0, -buffer_ph);
        let (column, right) = between(self.target_ph.len(), |index| self.target_ph[index], target_ph);
        let along = |row: usize| {
            let amounts = &self.rows[row].1;
            mixed(amounts[column], amounts[column + 1], right)
        };
        Ok(mixed(along(row), along(row + 1), down))
    }

    /// Lowest and highest buffer pH.
    pub fn buffer_window(&self) -> [f64; 2] {
        [self.rows[self.rows.len() - 1].0, self.rows[0].0]
    }

    /// Lowest and highest target.
    pub fn target_window(&self) -> [f64; 2] {
        [self.target_ph[0], self.target_ph[self.target_ph.len() - 1]]
    }
}

/// The pair of ascending marks a value lies between, as the first of them, and how far along, 0 to 1.
fn between(n: usize, mark: impl Fn(usize) -> f64, value: f64) -> (usize, f64) {
    let first = (0..n - 2).find(|&index| value <= mark(index + 1)).unwrap_or(n - 2);
    let (from, to) = (mark(first), mark(first + 1));
    (first, (value - from) / (to - from))
}

/// Exactly `from` at 0 and exactly `to` at 1.
fn mixed(from: f64, to: f64, share: f64) -> f64 {
    from * (1.0 - share) + to * share
}
