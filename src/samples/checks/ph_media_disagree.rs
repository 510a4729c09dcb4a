//! pH in two liquids that cannot both be right.

use super::{CheckInput, counted, first_ten};
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::Analyte;

/// pH in two liquids that cannot both be right.
pub static PH_MEDIA_DISAGREE: Code = Code {
    name: "ph-media-disagree",
    checks: "that pH in water is at most 0.2 below and at most 1.5 above pH in calcium chloride, potassium chloride or salt",
    why: "salt lowers the reading, by 0.5 to 0.8 as a rule: other differences show exchanged columns or a misread figure, and lime goes by pH",
    example: "pH in water 5.1, in calcium chloride 5.8: the two columns are exchanged",
    mend: "compare the columns with the lab's headers, and the row with its report",
};

/// pH in water less pH in salt, on any soil. Source: 0.5 to 0.8 as a rule, field notes; the room beside it is heuristic.
const DIFFERENCE: [f64; 2] = [-0.2, 1.5];

/// A warning for each pair of columns with such rows.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let Some((_, water)) = input.column(Analyte::PhWater) else { return Vec::new() };
    let mut found = Vec::new();
    for analyte in [Analyte::PhCacl2, Analyte::PhKcl, Analyte::PhSalt] {
        let Some((_, salt)) = input.column(analyte) else { continue };
        let mut off = Vec::new();
        for draft in input.drafts {
            let pair = input.value(draft, Analyte::PhWater).zip(input.value(draft, analyte));
            let Some((in_water, in_salt)) = pair else { continue };
            let difference = in_water - in_salt;
            if !(DIFFERENCE[0] - 1e-9..=DIFFERENCE[1] + 1e-9).contains(&difference) {
                off.push((draft, in_water, in_salt));
            }
        }
        let Some((first, ..)) = off.first() else { continue };
        let message = format!(
            "{} and {} do not go together at {} of {}: water less salt must lie within -0.2 to 1.5",
            Analyte::PhWater.label(),
            analyte.label(),
            off.len(),
            counted(input.drafts.len(), "sample")
        );
        let is_exchanged =
            2 * off.iter().filter(|(_, in_water, in_salt)| in_water < in_salt).count() > input.drafts.len();
        let help = if is_exchanged {
            format!("look whether the columns are exchanged: `{}` and `{}`", water.column, salt.column)
        } else {
            "compare the rows with the lab's report".to_owned()
        };
        let each = off.iter().map(|(draft, in_water, in_salt)| format!("`{}` {in_water} and {in_salt}", draft.id));
        found.push(
            Diagnostic::warning(&PH_MEDIA_DISAGREE, message)
                .at(input.table.place(first.line, &[water.column.as_str(), salt.column.as_str()]))
                .with_note(first_ten(each))
                .with_help(help),
        );
    }
    found
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    #[test]
    fn usual_differences_pass_and_others_are_warned_once_a_pair() {
        let rows = "A,0,0,5.7,4.9\nB,9,0,5.7,5.9\nC,0,9,5.7,4.2\nD,9,9,5.7,6.0\nE,9,5,7.1,5.5\nF,5,5,5.7,\n";
        let found = sheet(&format!("ID,x,y,pH,pHCa\n{rows}")).with_input(check);
        assert_eq!(
            lines(&found),
            ["warning: pH in water and pH in calcium chloride do not go together at 2 of 6 samples: water less salt \
                 must lie within -0.2 to 1.5"]
        );
        assert_eq!(found[0].notes, ["`D` 5.7 and 6, `E` 7.1 and 5.5"]);
        assert_eq!(found[0].help.as_deref(), Some("compare the rows with the lab's report"));
    }

    #[test]
    fn exchanged_columns_are_named() {
        let found = sheet("ID,x,y,pH,pHKCl\nA,0,0,4.9,5.7\nB,9,0,5.0,5.9\n").with_input(check);
        assert_eq!(found[0].help.as_deref(), Some("look whether the columns are exchanged: `pH` and `pHKCl`"));
    }
}
