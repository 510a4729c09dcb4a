//! Finds the form of an untidy sheet, with reasons.

use super::assemble::{self, as_text, turned};
use super::form::{DecimalMark, SamplesIn, SheetForm};
use super::header_search::{FoundHeader, KnownHeaders, find, is_number_like};
use super::records::{Record, Records};
use super::table::SampleTable;
use super::workbook::WorkbookSheet;
use super::{FileKind, modus, sample_end, text, workbook};
use crate::diagnostic::Diagnostic;

/// Characters that may separate cells, in the order in which they are preferred.
const SEPARATORS: [char; 4] = [',', ';', '\t', '|'];
/// Records of a text by which its separator is found.
const LOOKED_AT: usize = 300;
/// A sheet with more lines is not looked at for samples in columns: no lab prints so many results of one sample.
const MOST_LINES_OF_COLUMNS: usize = 400;
/// Columns in which header texts that run down are looked for, from the left.
const LEFT_COLUMNS: usize = 4;
/// Columns from the left in which a date is likely an id that was turned into one.
const ID_COLUMNS: usize = 3;

/// What was found out about an untidy sheet.
#[derive(Debug, Clone)]
pub struct Detected {
    /// The form; reading with it gives `table`.
    pub form: SheetForm,
    /// Why it departs from the plain form, and what a person should look at. One sentence each, lower case, no full
    /// stop.
    pub reasons: Vec<String>,
    /// The sheet read so.
    pub table: SampleTable,
    /// Lines above the header and below the last sample, as text.
    pub left_aside: Vec<(usize, String)>,
}

/// Finds the form of a sheet and reads it.
///
/// `is_known_header` says whether the program understands a header text, already joined from its rows; the header is
/// looked for where most texts are understood. `sheet_name` names the sheet of a workbook that has several; other files
/// have none.
///
/// # Errors
/// As [`SampleTable::read`] with the form found.
pub fn detect(
    file: &str,
    bytes: &[u8],
    sheet_name: Option<&str>,
    is_known_header: &dyn Fn(&str) -> bool,
) -> Result<Detected, Vec<Diagnostic>> {
    let known = KnownHeaders::new(is_known_header);
    let form = SheetForm::plain();
    match FileKind::of(file, bytes)? {
        FileKind::Xml => {
            let table = modus::read(file, bytes)?;
            let reasons = vec!["the file is MODUS XML, which states its own headers and units".to_owned()];
            Ok(Detected { form, reasons, table, left_aside: Vec::new() })
        }
        FileKind::Text => {
            let (encoding, why) = text::guessed_encoding(bytes);
            let letters = text::decoded(file, bytes, encoding)?;
            let separator = best_separator(&letters, &known);
            let mut reasons: Vec<String> = why.into_iter().collect();
            if separator != ',' {
                reasons.push(format!("cells are separated by {}", separator_name(separator)));
            }
            let records = text::separated(file, &letters, separator)?;
            let form = SheetForm { encoding, separator, ..form };
            found_in(file, records, form, reasons, &known, |records| decimal_mark(records, separator))
        }
        FileKind::Workbook => {
            let sheet = workbook::read(file, bytes, sheet_name)?;
            let decimal = decimal_mark(&sheet.text_records(), ';');
            let records = sheet.records(decimal);
            let form = SheetForm { name: sheet_name.map(str::to_owned), ..form };
            let mut found = found_in(file, records, form, Vec::new(), &known, |_| decimal)?;
            found.reasons.extend(dates_among_ids(&sheet, &found.table));
            Ok(found)
        }
    }
}

