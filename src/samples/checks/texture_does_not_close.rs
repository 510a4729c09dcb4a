//! Sand, silt and clay that do not make a whole.

use super::{CheckInput, counted, first_ten};
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::Analyte;

/// Sand, silt and clay that do not make a whole.
pub static TEXTURE_DOES_NOT_CLOSE: Code = Code {
    name: "texture-does-not-close",
    checks: "that sand, silt and clay add up to 100 % within 3",
    why: "shares of one whole that miss 100 show a wrong column, a wrong unit or a misprint",
    example: "sand 62, silt 24, clay 41: 127 %",
    mend: "compare the row with the lab's report, and the three columns with its headers",
};

/// Allowed miss, percent. Source: heuristic, as for printed saturations.
const ALLOWED_PERCENT: f64 = 3.0;

/// At most one warning.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let parts = [Analyte::Sand, Analyte::Silt, Analyte::Clay];
    let columns: Vec<_> = parts.iter().filter_map(|part| input.column(*part)).collect();
    if columns.len() < parts.len() {
        return Vec::new();
    }
    let mut off = Vec::new();
    for draft in input.drafts {
        let shares: Option<Vec<f64>> = parts.iter().map(|part| input.value(draft, *part)).collect();
        let Some(sum) = shares.map(|shares| shares.iter().sum::<f64>()) else { continue };
        if (sum - 100.0).abs() > ALLOWED_PERCENT + 1e-9 {
            off.push((draft, sum));
        }
    }
    let Some((first, _)) = off.first() else { return Vec::new() };
    let message = format!(
        "sand, silt and clay do not add up to 100 %, within {ALLOWED_PERCENT} %, at {} of {}",
        off.len(),
        counted(input.drafts.len(), "sample")
    );
    let headers: Vec<&str> = columns.iter().map(|(_, column)| column.column.as_str()).collect();
    vec![
        Diagnostic::warning(&TEXTURE_DOES_NOT_CLOSE, message)
            .at(input.table.place(first.line, &headers))
            .with_note(first_ten(off.iter().map(|(draft, sum)| format!("`{}` {sum:.1} %", draft.id))))
            .with_help("compare the rows with the lab's report, and the three columns with its headers"),
    ]
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    #[test]
    fn three_parts_must_make_100_within_3() {
        let found = sheet("ID,x,y,Sand,Silt,Clay\nA,0,0,62,21,20\nB,9,0,62,24,41\nC,0,9,62,24,\nD,9,9,12,52,32\n")
            .with_input(check);
        assert_eq!(
            lines(&found),
            ["warning: sand, silt and clay do not add up to 100 %, within 3 %, at 2 of 4 samples"]
        );
        assert_eq!(found[0].notes, ["`B` 127.0 %, `D` 96.0 %"]);
        assert!(sheet("ID,x,y,Sand,Clay\nA,0,0,62,41\n").with_input(check).is_empty());
    }
}
