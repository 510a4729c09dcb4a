//! Records to a table: header rows joined, samples under them.

use std::collections::{BTreeMap, BTreeSet};

use super::form::{SamplesIn, SheetForm};
use super::records::Record;
use super::table::{Row, SampleTable, UNREADABLE_SHEET};
use super::{MOST_CELLS, too_large, unreadable};
use crate::diagnostic::{Diagnostic, Place};

/// Lines that hold no sample, as text.
pub(super) type LeftAside = Vec<(usize, String)>;

/// The table of the records, as the form says.
///
/// # Errors
/// All rows whose length differs from the header's; a header line that is blank; no samples.
pub(super) fn table(file: &str, records: Vec<Record>, form: &SheetForm) -> Result<SampleTable, Vec<Diagnostic>> {
    match form.samples_in {
        SamplesIn::Rows => of_rows(file, records, form),
        SamplesIn::Columns => of_rows(file, turned(file, &records, &form.header)?.0, form),
    }
}

/// Records with rows and columns exchanged, and the lines above and below the samples that hold a header text only: a
/// title block, footnotes. A record's `line` then is the number of the column.
///
/// # Errors
/// Lines shorter than the others; too many cells.
pub(super) fn turned(
    file: &str,
    records: &[Record],
    header_columns: &[usize],
) -> Result<(Vec<Record>, LeftAside), Vec<Diagnostic>> {
    let first_used = records.iter().filter_map(|r| r.cells.iter().position(|cell| !cell.is_empty())).min();
    let n_header = header_columns.iter().copied().max().unwrap_or(first_used.map_or(1, |first| first + 1));
    let has_values = |record: &&Record| record.used_width() > n_header;
    let first = records.iter().find(has_values).map_or(usize::MAX, |record| record.line);
    let last = records.iter().rev().find(has_values).map_or(0, |record| record.line);
    let is_kept = |record: &&Record| (first..=last).contains(&record.line);
    let kept: Vec<&Record> = records.iter().filter(is_kept).collect();
    let aside = records.iter().filter(|r| !is_kept(r)).map(|r| (r.line, as_text(r))).collect();
    let width = kept.iter().map(|record| record.used_width()).max().unwrap_or(0);
    if width.saturating_mul(kept.len()) > MOST_CELLS {
        return Err(too_large(file));
    }
    let faults: Vec<Diagnostic> = kept
        .iter()
        .filter(|record| has_values(record) && record.cells.len() < width)
        .map(|record| {
            let message = format!("{} cells, but the longest line has {width}", record.cells.len());
            length_fault(file, record.line, message)
        })
        .collect();
    if !faults.is_empty() {
        return Err(faults);
    }
    let cell = |record: &Record, column: usize| record.cells.get(column).cloned().unwrap_or_default();
    let columns = (0..width)
        .map(|column| Record { line: column + 1, cells: kept.iter().map(|record| cell(record, column)).collect() })
        .filter(|record| !record.is_blank())
        .collect();
    Ok((columns, aside))
}

/// Cells that hold anything, side by side.
pub(super) fn as_text(record: &Record) -> String {
    record.cells.iter().filter(|cell| !cell.is_empty()).map(String::as_str).collect::<Vec<_>>().join(" ")
}

fn length_fault(file: &str, line: usize, message: String) -> Diagnostic {
    Diagnostic::error(&UNREADABLE_SHEET, message)
        .at(Place::Row { file: file.to_owned(), line, columns: Vec::new() })
        .with_help("a comma inside a cell needs quotes round the cell; a blank cell keeps its comma")
}