/// Header, samples and decimal mark of the records; reads the table.
fn found_in(
    file: &str,
    records: Vec<Record>,
    mut form: SheetForm,
    mut reasons: Vec<String>,
    known: &KnownHeaders<'_>,
    decimal_of: impl Fn(&[Record]) -> DecimalMark,
) -> Result<Detected, Vec<Diagnostic>> {
    let (header, samples_in) = header_and_direction(&records, known);
    form.samples_in = samples_in;
    let mut left_aside = Vec::new();
    let of_columns;
    let in_order: &[Record] = match samples_in {
        SamplesIn::Rows => &records,
        SamplesIn::Columns => {
            let header_columns = columns_of(&records, &header);
            reasons.push(format!("header texts run down the left: each sample is a column, {}", known_words(&header)));
            (of_columns, left_aside) = turned(file, &records, &header_columns)?;
            form.header = header_columns;
            &of_columns
        }
    };
    let word = if samples_in == SamplesIn::Rows { "line" } else { "column" };
    let first = in_order.iter().position(|record| form.header.first() == Some(&record.line)).unwrap_or(header.first);
    let end = (first + header.n_rows).min(in_order.len());
    let header_lines: Vec<usize> = in_order[first.min(end)..end].iter().map(|record| record.line).collect();
    if samples_in == SamplesIn::Rows && (first > 0 || header.n_rows > 1) {
        reasons.push(match header_lines[..] {
            [line] => format!("the header is line {line}, {}", known_words(&header)),
            _ => format!("the header is joined from lines {}, {}", listed(&header_lines), known_words(&header)),
        });
        form.header = header_lines;
    }
    left_aside.extend(in_order[..first.min(end)].iter().map(|record| (record.line, as_text(record))));
    let below = &in_order[end..];
    let width = in_order[first.min(end)..end].iter().map(Record::used_width).max().unwrap_or(0);
    let n_trailing = sample_end::n_trailing(below, width);
    let (samples, trailing) = below.split_at(below.len() - n_trailing);
    if let (Some(last), Some(next)) = (samples.last(), trailing.first()) {
        form.last = Some(last.line);
        let text: String = as_text(next).chars().take(40).collect();
        reasons.push(format!("{word} {} is the last with a sample; `{text}` below it is none", last.line));
        left_aside.extend(trailing.iter().map(|record| (record.line, as_text(record))));
    }
    for record in samples.iter().filter(|record| sample_end::is_summary(record)) {
        let text: String = as_text(record).chars().take(40).collect();
        reasons.push(format!("{word} {} looks like an average or total among the samples: `{text}`", record.line));
    }
    form.decimal = decimal_of(samples);
    if form.decimal == DecimalMark::Comma {
        reasons.push("numbers have a decimal comma".to_owned());
    }
    left_aside.sort();
    let table = assemble::table(file, records, &form)?;
    Ok(Detected { form, reasons, table, left_aside })
}

/// Where the header is, and whether samples are rows or columns.
fn header_and_direction(records: &[Record], known: &KnownHeaders<'_>) -> (FoundHeader, SamplesIn) {
    let none = FoundHeader { first: 0, n_rows: 1, n_known: 0 };
    let in_rows = find(records, known).unwrap_or(none);
    if records.len() <= MOST_LINES_OF_COLUMNS {
        let in_columns = find(&left_columns(records), known).unwrap_or(none);
        let beyond = columns_of(records, &in_columns).into_iter().max().unwrap_or(0);
        let has_samples = records.iter().any(|record| record.used_width() > beyond);
        if in_columns.n_known >= 2 && in_columns.n_known > in_rows.n_known && has_samples {
            return (in_columns, SamplesIn::Columns);
        }
    }
    (in_rows, SamplesIn::Rows)
}

/// The left columns that hold anything, as records.
fn left_columns(records: &[Record]) -> Vec<Record> {
    let cell = |record: &Record, column: usize| record.cells.get(column).cloned().unwrap_or_default();
    let columns = (0..LEFT_COLUMNS)
        .map(|column| Record { line: column + 1, cells: records.iter().map(|record| cell(record, column)).collect() });
    columns.filter(|record| !record.is_blank()).collect()
}

