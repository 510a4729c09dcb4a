//! Effective CEC is no CEC at pH 7.

use super::CheckInput;
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::{Analyte, LabMethod};

/// Effective CEC is no CEC at pH 7.
pub static EFFECTIVE_CEC: Code = Code {
    name: "effective-cec",
    checks: "whether CEC is effective CEC: bases and exchangeable aluminum at the soil's own pH",
    why: "on acid soil it is far below CEC at pH 7, for which classes of holding and guides are made",
    example: "`ECEC` 9.1 of an acid loam, which would read as a sandy soil on a scale made for pH 7",
    mend: "nothing for maps; for guides that need CEC at pH 7 ask the lab for it",
};

/// At most one note.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    match input.column(Analyte::Cec) {
        Some((_, column)) if column.fixed_method() == LabMethod::Effective => {
            let message = format!(
                "`{}` is effective CEC: it is mapped, but not put against classes or guides made for CEC at pH 7",
                column.column
            );
            vec![Diagnostic::note(&EFFECTIVE_CEC, message).at(input.column_place(column))]
        }
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;
    use crate::samples::MethodSetting;

    #[test]
    fn effective_cec_is_said_to_be_no_cec_at_ph_7() {
        let mut sheet = sheet("ID,x,y,CEC\nA,0,0,9.1\n");
        assert!(sheet.with_input(check).is_empty());
        sheet.column(Analyte::Cec).method = MethodSetting::Fixed(LabMethod::Effective);
        assert_eq!(
            lines(&sheet.with_input(check)),
            ["note: `CEC` is effective CEC: it is mapped, but not put against classes or guides made for CEC at pH 7"]
        );
    }
}
