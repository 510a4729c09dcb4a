//! A lime index read as a buffer pH.

use super::{CheckInput, counted};
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::Analyte;
use crate::units::LabUnit;

/// A lime index read as a buffer pH.
pub static LIME_INDEX_READ_AS_PH: Code = Code {
    name: "lime-index-read-as-ph",
    checks: "that a column read as buffer pH does not hold lime indices, which are ten times as much",
    why: "a lime index of 68 means buffer pH 6.8; read as pH it is no number at all",
    example: "`68` under `Lime index`, with `unit = \"pH\"`",
    mend: "write `unit = \"lime index\"` in `samples.columns.buffer_ph`",
};

/// Lime indices any soil gives. Source: ten times the pH of buffers, field notes.
const LIME_INDEX: std::ops::RangeInclusive<f64> = 40.0..=80.0;

/// Whether most readings of the buffer column are lime indices, though its unit says pH.
pub(super) fn is_lime_index(input: &CheckInput<'_>) -> bool {
    let Some((index, _)) = input.column(Analyte::BufferPh).filter(|(_, column)| column.unit == LabUnit::Ph) else {
        return false;
    };
    let readings: Vec<f64> = input.drafts.iter().filter_map(|draft| draft.readings[index]).map(|r| r.value).collect();
    let n_indices = readings.iter().filter(|reading| LIME_INDEX.contains(*reading)).count();
    2 * n_indices > readings.len()
}

/// At most one error.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let Some((index, column)) = input.column(Analyte::BufferPh).filter(|_| is_lime_index(input)) else {
        return Vec::new();
    };
    let first = input.drafts.iter().find(|draft| draft.readings[index].is_some_and(|r| LIME_INDEX.contains(&r.value)));
    let Some(first) = first else { return Vec::new() };
    let printed = input.cell(first, &column.column);
    let n_readings = input.drafts.iter().filter(|draft| draft.readings[index].is_some()).count();
    let message = format!(
        "column `{}` is read as pH, but holds numbers such as `{printed}` at most of {}: lime indices, ten times a pH",
        column.column,
        counted(n_readings, "sample")
    );
    vec![
        Diagnostic::error(&LIME_INDEX_READ_AS_PH, message)
            .at(input.column_place(column))
            .with_help("write `unit = \"lime index\"` in `samples.columns.buffer_ph`"),
    ]
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::super::value_out_of_range;
    use super::*;

    const ROWS: &str = "ID,x,y,pH,BpH\nA,0,0,6.2,68\nB,9,0,5.8,64\nC,0,9,7.0,\n";

    #[test]
    fn lime_indices_make_one_error_and_no_echo() {
        let found = sheet(ROWS).with_input(check);
        assert_eq!(
            lines(&found),
            ["error: column `BpH` is read as pH, but holds numbers such as `68` at most of 2 samples: lime indices, \
                 ten times a pH"]
        );
        assert!(sheet(ROWS).with_input(value_out_of_range::check).is_empty());
    }

    #[test]
    fn with_its_unit_it_is_fine_and_one_slip_is_left_to_the_range() {
        let mut index = sheet(ROWS);
        index.column(Analyte::BufferPh).unit = LabUnit::LimeIndex;
        assert!(index.with_input(check).is_empty());
        let slip = sheet("ID,x,y,pH,BpH\nA,0,0,6.2,68\nB,9,0,5.8,6.4\nC,0,9,7.0,6.9\n");
        assert!(slip.with_input(check).is_empty());
        assert_eq!(slip.with_input(value_out_of_range::check).len(), 1);
    }
}
