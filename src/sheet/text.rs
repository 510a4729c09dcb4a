//! Bytes of a text file to letters and records.

use std::borrow::Cow;

use super::file_kind::NOT_A_SHEET;
use super::form::TextEncoding;
use super::records::{Record, Records};
use super::table::UNREADABLE_SHEET;
use super::{MOST_CELLS, too_large, unreadable};
use crate::diagnostic::{Diagnostic, Place};

/// Most faults of one kind that are gathered before the rest is left unread.
const MOST_FAULTS: usize = 100;

/// The records of a text that hold anything.
///
/// # Errors
/// Bytes that are not of the encoding, with their lines; a quote never closed; too many cells.
pub(super) fn records(
    file: &str,
    bytes: &[u8],
    encoding: TextEncoding,
    separator: char,
) -> Result<Vec<Record>, Vec<Diagnostic>> {
    let text = decoded(file, bytes, encoding)?;
    separated(file, &text, separator)
}

/// The records of letters that hold anything.
///
/// # Errors
/// A separator that cannot be one; a quote never closed; too many cells.
pub(super) fn separated(file: &str, text: &str, separator: char) -> Result<Vec<Record>, Vec<Diagnostic>> {
    let separator = match u8::try_from(separator) {
        Ok(byte) if byte.is_ascii() && !matches!(byte, b'"' | b'\n' | b'\r') => byte,
        _ => {
            let message = format!("`{}` cannot separate cells", separator.escape_default());
            return Err(unreadable(file, message, "take a comma, a semicolon, a tab or `|`"));
        }
    };
    let mut reader = Records::new(text, separator);
    let mut n_cells = 0;
    let mut found = Vec::new();
    for record in reader.by_ref() {
        n_cells += record.cells.len();
        if n_cells > MOST_CELLS {
            return Err(too_large(file));
        }
        if !record.is_blank() {
            found.push(record);
        }
    }
    match reader.unclosed_at {
        Some(line) => Err(vec![
            Diagnostic::error(&UNREADABLE_SHEET, "a quote opens here and is never closed")
                .at(Place::Row { file: file.to_owned(), line, columns: Vec::new() })
                .with_help("close the quote, or take it away: all lines below it would be one cell"),
        ]),
        None => Ok(found),
    }
}

/// The letters of a text; a byte-order mark wins over `encoding` and is taken away.
///
/// # Errors
/// Bytes that are not of the encoding; bytes that are no text.
pub(super) fn decoded<'a>(
    file: &str,
    bytes: &'a [u8],
    encoding: TextEncoding,
) -> Result<Cow<'a, str>, Vec<Diagnostic>> {
    let (bytes, encoding, order) = match bytes {
        [0xef, 0xbb, 0xbf, rest @ ..] => (rest, TextEncoding::Utf8, encoding_rs::UTF_16LE),
        [0xff, 0xfe, rest @ ..] => (rest, TextEncoding::Utf16, encoding_rs::UTF_16LE),
        [0xfe, 0xff, rest @ ..] => (rest, TextEncoding::Utf16, encoding_rs::UTF_16BE),
        _ if zeros_at(bytes, 0) > zeros_at(bytes, 1) => (bytes, encoding, encoding_rs::UTF_16BE),
        _ => (bytes, encoding, encoding_rs::UTF_16LE),
    };
    let text = match encoding {
        TextEncoding::Utf8 => Cow::Borrowed(std::str::from_utf8(bytes).map_err(|_| not_utf_8(file, bytes))?),
        TextEncoding::Windows1252 => encoding_rs::WINDOWS_1252.decode_without_bom_handling(bytes).0,
        TextEncoding::Utf16 => match order.decode_without_bom_handling(bytes) {
            (text, false) => text,
            (_, true) => {
                return Err(unreadable(file, "the sheet is not whole UTF-16 text", "save the sheet as CSV in UTF-8"));
            }
        },
    };
    if text.contains('\0') {
        let fault = Diagnostic::error(&NOT_A_SHEET, format!("`{file}` is neither text nor a workbook"));
        return Err(vec![fault.at(Place::File(file.to_owned())).with_help("save the sheet as CSV in UTF-8")]);
    }
    Ok(text)
}

/// Zero bytes at even (`parity` 0) or odd places among the first ones.
fn zeros_at(bytes: &[u8], parity: usize) -> usize {
    bytes.iter().take(2000).skip(parity).step_by(2).filter(|byte| **byte == 0).count()
}

/// The encoding of bytes of unknown origin, and why if it is not UTF-8.
pub(super) fn guessed_encoding(bytes: &[u8]) -> (TextEncoding, Option<String>) {
    if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
        return (TextEncoding::Utf16, Some("a byte-order mark says UTF-16".to_owned()));
    }
    let n_pairs = bytes.len().min(2000) / 2;
    let n_zeros = zeros_at(bytes, 0) + zeros_at(bytes, 1);
    if bytes.len().is_multiple_of(2) && n_pairs > 0 && n_zeros * 5 > n_pairs * 2 {
        return (TextEncoding::Utf16, Some("every second byte is zero: UTF-16".to_owned()));
    }
    match std::str::from_utf8(bytes) {
        Ok(_) => (TextEncoding::Utf8, None),
        Err(error) => {
            let line = lines_before(bytes, error.valid_up_to()) + 1;
            let reason = format!("line {line} is not UTF-8, so the text is read as Windows-1252");
            (TextEncoding::Windows1252, Some(reason))
        }
    }
}

