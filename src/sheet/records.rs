//! Separated text as records of cells.

use super::trimmed;

/// The cells of one line, trimmed; a line that breaks inside quotes is one record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Record {
    /// Line in the file where it starts, from 1.
    pub(super) line: usize,
    pub(super) cells: Vec<String>,
}

impl Record {
    /// Whether no cell holds anything.
    pub(super) fn is_blank(&self) -> bool {
        self.cells.iter().all(String::is_empty)
    }

    /// Cells up to the last that holds anything.
    pub(super) fn used_width(&self) -> usize {
        self.cells.iter().rposition(|cell| !cell.is_empty()).map_or(0, |last| last + 1)
    }
}

/// Most cells room is made for ahead.
const MOST_RESERVED: usize = 256;

/// Reads quoted, separated text (RFC 4180, and taken as spreadsheets take it where that is broken): lines end with LF,
/// CR LF or CR; a doubled quote inside quotes is one; a quote inside an unquoted cell is a letter. Empty lines are
/// skipped.
pub(super) struct Records<'a> {
    text: &'a str,
    at: usize,
    line: usize,
    separator: u8,
    /// Cells of the last record: the next has as many as a rule.
    width: usize,
    /// Line of a quote that is never closed: all text below it is one cell.
    pub(super) unclosed_at: Option<usize>,
}

impl<'a> Records<'a> {
    /// `separator` is ASCII, and neither a quote nor a line end.
    pub(super) fn new(text: &'a str, separator: u8) -> Self {
        Records { text, at: 0, line: 1, separator, width: 0, unclosed_at: None }
    }

    /// Index of the first byte at or after `from` for which `is_end` holds; else the text's length.
    fn seek(&self, from: usize, is_end: impl Fn(u8) -> bool) -> usize {
        let rest = self.text.as_bytes().get(from..).unwrap_or_default();
        rest.iter().position(|byte| is_end(*byte)).map_or(self.text.len(), |n| from + n)
    }

    fn end_of_plain(&self, from: usize) -> usize {
        let separator = self.separator;
        self.seek(from, |byte| byte == separator || byte == b'\n' || byte == b'\r')
    }

    /// The cell that starts here; leaves `at` on the separator or line end behind it.
    fn cell(&mut self) -> String {
        let bytes = self.text.as_bytes();
        if bytes.get(self.at) != Some(&b'"') {
            let end = self.end_of_plain(self.at);
            let cell = trimmed(&self.text[self.at..end]).to_owned();
            self.at = end;
            return cell;
        }
        let start = self.at;
        let mut cell = String::new();
        self.at += 1;
        loop {
            let quote = self.seek(self.at, |byte| byte == b'"');
            cell.push_str(&self.text[self.at..quote]);
            if quote == bytes.len() {
                self.unclosed_at = Some(self.line);
                self.at = quote;
                break;
            }
            if bytes.get(quote + 1) == Some(&b'"') {
                cell.push('"');
                self.at = quote + 2;
                continue;
            }
            let end = self.end_of_plain(quote + 1);
            cell.push_str(&self.text[quote + 1..end]);
            self.at = end;
            break;
        }
        self.line += line_ends(&bytes[start..self.at]);
        trimmed(&cell).to_owned()
    }
}

/// Line ends among `bytes`: LF, CR LF, or CR alone. `bytes` does not end inside a CR LF.
fn line_ends(bytes: &[u8]) -> usize {
    let ends = |(n, byte): (usize, &u8)| *byte == b'\n' || (*byte == b'\r' && bytes.get(n + 1) != Some(&b'\n'));
    bytes.iter().enumerate().filter(|pair| ends(*pair)).count()
}

impl Iterator for Records<'_> {
    type Item = Record;

    fn next(&mut self) -> Option<Record> {
        let start = self.seek(self.at, |byte| byte != b'\n' && byte != b'\r');
        self.line += line_ends(&self.text.as_bytes()[self.at..start]);
        self.at = start;
        if start == self.text.len() {
            return None;
        }
        let line = self.line;
        let mut cells = Vec::with_capacity(self.width);
        loop {
            cells.push(self.cell());
            if self.text.as_bytes().get(self.at) != Some(&self.separator) {
                break;
            }
            self.at += 1;
        }
        self.width = cells.len().min(MOST_RESERVED);
        Some(Record { line, cells })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn read(text: &str) -> Vec<(usize, Vec<String>)> {
        Records::new(text, b',').map(|record| (record.line, record.cells)).collect()
    }

    #[test]
    fn lines_are_counted_through_quotes_blank_lines_and_all_line_ends() {
        assert_eq!(read("a,b\r\n\r\n\"x\r\ny\",2\r\nc,d").iter().map(|r| r.0).collect::<Vec<_>>(), [1, 3, 5]);
        assert_eq!(read("a,b\r\rc,d\re").iter().map(|r| r.0).collect::<Vec<_>>(), [1, 3, 4]);
        assert_eq!(read("\n\na\nb").iter().map(|r| r.0).collect::<Vec<_>>(), [3, 4]);
        assert_eq!(read("a,\"x\ny\"\n\n\nb")[1].0, 5);
    }

    #[test]
    fn quotes_and_blanks() {
        assert_eq!(read("\"5\"\" core\", a\u{a0},\"\",")[0].1, ["5\" core", "a", "", ""]);
        assert_eq!(read("5\" core,x\"y\"")[0].1, ["5\" core", "x\"y\""]);
    }

    #[test]
    fn a_quote_never_closed_is_told_with_its_line() {
        let mut records = Records::new("a,b\nc,\"d\ne,f\n", b',');
        assert_eq!(records.by_ref().count(), 2);
        assert_eq!(records.unclosed_at, Some(2));
        let mut records = Records::new("a,b\nc,\"d\"\n", b',');
        assert_eq!(records.by_ref().count(), 2);
        assert_eq!(records.unclosed_at, None);
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(2000) })]

        /// The reference is the `csv` crate, whatever the text.
        #[test]
        fn cells_are_those_of_the_csv_crate(text in "[a,\"\n\r \u{a0}\u{e9}]{0,40}") {
            let mut reference = csv::ReaderBuilder::new()
                .has_headers(false).flexible(true).trim(csv::Trim::All).from_reader(text.as_bytes());
            let expected: Vec<Vec<String>> = reference
                .records()
                .map(|record| record.expect("is UTF-8").iter().map(str::to_owned).collect())
                .collect();
            let found: Vec<Vec<String>> = read(&text).into_iter().map(|(_, cells)| cells).collect();
            prop_assert_eq!(found, expected);
        }

        /// A line number is one more than the line ends before the record.
        #[test]
        fn line_numbers_never_drift(lines in prop::collection::vec(("[ab,]{0,6}", "\n|\r\n|\r"), 0..30)) {
            let mut text = String::new();
            let mut starts = Vec::new();
            let mut line = 1;
            for (cells, end) in &lines {
                // A CR and a LF that meet would be one line end.
                if text.ends_with('\r') && cells.is_empty() && end == "\n" {
                    text.push('\r');
                    line += 1;
                    continue;
                }
                if !cells.is_empty() {
                    starts.push(line);
                }
                text.push_str(cells);
                text.push_str(end);
                line += 1;
            }
            let found: Vec<usize> = read(&text).into_iter().map(|(line, _)| line).collect();
            prop_assert_eq!(found, starts);
        }
    }
}
