//! Words whose meaning is still to be told.

use super::super::number_form::CellNumber;
use super::{CheckInput, counted, first_ten};
use crate::diagnostic::{Code, Diagnostic};

/// Words whose meaning is still to be told.
pub static OPEN_WORDS: Code = Code {
    name: "open-words",
    checks: "that every word in the place of a number has its meaning in `samples.words`",
    why: "`ND` may mean that nothing was measured or that nothing was found; until told it counts as blank, which is unknown",
    example: "`words = { \"ND\" = \"?\" }`, and 4 cells hold `ND`",
    mend: "ask the lab, and write `\"blank\"` where nothing was measured, or the limit, such as `\"<0.1\"`",
};

/// A warning for each such word on the sheet.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let numbers = &input.settings.numbers;
    let mut cells: Vec<(String, String)> = Vec::new(); // word, sample and column
    for (index, column) in input.settings.columns.iter().enumerate() {
        // Only blank cells can hold such a word, and few cells are blank.
        let blank =
            input.cells(&column.column).filter(|(draft, text)| draft.readings[index].is_none() && !text.is_empty());
        for (draft, text) in blank.filter(|(_, text)| numbers.cell(text) == Some(CellNumber::OpenWord)) {
            cells.push((text.to_owned(), format!("`{}` in `{}`", draft.id, column.column)));
        }
    }
    cells.sort_by_key(|(word, _)| word.to_lowercase());
    let of_word = |cells: &[(String, String)]| {
        let word = &cells[0].0;
        let message = format!(
            "`{word}` stands in {}, and `samples.words` does not tell yet what it means: counted as blank",
            counted(cells.len(), "cell")
        );
        Diagnostic::warning(&OPEN_WORDS, message)
            .at(input.key_place("samples.words", input.settings.lines.words))
            .with_note(first_ten(cells.iter().map(|(_, place)| place.clone())))
            .with_help(format!("ask the lab: `\"{word}\" = \"blank\"` or a limit such as `\"{word}\" = \"<0.1\"`"))
    };
    cells.chunk_by(|(a, _), (b, _)| a.to_lowercase() == b.to_lowercase()).map(of_word).collect()
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;
    use crate::samples::WordMeaning;

    #[test]
    fn open_words_are_counted_and_told_ones_are_not() {
        let mut sheet = sheet("ID,x,y,pH,P,K\nA,0,0,6,ND,120\nB,9,0,6,12,nd\nC,0,9,6,n/a,140\n");
        sheet.settings.numbers.words =
            vec![("ND".to_owned(), WordMeaning::Open), ("n/a".to_owned(), WordMeaning::Blank)];
        let found = sheet.with_input(check);
        assert_eq!(
            lines(&found),
            ["warning: `ND` stands in 2 cells, and `samples.words` does not tell yet what it means: counted as blank"]
        );
        assert_eq!(found[0].notes, ["`A` in `P`, `B` in `K`"]);
        assert_eq!(found[0].place.as_ref().expect("has a place").to_string(), "field.toml:15, `samples.words`");
    }
}
