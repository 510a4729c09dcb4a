//! Mehlich-3 phosphorus without the way it was read.

use super::CheckInput;
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::{Analyte, LabMethod};

/// Mehlich-3 phosphorus without the way it was read.
pub static PHOSPHORUS_READING_NOT_STATED: Code = Code {
    name: "phosphorus-reading-not-stated",
    checks: "that Mehlich-3 phosphorus is stated as read by ICP or by color",
    why: "they are different tests: means of 31 and 19 ppm on the same soils (Mallarino 2003 [R]); guides are made for one of them",
    example: "`method = \"mehlich-3\"` for phosphorus",
    mend: "ask the lab, and write `mehlich-3 icp` or `mehlich-3 color`",
};

/// A warning for each such column.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let is_phosphorus = |analyte| matches!(analyte, Analyte::P | Analyte::PSecond);
    let columns = input.settings.columns.iter();
    let open = columns.filter(|c| is_phosphorus(c.analyte) && c.fixed_method() == LabMethod::Mehlich3);
    open.map(|column| {
        let message = format!(
            "`{}` is by mehlich-3, but not whether read by ICP or by color: means of 31 and 19 ppm on the same soils \
             (Mallarino 2003 [R])",
            column.column
        );
        Diagnostic::warning(&PHOSPHORUS_READING_NOT_STATED, message)
            .at(input.column_place(column))
            .with_help("ask the lab, and write `mehlich-3 icp` or `mehlich-3 color`")
    })
    .collect()
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;
    use crate::samples::MethodSetting;

    #[test]
    fn plain_mehlich_3_phosphorus_is_warned_and_potassium_is_not() {
        let mut sheet = sheet("ID,x,y,P,K\nA,0,0,20,120\n");
        sheet.column(Analyte::K).method = MethodSetting::Fixed(LabMethod::Mehlich3);
        assert!(sheet.with_input(check).is_empty());
        sheet.column(Analyte::P).method = MethodSetting::Fixed(LabMethod::Mehlich3);
        let found = sheet.with_input(check);
        assert!(lines(&found)[0].starts_with("warning: `P` is by mehlich-3, but not whether read by ICP or by color"));
        for told in [LabMethod::Mehlich3Icp, LabMethod::Mehlich3Color] {
            sheet.column(Analyte::P).method = MethodSetting::Fixed(told);
            assert!(sheet.with_input(check).is_empty());
        }
    }
}
