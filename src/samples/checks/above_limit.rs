//! Readings above the lab's limit.

use super::super::sample::Limit;
use super::CheckInput;
use crate::diagnostic::{Code, Diagnostic};
use crate::units::Quantity;

/// Readings above the lab's limit.
pub static ABOVE_LIMIT: Code = Code {
    name: "above-limit",
    checks: "how many readings lie above the lab's limit (`>600`)",
    why: "such a reading is no number: the limit itself stands for it on the map (common practice, no source), so the high end is cut off",
    example: "2 of 63 readings of potassium are `>600` and are mapped as 600 ppm",
    mend: "nothing; where the high end matters, ask the lab to dilute and read again",
};

/// A note for each analyte with such readings.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for (index, column) in input.settings.columns.iter().enumerate() {
        // A pH above a limit is an error of its own.
        if matches!(column.analyte.quantity(), Quantity::Ph | Quantity::BufferPh) {
            continue;
        }
        let mut above = input.drafts.iter().filter(|d| d.readings[index].is_some_and(|r| r.limit == Limit::Above));
        let Some(first) = above.next() else { continue };
        let n_above = 1 + above.count();
        let n_readings = input.drafts.iter().filter(|draft| draft.readings[index].is_some()).count();
        let verb = if n_above == 1 { "is" } else { "are" };
        let message = format!(
            "{n_above} of {n_readings} readings in column `{}` {verb} above the lab's limit: mapped as the limit itself \
             (common practice, no source)",
            column.column
        );
        let place = input.table.place(first.line, &[column.column.as_str()]);
        found.push(Diagnostic::note(&ABOVE_LIMIT, message).at(place));
    }
    found
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    #[test]
    fn limits_are_counted_by_analyte() {
        let found = sheet("ID,x,y,pH,P,K\nA,0,0,6,<5,120\nB,9,0,6,12,>600\nC,0,9,6,,> 600\n").with_input(check);
        assert_eq!(
            lines(&found),
            ["note: 2 of 3 readings in column `K` are above the lab's limit: mapped as the limit itself (common \
                 practice, no source)"]
        );
        assert_eq!(found[0].place.as_ref().expect("has a place").to_string(), "lab.csv:3, column `K`");
    }
}
