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

/// Above this pH in water. Source: Kansas Agric. Exp. Sta. Research Reports vol. 7 no. 3 [R].
const CALCAREOUS_ABOVE_PH: f64 = 7.3;

pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let summed = match super::super::sample::cec_source(input.settings) {
        CecSource::Lab(method) => method == LabMethod::Summation,
        CecSource::SummedFromAcidity | CecSource::SummedFromBuffer(_) => true,
        CecSource::None => false,
    };
    let Some((_, column)) = input.column(Analyte::PhWater).filter(|_| summed) else { return Vec::new() };
    let above = input.drafts.iter().filter_map(|draft| {
        let ph = draft.reading(input.settings, Analyte::PhWater)?.value;
        (ph > CALCAREOUS_ABOVE_PH).then(|| {
            Diagnostic::warning(
                &CALCAREOUS_CEC,
                format!("sample `{}` has pH {ph}: its CEC by summation is probably over-estimated", draft.id),
            )
            .at(input.table.place(draft.line, &[column.column.as_str()]))
            .with_help("have CEC measured at pH 7 there, or read its zone with care")
        })
    });
    above.collect()
}
