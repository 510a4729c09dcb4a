//! Workbooks (xlsx, xls, ods) to records of text cells.

use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};

use calamine::{Data, ExcelDateTime, Ods, OdsError, Reader, Xls, XlsError, Xlsx, XlsxError};
use calamine::{SheetType, SheetVisible};

use super::cfb_stream::{self, XlsFault};
use super::file_kind::{NOT_A_SHEET, OLE};
use super::form::DecimalMark;
use super::records::Record;
use super::workbook_bounds::{self, ZipFault, ZippedKind};
use super::{MOST_CELLS, too_large, trimmed, unreadable};
use crate::diagnostic::{Code, Diagnostic, Place};

/// A workbook with several sheets, and none or an unknown one named.
pub static WHICH_SHEET: Code = Code {
    name: "which-sheet",
    checks: "that a workbook has one sheet that holds cells, or that the field file names one of them",
    why: "the wrong sheet could hold another field, another year, or results already turned into rates",
    example: "`lab.xlsx` has the sheets `Results` and `Recommendations`",
    mend: "name the sheet that holds the samples: `name = \"Results\"` in `samples.sheet`",
};

/// Most bytes of text in all cells.
const MOST_TEXT: usize = 256 << 20;

/// What a cell holds.
#[derive(Debug, Clone, PartialEq)]
enum CellValue {
    Text(String),
    Number(f64),
    /// A date or time, in ISO 8601.
    Date(String),
}

/// Row and column from 0, and what stands there.
type PlacedCell = (usize, usize, CellValue);

/// The cells of one sheet.
#[derive(Debug)]
pub(super) struct WorkbookSheet {
    /// Row number from 1, and as many cells as the widest row has; rows that hold anything, in order.
    rows: Vec<(usize, Vec<Option<CellValue>>)>,
}

/// Why a workbook is not read.
enum Fault {
    Password,
    TooLarge,
    Damaged(String),
}

/// Reads the sheet of that name, or the only one that holds cells.
///
/// # Errors
/// A workbook that is protected by a password, damaged or too large; no such sheet; several sheets and none named.
pub(super) fn read(file: &str, bytes: &[u8], name: Option<&str>) -> Result<WorkbookSheet, Vec<Diagnostic>> {
    // The reader of workbooks slices without looking in places; a damaged file must be an error here, not the end.
    let sheets = match catch_unwind(AssertUnwindSafe(|| sheets(file, bytes, name))) {
        Ok(sheets) => sheets?,
        Err(_) => return Err(damaged(file, "its parts do not fit together")),
    };
    let which = |message: String, sheets: &[(String, Vec<PlacedCell>)]| {
        let names: Vec<String> = sheets.iter().map(|(name, _)| format!("`{name}`")).collect();
        let fault = Diagnostic::error(&WHICH_SHEET, message).at(Place::File(file.to_owned()));
        vec![match names.is_empty() {
            true => fault.with_help("name a workbook that holds the lab's results"),
            false => fault.with_help(format!("name one of its sheets as `samples.sheet.name`: {}", names.join(", "))),
        }]
    };
    let mut filled: Vec<(String, Vec<PlacedCell>)> =
        sheets.into_iter().filter(|(_, cells)| !cells.is_empty()).collect();
    let index = match (name, filled.len()) {
        (Some(name), _) => filled
            .iter()
            .position(|(sheet, _)| sheet == name)
            .ok_or_else(|| which(format!("no sheet `{name}` that holds cells in `{file}`"), &filled))?,
        (None, 1) => 0,
        (None, 0) => return Err(which(format!("no sheet of `{file}` holds cells"), &filled)),
        (None, n) => return Err(which(format!("`{file}` has {n} sheets that hold cells"), &filled)),
    };
    WorkbookSheet::of(filled.swap_remove(index).1).ok_or_else(|| too_large(file))
}

fn damaged(file: &str, what: &str) -> Vec<Diagnostic> {
    let help = "open it in a spreadsheet program and save it anew, or save its sheet as CSV (UTF-8)";
    unreadable(file, format!("the workbook is damaged: {what}"), help)
}

