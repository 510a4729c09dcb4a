//! A lab sheet as text cells with their places.

use super::form::{SamplesIn, SheetForm};
use super::{FileKind, assemble, modus, text, workbook};
use crate::diagnostic::{Code, Diagnostic, Place};

/// A sheet that cannot be read as rows and columns.
pub static UNREADABLE_SHEET: Code = Code {
    name: "unreadable-sheet",
    checks: "that the sheet reads as rows and columns in the form stated, every row as long as the header",
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
    mend: "copy the header as the lab prints it into the field file; of a header printed twice name `K ppm #1` or `K ppm #2`",
};

/// One sample's line of the sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Line in the file (in a workbook: row of the sheet), from 1; the number of the column where each sample is one.
    pub line: usize,
    /// Trimmed cells, as many as the header has.
    pub cells: Vec<String>,
}

/// A sheet: header and rows.
///
/// # Guarantees
/// Every row is as long as the header; wholly blank rows are gone; cells are trimmed; no header is blank (`column 7`)
/// and none stands twice (`K ppm #1`, `K ppm #2`).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SampleTable {
    /// File as typed.
    pub file: String,
    /// Column headers, trimmed.
    pub header: Vec<String>,
    /// Rows in file order.
    pub rows: Vec<Row>,
    /// What [`Row::line`] counts: lines, or columns of a sheet whose samples stand in columns.
    pub samples_in: SamplesIn,
}

impl SampleTable {
    /// Reads a sheet of any kind: text, workbook (xlsx, xls, ods) or MODUS XML, told apart by their bytes.
    ///
    /// # Errors
    /// All rows whose length differs from the header's; bytes that are no sheet; a sheet without rows; a workbook with
    /// several sheets and none named.
    pub fn read(file: &str, bytes: &[u8], form: &SheetForm) -> Result<Self, Vec<Diagnostic>> {
        match FileKind::of(file, bytes)? {
            FileKind::Text => {
                let records = text::records(file, bytes, form.encoding, form.separator)?;
                assemble::table(file, records, form)
            }
            FileKind::Workbook => {
                let sheet = workbook::read(file, bytes, form.name.as_deref())?;
                assemble::table(file, sheet.records(form.decimal), form)
            }
            FileKind::Xml => modus::read(file, bytes),
        }
    }

    /// Reads comma-separated text with one header row: [`SampleTable::read`] in the [plain](SheetForm::plain) form.
    ///
    /// # Errors
    /// As [`SampleTable::read`].
    pub fn read_csv(file: &str, bytes: &[u8]) -> Result<Self, Vec<Diagnostic>> {
        Self::read(file, bytes, &SheetForm::plain())
    }

    /// Index of a column by its exact header.
    ///
    /// # Errors
    /// The header stands nowhere, or more than once.
    pub fn column(&self, header: &str, asked_at: Place) -> Result<usize, Box<Diagnostic>> {
        if let Some(index) = self.header.iter().position(|h| h == header) {
            return Ok(index);
        }
        let is_numbered = |name: &str| {
            let number = name.strip_prefix(header).and_then(|rest| rest.strip_prefix(" #"));
            number.is_some_and(|number| !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit()))
        };
        let numbered: Vec<String> =
            self.header.iter().filter(|name| is_numbered(name)).map(|name| format!("`{name}`")).collect();
        if numbered.len() > 1 {
            let message = format!("column `{header}` stands more than once in `{}`", self.file);
            let fault = Diagnostic::error(&NO_SUCH_COLUMN, message).at(asked_at);
            return Err(Box::new(
                fault.with_help(format!("name one of them, counted from the left: {}", numbered.join(", "))),
            ));
        }
        let message = format!("no column `{header}` in `{}`", self.file);
        let fault = Diagnostic::error(&NO_SUCH_COLUMN, message).at(asked_at);
        let fault = fault.with_note(format!("found: `{}`", self.header.join("`, `")));
        Err(Box::new(fault.with_help("write the header as the lab prints it")))
    }

    /// Place of a row, with columns.
    pub fn place(&self, line: usize, columns: &[&str]) -> Place {
        let headers = columns.iter().map(|c| (*c).to_owned()).collect();
        match self.samples_in {
            SamplesIn::Rows => Place::Row { file: self.file.clone(), line, columns: headers },
            SamplesIn::Columns => Place::Column { file: self.file.clone(), column: line, lines: headers },
        }
    }
}
