//! Buffer readings the buffer named cannot give.

use super::CheckInput;
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
    const SHOWN: usize = 10;
    let mut readings: Vec<String> =
        outside.iter().take(SHOWN).map(|(draft, _, value)| format!("`{}` {value}", draft.id)).collect();
    if outside.len() > SHOWN {
        readings.push(format!("and {} more", outside.len() - SHOWN));
    }
    let note = format!("readings: {}", readings.join(", "));
    let warnings = outside.iter().map(|(draft, buffer, _)| {
        let [least, most] = buffer.window_ph();
        let message =
            format!("buffer pH lies outside {least:.1} to {most:.1}, what the {} buffer gives", buffer.name());
        Diagnostic::warning(&BUFFER_OUTSIDE_WINDOW, message)
            .at(input.table.place(draft.line, &[column.column.as_str()]))
            .with_note(note.clone())
            .with_help("ask the lab which buffer it uses, and name it in `samples.columns.buffer_ph`")
    });
    warnings.collect()
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;
    use crate::chemistry::Buffer;
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
}
