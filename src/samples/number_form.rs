//! How a sheet prints numbers, and reading one cell.

use super::sample::{Limit, Reading};
use crate::sheet::DecimalMark;

/// What a word in the place of a number stands for.
#[derive(Debug, Clone, PartialEq)]
pub enum WordMeaning {
    /// Nothing was measured.
    Blank,
    /// A number or a limit, written plainly: `<0.1`.
    Number(Reading),
    /// The user has still to say; counts as blank, with a warning.
    Open,
}

/// How a sheet prints numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct NumberForm {
    /// The decimal mark.
    pub decimal: DecimalMark,
    /// Words that stand in the place of numbers, as the sheet prints them; case does not matter.
    pub words: Vec<(String, WordMeaning)>,
}

/// A rating printed beside a number: `225 H`, `3.1M`.
const RATINGS: [&str; 14] =
    ["vl", "l", "lo", "low", "m", "med", "medium", "h", "hi", "high", "vh", "very low", "very high", "opt"];

/// A cell read as a number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CellNumber {
    /// Nothing was measured.
    Blank,
    /// A number or a limit.
    Reading(Reading),
    /// A number with a rating beside it, which is left aside.
    Rated(Reading),
    /// A word whose meaning is still to be told.
    OpenWord,
}

impl Default for NumberForm {
    /// A decimal point, and no words.
    fn default() -> Self {
        NumberForm { decimal: DecimalMark::Point, words: Vec::new() }
    }
}

impl NumberForm {
    /// What a word of the sheet stands for.
    pub fn word(&self, text: &str) -> Option<&WordMeaning> {
        // Without new strings: this is asked of every cell.
        let is_same = |word: &str| {
            word.trim().chars().flat_map(char::to_lowercase).eq(text.trim().chars().flat_map(char::to_lowercase))
        };
        self.words.iter().find(|(word, _)| is_same(word)).map(|(_, meaning)| meaning)
    }

    /// Whether a cell holds a number or a limit, with or without a rating beside it.
    pub fn is_number(&self, text: &str) -> bool {
        let plain = NumberForm { decimal: self.decimal, words: Vec::new() };
        matches!(plain.cell(text), Some(CellNumber::Reading(_) | CellNumber::Rated(_)))
    }

    /// Reads a cell of an analyte; `None` where it is neither number, limit, told word nor blank.
    pub fn cell(&self, text: &str) -> Option<CellNumber> {
        let text = text.trim();
        if text.is_empty() {
            return Some(CellNumber::Blank);
        }
        match self.word(text) {
            Some(WordMeaning::Blank) => return Some(CellNumber::Blank),
            Some(WordMeaning::Open) => return Some(CellNumber::OpenWord),
            Some(WordMeaning::Number(reading)) => return Some(CellNumber::Reading(*reading)),
            None => {}
        }
        if let Some(reading) = self.reading(text) {
            return Some(CellNumber::Reading(reading));
        }
        let number = text.trim_end_matches(|c: char| c.is_alphabetic() || c == ' ');
        let rating = text[number.len()..].trim().to_lowercase();
        if RATINGS.contains(&rating.as_str()) { self.reading(number).map(CellNumber::Rated) } else { None }
    }

    /// Reads a plain decimal number, or a limit (`<5`, `> 600`); `None` for all else: no powers of ten, no thousands
    /// marks, no words, no blank.
    pub fn reading(&self, text: &str) -> Option<Reading> {
        let text = text.trim();
        let (limit, rest) = match text.strip_prefix(['<', '\u{2264}']) {
            Some(rest) => (Limit::Below, rest),
            None => match text.strip_prefix(['>', '\u{2265}']) {
                Some(rest) => (Limit::Above, rest),
                None => return Some(Reading { value: self.number(text)?, limit: Limit::Exact }),
            },
        };
        let rest = rest.trim_start();
        let value = if rest.starts_with(['+', '-']) { None } else { self.number(rest) }?;
        (value > 0.0).then_some(Reading { value, limit })
    }

    /// A plain decimal number.
    pub(super) fn number(&self, text: &str) -> Option<f64> {
        let mark = match self.decimal {
            DecimalMark::Point => b'.',
            DecimalMark::Comma => b',',
        };
        // Sheets from spreadsheets write the long minus too.
        let (sign, unsigned) = match text.strip_prefix(['-', '\u{2212}']) {
            Some(rest) => (-1.0, rest),
            None => (1.0, text.strip_prefix('+').unwrap_or(text)),
        };
        let n_marks = unsigned.bytes().filter(|b| *b == mark).count();
        let has_digit = unsigned.bytes().any(|b| b.is_ascii_digit());
        let is_plain = has_digit && n_marks <= 1 && unsigned.bytes().all(|b| b.is_ascii_digit() || b == mark);
        if !is_plain {
            return None;
        }
        let parsed: f64 =
            if mark == b'.' { unsigned.parse().ok()? } else { unsigned.replace(',', ".").parse().ok()? };
        // A cell of some hundred digits parses to infinity.
        parsed.is_finite().then_some(sign * parsed)
    }
}