/// All visible sheets, and the one named, with their cells in any order.
fn sheets(file: &str, bytes: &[u8], name: Option<&str>) -> Result<Vec<(String, Vec<PlacedCell>)>, Vec<Diagnostic>> {
    let other = |what: &str| {
        let fault = Diagnostic::error(&NOT_A_SHEET, format!("`{file}` is {what}")).at(Place::File(file.to_owned()));
        vec![fault.with_help("save the sheet as .xlsx, or as CSV in UTF-8")]
    };
    let found = if bytes.starts_with(OLE) {
        match cfb_stream::look_through(bytes) {
            Ok(()) => of_xls(bytes, name),
            Err(XlsFault::Damaged) => Err(Fault::Damaged("its parts do not fit together".to_owned())),
            Err(XlsFault::NoWorkbook) => return Err(other("no workbook, but a file of another program")),
            Err(XlsFault::Password) => Err(Fault::Password),
            Err(XlsFault::TooLarge) => Err(Fault::TooLarge),
        }
    } else {
        match workbook_bounds::look_through(bytes) {
            Ok(ZippedKind::Xlsx) => of_xlsx(bytes, name),
            Ok(ZippedKind::Ods) => of_ods(bytes, name),
            Err(ZipFault::Damaged(what)) => Err(Fault::Damaged(what)),
            Err(ZipFault::Other(what)) => return Err(other(what)),
            Err(ZipFault::TooLarge) => Err(Fault::TooLarge),
        }
    };
    found.map_err(|fault| match fault {
        Fault::Password => unreadable(
            file,
            "the workbook is protected by a password",
            "open it with the password and save it without, or save its sheet as CSV (UTF-8)",
        ),
        Fault::TooLarge => too_large(file),
        Fault::Damaged(what) => damaged(file, &what),
    })
}

/// Names of the sheets to read.
fn names_of<R: Reader<Cursor<Vec<u8>>>>(workbook: &R, name: Option<&str>) -> Vec<String> {
    let sheets = workbook.sheets_metadata().iter().filter(|sheet| sheet.typ == SheetType::WorkSheet);
    let is_wanted = |visible: SheetVisible, own: &str| visible == SheetVisible::Visible || Some(own) == name;
    sheets.filter(|sheet| is_wanted(sheet.visible, &sheet.name)).map(|sheet| sheet.name.clone()).collect()
}

/// Gathers cells within bounds.
#[derive(Default)]
struct Gathered {
    n_cells: usize,
    n_text: usize,
}

impl Gathered {
    fn take(&mut self, cells: &mut Vec<PlacedCell>, row: usize, column: usize, value: CellValue) -> Result<(), Fault> {
        self.n_cells += 1;
        if let CellValue::Text(text) | CellValue::Date(text) = &value {
            if trimmed(text).is_empty() {
                return Ok(());
            }
            self.n_text += text.len();
        }
        if self.n_cells > MOST_CELLS || self.n_text > MOST_TEXT {
            return Err(Fault::TooLarge);
        }
        cells.push((row, column, value));
        Ok(())
    }
}

fn of_xlsx(bytes: &[u8], name: Option<&str>) -> Result<Vec<(String, Vec<PlacedCell>)>, Fault> {
    let fault = |error: XlsxError| match error {
        XlsxError::Password => Fault::Password,
        other => Fault::Damaged(other.to_string()),
    };
    let mut workbook = Xlsx::new(Cursor::new(bytes.to_vec())).map_err(fault)?;
    let mut gathered = Gathered::default();
    let mut sheets = Vec::new();
    for sheet in names_of(&workbook, name) {
        let mut cells = Vec::new();
        // Cell by cell: a far cell must not ask for all the cells before it.
        let mut reader = match workbook.worksheet_cells_reader(&sheet) {
            Err(XlsxError::NotAWorksheet(_)) => continue,
            reader => reader.map_err(fault)?,
        };
        while let Some(cell) = reader.next_cell().map_err(fault)? {
            let (row, column) = cell.get_position();
            if let Some(value) = of_data(&Data::from(cell.get_value().clone())) {
                gathered.take(&mut cells, row as usize, column as usize, value)?;
            }
        }
        sheets.push((sheet, cells));
    }
    Ok(sheets)
}