/// Column numbers of a header found among [`left_columns`].
fn columns_of(records: &[Record], header: &FoundHeader) -> Vec<usize> {
    left_columns(records).iter().skip(header.first).take(header.n_rows).map(|record| record.line).collect()
}

fn known_words(header: &FoundHeader) -> String {
    match header.n_known {
        1 => "where 1 text is a known header".to_owned(),
        n => format!("where {n} texts are known headers"),
    }
}

fn listed(lines: &[usize]) -> String {
    lines.iter().map(usize::to_string).collect::<Vec<_>>().join(", ")
}

fn separator_name(separator: char) -> &'static str {
    match separator {
        ';' => "semicolons",
        '\t' => "tabs",
        '|' => "`|`",
        _ => "commas",
    }
}

/// The separator under which most headers are known; among equals the one that makes most cells in rows of one width.
fn best_separator(letters: &str, known: &KnownHeaders<'_>) -> char {
    let mut best = (SEPARATORS[0], (0, 0));
    for separator in SEPARATORS {
        let reader = Records::new(letters, separator as u8);
        let records: Vec<Record> = reader.filter(|record| !record.is_blank()).take(LOOKED_AT).collect();
        let merit = (header_and_direction(&records, known).0.n_known, cells_of_one_width(&records));
        if merit > best.1 {
            best = (separator, merit);
        }
    }
    best.0
}

/// Cells in the rows of the commonest width; 0 if that is one cell.
fn cells_of_one_width(records: &[Record]) -> usize {
    let mut widths: Vec<usize> = records.iter().map(|record| record.cells.len()).collect();
    widths.sort_unstable();
    let runs = widths.chunk_by(|a, b| a == b).map(|run| (run.len(), run[0]));
    runs.max().filter(|(_, width)| *width > 1).map_or(0, |(n, width)| n * width)
}

/// A comma if more cells read as numbers with a decimal comma than with a point. `1,471` may be thousands: not counted.
fn decimal_mark(records: &[Record], separator: char) -> DecimalMark {
    let (mut n_comma, mut n_point) = (0_usize, 0_usize);
    for cell in records.iter().flat_map(|record| &record.cells).filter(|cell| is_number_like(cell)) {
        match (cell.split_once(','), cell.split_once('.')) {
            (Some((_, decimals)), None) if !decimals.contains(',') => n_comma += usize::from(decimals.len() != 3),
            (None, Some((_, decimals))) if !decimals.contains('.') => n_point += 1,
            _ => (),
        }
    }
    // Between commas a quoted `1,47` could still be a slip: a file with commas has decimal points unless most cells say
    // so.
    let n_needed = if separator == ',' { 2 * n_point + 1 } else { n_point + 1 };
    if n_comma >= n_needed { DecimalMark::Comma } else { DecimalMark::Point }
}

/// A word of caution for dates where names of samples stand.
fn dates_among_ids(sheet: &WorkbookSheet, table: &SampleTable) -> Vec<String> {
    if table.samples_in == SamplesIn::Columns {
        return Vec::new();
    }
    let mut found = Vec::new();
    for (column, header) in table.header.iter().enumerate().take(ID_COLUMNS) {
        let lower = header.to_lowercase();
        if ["date", "datum", "sampled"].iter().any(|word| lower.contains(word)) {
            continue;
        }
        let is_date = |row: &&super::Row| sheet.is_date(row.line, column);
        let n = table.rows.iter().filter(is_date).count();
        // A column of nothing but dates is the day of sampling, whatever its header says.
        let n_filled = table.rows.iter().filter(|row| !row.cells[column].is_empty()).count();
        if let Some(row) = table.rows.iter().find(is_date).filter(|_| n < n_filled) {
            found.push(format!(
                "column `{header}` holds {n} date{}, the first on line {} (`{}`): spreadsheet programs turn ids such as \
                 `6/29` into dates, so compare them with the samples' own labels",
                if n == 1 { "" } else { "s" },
                row.line,
                row.cells[column],
            ));
        }
    }
    found
}
