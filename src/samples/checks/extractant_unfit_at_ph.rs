//! Phosphorus by acid extracts on limy soil.

use super::{CheckInput, counted, first_ten};
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::draft::DraftSample;
use crate::samples::{Analyte, LabMethod};

/// Phosphorus by acid extracts on limy soil.
pub static EXTRACTANT_UNFIT_AT_PH: Code = Code {
    name: "extractant-unfit-at-ph",
    checks: "that phosphorus by Bray-1, Bray-2 or Mehlich-1 does not come from soil of pH 7.4 or above, or with free lime",
    why: "lime uses up the acid of the extract: it finds too little phosphorus, and a guide would call for what is \
there already (Bray-1 from pH 7.4: University of Minnesota [R]; Bray-2 and Mehlich-1 on limy soil: from memory [M])",
    example: "Bray-1 phosphorus 4 ppm at pH 7.8",
    mend: "ask the lab for Olsen phosphorus on these samples; take no rate from the reading",
};

/// From this pH in water. Source: University of Minnesota, for Bray-1 \[R\].
const UNFIT_FROM_PH: f64 = 7.4;
/// An excess-lime rating of medium, on the scale 0 none to 3 high.
const RATED_MEDIUM: f64 = 2.0;

/// Why an acid extract is unfit at a row, in words.
fn reason(input: &CheckInput<'_>, draft: &DraftSample) -> Option<String> {
    let found = |analyte| input.value_found(draft, analyte);
    if let Some(ph) = found(Analyte::PhWater).filter(|ph| *ph >= UNFIT_FROM_PH) {
        return Some(format!("pH {ph}"));
    }
    if let Some(percent) = found(Analyte::FreeLime).filter(|percent| *percent > 0.0) {
        return Some(format!("free lime {percent} %"));
    }
    found(Analyte::ExcessLime).filter(|rating| *rating >= RATED_MEDIUM).map(|_| "excess lime".to_owned())
}

/// A warning for each phosphorus column with such rows.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let columns = input.settings.columns.iter().enumerate();
    let of_phosphorus = columns.filter(|(_, column)| matches!(column.analyte, Analyte::P | Analyte::PSecond));
    let mut warnings = Vec::new();
    for (index, column) in of_phosphorus {
        let method = column.fixed_method();
        if !matches!(method, LabMethod::Bray1 | LabMethod::Bray2 | LabMethod::Mehlich1) {
            continue;
        }
        let measured: Vec<&DraftSample> = input.drafts.iter().filter(|d| d.readings[index].is_some()).collect();
        let unfit: Vec<(&DraftSample, String)> =
            measured.iter().filter_map(|draft| Some((*draft, reason(input, draft)?))).collect();
        let Some((first, _)) = unfit.first() else { continue };
        let message = format!(
            "phosphorus by {} is unfit for limy soil: {} of {}",
            method.name(),
            unfit.len(),
            counted(measured.len(), "sample")
        );
        warnings.push(
            Diagnostic::warning(&EXTRACTANT_UNFIT_AT_PH, message)
                .at(input.table.place(first.line, &[column.column.as_str()]))
                .with_note(first_ten(unfit.iter().map(|(draft, why)| format!("`{}` {why}", draft.id))))
                .with_help("ask the lab for Olsen phosphorus there; take no rate from these readings"),
        );
    }
    warnings
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;
    use crate::samples::MethodSetting;

    #[test]
    fn bray_1_is_unfit_from_ph_7_4_and_olsen_is_not() {
        let mut sheet = sheet("ID,x,y,pH,P\nA,0,0,7.3,20\nB,9,0,7.4,6\nC,0,9,7.9,\nD,9,9,7.8,4\n");
        let found = sheet.with_input(check);
        assert_eq!(lines(&found), ["warning: phosphorus by bray-1 is unfit for limy soil: 2 of 3 samples"]);
        assert_eq!(found[0].notes, ["`B` pH 7.4, `D` pH 7.8"]);
        sheet.column(Analyte::P).method = MethodSetting::Fixed(LabMethod::Olsen);
        assert!(sheet.with_input(check).is_empty());
    }

    #[test]
    fn lime_found_or_rated_counts_at_any_ph_and_a_limit_does_not() {
        let mut sheet = sheet(
            "ID,x,y,pH,P,Lime%,Excess\nA,0,0,7.0,9,0.2,\nB,9,0,7.0,9,<1,LO\nC,0,9,7.0,9,0,HI\nD,9,9,7.0,9,,med\n",
        );
        sheet.column(Analyte::P).method = MethodSetting::Fixed(LabMethod::Mehlich1);
        let found = sheet.with_input(check);
        assert_eq!(lines(&found), ["warning: phosphorus by mehlich-1 is unfit for limy soil: 3 of 4 samples"]);
        assert_eq!(found[0].notes, ["`A` free lime 0.2 %, `C` excess lime, `D` excess lime"]);
    }
}
