//! Words that stand in the place of numbers: what they mean is told in the field file, never guessed.

use crate::samples::{NumberForm, SampleTable, WordMeaning};

/// Words that only mean that nothing was measured.
const NOTHING_MEASURED: [&str; 16] = [
    "n/a",
    "na",
    "n.a.",
    "-",
    "--",
    "---",
    "\u{2013}",
    "\u{2014}",
    "*",
    ".",
    "nt",
    "n/t",
    "not tested",
    "not run",
    "none requested",
    "not requested",
];

/// A column whose cells are mostly words is no column of numbers.
const MOST_WORDS_SHARE: f64 = 0.5;
/// More unlike words than this are a column of text.
const MOST_WORDS: usize = 12;

/// What the cells of one column are.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Cells {
    /// Numbers, with these words among them.
    Numbers(Vec<(String, WordMeaning)>),
    /// Mostly words; an example.
    Words(String),
    /// Nothing at all.
    Blank,
}

/// Looks through a column for cells that are no numbers.
pub(super) fn cells(table: &SampleTable, column: usize, numbers: &NumberForm) -> Cells {
    let filled: Vec<&str> =
        table.rows.iter().map(|row| row.cells[column].as_str()).filter(|cell| !cell.is_empty()).collect();
    if filled.is_empty() {
        return Cells::Blank;
    }
    let mut words: Vec<(String, WordMeaning)> = Vec::new();
    let (mut n_words, mut n_told) = (0, 0);
    for cell in &filled {
        if numbers.is_number(cell) {
            continue;
        }
        n_words += 1;
        let plain = cell.trim().to_lowercase();
        let meaning = if NOTHING_MEASURED.contains(&plain.as_str()) { WordMeaning::Blank } else { WordMeaning::Open };
        n_told += usize::from(meaning == WordMeaning::Blank);
        if !words.iter().any(|(word, _)| word.to_lowercase() == plain) {
            words.push(((*cell).to_owned(), meaning));
        }
    }
    let n_open = n_words - n_told;
    if n_open as f64 > MOST_WORDS_SHARE * filled.len() as f64 || words.len() > MOST_WORDS {
        let example = words.into_iter().find(|(_, meaning)| *meaning == WordMeaning::Open);
        return example.map_or(Cells::Blank, |(word, _)| Cells::Words(word));
    }
    Cells::Numbers(words)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(cells_text: &[&str]) -> Cells {
        let csv = std::iter::once("K").chain(cells_text.iter().copied()).map(|cell| format!("x,{cell}\n"));
        let table = SampleTable::read_csv("lab.csv", csv.collect::<String>().as_bytes()).expect("reads");
        cells(&table, 1, &NumberForm::default())
    }

    #[test]
    fn words_among_numbers_are_listed_once_and_only_clear_ones_are_told() {
        assert_eq!(
            of(&["120", "ND", "<5", "n/a", "225 H", "nd", ""]),
            Cells::Numbers(vec![("ND".to_owned(), WordMeaning::Open), ("n/a".to_owned(), WordMeaning::Blank)])
        );
    }

    #[test]
    fn a_column_of_words_is_no_column_of_numbers() {
        assert_eq!(of(&["2", "2-", "low"]), Cells::Words("2-".to_owned()));
        assert_eq!(of(&["", ""]), Cells::Blank);
        assert_eq!(
            of(&["-", "n/a"]),
            Cells::Numbers(vec![("-".to_owned(), WordMeaning::Blank), ("n/a".to_owned(), WordMeaning::Blank)])
        );
    }
}
