//! Whole sheets of every kind, found and read.

use super::*;

const XLSX: &[u8] = include_bytes!("../../fixtures/sheets/groups.xlsx");
const XLS: &[u8] = include_bytes!("../../fixtures/sheets/groups.xls");
const ODS: &[u8] = include_bytes!("../../fixtures/sheets/groups.ods");
const TWO_SHEETS: &[u8] = include_bytes!("../../fixtures/sheets/two_sheets.xlsx");
const PROTECTED: &[u8] = include_bytes!("../../fixtures/sheets/protected.xlsx");
const MODUS: &[u8] = include_bytes!("../../fixtures/sheets/two_depths.xml");

const KNOWN: &[&str] = &[
    "Sample ID",
    "pH",
    "K ppm",
    "P ppm",
    "OM %",
    "Mg ppm",
    "Calcium Desired ppm",
    "Calcium Found ppm",
    "Potassium ppm",
];

pub(super) fn is_known(header: &str) -> bool {
    KNOWN.contains(&header)
}

fn found(text: impl AsRef<[u8]>) -> Detected {
    let detected = detect("lab.csv", text.as_ref(), None, &is_known).expect("reads");
    let read = SampleTable::read("lab.csv", text.as_ref(), &detected.form).expect("reads in the form found");
    assert_eq!(read, detected.table);
    detected
}

fn rows(table: &SampleTable) -> Vec<(usize, String)> {
    table.rows.iter().map(|row| (row.line, row.cells.join("|"))).collect()
}

fn message(bytes: &[u8], name: Option<&str>) -> Diagnostic {
    let form = SheetForm { name: name.map(str::to_owned), ..SheetForm::plain() };
    let fault = SampleTable::read("lab.xlsx", bytes, &form).expect_err("is refused").remove(0);
    let of_detect = detect("lab.xlsx", bytes, name, &is_known).expect_err("is refused").remove(0);
    assert_eq!(fault.message, of_detect.message);
    fault
}

#[test]
fn a_tidy_sheet_is_plain_and_needs_no_reasons() {
    let detected = found("Sample ID,pH,K ppm\nA,6.1,100\nB,6.2,\n");
    assert_eq!(detected.form, SheetForm::plain());
    assert!(detected.reasons.is_empty() && detected.left_aside.is_empty());
}

#[test]
fn semicolons_and_decimal_commas() {
    let detected = found("Sample ID;pH;K ppm\nA;6,2;120\nB;6,0;130\n");
    assert_eq!((detected.form.separator, detected.form.decimal), (';', DecimalMark::Comma));
    assert_eq!(detected.table.rows[0].cells, ["A", "6,2", "120"]);
    assert_eq!(detected.reasons, ["cells are separated by semicolons", "numbers have a decimal comma"]);
    // Thousands say nothing about decimals.
    assert_eq!(found("Sample ID;pH;K ppm\nA;6;1,471\n").form.decimal, DecimalMark::Point);
}

#[test]
fn title_block_group_row_and_totals_are_left_aside() {
    let text = "Soil report,,,,\nField: North,,,,\n\nSample ID,Calcium,,Potassium,pH\n,Desired,Found,,\n,ppm,ppm,ppm,\n\
                A,1500,1300,120,6.1\nB,1500,1250,130,6.2\n\nAverage,1500,1275,125,6.15\n* invented\n";
    let detected = found(text);
    assert_eq!(detected.form.header, [4, 5, 6]);
    assert_eq!(detected.form.last, Some(8));
    assert_eq!(detected.table.header, ["Sample ID", "Calcium Desired ppm", "Calcium Found ppm", "Potassium ppm", "pH"]);
    assert_eq!(rows(&detected.table), [(7, "A|1500|1300|120|6.1".to_owned()), (8, "B|1500|1250|130|6.2".to_owned())]);
    let aside: Vec<usize> = detected.left_aside.iter().map(|(line, _)| *line).collect();
    assert_eq!(aside, [1, 2, 10, 11]);
    assert_eq!(detected.left_aside[1].1, "Field: North");
}

#[test]
fn an_average_in_between_is_told() {
    let detected = found("Sample ID,pH\nA,6.1\nMean,6.1\nB,6.2\n");
    assert_eq!(detected.table.rows.len(), 3);
    assert!(detected.reasons[0].starts_with("line 3 looks like an average"), "{:?}", detected.reasons);
}

