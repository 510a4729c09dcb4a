//! The fields of a sheet as a group: its middle CEC, and which fields hold much less.

use super::figure::median;
use super::{CecKind, FieldTest, Ground};

/// A field holds least of the group at or below this share of the group's median CEC. Source: heuristic, and printed.
///
/// The class cannot tell it: CEC 13 among fields of 21 "holds much" and is still the one that holds least.
pub const LEAST_OF_MEDIAN: f64 = 0.75;

/// What the cropped fields of a sheet have in common.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// Kind of CEC most cropped fields have; fields of another kind are not compared. `None` without a CEC.
    pub kind: Option<CecKind>,
    /// Median CEC of the cropped fields of this kind; `None` of fewer than two.
    pub median: Option<f64>,
    /// Fields in the median.
    pub n_in_median: usize,
}

/// How a field stands in the group.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// At or below three quarters of the median CEC.
    HoldsLeast,
    /// Above that.
    WithTheOthers,
    /// Fallow, without a CEC, with one of another kind, or alone.
    NotCompared,
}

impl Group {
    /// The group of some fields; fallow ones do not count.
    pub(super) fn of(fields: &[FieldTest]) -> Self {
        let cropped =
            || fields.iter().filter(|field| field.ground == Ground::Cropped).filter_map(|field| field.cec.as_ref());
        let n_of = |kind: CecKind| cropped().filter(|cec| cec.kind.compares_with(kind)).count();
        let mut kinds: Vec<CecKind> = cropped().map(|cec| cec.kind).collect();
        kinds.sort();
        kinds.dedup();
        // The most fields; of equal counts the first kind.
        let kind = kinds.into_iter().rev().max_by_key(|kind| n_of(*kind));
        let n_in_median = kind.map_or(0, n_of);
        let alike = cropped().filter(|cec| kind.is_some_and(|kind| cec.kind.compares_with(kind)));
        let median = median(alike.map(|cec| cec.figure.value)).filter(|_| n_in_median >= 2);
        Group { kind, median, n_in_median }
    }

    /// Whether a field's CEC can be set beside the group's.
    pub(super) fn compares(&self, field: &FieldTest) -> bool {
        self.kind.zip(field.cec.as_ref()).is_some_and(|(kind, cec)| cec.kind.compares_with(kind))
    }

    /// How a field stands in the group.
    pub(super) fn standing(&self, field: &FieldTest) -> Standing {
        match (&field.cec, self.median) {
            (Some(cec), Some(median)) if field.ground == Ground::Cropped && self.compares(field) => {
                if cec.figure.value <= LEAST_OF_MEDIAN * median {
                    Standing::HoldsLeast
                } else {
                    Standing::WithTheOthers
                }
            }
            _ => Standing::NotCompared,
        }
    }
}