fn of_xls(bytes: &[u8], name: Option<&str>) -> Result<Vec<(String, Vec<PlacedCell>)>, Fault> {
    let fault = |error: XlsError| match error {
        XlsError::Password => Fault::Password,
        other => Fault::Damaged(other.to_string()),
    };
    let mut workbook = Xls::new(Cursor::new(bytes.to_vec())).map_err(fault)?;
    of_ranges(&mut workbook, name, fault)
}

fn of_ods(bytes: &[u8], name: Option<&str>) -> Result<Vec<(String, Vec<PlacedCell>)>, Fault> {
    let fault = |error: OdsError| match error {
        OdsError::Password => Fault::Password,
        other => Fault::Damaged(other.to_string()),
    };
    let mut workbook = Ods::new(Cursor::new(bytes.to_vec())).map_err(fault)?;
    of_ranges(&mut workbook, name, fault)
}

fn of_ranges<R: Reader<Cursor<Vec<u8>>>>(
    workbook: &mut R,
    name: Option<&str>,
    fault: impl Fn(R::Error) -> Fault,
) -> Result<Vec<(String, Vec<PlacedCell>)>, Fault> {
    let mut gathered = Gathered::default();
    let mut sheets = Vec::new();
    for sheet in names_of(workbook, name) {
        let range = workbook.worksheet_range(&sheet).map_err(&fault)?;
        let (top, left) = range.start().unwrap_or((0, 0));
        let mut cells = Vec::new();
        for (row, column, data) in range.used_cells() {
            if let Some(value) = of_data(data) {
                gathered.take(&mut cells, top as usize + row, left as usize + column, value)?;
            }
        }
        sheets.push((sheet, cells));
    }
    Ok(sheets)
}

fn of_data(data: &Data) -> Option<CellValue> {
    Some(match data {
        Data::Empty => return None,
        Data::Int(value) => CellValue::Number(*value as f64),
        Data::Float(value) => CellValue::Number(*value),
        Data::String(text) => CellValue::Text(text.clone()),
        Data::Bool(value) => CellValue::Text(if *value { "TRUE" } else { "FALSE" }.to_owned()),
        Data::DateTime(time) => CellValue::Date(iso(time)),
        Data::DateTimeIso(text) => CellValue::Date(text.strip_suffix("T00:00:00").unwrap_or(text).to_owned()),
        Data::DurationIso(text) => CellValue::Date(text.clone()),
        Data::Error(error) => CellValue::Text(error.to_string()),
    })
}

/// A date, a time of day, or both.
fn iso(time: &ExcelDateTime) -> String {
    if time.is_duration() {
        return number_text(time.as_f64() * 24.0, DecimalMark::Point) + " h";
    }
    let (year, month, day, hour, minute, second, _) = time.to_ymd_hms_milli();
    let date = format!("{year:04}-{month:02}-{day:02}");
    let of_day = format!("{hour:02}:{minute:02}:{second:02}");
    match (time.as_f64() < 1.0, of_day == "00:00:00") {
        (true, _) => of_day,
        (false, true) => date,
        (false, false) => format!("{date}T{of_day}"),
    }
}

/// The shortest text of a number at 15 significant digits, which is what spreadsheet programs show at most.
fn number_text(value: f64, decimal: DecimalMark) -> String {
    let rounded: f64 = format!("{value:.14e}").parse().unwrap_or(value);
    // Adding zero takes the sign from a negative zero.
    let text = (rounded + 0.0).to_string();
    if decimal == DecimalMark::Comma { text.replace('.', ",") } else { text }
}

