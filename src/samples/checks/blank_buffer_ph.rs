//! Blank buffer readings.

use super::super::sample::Limit;
use super::super::settings::SampleSettings;
use super::{CheckInput, counted};
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::Analyte;
use crate::samples::draft::DraftSample;

/// Blank buffer readings.
pub static BLANK_BUFFER_PH: Code = Code {
    name: "blank-buffer-ph",
    checks: "that buffer pH is blank only where the lab, by its own rule, does not run the buffer",
    why: "a blank on neutral soil means no acidity; a blank on acid soil means nobody knows, and lime would be missed there",
    example: "line 8 has pH 5.9 and no buffer pH, though the lab runs the buffer below 6.8",
    mend: "enter the reading, or state the lab's rule: `buffer_not_run_at_or_above_ph = 6.8` under `[samples]`",
};

/// Whether the buffer was not run because the soil is neutral, by the rule of the field file: no acidity there.
pub(in crate::samples) fn is_by_rule(draft: &DraftSample, settings: &SampleSettings) -> bool {
    let has_column = settings.columns.iter().any(|column| column.analyte == Analyte::BufferPh);
    let is_blank = draft.reading(settings, Analyte::BufferPh).is_none();
    let ph = draft.reading(settings, Analyte::PhWater).filter(|reading| reading.limit == Limit::Exact);
    let is_neutral = settings.buffer_not_run_at_or_above_ph.zip(ph).is_some_and(|(rule, ph)| ph.value >= rule);
    has_column && is_blank && is_neutral
}

/// An error for each blank the rule does not explain, a warning while the rule is still open; a note with the count of those it does.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let Some((index, column)) = input.column(Analyte::BufferPh) else { return Vec::new() };
    let blank: Vec<&DraftSample> = input.drafts.iter().filter(|draft| draft.readings[index].is_none()).collect();
    let ph_column = input.column(Analyte::PhWater).map(|(_, column)| column.column.as_str());
    let columns: Vec<&str> = [Some(column.column.as_str()), ph_column].into_iter().flatten().collect();
    let rule = input.settings.buffer_not_run_at_or_above_ph;
    let mut found = Vec::new();
    let mut n_by_rule = 0;
    for draft in &blank {
        if is_by_rule(draft, input.settings) {
            n_by_rule += 1;
            continue;
        }
        let ph = draft.reading(input.settings, Analyte::PhWater);
        let fault = match (rule, ph) {
            (Some(rule), Some(ph)) => Diagnostic::error(
                &BLANK_BUFFER_PH,
                format!("buffer pH of `{}` is blank at pH {}, below {rule} where the lab runs it", draft.id, ph.value),
            )
            .with_help("enter the reading, or correct `samples.buffer_not_run_at_or_above_ph` to what the lab states"),
            (Some(_), None) => Diagnostic::error(
                &BLANK_BUFFER_PH,
                format!("buffer pH of `{}` is blank, and no pH in water tells whether it was needed", draft.id),
            )
            .with_help("enter the buffer pH or the pH in water"),
            (None, _) if input.settings.buffer_rule_is_open => Diagnostic::warning(
                &BLANK_BUFFER_PH,
                "buffer pH is blank, and from which pH on the lab does not run it is still to be answered",
            )
            .with_note(blank_range(input, &blank))
            .with_note("their acidity stays unknown: where CEC is summed here, these samples are left out of its map")
            .with_help("answer `samples.buffer_not_run_at_or_above_ph`"),
            // Alike for all rows, so that they fold.
            (None, _) => Diagnostic::error(&BLANK_BUFFER_PH, "buffer pH is blank, and no rule of the lab says why")
                .with_note(blank_range(input, &blank))
                .with_help(
                    "write the pH from which the lab does not run the buffer as `samples.buffer_not_run_at_or_above_ph`, \
                     or enter the readings",
                ),
        };
        found.push(fault.at(input.table.place(draft.line, &columns)));
    }
    if let (Some(rule), 1..) = (rule, n_by_rule) {
        found.push(
            Diagnostic::note(
                &BLANK_BUFFER_PH,
                format!(
                    "buffer not run at {n_by_rule} of {}, pH {rule} or above: counted as no acidity there",
                    counted(input.drafts.len(), "sample")
                ),
            )
            .at(input.column_place(column)),
        );
    }
    found
}

