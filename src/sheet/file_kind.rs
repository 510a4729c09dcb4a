//! What kind of file the bytes are.

use crate::diagnostic::{Code, Diagnostic, Place};

/// A file that is no sheet at all.
pub static NOT_A_SHEET: Code = Code {
    name: "not-a-sheet",
    checks: "that the file holds rows and columns: text, a workbook (xlsx, xls, ods) or MODUS XML",
    why: "numbers picked out of a page made for paper or for a browser could land under the wrong header",
    example: "the lab sent `report.pdf`, or a web page that is called `report.xls`",
    mend: "ask the lab for CSV, a workbook or MODUS XML, or type the figures into the table of `holdground new --blank`",
};

/// Kinds of files that are read. Told from the bytes alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum FileKind {
    /// Text in rows and cells.
    Text,
    /// A workbook: zip (xlsx, ods) or OLE (xls).
    Workbook,
    /// XML; only MODUS is read.
    Xml,
}

/// First bytes of a zip archive.
pub(super) const ZIP: &[u8] = b"PK\x03\x04";
/// First bytes of an OLE compound file.
pub(super) const OLE: &[u8] = b"\xd0\xcf\x11\xe0";

impl FileKind {
    /// The kind of the bytes.
    ///
    /// # Errors
    /// A kind that is known and not read: PDF, HTML.
    pub(super) fn of(file: &str, bytes: &[u8]) -> Result<Self, Vec<Diagnostic>> {
        if bytes.starts_with(ZIP) || bytes.starts_with(OLE) {
            return Ok(FileKind::Workbook);
        }
        let refused = |what: &str, help: &str| {
            Err(vec![
                Diagnostic::error(&NOT_A_SHEET, format!("`{file}` is {what}"))
                    .at(Place::File(file.to_owned()))
                    .with_help(help),
            ])
        };
        let start = first_letters(bytes);
        let begins = |word: &str| start.starts_with(word);
        if begins("%pdf") {
            return refused(
                "a PDF, which is not read",
                "ask the lab for CSV or a workbook, or type the figures into the empty table that `holdground new --blank` writes",
            );
        }
        if begins("<!doctype html") || begins("<html") || begins("<table") || begins("<head") || begins("<meta") {
            return refused(
                "a web page (HTML), whatever its name says",
                "open it in a spreadsheet program and save it as CSV (UTF-8) or as a workbook",
            );
        }
        if begins("<") { Ok(FileKind::Xml) } else { Ok(FileKind::Text) }
    }
}

/// The first letters in lower case, byte-order mark and blanks skipped; bytes that are no ASCII letters are left out.
fn first_letters(bytes: &[u8]) -> String {
    let letters = bytes.iter().take(4096).filter(|b| b.is_ascii() && **b != 0).map(|b| char::from(*b));
    letters.skip_while(|c| c.is_whitespace()).take(40).map(|c| c.to_ascii_lowercase()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_kind_is_told_from_the_bytes() {
        let kind = |bytes: &[u8]| FileKind::of("lab.csv", bytes).expect("is read");
        assert_eq!(kind(b"ID,pH\n"), FileKind::Text);
        assert_eq!(kind(b"PK\x03\x04..."), FileKind::Workbook);
        assert_eq!(kind(b"PK ppm,Mg ppm\n"), FileKind::Text);
        assert_eq!(kind(b"\xd0\xcf\x11\xe0\xa1"), FileKind::Workbook);
        assert_eq!(kind(b"\xef\xbb\xbf\n <?xml version=\"1.0\"?>"), FileKind::Xml);
        assert_eq!(kind(b"\xff\xfe<\0?\0x\0m\0l\0"), FileKind::Xml);
        assert_eq!(kind(b""), FileKind::Text);
    }

    #[test]
    fn papers_and_web_pages_are_refused_with_a_way_out() {
        let fault = |bytes: &[u8]| FileKind::of("lab.xls", bytes).expect_err("is no sheet").remove(0);
        let pdf = fault(b"%PDF-1.7\n%\xe2\xe3");
        assert!(pdf.message.contains("a PDF"), "{}", pdf.message);
        assert!(pdf.help.expect("has help").contains("`holdground new --blank`"));
        for page in ["<html><body>", "\n<!DOCTYPE html>", "<TABLE border=1>"] {
            assert!(fault(page.as_bytes()).message.contains("web page"), "{page}");
        }
    }
}