impl WorkbookSheet {
    /// `None` if the rows would hold too many cells.
    fn of(mut cells: Vec<PlacedCell>) -> Option<Self> {
        cells.sort_by_key(|(row, column, _)| (*row, *column));
        let width = cells.iter().map(|(_, column, _)| column + 1).max().unwrap_or(0);
        let n_rows = cells.chunk_by(|a, b| a.0 == b.0).count();
        if n_rows.saturating_mul(width) > MOST_CELLS {
            return None;
        }
        let mut rows: Vec<(usize, Vec<Option<CellValue>>)> = Vec::with_capacity(n_rows);
        for (row, column, value) in cells {
            if rows.last().is_none_or(|(line, _)| *line != row + 1) {
                rows.push((row + 1, vec![None; width]));
            }
            if let Some((_, values)) = rows.last_mut() {
                values[column] = Some(value);
            }
        }
        Some(WorkbookSheet { rows })
    }

    /// The rows as text; number cells with the decimal mark.
    pub(super) fn records(&self, decimal: DecimalMark) -> Vec<Record> {
        self.as_records(|value| match value {
            CellValue::Text(text) | CellValue::Date(text) => trimmed(text).to_owned(),
            CellValue::Number(value) => number_text(*value, decimal),
        })
    }

    /// The rows with text cells only: what the decimal mark is told from.
    pub(super) fn text_records(&self) -> Vec<Record> {
        self.as_records(|value| match value {
            CellValue::Text(text) => trimmed(text).to_owned(),
            CellValue::Date(_) | CellValue::Number(_) => String::new(),
        })
    }

    fn as_records(&self, text: impl Fn(&CellValue) -> String) -> Vec<Record> {
        let cells = |values: &[Option<CellValue>]| {
            values.iter().map(|value| value.as_ref().map_or(String::new(), &text)).collect()
        };
        self.rows.iter().map(|(line, values)| Record { line: *line, cells: cells(values) }).collect()
    }

    /// Whether the cell of a row (from 1) and column (from 0) is a date.
    pub(super) fn is_date(&self, line: usize, column: usize) -> bool {
        let row = self.rows.binary_search_by_key(&line, |(line, _)| *line).ok().map(|index| &self.rows[index].1);
        row.and_then(|values| values.get(column)).is_some_and(|value| matches!(value, Some(CellValue::Date(_))))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use calamine::ExcelDateTimeType;

    #[test]
    fn numbers_print_without_noise() {
        let text = |value| number_text(value, DecimalMark::Point);
        assert_eq!(text(12.0), "12");
        assert_eq!(text(0.1 + 0.2), "0.3");
        assert_eq!(text(-93.504_807), "-93.504807");
        assert_eq!(text(-0.0), "0");
        assert_eq!(text(1e20), "100000000000000000000");
        assert_eq!(text(1.0 / 3.0), "0.333333333333333");
        assert_eq!(number_text(6.25, DecimalMark::Comma), "6,25");
    }

    #[test]
    fn dates_print_in_iso_8601() {
        let of = |value| iso(&ExcelDateTime::new(value, ExcelDateTimeType::DateTime, false));
        // 2025-10-13 12:00 is serial day 45943.5 of the 1900 date system.
        assert_eq!(of(45_943.5), "2025-10-13T12:00:00");
        assert_eq!(of(45_944.0), "2025-10-14");
        assert_eq!(of(0.25), "06:00:00");
        assert_eq!(iso(&ExcelDateTime::new(1.5, ExcelDateTimeType::TimeDelta, false)), "36 h");
    }

    #[test]
    fn a_far_cell_costs_no_memory() {
        let far = vec![(0, 0, CellValue::Number(1.0)), (1_048_575, 16_383, CellValue::Number(2.0))];
        assert_eq!(WorkbookSheet::of(far).expect("two rows").rows.len(), 2);
        let wide = (0..200).map(|row| (row, 16_383, CellValue::Number(1.0))).collect();
        assert!(WorkbookSheet::of(wide).is_none());
    }
}
