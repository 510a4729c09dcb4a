//! Workbooks, found and read.
#![no_main]

include!("sheet_modules.rs");

use std::io::{Cursor, Write};
use std::sync::Once;

static HOOK: Once = Once::new();

/// A panic of our own ends the run; one inside the reader of workbooks is caught by `sheet`, as it is in the program.
fn let_caught_panics_pass() {
    let stop = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |info| {
        let is_ours = info.location().is_none_or(|place| !place.file().contains("calamine"));
        let is_counted = std::env::var_os("STOP_AT_CAUGHT_PANICS").is_some();
        if is_ours || is_counted {
            stop(info);
        }
    }));
}

/// An archive of these parts, not packed: changed bytes reach the reader instead of failing a check sum.
fn zipped(parts: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let stored = zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for (name, bytes) in parts {
        writer.start_file(*name, stored).expect("starts");
        writer.write_all(bytes).expect("writes");
    }
    writer.finish().expect("is whole").into_inner()
}

/// The least workbooks around a sheet.
fn around(sheet: &[u8]) -> [Vec<u8>; 2] {
    let xlsx: [(&str, &[u8]); 4] = [
        ("[Content_Types].xml", b"<Types/>"),
        ("xl/workbook.xml", b"<workbook><sheets><sheet name=\"A\" sheetId=\"1\" r:id=\"r1\"/></sheets></workbook>"),
        (
            "xl/_rels/workbook.xml.rels",
            b"<Relationships><Relationship Id=\"r1\" Target=\"worksheets/sheet1.xml\"/></Relationships>",
        ),
        ("xl/worksheets/sheet1.xml", sheet),
    ];
    let ods: [(&str, &[u8]); 3] = [
        ("mimetype", b"application/vnd.oasis.opendocument.spreadsheet"),
        ("META-INF/manifest.xml", b"<manifest:manifest/>"),
        ("content.xml", sheet),
    ];
    [zipped(&xlsx), zipped(&ods)]
}

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    HOOK.call_once(let_caught_panics_pass);
    if bytes.starts_with(b"<") {
        around(bytes).iter().for_each(|workbook| find(workbook));
    }
    if bytes.starts_with(b"PK") || bytes.starts_with(b"\xd0\xcf") {
        find(bytes);
    }
});
