//! Bases above the CEC.

use super::super::sample::exchange;
use super::{CheckInput, cec_against_cation_sum, first_ten};
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::Analyte;
use crate::samples::draft::DraftSample;

/// Bases above the CEC.
pub static BASE_SATURATION_ABOVE_100: Code = Code {
    name: "base-saturation-above-100",
    checks: "whether Ca, Mg, K and Na together exceed the CEC",
    why: "the extract also dissolves free lime, gypsum or salts: such ground may look as if it held more than it does",
    example: "`D-02`: bases 24.1 meq/100 g on a measured CEC of 20.3, 118.7 %",
    mend: "nothing, where the soil holds free lime; the row is kept as it is. Else check the units and the CEC",
};

/// Above this, printed whole percents of four bases cannot have been rounded up from 100.
const PRINT_ROUNDING_PERCENT: f64 = 2.0;

/// Above 100 % as printed, not by the rounding of the sheet.
const PRINTED_ABOVE_PERCENT: f64 = 100.05;

/// At most one warning; the rows are kept.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let above: Vec<(&DraftSample, f64)> = input
        .drafts
        .iter()
        .filter_map(|draft| Some((draft, base_saturation_percent(input, draft)?)))
        .filter(|(_, percent)| *percent > PRINTED_ABOVE_PERCENT)
        // Bases above a CEC by summation are an error of the sheet, told by its own check.
        .filter(|(draft, _)| !cec_against_cation_sum::is_off(input, draft))
        .collect();
    let Some((first, percent)) = above.first() else { return Vec::new() };
    let message = if above.len() == 1 {
        format!("bases of `{}` are {percent:.1} % of the CEC: kept as they are", first.id)
    } else {
        let most = above.iter().map(|(_, percent)| *percent).fold(0.0, f64::max);
        format!("bases of {} samples are above 100 % of the CEC, up to {most:.1} %: kept as they are", above.len())
    };
    let mut warning = Diagnostic::warning(&BASE_SATURATION_ABOVE_100, message).at(input.table.place(first.line, &[]));
    if above.len() > 1 {
        let each = first_ten(above.iter().map(|(draft, percent)| format!("`{}` {percent:.1} %", draft.id)));
        warning = warning.with_note(each);
    }
    let ph = above.iter().filter_map(|(draft, _)| input.value(draft, Analyte::PhWater));
    if let Some(ph) = ph.reduce(f64::max).filter(|ph| *ph > 7.3) {
        warning = warning.with_note(format!("pH {ph}: the extract may have dissolved free lime"));
    }
    vec![warning.with_help("check units and CEC, unless the soil holds free lime or gypsum")]
}

/// From the amounts; where the sheet has only shares, their sum less what rounding can add.
fn base_saturation_percent(input: &CheckInput<'_>, draft: &DraftSample) -> Option<f64> {
    if let Some(parts) = exchange(draft, input.settings) {
        return Some(parts.base_saturation_percent());
    }
    let share = |analyte| draft.reading(input.settings, analyte).map(|reading| reading.map_value());
    let sum = share(Analyte::CaSaturation)?
        + share(Analyte::MgSaturation)?
        + share(Analyte::KSaturation)?
        + share(Analyte::NaSaturation).unwrap_or(0.0);
    (sum > 100.0 + PRINT_ROUNDING_PERCENT).then_some(sum)
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;
    use crate::samples::{LabMethod, MethodSetting};

    #[test]
    fn bases_above_a_measured_cec_are_warned_and_kept() {
        let mut sheet = sheet("ID,x,y,pH,K,Ca,Mg,CEC\nA,0,0,7.9,117,4000,360,20.0\nB,9,0,6.5,117,3000,360,20.0\n");
        let last = sheet.settings.columns.len() - 1;
        sheet.settings.columns[last].method = MethodSetting::Fixed(LabMethod::MeasuredPh7);
        // 20 + 3 + 0.3 = 23.3 meq on 20.0.
        let found = sheet.with_input(check);
        assert_eq!(lines(&found), ["warning: bases of `A` are 116.5 % of the CEC: kept as they are"]);
        assert_eq!(found[0].notes, ["pH 7.9: the extract may have dissolved free lime"]);
    }

    #[test]
    fn bases_above_a_summed_cec_are_left_to_the_check_on_the_sum() {
        let sheet = sheet("ID,x,y,pH,K,Ca,Mg,CEC\nA,0,0,7.9,117,4000,360,20.0\n");
        assert!(sheet.with_input(check).is_empty());
        assert_eq!(sheet.with_input(cec_against_cation_sum::check).len(), 1);
    }

    #[test]
    fn printed_shares_are_added_up_where_amounts_are_not_given() {
        let found = sheet("ID,x,y,Ca%,Mg%,K%,Na%\nA,0,0,90,18,2,1\nB,9,0,80,18,2,2\n").with_input(check);
        assert_eq!(lines(&found), ["warning: bases of `A` are 111.0 % of the CEC: kept as they are"]);
    }

    #[test]
    fn several_rows_fold_to_one_warning() {
        let found = sheet("ID,x,y,Ca%,Mg%,K%,Na%\nA,0,0,90,18,2,1\nB,9,0,95,18,2,2\n").with_input(check);
        assert_eq!(
            lines(&found),
            ["warning: bases of 2 samples are above 100 % of the CEC, up to 117.0 %: kept as they are"]
        );
        assert_eq!(found[0].notes, ["`A` 111.0 %, `B` 117.0 %"]);
    }
}
