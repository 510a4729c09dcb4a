//! Printed saturations that do not add up to 100 %.

use super::{CheckInput, first_ten};
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::Analyte;

/// Printed saturations that do not add up to 100 %.
pub static SATURATIONS_DO_NOT_CLOSE: Code = Code {
    name: "saturations-do-not-close",
    checks: "that Ca, Mg, K, Na, acidity and other bases add up to 100 % within 3, where the sheet prints all six",
    why: "shares of one whole that miss 100 show a wrong column, a misprint or a figure the lab wanted rather than found",
    example: "64.0 + 12.9 + 2.2 + 0.5 + 15.2 + 0.2 = 95.0 %",
    mend: "compare the row with the lab's report; take the columns of what was found, not of what is desired",
};

const PARTS: [Analyte; 6] = [
    Analyte::CaSaturation,
    Analyte::MgSaturation,
    Analyte::KSaturation,
    Analyte::NaSaturation,
    Analyte::AciditySaturation,
    Analyte::OtherSaturation,
];

/// Allowed miss, percent: field notes 14. Sheets without "other bases" print about 95 and are not judged.
const ALLOWED_PERCENT: f64 = 3.0;
/// Allowed beside it for each column in whole percent: half a unit of the last figure.
const ALLOWED_WHOLE_COLUMN_PERCENT: f64 = 0.5;

/// A warning for each row, alike so that they fold; the note names rows with their sums.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let columns: Vec<_> = PARTS.iter().filter_map(|part| input.column(*part)).collect();
    if columns.len() < PARTS.len() {
        return Vec::new();
    }
    let n_whole = columns.iter().filter(|(_, column)| input.decimals(&column.column) == 0).count();
    let allowed = ALLOWED_PERCENT + ALLOWED_WHOLE_COLUMN_PERCENT * n_whole as f64;
    let mut off = Vec::new();
    for draft in input.drafts {
        let parts: Option<Vec<f64>> =
            columns.iter().map(|(index, _)| draft.readings[*index].map(|reading| reading.map_value())).collect();
        let Some(sum) = parts.map(|parts| parts.iter().sum::<f64>()) else { continue };
        if (sum - 100.0).abs() > allowed + 1e-9 {
            off.push((draft, sum));
        }
    }
    let note = format!("sums: {}", first_ten(off.iter().map(|(draft, sum)| format!("`{}` {sum:.1} %", draft.id))));
    let headers: Vec<&str> = columns.iter().map(|(_, column)| column.column.as_str()).collect();
    let warning = |line: usize| {
        let message = format!("printed saturations do not add up to 100 %, within {allowed} %");
        Diagnostic::warning(&SATURATIONS_DO_NOT_CLOSE, message)
            .at(input.table.place(line, &headers))
            .with_note(note.clone())
            .with_help(
                "compare the row with the lab's report: take the columns of what was found, not of what is desired",
            )
    };
    off.iter().map(|(draft, _)| warning(draft.line)).collect()
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;
    use crate::samples::DecimalMark;

    #[test]
    fn six_printed_parts_must_make_100_within_3() {
        let found = sheet(
            "ID,x,y,Ca%,Mg%,K%,Na%,H%,Other%\n\
             A,0,0,64.0,12.9,2.2,0.5,15.2,5.2\nB,9,0,64.0,12.9,2.2,0.5,15.2,0.2\nC,0,9,64.0,12.9,2.2,0.5,15.2,9.5\n",
        )
        .with_input(check);
        assert_eq!(lines(&found), vec!["warning: printed saturations do not add up to 100 %, within 3 %"; 2]);
        assert_eq!(found[0].notes, ["sums: `B` 95.0 %, `C` 104.3 %"]);
    }

    #[test]
    fn whole_percents_get_half_a_unit_a_column_more() {
        let rows = "ID,x,y,Ca%,Mg%,K%,Na%,H%,Other%\nA,0,0,64,13,2,1,15,";
        assert!(sheet(&format!("{rows}11\n")).with_input(check).is_empty());
        assert_eq!(sheet(&format!("{rows}12\n")).with_input(check).len(), 1);
    }

    #[test]
    fn without_other_bases_or_with_a_blank_nothing_is_said() {
        assert!(sheet("ID,x,y,Ca%,Mg%,K%,Na%,H%\nA,0,0,64,13,2,1,15\n").with_input(check).is_empty());
        assert!(sheet("ID,x,y,Ca%,Mg%,K%,Na%,H%,Other%\nA,0,0,64,13,2,,15,0\n").with_input(check).is_empty());
    }

    #[test]
    fn a_column_with_a_decimal_comma_is_not_in_whole_percents() {
        // 64 + 13 + 2,2 + 0,5 + 15,2 + 9,0 = 103.9: two whole columns allow 4.0, six would allow 6.0.
        let rows = |other: &str| {
            let csv =
                "ID;x;y;Ca%;Mg%;K%;Na%;H%;Other%\nA;0;0;64;13;2,2;0,5;15,2;".replace(',', "\u{1}").replace(';', ",");
            let cells = format!("{csv}{}\n", other.replace(',', "\u{1}"));
            let mut sheet = sheet(&cells);
            for row in &mut sheet.table.rows {
                row.cells.iter_mut().for_each(|cell| *cell = cell.replace('\u{1}', ","));
            }
            sheet.settings.numbers.decimal = DecimalMark::Comma;
            sheet.with_input(check)
        };
        assert!(rows("9,0").is_empty());
        assert_eq!(rows("9,2").len(), 1);
    }

    #[test]
    fn each_of_the_six_is_needed() {
        for left_out in ["Ca%", "Mg%", "K%", "Na%", "H%", "Other%"] {
            let header = "ID,x,y,Ca%,Mg%,K%,Na%,H%,Other%".replace(left_out, "Not read");
            let found = sheet(&format!("{header}\nA,0,0,64.0,12.9,2.2,0.5,15.2,90.0\n")).with_input(check);
            assert!(found.is_empty(), "{left_out}");
        }
    }
}