/// The encoding of XML that declares none: UTF-16 by its zero bytes, else UTF-8.
pub(super) fn guessed_encoding_of_xml(bytes: &[u8]) -> TextEncoding {
    match guessed_encoding(bytes).0 {
        TextEncoding::Utf16 => TextEncoding::Utf16,
        _ => TextEncoding::Utf8,
    }
}

fn lines_before(bytes: &[u8], end: usize) -> usize {
    let is_end = |n: usize| bytes[n] == b'\n' || (bytes[n] == b'\r' && bytes.get(n + 1) != Some(&b'\n'));
    (0..end.min(bytes.len())).filter(|n| is_end(*n)).count()
}

/// A fault for each line that is not UTF-8.
fn not_utf_8(file: &str, bytes: &[u8]) -> Vec<Diagnostic> {
    let mut faults = Vec::new();
    let mut start = 0;
    let mut line = 1;
    while start < bytes.len() && faults.len() < MOST_FAULTS {
        let length = bytes[start..].iter().position(|b| matches!(b, b'\n' | b'\r')).unwrap_or(bytes.len() - start);
        if std::str::from_utf8(&bytes[start..start + length]).is_err() {
            faults.push(
                Diagnostic::error(&UNREADABLE_SHEET, "this line is not UTF-8 text")
                    .at(Place::Row { file: file.to_owned(), line, columns: Vec::new() })
                    .with_help("save the sheet as CSV in UTF-8"),
            );
        }
        start += length + if bytes[start + length..].starts_with(b"\r\n") { 2 } else { 1 };
        line += 1;
    }
    faults
}

#[cfg(test)]
mod tests {
    use super::*;

    fn utf_16(text: &str, little: bool) -> Vec<u8> {
        text.encode_utf16().flat_map(|unit| if little { unit.to_le_bytes() } else { unit.to_be_bytes() }).collect()
    }

    #[test]
    fn a_byte_order_mark_wins() {
        let with_mark = |mark: &[u8], text: Vec<u8>| [mark, &text].concat();
        for bytes in [
            with_mark(b"\xef\xbb\xbf", "Mg \u{b5}g".as_bytes().to_vec()),
            with_mark(b"\xff\xfe", utf_16("Mg \u{b5}g", true)),
            with_mark(b"\xfe\xff", utf_16("Mg \u{b5}g", false)),
        ] {
            for encoding in [TextEncoding::Utf8, TextEncoding::Windows1252, TextEncoding::Utf16] {
                assert_eq!(decoded("lab.csv", &bytes, encoding).expect("reads"), "Mg \u{b5}g");
            }
        }
    }

    #[test]
    fn encodings_without_a_mark_are_told_apart() {
        for little in [true, false] {
            let bytes = utf_16("ID,pH\nA,6\n", little);
            assert_eq!(guessed_encoding(&bytes).0, TextEncoding::Utf16);
            assert_eq!(decoded("lab.csv", &bytes, TextEncoding::Utf16).expect("reads"), "ID,pH\nA,6\n");
        }
        // `Größe` in Windows-1252.
        let (encoding, reason) = guessed_encoding(b"ID\r\nGr\xf6\xdfe\r\n");
        assert_eq!(encoding, TextEncoding::Windows1252);
        assert!(reason.expect("says why").starts_with("line 2 "));
        assert_eq!(decoded("lab.csv", b"Gr\xf6\xdfe", encoding).expect("reads"), "Gr\u{f6}\u{df}e");
        assert_eq!(guessed_encoding("Größe".as_bytes()), (TextEncoding::Utf8, None));
    }

    #[test]
    fn each_line_that_is_not_utf_8_is_named() {
        let faults = records("lab.csv", b"ID\r\n\xf6\r\nA\r\n\xdf\r\n", TextEncoding::Utf8, ',').expect_err("is not");
        let places: Vec<String> = faults.iter().map(|f| f.place.clone().expect("has a place").to_string()).collect();
        assert_eq!(places, ["lab.csv:2", "lab.csv:4"]);
    }

    #[test]
    fn pictures_half_texts_and_odd_separators_are_refused() {
        let message = |bytes: &[u8], encoding, separator| {
            records("lab.csv", bytes, encoding, separator).expect_err("is refused").remove(0).message
        };
        assert!(message(b"a\0b", TextEncoding::Windows1252, ',').contains("neither text"));
        assert!(message(b"\xff\xfea", TextEncoding::Utf8, ',').contains("UTF-16"));
        assert!(message(b"a", TextEncoding::Utf8, '"').contains("cannot separate"));
        assert!(message(b"a", TextEncoding::Utf8, '\u{b7}').contains("cannot separate"));
        assert!(message("x,".repeat(2_000_001).as_bytes(), TextEncoding::Utf8, ',').contains("2 million"));
    }
}