/// Reads a rating of how much: 0 none, 1 low, 2 medium, 3 high.
pub fn rating(text: &str) -> Option<Reading> {
    let value = match text.trim().to_lowercase().as_str() {
        "0" | "n" | "no" | "none" | "nil" | "absent" => 0.0,
        "1" | "vl" | "l" | "lo" | "low" | "slight" | "very low" => 1.0,
        "2" | "m" | "med" | "medium" | "moderate" => 2.0,
        "3" | "h" | "hi" | "high" | "vh" | "very high" | "y" | "yes" | "present" => 3.0,
        _ => return None,
    };
    Some(Reading { value, limit: Limit::Exact })
}

#[cfg(test)]
mod tests {
    use super::*;

    const POINT: NumberForm = NumberForm { decimal: DecimalMark::Point, words: Vec::new() };
    const COMMA: NumberForm = NumberForm { decimal: DecimalMark::Comma, words: Vec::new() };

    fn reading(value: f64, limit: Limit) -> Reading {
        Reading { value, limit }
    }

    #[test]
    fn plain_numbers_and_limits_are_read() {
        let exact = |text: &str| POINT.reading(text).filter(|r| r.limit == Limit::Exact).map(|r| r.value);
        assert_eq!(exact("5.8"), Some(5.8));
        assert_eq!(exact("-93.504807"), Some(-93.504807));
        assert_eq!(exact("\u{2212}3"), Some(-3.0));
        assert_eq!(exact("+3"), Some(3.0));
        assert_eq!(exact(".3"), Some(0.3));
        assert_eq!(POINT.reading("<5"), Some(reading(5.0, Limit::Below)));
        assert_eq!(POINT.reading("< 0.5"), Some(reading(0.5, Limit::Below)));
        assert_eq!(POINT.reading(">600"), Some(reading(600.0, Limit::Above)));
    }

    #[test]
    fn all_else_is_refused() {
        for text in ["", "5,8", "nan", "inf", "1e5", "ND", "n.d.", "2-", "<", "<0", "<-5", ".", "1.2.3", "--1"] {
            assert_eq!(POINT.reading(text), None, "{text}");
        }
        assert_eq!(POINT.reading(&"9".repeat(400)), None);
    }

    #[test]
    fn a_decimal_comma_is_read_where_the_sheet_says_so() {
        assert_eq!(COMMA.number("6,75"), Some(6.75));
        assert_eq!(COMMA.reading("<0,5"), Some(reading(0.5, Limit::Below)));
        // A point on such a sheet marks thousands or is a slip: never read as either.
        assert_eq!(COMMA.number("1.471"), None);
        assert_eq!(COMMA.number("1.471,5"), None);
    }

    #[test]
    fn a_rating_beside_a_number_is_left_aside_but_nothing_else_is() {
        assert_eq!(POINT.cell("3.1 M"), Some(CellNumber::Rated(reading(3.1, Limit::Exact))));
        assert_eq!(POINT.cell("225VH"), Some(CellNumber::Rated(reading(225.0, Limit::Exact))));
        assert_eq!(POINT.cell("<5 L"), Some(CellNumber::Rated(reading(5.0, Limit::Below))));
        for text in ["5.8 x", "12 ppm", "2-", "H", "1e5", "3 M 4"] {
            assert_eq!(POINT.cell(text), None, "{text}");
        }
    }

    #[test]
    fn words_mean_what_the_field_file_says() {
        let form = NumberForm {
            decimal: DecimalMark::Point,
            words: vec![
                ("n/a".to_owned(), WordMeaning::Blank),
                ("ND".to_owned(), WordMeaning::Open),
                ("Trace".to_owned(), WordMeaning::Number(reading(0.1, Limit::Below))),
            ],
        };
        assert_eq!(form.cell("N/A"), Some(CellNumber::Blank));
        assert_eq!(form.cell(" nd "), Some(CellNumber::OpenWord));
        assert_eq!(form.cell("trace"), Some(CellNumber::Reading(reading(0.1, Limit::Below))));
        assert_eq!(form.cell("none"), None);
        assert_eq!(form.cell(""), Some(CellNumber::Blank));
    }

    #[test]
    fn ratings_of_lime_are_ordered() {
        let values: Vec<f64> = ["none", "LO", "Med", "HI"].iter().map(|t| rating(t).unwrap().value).collect();
        assert_eq!(values, [0.0, 1.0, 2.0, 3.0]);
        assert_eq!(rating("2.5"), None);
    }
}
