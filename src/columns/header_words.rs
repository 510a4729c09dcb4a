//! A header as plain words: no case, accents, brackets or punctuation, each word with its place in the header.

use std::ops::Range;

/// A run of letters, a number, or a sign that matters (`%`, `/`, `:`, `+`, `-`, `#`).
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Piece {
    /// Plain text.
    pub(super) text: String,
    /// Bytes of the header it came from.
    pub(super) place: Range<usize>,
    /// Whether it follows the piece before it without a gap.
    pub(super) glued: bool,
}

/// Pieces joined to what a reader takes for a word: `P2O5`, `1:2.5`.
pub(super) type Word = Piece;

impl Piece {
    /// Whether the piece holds a letter or a figure.
    pub(super) fn is_text(&self) -> bool {
        self.text.chars().any(char::is_alphanumeric)
    }

    fn is_number(&self) -> bool {
        self.text.starts_with(|c: char| c.is_ascii_digit())
    }
}

/// A header without the mark of a repeated header (`K ppm #2`).
pub(super) fn without_repeat_mark(header: &str) -> &str {
    match header.trim().rsplit_once(" #") {
        Some((before, mark)) if !mark.is_empty() && mark.bytes().all(|b| b.is_ascii_digit()) => before.trim_end(),
        _ => header.trim(),
    }
}

/// Splits a header into pieces.
pub(super) fn pieces(header: &str) -> Vec<Piece> {
    let mut pieces: Vec<Piece> = Vec::new();
    let mut gap = true;
    let letters: Vec<(usize, char)> = header.char_indices().collect();
    for (index, &(start, letter)) in letters.iter().enumerate() {
        let end = start + letter.len_utf8();
        let before = index.checked_sub(1).and_then(|i| letters.get(i)).map(|(_, c)| *c);
        let after = letters.get(index + 1).map(|(_, c)| *c);
        let is_digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
        let is_decimal_mark = matches!(letter, '.' | ',') && is_digit(before) && is_digit(after);
        let text = if is_decimal_mark { ".".to_owned() } else { plain(letter) };
        if text.is_empty() {
            // A point or a combining accent within a word does not part it: `C.E.C.`
            gap |= !matches!(letter, '.' | '\u{300}'..='\u{36f}');
            continue;
        }
        let is_figure = |t: &str| t.starts_with(|c: char| c.is_ascii_digit() || c == '.');
        let is_letter = |t: &str| t.starts_with(char::is_alphabetic);
        match pieces.last_mut() {
            Some(last)
                if !gap && (is_letter(&last.text) && is_letter(&text) || last.is_number() && is_figure(&text)) =>
            {
                last.text += &text;
                last.place.end = end;
            }
            _ => pieces.push(Piece { text, place: start..end, glued: !gap }),
        }
        gap = false;
    }
    pieces
}

/// Joins pieces to words. Ratios such as `1:5` are one word; signs without a neighbor on both sides are dropped.
pub(super) fn words(pieces: &[Piece]) -> Vec<Word> {
    let mut words: Vec<Word> = Vec::new();
    let mut may_join = false;
    let mut at = 0;
    while let Some(piece) = pieces.get(at) {
        let next = |n: usize| pieces.get(at + n);
        if let (Some(sign), Some(second)) = (next(1), next(2))
            && piece.is_number()
            && sign.text == ":"
            && second.is_number()
        {
            let text = format!("{}:{}", piece.text, second.text);
            words.push(Piece { text, place: piece.place.start..second.place.end, glued: false });
            at += 3;
            may_join = false;
            continue;
        }
        at += 1;
        if piece.text == "#" {
            words.push(Piece { text: "no".to_owned(), ..piece.clone() });
            may_join = false;
        } else if matches!(piece.text.as_str(), "/" | ":" | "+") {
            let between = words.last().is_some_and(Piece::is_text) && pieces.get(at).is_some_and(Piece::is_text);
            if between {
                words.push(piece.clone());
            }
            may_join = false;
        } else if !piece.is_text() {
            may_join = false;
        } else {
            let joins_ratio = piece.is_number() && pieces.get(at).is_some_and(|sign| sign.text == ":");
            match words.last_mut() {
                Some(last) if may_join && piece.glued && !joins_ratio && last.place.end <= piece.place.start => {
                    last.text += &piece.text;
                    last.place.end = piece.place.end;
                }
                _ => words.push(piece.clone()),
            }
            may_join = true;
        }
    }
    words
}

