//! Ratings printed beside numbers.

use super::super::number_form::CellNumber;
use super::{CheckInput, counted};
use crate::diagnostic::{Code, Diagnostic};
use crate::units::Quantity;

/// Ratings printed beside numbers.
pub static RATING_BESIDE_NUMBER: Code = Code {
    name: "rating-beside-number",
    checks: "how many cells hold a rating beside the number (`225 H`)",
    why: "the number is read and the rating left aside: it is the lab's judgment for a crop and a guide of its own",
    example: "14 cells of `Mg ppm` are like `225 H`",
    mend: "nothing, if the numbers are what was found",
};

/// A note for each column with such cells.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let numbers = &input.settings.numbers;
    let is_rated = |text: &str| {
        // Only letters end a rating; most cells end in a digit.
        text.ends_with(char::is_alphabetic) && matches!(numbers.cell(text), Some(CellNumber::Rated(_)))
    };
    let mut found = Vec::new();
    for column in &input.settings.columns {
        if column.analyte.quantity() == Quantity::Rating {
            continue;
        }
        let mut rated = input.cells(&column.column).filter(|(_, text)| is_rated(text));
        let Some((first, text)) = rated.next() else { continue };
        let n_rated = 1 + rated.count();
        let message = format!(
            "{} of column `{}` {} a rating beside the number, such as `{text}`: the number is read",
            counted(n_rated, "cell"),
            column.column,
            if n_rated == 1 { "holds" } else { "hold" }
        );
        let place = input.table.place(first.line, &[column.column.as_str()]);
        found.push(Diagnostic::note(&RATING_BESIDE_NUMBER, message).at(place));
    }
    found
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    #[test]
    fn rated_cells_are_counted_by_column() {
        let found =
            sheet("ID,x,y,OM,P,K\nA,0,0,3.1 M,18 M,128\nB,9,0,2.8,<5 L,225\nC,0,9,2.9,20VH,\n").with_input(check);
        assert_eq!(
            lines(&found),
            [
                "note: 1 cell of column `OM` holds a rating beside the number, such as `3.1 M`: the number is read",
                "note: 3 cells of column `P` hold a rating beside the number, such as `18 M`: the number is read",
            ]
        );
    }
}
