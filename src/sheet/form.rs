//! How a sheet is to be read.

/// How a sheet is to be read; the field file states it as `samples.sheet`.
///
/// The kind of file (text, workbook, MODUS XML) is told from its bytes, never from here.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetForm {
    /// Sheet of a workbook; `None` = the only one that holds cells.
    pub name: Option<String>,
    /// How bytes become letters. A byte-order mark always wins.
    pub encoding: TextEncoding,
    /// What stands between two cells of a text line.
    pub separator: char,
    /// Mark before the decimals. Numbers are read by `samples`; workbooks print their number cells with it.
    pub decimal: DecimalMark,
    /// Lines of the header, from 1, joined from top to bottom with a space; empty = the first line that is not blank.
    /// Where samples stand in columns these are column numbers.
    pub header: Vec<usize>,
    /// Last line that holds a sample; what stands below (totals, footnotes) is left aside. Where samples stand in
    /// columns this is a column number.
    pub last: Option<usize>,
    /// Whether a sample is a row or a column.
    pub samples_in: SamplesIn,
}

impl SheetForm {
    /// UTF-8, commas, decimal point, the header on the first line that is not blank, one sample a row.
    pub fn plain() -> Self {
        SheetForm {
            name: None,
            encoding: TextEncoding::Utf8,
            separator: ',',
            decimal: DecimalMark::Point,
            header: Vec::new(),
            last: None,
            samples_in: SamplesIn::Rows,
        }
    }
}

/// How the bytes of a text become letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TextEncoding {
    /// UTF-8.
    Utf8,
    /// Windows code page 1252, as spreadsheets of western Europe and America save.
    Windows1252,
    /// UTF-16 of either byte order.
    Utf16,
}

impl TextEncoding {
    /// Its name as users read it.
    pub fn name(self) -> &'static str {
        match self {
            TextEncoding::Utf8 => "UTF-8",
            TextEncoding::Windows1252 => "Windows-1252",
            TextEncoding::Utf16 => "UTF-16",
        }
    }
}

/// Mark between whole number and decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DecimalMark {
    /// `6.2`
    Point,
    /// `6,2`
    Comma,
}

/// Where one sample stands in the sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SamplesIn {
    /// Each sample is a row.
    Rows,
    /// Each sample is a column; the header texts run down the left column.
    Columns,
}
