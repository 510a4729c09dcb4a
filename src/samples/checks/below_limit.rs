//! Readings below the lab's limit.

use super::super::sample::Limit;
use super::CheckInput;
use crate::diagnostic::{Code, Diagnostic};
use crate::units::Quantity;

/// Readings below the lab's limit.
pub static BELOW_LIMIT: Code = Code {
    name: "below-limit",
    checks: "how many readings lie below the lab's limit (`<5`)",
    why: "such a reading is no number: half the limit stands for it on the map (common practice, no source)",
    example: "1 of 63 readings of phosphorus is `<5` and is mapped as 2.5 ppm",
    mend: "nothing; where many are below the limit, do not trust the low end of that map",
};

/// A note for each analyte with such readings.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for (index, column) in input.settings.columns.iter().enumerate() {
        // A pH below a limit is an error of its own.
        if matches!(column.analyte.quantity(), Quantity::Ph | Quantity::BufferPh) {
            continue;
        }
        let is_below = |limit: Limit| limit == Limit::Below;
        let readings = input.drafts.iter().filter_map(|draft| Some((draft, draft.readings[index]?)));
        let (below, exact): (Vec<_>, Vec<_>) = readings.partition(|(_, reading)| is_below(reading.limit));
        let Some((first, _)) = below.first() else { continue };
        let verb = if below.len() == 1 { "is" } else { "are" };
        found.push(
            Diagnostic::note(
                &BELOW_LIMIT,
                format!(
                    "{} of {} readings in column `{}` {verb} below the lab's limit: mapped as half the limit \
                     (common practice, no source)",
                    below.len(),
                    below.len() + exact.len(),
                    column.column
                ),
            )
            .at(input.table.place(first.line, &[column.column.as_str()])),
        );
    }
    found
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    #[test]
    fn limits_are_counted_by_analyte() {
        let found = sheet("ID,x,y,pH,P,K\nA,0,0,6,<5,120\nB,9,0,6,12,130\nC,0,9,6,,140\n").with_input(check);
        assert_eq!(
            lines(&found),
            ["note: 1 of 2 readings in column `P` is below the lab's limit: mapped as half the limit \
                 (common practice, no source)"]
        );
    }
}
