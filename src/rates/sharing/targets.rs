//! Shares to set the ground against, by CEC class. The user's own; the defaults are common practice, no source.

use crate::fields::{CA_PERCENT, K_PERCENT, MG_PERCENT};

/// CEC where loams begin, meq/100 g: below it ground counts as lighter. Source: Ohio State Univ. Extension ANR-81 (2019),
/// table 1, loams 10 to 15 \[R\].
const LIGHTER_UP_TO_CEC: f64 = 10.0;
/// Calcium of lighter ground, percent of the CEC: common practice, no source.
const LIGHTER_CA_PERCENT: f64 = 60.0;
/// Magnesium of lighter ground, percent of the CEC: common practice, no source.
const LIGHTER_MG_PERCENT: f64 = 20.0;
/// Printed with the targets where the user names no source of his own.
pub const COMMON_PRACTICE: &str = "common practice, no source";

/// Shares of one CEC class, percent of the CEC.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TargetRow {
    /// The CEC up to which the row holds, meq/100 g; `None` in the last row, which holds for all ground above.
    pub up_to_cec_meq_100g: Option<f64>,
    /// Calcium.
    pub ca_percent: f64,
    /// Magnesium.
    pub mg_percent: f64,
    /// Potassium, from and to.
    pub k_percent: [f64; 2],
    /// Most sodium; `None` = not judged as a share.
    pub na_most_percent: Option<f64>,
}

impl TargetRow {
    /// Calcium and magnesium together, percent: the sum rule.
    pub fn ca_mg_percent(&self) -> f64 {
        self.ca_percent + self.mg_percent
    }
}

/// What is wrong with rows of targets. `row` counts from 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum TargetFault {
    /// No row.
    #[error("no row of targets, at least one expected")]
    NoRow,
    /// The last row has an edge.
    #[error("row {row} is the last and ends at a CEC, so ground above it has no target")]
    LastEnds {
        /// The row.
        row: usize,
    },
    /// A row before the last has no edge, or one that does not lie above the row before.
    #[error("row {row} must end at a CEC, above 0 and above that of the row before")]
    EdgesNotAscending {
        /// The row.
        row: usize,
    },
    /// A share that is no share.
    #[error("row {row}: `{key}` is {percent} %, expected 0 to 100")]
    NoShare {
        /// The row.
        row: usize,
        /// Key of the field file.
        key: &'static str,
        /// What was found.
        percent: f64,
    },
    /// A range from high to low.
    #[error("row {row}: potassium from {least} to {most} % runs downward, expected the lower figure first")]
    KUpsideDown {
        /// The row.
        row: usize,
        /// First figure.
        least: f64,
        /// Second figure.
        most: f64,
    },
    /// Shares that cannot stand beside each other.
    #[error(
        "row {row}: calcium, magnesium and the most potassium come to {sum} % of the CEC, at most 100 can be shared out"
    )]
    Above100 {
        /// The row.
        row: usize,
        /// What they come to, percent.
        sum: f64,
    },
}

impl TargetFault {
    /// The row at fault, from 1; `None` where there is no row.
    pub fn row(self) -> Option<usize> {
        match self {
            TargetFault::NoRow => None,
            TargetFault::LastEnds { row }
            | TargetFault::EdgesNotAscending { row }
            | TargetFault::NoShare { row, .. }
            | TargetFault::KUpsideDown { row, .. }
            | TargetFault::Above100 { row, .. } => Some(row),
        }
    }
}

/// Targets by CEC class.
///
/// # Guarantees
/// - edges ascend, the last row holds for all ground above
/// - in each row calcium, magnesium and the most potassium fit into 100 %
#[derive(Debug, Clone, PartialEq)]
pub struct ShareTargets {
    rows: Vec<TargetRow>,
    source: String,
}

impl ShareTargets {
    /// Rows, the lightest ground first, and where they come from in the user's words.
    ///
    /// # Errors
    /// Every contradiction of the rows.
    pub fn new(rows: Vec<TargetRow>, source: impl Into<String>) -> Result<Self, Vec<TargetFault>> {
        let mut faults = Vec::new();
        let mut edge_before = 0.0;
        for (index, target) in rows.iter().enumerate() {
            let row = index + 1;
            match target.up_to_cec_meq_100g {
                Some(_) if row == rows.len() => faults.push(TargetFault::LastEnds { row }),
                Some(edge) if edge > edge_before => edge_before = edge,
                None if row == rows.len() => {}
                _ => faults.push(TargetFault::EdgesNotAscending { row }),
            }
            faults.extend(row_fault(row, target));
        }
        if rows.is_empty() {
            faults.push(TargetFault::NoRow);
        }
        if faults.is_empty() { Ok(ShareTargets { rows, source: source.into() }) } else { Err(faults) }
    }

