//! A lab sheet as text cells with their line numbers.

use crate::diagnostic::{Code, Diagnostic, Place};

/// A sheet that cannot be read as rows and columns.
pub static UNREADABLE_SHEET: Code = Code {
    name: "unreadable-sheet",
    checks: "that the sheet is text in rows and columns: UTF-8, one header row, every row as long as the header",
    why: "a row that is one cell short would put every later number under the wrong header",
    example: "the header has 13 columns and line 7 has 12, because a comma is missing",
    mend: "open the sheet in the program it came from, mend the line named, and save it as CSV (UTF-8)",
};

/// A column the field file names but the sheet lacks, or has twice.
pub static NO_SUCH_COLUMN: Code = Code {
    name: "no-such-column",
    checks: "that every column the field file names stands exactly once in the sheet's header",
    why: "a column taken by likeness could be another extractant or another unit",
    example: "the field file says `K`, the sheet says `K ppm`",
    mend: "copy the header as the lab prints it into the field file",
};

/// One row of the sheet.
#[derive(Debug, Clone)]
pub struct Row {
    /// Line in the file, from 1.
    pub line: usize,
    /// Trimmed cells, as many as the header has.
    pub cells: Vec<String>,
}

/// A sheet: header and rows.
///
/// # Guarantees
/// Every row is as long as the header; wholly blank rows are gone; cells are trimmed.
#[derive(Debug, Clone)]
pub struct SampleTable {
    /// File as typed.
    pub file: String,
    /// Column headers, trimmed.
    pub header: Vec<String>,
    /// Rows in file order.
    pub rows: Vec<Row>,
}

impl SampleTable {
    /// Reads comma-separated text with one header row. A byte-order mark is skipped.
    ///
    /// # Errors
    /// All rows whose length differs from the header's; text that is not UTF-8; a sheet without rows.
    pub fn read_csv(file: &str, bytes: &[u8]) -> Result<Self, Vec<Diagnostic>> {
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        let mut reader =
            csv::ReaderBuilder::new().has_headers(false).flexible(true).trim(csv::Trim::All).from_reader(bytes);
        let mut lines = LineCounter { bytes, counted: 0, line: 1 };
        let mut faults = Vec::new();
        let mut header: Option<Vec<String>> = None;
        let mut rows = Vec::new();
        let mut record = csv::StringRecord::new();
        loop {
            match reader.read_record(&mut record) {
                Ok(false) => break,
                Err(error) => {
                    let line = lines.of(error.position().map_or(0, |p| p.byte() as usize));
                    let what = match error.kind() {
                        csv::ErrorKind::Utf8 { .. } => "this line is not UTF-8 text".to_owned(),
                        _ => error.to_string(),
                    };
                    faults.push(
                        Diagnostic::error(&UNREADABLE_SHEET, what)
                            .at(Place::Row { file: file.to_owned(), line, columns: Vec::new() })
                            .with_help("save the sheet as CSV in UTF-8"),
                    );
                    if faults.len() > 100 {
                        break;
                    }
                }
                Ok(true) => {
                    let line = lines.of(record.position().map_or(0, |p| p.byte() as usize));
                    if record.iter().all(str::is_empty) {
                        continue;
                    }
                    let cells: Vec<String> = record.iter().map(str::to_owned).collect();
                    match &header {
                        None => header = Some(cells),
                        Some(header) if header.len() == cells.len() => rows.push(Row { line, cells }),
                        Some(header) => faults.push(
                            Diagnostic::error(
                                &UNREADABLE_SHEET,
                                format!("{} cells, but the header has {}", cells.len(), header.len()),
                            )
                            .at(Place::Row { file: file.to_owned(), line, columns: Vec::new() })
                            .with_help(
                                "a comma inside a cell needs quotes round the cell; a blank cell keeps its comma",
                            ),
                        ),
                    }
                }
            }
        }
        let header = header.unwrap_or_default();
        if faults.is_empty() && rows.is_empty() {
            faults.push(
                Diagnostic::error(&UNREADABLE_SHEET, "no rows below the header")
                    .at(Place::File(file.to_owned()))
                    .with_help("name the lab's sheet with one row a sample"),
            );
        }
        if faults.is_empty() { Ok(SampleTable { file: file.to_owned(), header, rows }) } else { Err(faults) }
    }

    /// Index of a column by its exact header.
    ///
    /// # Errors
    /// The header stands nowhere, or more than once.
    pub fn column(&self, header: &str, asked_at: Place) -> Result<usize, Box<Diagnostic>> {
        let mut found = self.header.iter().enumerate().filter(|(_, h)| *h == header).map(|(index, _)| index);
        match (found.next(), found.next()) {
            (Some(index), None) => Ok(index),
            (Some(_), Some(_)) => {
                let message = format!("column `{header}` stands more than once in `{}`", self.file);
                let fault = Diagnostic::error(&NO_SUCH_COLUMN, message).at(asked_at);
                Err(Box::new(fault.with_help("give the columns different headers")))
            }
            (None, _) => {
                let message = format!("no column `{header}` in `{}`", self.file);
                let fault = Diagnostic::error(&NO_SUCH_COLUMN, message).at(asked_at);
                let fault = fault.with_note(format!("found: `{}`", self.header.join("`, `")));
                Err(Box::new(fault.with_help("write the header as the lab prints it")))
            }
        }
    }

    /// Place of a row, with columns.
    pub fn place(&self, line: usize, columns: &[&str]) -> Place {
        Place::Row { file: self.file.clone(), line, columns: columns.iter().map(|c| (*c).to_owned()).collect() }
    }
}

/// Finds the line of a record. The reader's own count stands before blank lines and, with Windows line ends, a line short.
struct LineCounter<'a> {
    bytes: &'a [u8],
    counted: usize,
    line: usize,
}

impl LineCounter<'_> {
    /// Line of the first byte at or after `start` that is not a line end; `start` never falls from call to call.
    fn of(&mut self, start: usize) -> usize {
        let mut at = start.min(self.bytes.len());
        while at < self.bytes.len() && matches!(self.bytes[at], b'\r' | b'\n') {
            at += 1;
        }
        if at > self.counted {
            self.line += self.bytes[self.counted..at].iter().filter(|byte| **byte == b'\n').count();
            self.counted = at;
        }
        self.line
    }
}
