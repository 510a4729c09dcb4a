//! Organic matter reckoned from organic carbon.

use super::CheckInput;
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::Analyte;
use crate::units::{LabUnit, ORGANIC_MATTER_PER_CARBON};

/// Organic matter reckoned from organic carbon.
pub static ORGANIC_CARBON: Code = Code {
    name: "organic-carbon",
    checks: "whether organic matter is reckoned from organic carbon, which the sheet prints",
    why: "organic matter is taken as carbon x 1.72, a customary factor (from memory [M]); soils differ, 1.4 to 2.5",
    example: "1.4 % carbon is mapped as 2.4 % organic matter",
    mend: "nothing; ask the lab for organic matter, where a guide sets a limit on it",
};

/// At most one note.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    match input.column(Analyte::OrganicMatter) {
        Some((_, column)) if matches!(column.unit, LabUnit::PercentCarbon | LabUnit::GKgCarbon) => {
            let message = format!(
                "organic matter is reckoned as organic carbon x {ORGANIC_MATTER_PER_CARBON}, a customary factor [M]"
            );
            vec![Diagnostic::note(&ORGANIC_CARBON, message).at(input.column_place(column))]
        }
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    #[test]
    fn the_factor_is_printed_where_it_is_used() {
        let mut sheet = sheet("ID,x,y,OM\nA,0,0,1.4\n");
        assert!(sheet.with_input(check).is_empty());
        for unit in [LabUnit::PercentCarbon, LabUnit::GKgCarbon] {
            sheet.column(Analyte::OrganicMatter).unit = unit;
            assert_eq!(
                lines(&sheet.with_input(check)),
                ["note: organic matter is reckoned as organic carbon x 1.72, a customary factor [M]"]
            );
        }
    }
}
