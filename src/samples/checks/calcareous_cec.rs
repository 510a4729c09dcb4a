//! CEC by summation over-estimated on calcareous ground.

use super::CheckInput;
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::{Analyte, CecSource, LabMethod};

/// Extracted calcium includes lime above this pH.
pub static CALCAREOUS_CEC: Code = Code {
    name: "calcareous-cec",
    checks: "that CEC by summation does not come from soil above pH 7.3",
    why: "extractants dissolve calcium from lime that is not exchangeable, so CEC, and what the ground seems to hold, \
is over-estimated there (K-State research reports vol. 7 [R]; ammonium acetate over-reads above 0.5 % lime too [R abstract])",
    example: "pH 7.6, Mehlich-3 calcium 4200 ppm, CEC 31 by summation",
    mend: "have CEC measured at pH 7, or read the zone with care; do not take it for ground that holds much",
};

/// Above this pH in water. Source: Kansas Agric. Exp. Sta. Research Reports vol. 7 no. 3 \[R\].
const CALCAREOUS_ABOVE_PH: f64 = 7.3;

pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let summed = match super::super::sample::cec_source(input.settings) {
        CecSource::Lab(method) => method == LabMethod::Summation,
        CecSource::SummedFromAcidity | CecSource::SummedFromBuffer(_) => true,
        CecSource::None => false,
    };
    let Some((_, column)) = input.column(Analyte::PhWater).filter(|_| summed) else { return Vec::new() };
    let above: Vec<_> = input
        .drafts
        .iter()
        .filter_map(|draft| {
            let ph = draft.reading(input.settings, Analyte::PhWater)?.value;
            (ph > CALCAREOUS_ABOVE_PH).then_some((draft, ph))
        })
        .collect();
    let readings: Vec<String> = above.iter().map(|(draft, ph)| format!("`{}` {ph}", draft.id)).collect();
    let note = format!("pH: {}", readings.join(", "));
    let warnings = above.iter().map(|(draft, _)| {
        Diagnostic::warning(&CALCAREOUS_CEC, "CEC by summation is probably over-estimated: the soil is above pH 7.3")
            .at(input.table.place(draft.line, &[column.column.as_str()]))
            .with_note(note.clone())
            .with_help("have CEC measured at pH 7 there, or read its zone with care")
    });
    warnings.collect()
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;
    use crate::samples::MethodSetting;

    #[test]
    fn row_83_summed_cec_at_ph_7_6_is_flagged_as_over_estimated() {
        // agronomy check 83, K-State [R]: Mehlich-3 CEC at pH 7.6.
        let mut sheet = sheet("ID,x,y,pH,Ca,Mg,K,CEC\nA,0,0,7.6,4200,300,200,24.1\nB,9,0,7.3,2400,300,200,15.0\n");
        for column in sheet.settings.columns.iter_mut().filter(|c| c.analyte == Analyte::Ca) {
            column.method = MethodSetting::Fixed(LabMethod::Mehlich3);
        }
        let found = sheet.with_input(check);
        let text = "warning: CEC by summation is probably over-estimated: the soil is above pH 7.3";
        assert_eq!(lines(&found), [text]);
        assert_eq!(found[0].notes, ["pH: `A` 7.6"]);
        // Measured CEC does not count lime.
        for column in sheet.settings.columns.iter_mut().filter(|c| c.analyte == Analyte::Cec) {
            column.method = MethodSetting::Fixed(LabMethod::MeasuredPh7);
        }
        assert!(sheet.with_input(check).is_empty());
    }
}
