// The modules under test, included from the program's own sources: GDAL and PROJ need not be built for them.

#[allow(dead_code)]
#[path = "../../../src/diagnostic.rs"]
mod diagnostic;
#[allow(dead_code, unreachable_pub, unused_imports)]
#[path = "../../../src/sheet/mod.rs"]
mod sheet;

use sheet::{DecimalMark, SampleTable, SamplesIn, SheetForm, TextEncoding, detect};

/// Header texts that are taken as known.
#[allow(dead_code)]
fn is_known(header: &str) -> bool {
    ["Sample ID", "pH", "K ppm", "P ppm", "OM %", "Mg ppm", "Calcium Found ppm", "SampleNumber"].contains(&header)
}

/// Reads with a form, and holds what the table promises.
#[allow(dead_code)]
fn read(bytes: &[u8], form: &SheetForm) {
    if let Ok(table) = SampleTable::read("lab", bytes, form) {
        hold_promises(&table);
    }
}

/// Finds the form and reads with it: one table, whichever way.
#[allow(dead_code)]
fn find(bytes: &[u8]) {
    if let Ok(detected) = detect("lab", bytes, None, &is_known) {
        hold_promises(&detected.table);
        let again = SampleTable::read("lab", bytes, &detected.form).expect("reads in the form found");
        assert_eq!(again, detected.table);
    }
}

fn hold_promises(table: &SampleTable) {
    let mut names = table.header.clone();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), table.header.len(), "two headers of one name");
    assert!(!table.rows.is_empty());
    for row in &table.rows {
        assert!(row.line > 0);
        assert_eq!(row.cells.len(), table.header.len());
    }
}

/// A form drawn from the first bytes, and the rest.
#[allow(dead_code)]
fn drawn(bytes: &[u8]) -> (SheetForm, &[u8]) {
    let (choice, rest) = bytes.split_at(bytes.len().min(4));
    let at = |n: usize| choice.get(n).copied().map_or(0, usize::from);
    let form = SheetForm {
        name: None,
        encoding: [TextEncoding::Utf8, TextEncoding::Windows1252, TextEncoding::Utf16][at(0) % 3],
        separator: [',', ';', '\t', '|'][at(0) / 3 % 4],
        decimal: if at(0) > 127 { DecimalMark::Comma } else { DecimalMark::Point },
        header: [&[][..], &[1], &[1, 2], &[3, 2]][at(1) % 4].to_vec(),
        last: (at(2) > 0).then_some(at(2)),
        samples_in: if at(3) % 2 == 0 { SamplesIn::Rows } else { SamplesIn::Columns },
    };
    (form, rest)
}