fn of_rows(file: &str, records: Vec<Record>, form: &SheetForm) -> Result<SampleTable, Vec<Diagnostic>> {
    let what = if form.samples_in == SamplesIn::Rows { "line" } else { "column" };
    let mut header_lines = form.header.clone();
    header_lines.sort_unstable();
    header_lines.dedup();
    if header_lines.is_empty() {
        header_lines.extend(records.first().map(|record| record.line));
    }
    let mut header_rows: Vec<&[String]> = Vec::new();
    let mut faults = Vec::new();
    for line in &header_lines {
        match records.binary_search_by_key(line, |record| record.line) {
            Ok(index) => header_rows.push(&records[index].cells),
            Err(_) => faults.extend(unreadable(
                file,
                format!("{what} {line} is named as header, but it is blank or not there"),
                "count from 1, blank ones too; a cell that breaks over two lines starts on its first",
            )),
        }
    }
    let header = joined_header(&header_rows);
    let raw_width = header.len();
    let below_header = header_lines.last().copied().unwrap_or(0);
    let last = form.last.unwrap_or(usize::MAX);
    let is_sample = |record: &&Record| record.line > below_header && record.line <= last;
    let is_within = |record: &&Record| is_sample(record) && record.used_width() <= raw_width;
    let widest = records.iter().filter(is_within).map(Record::used_width).max();
    let named = header.iter().rposition(|name| !name.is_empty()).map_or(0, |at| at + 1);
    // Blank columns right of all headers and cells are left by spreadsheets.
    let width = named.max(widest.unwrap_or(0));
    let mut rows = Vec::with_capacity(records.len());
    for Record { line, mut cells } in records.into_iter().filter(|record| is_sample(&record)) {
        let is_longer = cells.iter().skip(width).any(|cell| !cell.is_empty());
        if cells.len() < width || is_longer {
            let message = format!("{} cells, but the header has {raw_width}", cells.len());
            faults.push(match form.samples_in {
                SamplesIn::Rows => length_fault(file, line, message),
                SamplesIn::Columns => length_fault(file, line, message).at(Place::Column {
                    file: file.to_owned(),
                    column: line,
                    lines: Vec::new(),
                }),
            });
            continue;
        }
        cells.truncate(width);
        rows.push(Row { line, cells });
    }
    if faults.is_empty() && rows.is_empty() {
        let side = if form.samples_in == SamplesIn::Rows { "rows below" } else { "columns right of" };
        faults.extend(unreadable(file, format!("no {side} the header"), "name the lab's sheet with one row a sample"));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let header = unlike_names(header.into_iter().take(width).collect());
    Ok(SampleTable { file: file.to_owned(), header, rows, samples_in: form.samples_in })
}

/// The header of several rows: the texts of each column from top to bottom with a space between.
///
/// A text above spans the blank cells to its right if a text stands below it (`Calcium,,` over `Found,Desired`), so far
/// as texts stand below them and no text above starts another group; a text with nothing below it has its own column
/// only.
pub(super) fn joined_header(rows: &[&[String]]) -> Vec<String> {
    let width = rows.iter().map(|row| row.len()).max().unwrap_or(0);
    let cell = |row: usize, column: usize| rows[row].get(column).map_or("", String::as_str);
    let has_text_below = |row: usize, column: usize| (row + 1..rows.len()).any(|lower| !cell(lower, column).is_empty());
    let mut names: Vec<Vec<String>> = vec![Vec::new(); width];
    for row in 0..rows.len() {
        let mut spanning = "";
        for (column, name) in names.iter_mut().enumerate() {
            let own = cell(row, column);
            let spans = has_text_below(row, column);
            if !own.is_empty() {
                spanning = if spans { own } else { "" };
            } else if (0..row).any(|upper| !cell(upper, column).is_empty()) {
                spanning = "";
            }
            let text = if own.is_empty() && spans { spanning } else { own };
            if !text.is_empty() {
                name.push(one_line(text));
            }
        }
    }
    names.into_iter().map(|name| name.join(" ")).collect()
}

/// A header on one line: line breaks, tabs and blanks that do not break lines become one plain blank.
fn one_line(text: &str) -> String {
    if !text.contains(['\n', '\r', '\t', '\u{a0}']) {
        return text.to_owned();
    }
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Headers that can each be named: a blank one becomes `column 7`, one that stands twice `K ppm #1` and `K ppm #2`.
pub(super) fn unlike_names(mut names: Vec<String>) -> Vec<String> {
    for (index, name) in names.iter_mut().enumerate() {
        if name.is_empty() {
            *name = format!("column {}", index + 1);
        }
    }
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for name in &names {
        *counts.entry(name).or_default() += 1;
    }
    if counts.len() == names.len() {
        return names;
    }
    let mut taken: BTreeSet<String> =
        counts.iter().filter(|(_, n)| **n == 1).map(|(name, _)| (*name).to_owned()).collect();
    let mut next: BTreeMap<&str, usize> = BTreeMap::new();
    let mut unlike = Vec::with_capacity(names.len());
    for name in &names {
        if counts[name.as_str()] == 1 {
            unlike.push(name.clone());
            continue;
        }
        let number = next.entry(name).or_insert(1);
        loop {
            let numbered = format!("{name} #{number}");
            *number += 1;
            if taken.insert(numbered.clone()) {
                unlike.push(numbered);
                break;
            }
        }
    }
    unlike
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(line: &str) -> Vec<String> {
        line.split(',').map(str::to_owned).collect()
    }

    fn joined(lines: &[&str]) -> Vec<String> {
        let rows: Vec<Vec<String>> = lines.iter().map(|line| texts(line)).collect();
        joined_header(&rows.iter().map(Vec::as_slice).collect::<Vec<_>>())
    }

    fn read(text: &str, form: &SheetForm) -> Result<SampleTable, Vec<Diagnostic>> {
        SampleTable::read("lab.csv", text.as_bytes(), form)
    }

    #[test]
    fn group_column_and_unit_rows_join() {
        assert_eq!(
            joined(&["ID,pH,Calcium,,,Magnesium,,", ",,Desired,Found,Deficit,Desired,Found,"]),
            [
                "ID",
                "pH",
                "Calcium Desired",
                "Calcium Found",
                "Calcium Deficit",
                "Magnesium Desired",
                "Magnesium Found",
                ""
            ]
        );
        assert_eq!(joined(&["ID,pH,K,CEC", ",,ppm,meq/100g"]), ["ID", "pH", "K ppm", "CEC meq/100g"]);
        assert_eq!(joined(&[",Cations,,", "ID,K,Ca,", ",ppm,ppm,"]), ["ID", "Cations K ppm", "Cations Ca ppm", ""]);
        // `ID` has nothing below it, so it spans nothing.
        assert_eq!(joined(&["ID,,Calcium,", ",pH,Found,Wanted"]), ["ID", "pH", "Calcium Found", "Calcium Wanted"]);
        assert_eq!(
            joined(&["Calcium,,K", "Found,Wanted,", "ppm,ppm,ppm"]),
            ["Calcium Found ppm", "Calcium Wanted ppm", "K ppm"]
        );
        assert_eq!(joined(&["K\r\nppm,Mg\u{a0}ppm"]), ["K ppm", "Mg ppm"]);
        assert!(joined(&[]).is_empty());
    }

    #[test]
    fn every_header_can_be_named() {
        assert_eq!(unlike_names(texts("ID,K,,K,")), ["ID", "K #1", "column 3", "K #2", "column 5"]);
        assert_eq!(unlike_names(texts("K,K #1,K")), ["K #2", "K #1", "K #3"]);
        assert_eq!(unlike_names(texts(",column 1")), ["column 1 #1", "column 1 #2"]);
    }

    #[test]
    fn a_header_printed_twice_is_offered_with_numbers() {
        let table = read("ID,K,K\nA,1,2\n", &SheetForm::plain()).expect("reads");
        assert_eq!(table.column("K #2", Place::Zone(1)).expect("is there"), 2);
        let fault = table.column("K", Place::Zone(1)).expect_err("stands twice");
        assert_eq!(fault.message, "column `K` stands more than once in `lab.csv`");
        assert_eq!(fault.help.expect("has help"), "name one of them, counted from the left: `K #1`, `K #2`");
        assert!(table.column("Mg", Place::Zone(1)).expect_err("is not there").message.starts_with("no column `Mg`"));
    }

    #[test]
    fn only_the_stated_lines_are_read() {
        let text = "Report 5\nof today,x,y,z,w\n\nID,pH\nA,6.1\n\nB,6.2\nMean,6.15,,,\nNote: a, b, c, d\n";
        let form = SheetForm { header: vec![4], last: Some(7), ..SheetForm::plain() };
        let table = read(text, &form).expect("reads");
        assert_eq!(table.header, ["ID", "pH"]);
        assert_eq!(table.rows.iter().map(|row| row.line).collect::<Vec<_>>(), [5, 7]);
        let form = SheetForm { header: vec![3], ..form };
        assert!(read(text, &form).expect_err("line 3 is blank")[0].message.contains("line 3 is named as header"));
    }

    #[test]
    fn rows_of_another_length_are_faults_blank_ends_are_not() {
        let read = |text: &str| read(text, &SheetForm::plain());
        let places = |text: &str| -> Vec<String> {
            let faults = read(text).expect_err("has faults");
            faults.iter().map(|f| f.place.clone().expect("has a place").to_string()).collect()
        };
        assert_eq!(places("ID,pH,K\nA,6.1\nB,6,1,2\nC,6,1\n"), ["lab.csv:2", "lab.csv:3"]);
        assert_eq!(read("ID,pH\nA,6.1,,\n").expect("reads").rows[0].cells, ["A", "6.1"]);
        assert_eq!(read("ID,pH,,\nA,6.1\nB,6.2,,\n").expect("reads").header, ["ID", "pH"]);
        assert_eq!(read("ID,pH,,\nA,6.1,x,\n").expect("reads").header, ["ID", "pH", "column 3"]);
        assert_eq!(read("").expect_err("is empty")[0].message, "no rows below the header");
        assert_eq!(read("ID,pH\n\n").expect_err("is empty")[0].message, "no rows below the header");
    }

    #[test]
    fn samples_in_columns_keep_their_column_numbers() {
        let text = "Soil report\n\nID,,A,B,,Mean\npH,,6.1,6.2,,6.15\nK,ppm,100,110,,105\nSalts,,,,,\nCEC,meq,9,8,,8.5\n* none\n";
        let form =
            SheetForm { header: vec![1, 2], last: Some(4), samples_in: SamplesIn::Columns, ..SheetForm::plain() };
        let table = read(text, &form).expect("reads");
        assert_eq!(table.header, ["ID", "pH", "K ppm", "Salts", "CEC meq"]);
        let rows: Vec<(usize, &str)> = table.rows.iter().map(|row| (row.line, row.cells[2].as_str())).collect();
        assert_eq!(rows, [(3, "100"), (4, "110")]);
        assert_eq!(table.place(3, &["K ppm"]).to_string(), "lab.csv, column 3 (C), line `K ppm`");
        let short = read("ID,A,B\npH,6.1\nK,1,2\n", &SheetForm { header: vec![1], last: None, ..form });
        assert_eq!(short.expect_err("pH is short")[0].message, "2 cells, but the longest line has 3");
    }
}