#[test]
fn samples_in_columns_are_turned() {
    let text = "Soil report\n\nSample ID,,A,B,C,Average\npH,,6.1,6.2,6.0,6.1\nK,ppm,100,110,120,110\nOM,%,2,3,4,3\n* invented\n";
    let detected = found(text);
    assert_eq!(detected.form.samples_in, SamplesIn::Columns);
    assert_eq!((detected.form.header.clone(), detected.form.last), (vec![1, 2], Some(5)));
    assert_eq!(detected.table.header, ["Sample ID", "pH", "K ppm", "OM %"]);
    assert_eq!(rows(&detected.table)[2], (5, "C|6.0|120|4".to_owned()));
    assert_eq!(detected.table.place(5, &["K ppm"]).to_string(), "lab.csv, column 5 (E), line `K ppm`");
}

#[test]
fn workbooks_of_three_formats_read_alike() {
    let mut forms = Vec::new();
    for (name, bytes) in [("xlsx", XLSX), ("xls", XLS), ("ods", ODS)] {
        let detected = found(bytes);
        assert_eq!(
            detected.table.header,
            ["Sample ID", "Sampled", "pH", "Calcium Desired ppm", "Calcium Found ppm", "Potassium ppm"],
            "{name}"
        );
        assert_eq!(
            rows(&detected.table),
            [
                (7, "12|2025-10-14|6.2|1500|0.3|120".to_owned()),
                (8, "2025-06-29|2025-10-14|6|1500|1210.5|#N/A".to_owned()),
                (9, "A-3||6.4|TRUE|1180|".to_owned()),
            ],
            "{name}"
        );
        let caution = "column `Sample ID` holds 1 date, the first on line 8 (`2025-06-29`)";
        assert!(detected.reasons.iter().any(|reason| reason.starts_with(caution)), "{name}: {:?}", detected.reasons);
        assert_eq!(detected.left_aside.len(), 4, "{name}");
        forms.push(detected.form);
    }
    assert_eq!(forms[0], forms[1]);
    assert_eq!(forms[0], forms[2]);
    assert_eq!(forms[0].header, [4, 5, 6]);
}

#[test]
fn a_workbook_with_a_decimal_comma_prints_all_numbers_so() {
    let form = SheetForm { header: vec![4, 5, 6], last: Some(9), decimal: DecimalMark::Comma, ..SheetForm::plain() };
    let table = SampleTable::read("lab.xlsx", XLSX, &form).expect("reads");
    assert_eq!(table.rows[1].cells[4], "1210,5");
}

#[test]
fn of_several_sheets_one_must_be_named() {
    let fault = message(TWO_SHEETS, None);
    assert_eq!(fault.code, &WHICH_SHEET);
    assert_eq!(fault.message, "`lab.xlsx` has 2 sheets that hold cells");
    assert!(fault.help.expect("has help").ends_with("`North`, `South`"));
    assert_eq!(message(TWO_SHEETS, Some("West")).message, "no sheet `West` that holds cells in `lab.xlsx`");
    for (name, ph) in [("South", "5.5"), ("Old", "7")] {
        let detected = detect("lab.xlsx", TWO_SHEETS, Some(name), &is_known).expect("reads, hidden or not");
        assert_eq!(detected.form.name.as_deref(), Some(name));
        assert_eq!(detected.table.rows[0].cells[1], ph);
    }
}

#[test]
fn what_is_no_readable_workbook_is_an_error() {
    assert_eq!(message(PROTECTED, None).message, "the workbook is protected by a password");
    for (bytes, n_cut) in [(XLSX, 30), (XLS, 600), (ODS, 30)] {
        for n in [20, 600, bytes.len() / 2, bytes.len() - n_cut] {
            assert!(SampleTable::read("lab", &bytes[..n], &SheetForm::plain()).is_err(), "{n} bytes");
        }
    }
    assert!(message(b"%PDF-1.4", None).message.contains("PDF"));
}

#[test]
fn modus_needs_no_form() {
    let detected = found(MODUS);
    assert_eq!(detected.form, SheetForm::plain());
    assert_eq!(detected.table.rows.len(), 3);
    // Its own encoding counts, not that of the form.
    let form = SheetForm { encoding: TextEncoding::Windows1252, separator: ';', ..SheetForm::plain() };
    assert_eq!(SampleTable::read("lab.csv", MODUS, &form).expect("reads"), detected.table);
}