/// Words run together: `Sample ID`, `SampleID` and `sample_id` are one.
pub(super) fn squeezed(words: &[Word]) -> String {
    words.iter().map(|word| word.text.as_str()).collect()
}

/// A letter without case and accent; empty for what only parts words.
fn plain(letter: char) -> String {
    let text = match letter {
        'a'..='z' | '0'..='9' | '%' | '/' | ':' | '+' | '#' | '-' | '&' => return letter.to_string(),
        '\u{2212}' | '\u{2010}'..='\u{2014}' | '\u{207b}' | '\u{208b}' => "-",
        '\u{207a}' | '\u{208a}' => "+",
        '\u{2070}' | '\u{2080}' => "0",
        '\u{b9}' | '\u{2081}' => "1",
        '\u{b2}' | '\u{2082}' => "2",
        '\u{b3}' | '\u{2083}' => "3",
        '\u{2074}' | '\u{2084}' => "4",
        '\u{2075}' | '\u{2085}' => "5",
        '\u{b5}' | '\u{3bc}' => "u",
        '\u{df}' => "ss",
        '\u{2116}' => "no",
        // `n°` and `nº` are `no`.
        '\u{b0}' | '\u{ba}' => "o",
        _ => "",
    };
    if !text.is_empty() {
        return text.to_owned();
    }
    if !letter.is_alphanumeric() {
        return String::new();
    }
    letter
        .to_lowercase()
        .map(|c| match c {
            'à'..='å' => 'a',
            'ç' => 'c',
            'è'..='ë' => 'e',
            'ì'..='ï' => 'i',
            'ñ' => 'n',
            'ò'..='ö' => 'o',
            'ù'..='ü' => 'u',
            'ý' => 'y',
            c => c,
        })
        .filter(|c| c.is_alphanumeric())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn joined(header: &str) -> String {
        words(&pieces(header)).iter().map(|word| word.text.clone()).collect::<Vec<_>>().join("|")
    }

    #[test]
    fn case_accents_brackets_and_breaks_do_not_matter() {
        assert_eq!(joined("K\u{a0}ppm"), "k|ppm");
        assert_eq!(joined("K2O éch."), "k2o|ech");
        assert_eq!(joined("K2O e\u{301}ch."), "k2o|ech");
        assert_eq!(joined("Cations\nppm K"), "cations|ppm|k");
        assert_eq!(joined("pH (H₂O 1:2,5)"), "ph|h2o|1:2.5");
        assert_eq!(joined("EC1:5"), "ec|1:5");
        assert_eq!(joined("Sample #"), "sample|no");
        assert_eq!(joined("n° éch"), "no|ech");
        assert_eq!(joined("H + Al:"), "h|+|al");
        assert_eq!(joined("p_m3_ppm"), "p|m3|ppm");
        assert_eq!(squeezed(&words(&pieces("C.E.C."))), "cec");
        assert_eq!(squeezed(&words(&pieces("N/A"))), "n/a");
    }

    #[test]
    fn the_mark_of_a_repeated_header_goes() {
        assert_eq!(without_repeat_mark("K ppm #2"), "K ppm");
        assert_eq!(without_repeat_mark(" Sample # "), "Sample #");
        assert_eq!(without_repeat_mark("Lab #2b"), "Lab #2b");
    }
}