/// How many rows are blank, and at which pH.
fn blank_range(input: &CheckInput<'_>, blank: &[&DraftSample]) -> String {
    let ph: Vec<f64> =
        blank.iter().filter_map(|d| d.reading(input.settings, Analyte::PhWater)).map(|r| r.value).collect();
    let n_blank = format!("blank at {} of {}", blank.len(), counted(input.drafts.len(), "sample"));
    match (ph.iter().copied().reduce(f64::min), ph.iter().copied().reduce(f64::max)) {
        (Some(least), Some(most)) => format!("{n_blank}, pH {least} to {most}"),
        _ => format!("{n_blank}; no pH in water on the sheet"),
    }
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, n_errors, sheet};
    use super::*;

    const ROWS: &str = "ID,x,y,pH,BpH\nA,0,0,6.8,\nB,9,0,5.9,\nC,0,9,6.2,6.7\nD,9,9,7.1,\n";

    #[test]
    fn while_the_rule_is_open_blanks_are_warned_of() {
        let mut sheet = sheet(ROWS);
        sheet.settings.buffer_rule_is_open = true;
        let found = sheet.with_input(check);
        assert_eq!((found.len(), n_errors(&found)), (3, 0));
        assert!(found[0].message.ends_with("is still to be answered"));
    }

    #[test]
    fn with_a_rule_a_blank_at_ph_5_9_stays_an_error() {
        let mut sheet = sheet(ROWS);
        sheet.settings.buffer_not_run_at_or_above_ph = Some(6.8);
        let found = sheet.with_input(check);
        assert_eq!(
            lines(&found),
            [
                "error: buffer pH of `B` is blank at pH 5.9, below 6.8 where the lab runs it",
                "note: buffer not run at 2 of 4 samples, pH 6.8 or above: counted as no acidity there",
            ]
        );
        assert_eq!(found[0].place.as_ref().expect("has a place").to_string(), "lab.csv:3, columns `BpH`, `pH`");
    }

    #[test]
    fn without_a_rule_every_blank_is_an_error_of_one_kind() {
        let found = sheet(ROWS).with_input(check);
        assert_eq!(lines(&found), vec!["error: buffer pH is blank, and no rule of the lab says why"; 3]);
        assert_eq!(found[0].notes, ["blank at 3 of 4 samples, pH 5.9 to 7.1"]);
        assert!(found[0].help.as_ref().expect("has help").contains("samples.buffer_not_run_at_or_above_ph"));
    }

    #[test]
    fn a_blank_ph_cannot_excuse_a_blank_buffer() {
        let mut sheet = sheet("ID,x,y,pH,BpH\nA,0,0,,\nB,9,0,6.2,6.7\n");
        sheet.settings.buffer_not_run_at_or_above_ph = Some(6.8);
        assert_eq!(n_errors(&sheet.with_input(check)), 1);
    }

    #[test]
    fn by_rule_is_blank_and_at_or_above_the_ph() {
        let mut sheet = sheet(ROWS);
        let by_rule = |sheet: &super::super::hand_made::Sheet| -> Vec<bool> {
            sheet.drafts().iter().map(|draft| is_by_rule(draft, &sheet.settings)).collect()
        };
        assert_eq!(by_rule(&sheet), [false; 4]);
        sheet.settings.buffer_not_run_at_or_above_ph = Some(6.8);
        assert_eq!(by_rule(&sheet), [true, false, false, true]);
    }
}
