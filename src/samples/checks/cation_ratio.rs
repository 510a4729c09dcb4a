//! Cations as read against what the rest of the row says they are: how wrong units show.

use super::cec_against_cation_sum::{bases_meq_100g, known_acidity};
use super::{CheckInput, median};
use crate::chemistry::Cation;
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::draft::DraftSample;
use crate::samples::{Analyte, ColumnSetting, LabMethod};
use crate::units::LabUnit;

/// Fewer rows than this prove nothing.
const LEAST_ROWS: usize = 3;

/// The analytes of a cation: its amount and its printed share.
pub(super) fn analytes(cation: Cation) -> (Analyte, Analyte) {
    match cation {
        Cation::Ca => (Analyte::Ca, Analyte::CaSaturation),
        Cation::Mg => (Analyte::Mg, Analyte::MgSaturation),
        Cation::K => (Analyte::K, Analyte::KSaturation),
        Cation::Na => (Analyte::Na, Analyte::NaSaturation),
    }
}

/// Amounts of one cation over its printed share of the printed CEC, one a row that has all three.
pub(super) fn over_printed_share(input: &CheckInput<'_>, cation: Cation) -> Vec<f64> {
    let (amount, share) = analytes(cation);
    if input.column(amount).is_none() || input.column(share).is_none() {
        return Vec::new();
    }
    let ratio = |draft: &DraftSample| {
        let of_share = input.value_found(draft, share)? * input.value_found(draft, Analyte::Cec)? / 100.0;
        (of_share > 0.0).then_some(input.value_found(draft, amount)? / of_share)
    };
    input.drafts.iter().filter_map(ratio).collect()
}

/// All bases, each times `weight`, over what the printed CEC leaves for them, one a row.
///
/// Rows whose CEC was measured apart, or leaves nothing, tell nothing. Where acidity is not known, bases below the CEC tell
/// nothing either: half of the CEC may well be acidity.
pub(super) fn bases_over_cec(input: &CheckInput<'_>, weight: impl Fn(Cation) -> f64) -> Vec<f64> {
    let Some((cec_index, _)) = input.column(Analyte::Cec) else { return Vec::new() };
    let ratio = |draft: &DraftSample| {
        if !matches!(draft.methods[cec_index], LabMethod::Summation | LabMethod::Effective) {
            return None;
        }
        let cec = input.value(draft, Analyte::Cec)?;
        let acidity = match draft.methods[cec_index] {
            // A buffer's acidity is no part of an effective CEC.
            LabMethod::Effective => input.value(draft, Analyte::Acidity).or_else(|| input.value(draft, Analyte::Al)),
            _ => known_acidity(input, draft).map(|(acidity, _)| acidity),
        };
        let left = match acidity {
            Some(acidity) => cec - acidity,
            None => Some(cec).filter(|cec| bases_meq_100g(input, draft, |_| 1.0).is_some_and(|bases| bases > *cec))?,
        };
        (left > 0.0).then_some(bases_meq_100g(input, draft, &weight)? / left)
    };
    input.drafts.iter().filter_map(ratio).collect()
}

/// How many ratios lie within `within` (a share) of `factor`, if they are most of the sheet and their middle does too.
pub(super) fn explained(input: &CheckInput<'_>, ratios: &[f64], factor: f64, within: f64) -> Option<usize> {
    let fits = |ratio: f64| (ratio / factor - 1.0).abs() <= within;
    let n_fit = ratios.iter().filter(|ratio| fits(**ratio)).count();
    let is_most = n_fit >= LEAST_ROWS && 2 * n_fit > ratios.len() && 2 * ratios.len() >= input.drafts.len();
    (is_most && fits(median(ratios.to_vec())?)).then_some(n_fit)
}

/// The error of a cation that is `times` too large for its printed share, and the unit that would explain it.
pub(super) fn off_its_share(
    input: &CheckInput<'_>,
    code: &'static Code,
    column: &ColumnSetting,
    times: &str,
    n_rows: usize,
    explaining: LabUnit,
) -> Diagnostic {
    let message = format!(
        "{} is about {times} times what its printed saturation and the CEC make, at {n_rows} of {} samples",
        column.analyte.label(),
        input.drafts.len()
    );
    let help = format!(
        "look on the lab's report whether `{}` is in {}: `unit` says {}",
        column.column,
        explaining.name(),
        column.unit.name()
    );
    Diagnostic::error(code, message).at(input.column_place(column)).with_help(help)
}
