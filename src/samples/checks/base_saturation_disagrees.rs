//! A printed base saturation that is not the sum of its parts.

use super::super::sample::exchange;
use super::{CheckInput, counted, first_ten};
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::Analyte;
use crate::samples::draft::DraftSample;

/// A printed base saturation that is not the sum of its parts.
pub static BASE_SATURATION_DISAGREES: Code = Code {
    name: "base-saturation-disagrees",
    checks: "that a printed base saturation is, within 3 points, the sum of the printed shares of Ca, Mg, K and Na, or \
without these the bases over the CEC",
    why: "one figure printed in two ways that differ shows a wrong column, a wrong unit or a misprint",
    example: "base saturation 74 %, but 38 + 18 + 3 + 1 = 60 %",
    mend: "compare the row with the lab's report; name `other_saturation`, where the sheet prints other bases",
};

/// Allowed miss, percent, as for shares that must close: field notes.
const ALLOWED_PERCENT: f64 = 3.0;
/// Allowed beside it for each column in whole percent: half a unit of the last figure.
const ALLOWED_WHOLE_COLUMN_PERCENT: f64 = 0.5;

const SHARES: [Analyte; 4] =
    [Analyte::CaSaturation, Analyte::MgSaturation, Analyte::KSaturation, Analyte::NaSaturation];

/// Base saturation by the rest of the row, percent; other bases may be in it or not.
fn of_parts(input: &CheckInput<'_>, draft: &DraftSample) -> Option<[f64; 2]> {
    let share = |analyte| input.value(draft, analyte);
    if let (Some(ca), Some(mg), Some(k)) = (share(SHARES[0]), share(SHARES[1]), share(SHARES[2])) {
        let sum = ca + mg + k + share(SHARES[3]).unwrap_or(0.0);
        return Some([sum, sum + share(Analyte::OtherSaturation).unwrap_or(0.0)]);
    }
    exchange(draft, input.settings).map(|parts| [parts.base_saturation_percent(); 2])
}

/// At most one warning.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let Some((_, column)) = input.column(Analyte::BaseSaturation) else { return Vec::new() };
    let columns = SHARES.iter().filter_map(|share| input.column(*share)).map(|(_, share)| share).chain([column]);
    let n_whole = columns.filter(|column| input.decimals(&column.column) == 0).count();
    let allowed = ALLOWED_PERCENT + ALLOWED_WHOLE_COLUMN_PERCENT * n_whole as f64 + 1e-9;
    let mut off = Vec::new();
    for draft in input.drafts {
        let Some((printed, [least, most])) = input.value(draft, Analyte::BaseSaturation).zip(of_parts(input, draft))
        else {
            continue;
        };
        // The sheet's figure stops at 100 where lime puts the bases above the CEC, which is told by its own check.
        let is_capped = printed >= 100.0 && least >= 100.0;
        if !is_capped && !(least - allowed..=most + allowed).contains(&printed) {
            off.push((draft, printed, least));
        }
    }
    let Some((first, ..)) = off.first() else { return Vec::new() };
    let message = format!(
        "printed base saturation is not that of its parts, within {allowed:.1} points, at {} of {}",
        off.len(),
        counted(input.drafts.len(), "sample")
    );
    let each = off.iter().map(|(draft, printed, sum)| format!("`{}` {printed} %, parts {sum:.1} %", draft.id));
    vec![
        Diagnostic::warning(&BASE_SATURATION_DISAGREES, message)
            .at(input.table.place(first.line, &[column.column.as_str()]))
            .with_note(first_ten(each))
            .with_help(
                "compare the rows with the lab's report; name `other_saturation`, where the sheet prints other bases",
            ),
    ]
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    #[test]
    fn the_sum_of_printed_shares_must_meet_the_printed_sum() {
        let found = sheet("ID,x,y,Ca%,Mg%,K%,Na%,BS%\nA,0,0,52.0,18.1,2.9,1.0,74.0\nB,9,0,38.0,18.0,3.0,1.0,74.0\n")
            .with_input(check);
        assert_eq!(
            lines(&found),
            ["warning: printed base saturation is not that of its parts, within 3.0 points, at 1 of 2 samples"]
        );
        assert_eq!(found[0].notes, ["`B` 74 %, parts 60.0 %"]);
    }

    #[test]
    fn other_bases_may_be_in_it_and_whole_percents_get_half_a_unit_a_column() {
        let other = "ID,x,y,Ca%,Mg%,K%,Na%,Other%,BS%\nA,0,0,64.0,12.9,2.2,0.5,5.2,";
        assert!(sheet(&format!("{other}84.8\n")).with_input(check).is_empty());
        assert!(sheet(&format!("{other}79.6\n")).with_input(check).is_empty());
        assert_eq!(sheet(&format!("{other}88.5\n")).with_input(check).len(), 1);
        // Five whole columns: 3 + 2.5.
        let whole = "ID,x,y,Ca%,Mg%,K%,Na%,BS%\nA,0,0,52,18,3,1,";
        assert!(sheet(&format!("{whole}79\n")).with_input(check).is_empty());
        assert_eq!(sheet(&format!("{whole}80\n")).with_input(check).len(), 1);
    }

    #[test]
    fn without_shares_the_bases_over_the_cec_are_taken() {
        // 9.5 + 1.875 + 0.328 = 11.70 of 14.8 meq: 79.1 %.
        let row = |percent: &str| sheet(&format!("ID,x,y,Ca,Mg,K,CEC,BS%\nA,0,0,1900,225,128,14.8,{percent}\n"));
        assert!(row("79.6").with_input(check).is_empty());
        assert_eq!(row("66.4").with_input(check).len(), 1);
    }
}
