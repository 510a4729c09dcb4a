//! Blank cells of an analyte.

use super::{CheckInput, listed};
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::Analyte;

/// An analyte is blank at some samples or at all.
pub static MISSING_VALUE: Code = Code {
    name: "missing-value",
    checks: "at which samples an analyte's cell is blank",
    why: "a blank is unknown, not 0: the sample is left out of the maps that need it, and they rest on fewer places",
    example: "3 of 63 samples have no `P ppm`, because the lab ran phosphorus on part of the bags",
    mend: "fill the cells from the lab's report, or accept a map from fewer samples; drop the line from `samples.columns` where the whole column is blank",
};

/// A warning for each analyte that is blank somewhere, an error where it is blank everywhere.
///
/// Blank buffer readings have a check of their own.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let n_samples = input.drafts.len();
    let mut found = Vec::new();
    for (index, column) in input.settings.columns.iter().enumerate() {
        if column.analyte == Analyte::BufferPh {
            continue;
        }
        let blank: Vec<_> = input.drafts.iter().filter(|draft| draft.readings[index].is_none()).collect();
        let Some(first) = blank.first() else { continue };
        if blank.len() == n_samples {
            found.push(
                Diagnostic::error(
                    &MISSING_VALUE,
                    format!("column `{}` is blank at all {n_samples} samples", column.column),
                )
                .at(input.column_place(column))
                .with_help(format!("take the line `{}` out of `samples.columns`", column.analyte.key())),
            );
            continue;
        }
        let left_out = if column.analyte.is_mapped_alone() { "that map" } else { "the maps that need it" };
        let names: Vec<&str> = blank.iter().map(|draft| draft.id.as_str()).collect();
        let have = if blank.len() == 1 { "has" } else { "have" };
        found.push(
            Diagnostic::warning(
                &MISSING_VALUE,
                format!("{} of {n_samples} samples {have} no `{}`: left out of {left_out}", blank.len(), column.column),
            )
            .at(input.table.place(first.line, &[column.column.as_str()]))
            .with_note(format!("blank at {}", listed(&names))),
        );
    }
    found
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    #[test]
    fn blank_cells_are_counted_by_analyte_and_named() {
        let sheet = sheet("ID,x,y,pH,P,K\nA,0,0,6,20,\nB,9,0,6,,\nC,0,9,6,,120\n");
        let found = sheet.with_input(check);
        assert_eq!(
            lines(&found),
            [
                "warning: 2 of 3 samples have no `P`: left out of that map",
                "warning: 2 of 3 samples have no `K`: left out of the maps that need it",
            ]
        );
        assert_eq!(found[0].notes, ["blank at `B`, `C`"]);
        assert_eq!(found[0].place.as_ref().expect("has a place").to_string(), "lab.csv:3, column `P`");
    }

    #[test]
    fn a_column_blank_everywhere_is_an_error_and_a_blank_buffer_is_none() {
        let sheet = sheet("ID,x,y,pH,BpH,P\nA,0,0,6,,\nB,9,0,6,,\n");
        assert_eq!(lines(&sheet.with_input(check)), ["error: column `P` is blank at all 2 samples"]);
    }
}
