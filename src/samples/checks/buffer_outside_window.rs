//! Buffer readings the buffer named cannot give.

use super::{CheckInput, first_ten};
use crate::chemistry::Buffer;
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::{Analyte, LabMethod};

/// Buffer readings the buffer named cannot give.
pub static BUFFER_OUTSIDE_WINDOW: Code = Code {
    name: "buffer-outside-window",
    checks: "that buffer readings lie within what the buffer named can give",
    why: "which buffer was used decides the acidity: 6.6 means 4.8, 11.2 or 0.0 meq/100 g",
    example: "7.8 under a Sikora buffer, which starts at 7.0 and falls: an Adams-Evans buffer starts at 8.0",
    mend: "ask the lab which buffer it uses, and name it in `samples.columns.buffer_ph`",
};

/// A warning for each reading outside, alike for all rows of a buffer so that they fold.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let Some((index, column)) = input.column(Analyte::BufferPh) else { return Vec::new() };
    let mut outside = Vec::new();
    for draft in input.drafts {
        let (Some(reading), LabMethod::Buffer(buffer)) = (draft.readings[index], draft.methods[index]) else {
            continue;
        };
        let [least, most] = buffer.window_ph();
        if !(least..=most).contains(&reading.value) {
            outside.push((draft, buffer, reading.value));
        }
    }
    let readings = outside.iter().map(|(draft, _, value)| format!("`{}` {value}", draft.id));
    let note = format!("readings: {}", first_ten(readings));
    let fitting = fitting(input, index);
    let warnings = outside.iter().map(|(draft, buffer, _)| {
        let [least, most] = buffer.window_ph();
        let message =
            format!("buffer pH lies outside {least:.1} to {most:.1}, what the {} buffer gives", buffer.name());
        let mut warning = Diagnostic::warning(&BUFFER_OUTSIDE_WINDOW, message)
            .at(input.table.place(draft.line, &[column.column.as_str()]))
            .with_note(note.clone());
        warning.notes.extend(fitting.clone());
        warning.with_help("ask the lab which buffer it uses, and name it in `samples.columns.buffer_ph`")
    });
    warnings.collect()
}

/// The buffers that give every reading of the sheet; a lab's own word decides, not this list.
fn fitting(input: &CheckInput<'_>, index: usize) -> Option<String> {
    let readings: Vec<f64> = input.drafts.iter().filter_map(|draft| draft.readings[index]).map(|r| r.value).collect();
    let gives_all = |buffer: &&Buffer| {
        let [least, most] = buffer.window_ph();
        readings.iter().all(|reading| (least..=most).contains(reading))
    };
    let names: Vec<&str> = Buffer::ALL.iter().filter(gives_all).map(|buffer| buffer.name()).collect();
    (!names.is_empty()).then(|| format!("buffers that give all readings of this sheet: {}", names.join(", ")))
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;
    use crate::samples::MethodSetting;

    #[test]
    fn readings_of_another_buffer_are_warned() {
        let mut sheet = sheet("ID,x,y,pH,BpH\nA,0,0,5.2,7.8\nB,9,0,6.2,6.7\nC,9,9,6.9,7.5\n");
        let found = sheet.with_input(check);
        assert_eq!(lines(&found), ["warning: buffer pH lies outside 4.8 to 7.5, what the sikora buffer gives"]);
        assert_eq!(found[0].notes, ["readings: `A` 7.8"]);
        sheet.settings.columns[1].method = MethodSetting::Fixed(LabMethod::Buffer(Buffer::AdamsEvans));
        let found = sheet.with_input(check);
        assert_eq!(lines(&found), ["warning: buffer pH lies outside 7.0 to 8.0, what the adams-evans buffer gives"]);
        assert_eq!(found[0].notes, ["readings: `B` 6.7"]);
        sheet.settings.columns[1].method = MethodSetting::Fixed(LabMethod::Unknown);
        assert!(sheet.with_input(check).is_empty());
    }

    #[test]
    fn buffers_that_give_every_reading_are_named() {
        // Both start at 8.0; a sikora buffer starts at 7.0.
        let found = sheet("ID,x,y,pH,BpH\nA,0,0,5.2,7.6\nB,9,0,6.2,7.8\n").with_input(check);
        assert_eq!(found[0].notes[1], "buffers that give all readings of this sheet: moore-sikora, adams-evans");
    }
}