    /// The row of a CEC; a CEC on an edge belongs to the lighter row.
    pub fn row(&self, cec_meq_100g: f64) -> &TargetRow {
        let holds = |row: &&TargetRow| row.up_to_cec_meq_100g.is_none_or(|edge| cec_meq_100g <= edge);
        self.rows.iter().find(holds).unwrap_or(&self.rows[self.rows.len() - 1])
    }

    /// All rows, the lightest ground first.
    pub fn rows(&self) -> &[TargetRow] {
        &self.rows
    }

    /// Where they come from.
    pub fn source(&self) -> &str {
        &self.source
    }
}

impl Default for ShareTargets {
    /// Ca 60, Mg 20 up to CEC 10, Ca 68, Mg 12 above it, K 3 to 6 %: common practice, no source.
    fn default() -> Self {
        let row = |up_to_cec_meq_100g, ca_percent, mg_percent| TargetRow {
            up_to_cec_meq_100g,
            ca_percent,
            mg_percent,
            k_percent: K_PERCENT,
            na_most_percent: None,
        };
        ShareTargets {
            rows: vec![
                row(Some(LIGHTER_UP_TO_CEC), LIGHTER_CA_PERCENT, LIGHTER_MG_PERCENT),
                row(None, CA_PERCENT, MG_PERCENT),
            ],
            source: COMMON_PRACTICE.to_owned(),
        }
    }
}

/// The first thing wrong inside a row.
fn row_fault(row: usize, target: &TargetRow) -> Option<TargetFault> {
    let [least, most] = target.k_percent;
    let shares = [
        ("ca_percent", Some(target.ca_percent)),
        ("mg_percent", Some(target.mg_percent)),
        ("k_percent", Some(least)),
        ("k_percent", Some(most)),
        ("na_most_percent", target.na_most_percent),
    ];
    for (key, percent) in shares {
        if let Some(percent) = percent.filter(|percent| !(0.0..=100.0).contains(percent)) {
            return Some(TargetFault::NoShare { row, key, percent });
        }
    }
    let sum = target.ca_mg_percent() + most;
    match () {
        () if least > most => Some(TargetFault::KUpsideDown { row, least, most }),
        () if sum > 100.0 => Some(TargetFault::Above100 { row, sum }),
        () => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(edge: Option<f64>, ca: f64, mg: f64, k: [f64; 2]) -> TargetRow {
        TargetRow { up_to_cec_meq_100g: edge, ca_percent: ca, mg_percent: mg, k_percent: k, na_most_percent: None }
    }

    #[test]
    fn defaults_are_those_of_common_practice_and_stand_their_own_checks() {
        // common practice, no source: 68 % Ca and 12 % Mg, 80 together, K 3 to 6 on silt loam and clay.
        let targets = ShareTargets::default();
        assert_eq!(ShareTargets::new(targets.rows().to_vec(), COMMON_PRACTICE), Ok(targets.clone()));
        let heavy = targets.row(23.74);
        assert_eq!((heavy.ca_percent, heavy.mg_percent, heavy.k_percent), (68.0, 12.0, [3.0, 6.0]));
        assert_eq!(targets.row(5.11).mg_percent, 20.0);
        assert!(targets.rows().iter().all(|row| row.ca_mg_percent() == 80.0));
    }

    #[test]
    fn a_cec_on_an_edge_is_of_the_lighter_row() {
        let targets = ShareTargets::default();
        assert_eq!(targets.row(10.0).ca_percent, 60.0);
        assert_eq!(targets.row(10.000_001).ca_percent, 68.0);
        assert_eq!(targets.row(0.0).ca_percent, 60.0);
    }

    #[test]
    fn contradictions_are_told_all_at_once() {
        let rows = vec![
            row(None, 60.0, 20.0, [3.0, 6.0]),
            row(Some(4.0), 85.0, 12.0, [3.0, 6.0]),
            row(Some(9.0), 68.0, 12.0, [6.0, 3.0]),
        ];
        let faults = ShareTargets::new(rows, "").unwrap_err();
        assert_eq!(
            faults,
            [
                TargetFault::EdgesNotAscending { row: 1 },
                TargetFault::Above100 { row: 2, sum: 103.0 },
                TargetFault::LastEnds { row: 3 },
                TargetFault::KUpsideDown { row: 3, least: 6.0, most: 3.0 },
            ]
        );
        assert_eq!(ShareTargets::new(Vec::new(), ""), Err(vec![TargetFault::NoRow]));
        let negative = ShareTargets::new(vec![row(None, -1.0, 12.0, [3.0, 6.0])], "").unwrap_err();
        assert_eq!(negative, [TargetFault::NoShare { row: 1, key: "ca_percent", percent: -1.0 }]);
    }
}
