//! CEC by summation over-estimated on calcareous ground.

use super::{CheckInput, first_ten};
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::draft::DraftSample;
use crate::samples::{Analyte, CecSource, LabMethod};

/// Extracted calcium includes lime above this pH.
pub static CALCAREOUS_CEC: Code = Code {
    name: "calcareous-cec",
    checks: "that CEC by summation does not come from soil above pH 7.3, with more than 0.5 % free lime, or with excess \
lime rated medium or high",
    why: "extractants dissolve calcium from lime that is not exchangeable, so CEC, and what the ground seems to hold, \
is over-estimated there (K-State research reports vol. 7 [R]; ammonium acetate over-reads above 0.5 % lime too [R abstract])",
    example: "pH 7.6, Mehlich-3 calcium 4200 ppm, CEC 31 by summation",
    mend: "have CEC measured at pH 7, or read the zone with care; do not take it for ground that holds much",
};

/// Above this pH in water. Source: Kansas Agric. Exp. Sta. Research Reports vol. 7 no. 3 \[R\].
pub const CALCAREOUS_ABOVE_PH: f64 = 7.3;

/// Above this share of carbonate, percent. Source: Commun. Soil Sci. Plant Anal. 1998, ammonium acetate \[R abstract\].
pub const MOST_FREE_LIME_PERCENT: f64 = 0.5;
/// Above this excess-lime rating, on the scale 0 none, 1 low, 2 medium, 3 high: medium counts.
pub const MOST_LIME_RATING: f64 = 1.5;

/// A warning for each row, whatever the extract; alike for all rows of a cause so that they fold.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let summed = match super::super::sample::cec_source(input.settings) {
        CecSource::Lab(method) => method == LabMethod::Summation,
        CecSource::SummedFromAcidity | CecSource::SummedFromBuffer(_) => true,
        CecSource::None => false,
    };
    if !summed {
        return Vec::new();
    }
    let causes = [
        (Analyte::PhWater, CALCAREOUS_ABOVE_PH, "the soil is above pH 7.3", "pH"),
        (Analyte::FreeLime, MOST_FREE_LIME_PERCENT, "the soil holds more than 0.5 % free lime", "free lime, %"),
        (Analyte::ExcessLime, MOST_LIME_RATING, "excess lime is rated medium or high", "rated 2 medium, 3 high"),
    ];
    let is_above = |draft: &DraftSample, (analyte, most, ..): &(Analyte, f64, &str, &str)| {
        input.value_found(draft, *analyte).filter(|value| value > most)
    };
    let mut found = Vec::new();
    for (nth, cause) in causes.iter().enumerate() {
        let Some((_, column)) = input.column(cause.0) else { continue };
        let is_told = |draft: &DraftSample| causes[..nth].iter().any(|earlier| is_above(draft, earlier).is_some());
        let above: Vec<(&DraftSample, f64)> = input
            .drafts
            .iter()
            .filter(|draft| !is_told(draft))
            .filter_map(|draft| Some((draft, is_above(draft, cause)?)))
            .collect();
        let note =
            format!("{}: {}", cause.3, first_ten(above.iter().map(|(draft, value)| format!("`{}` {value}", draft.id))));
        found.extend(above.iter().map(|(draft, _)| {
            let message = format!("CEC by summation is probably over-estimated: {}", cause.2);
            Diagnostic::warning(&CALCAREOUS_CEC, message)
                .at(input.table.place(draft.line, &[column.column.as_str()]))
                .with_note(note.clone())
                .with_help("have CEC measured at pH 7 there, or read its zone with care")
        }));
    }
    found
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

    #[test]
    fn lime_found_or_rated_flags_soil_below_ph_7_4_too_whatever_the_extract() {
        // Field notes: ammonium acetate over-reads above 0.5 % carbonate [R abstract].
        let rows = "A,0,0,7.1,2400,300,200,15.0,0.5,LO\nB,9,0,7.1,2400,300,200,15.0,0.6,\nC,0,9,7.1,2400,300,200,15.0,<1,MED\n";
        let sheet = sheet(&format!("ID,x,y,pH,Ca,Mg,K,CEC,Lime%,Excess\n{rows}D,9,9,7.9,2400,300,200,15.0,2,HI\n"));
        let found = sheet.with_input(check);
        let text = |cause: &str| format!("warning: CEC by summation is probably over-estimated: {cause}");
        assert_eq!(
            lines(&found),
            [
                text("the soil is above pH 7.3"),
                text("the soil holds more than 0.5 % free lime"),
                text("excess lime is rated medium or high")
            ]
        );
        assert_eq!(found[1].notes, ["free lime, %: `B` 0.6"]);
        assert_eq!(found[2].notes, ["rated 2 medium, 3 high: `C` 2"]);
    }
}
