//! Looks through a zipped workbook before it is read: what kind it is, and that unpacked it fits in memory.

use std::io::{BufReader, Cursor, Read};

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use super::MOST_CELLS;

/// Most bytes of all parts unpacked; a sheet of 2 million cells has some 100 MB.
const MOST_BYTES: u64 = 256 << 20;
/// Most files in the archive.
const MOST_FILES: usize = 10_000;

/// Kinds of zipped workbooks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ZippedKind {
    /// Office Open XML.
    Xlsx,
    /// OpenDocument.
    Ods,
}

/// Why an archive is not handed on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum ZipFault {
    /// The archive does not hold together: what the reader says.
    Damaged(String),
    /// No workbook, or one of a kind that is not read: its words.
    Other(&'static str),
    /// Too much of it.
    TooLarge,
}

type Archive<'a> = zip::ZipArchive<Cursor<&'a [u8]>>;

/// Unpacks every part once, keeping nothing, and bounds the repeats of an OpenDocument sheet.
///
/// # Errors
/// What is wrong with it.
pub(super) fn look_through(bytes: &[u8]) -> Result<ZippedKind, ZipFault> {
    look_through_within(bytes, MOST_BYTES)
}

fn look_through_within(bytes: &[u8], most_bytes: u64) -> Result<ZippedKind, ZipFault> {
    let damaged = |error: &dyn std::fmt::Display| ZipFault::Damaged(error.to_string());
    let mut archive = Archive::new(Cursor::new(bytes)).map_err(|error| damaged(&error))?;
    if archive.len() > MOST_FILES {
        return Err(ZipFault::TooLarge);
    }
    let has = |name: &str| archive.index_for_name(name).is_some();
    let kind = if has("content.xml") {
        ZippedKind::Ods
    } else if has("xl/workbook.bin") {
        return Err(ZipFault::Other("a binary workbook (.xlsb), which is not read"));
    } else if has("xl/workbook.xml") || has("[Content_Types].xml") {
        ZippedKind::Xlsx
    } else {
        return Err(ZipFault::Other("a zip archive without a workbook in it"));
    };
    let mut n_left = most_bytes;
    for index in 0..archive.len() {
        let part = archive.by_index(index).map_err(|error| damaged(&error))?;
        let name = part.name().map_err(|error| damaged(&error))?.to_lowercase();
        let mut part = part.take(n_left);
        let nesting = if name.ends_with(".xml") || name.ends_with(".rels") {
            check_nesting(&mut part)
        } else {
            std::io::copy(&mut part, &mut std::io::sink()).map(|_| ()).map_err(|error| damaged(&error))
        };
        n_left = part.limit();
        if n_left == 0 {
            return Err(ZipFault::TooLarge);
        }
        nesting?;
    }
    if kind == ZippedKind::Ods {
        bound_repeats(&mut archive)?;
    }
    Ok(kind)
}

/// Every element of a part is closed. The reader of workbooks waits for some ends without looking for the end of the
/// file.
fn check_nesting(part: &mut impl Read) -> Result<(), ZipFault> {
    let damaged = |what: &str| Err(ZipFault::Damaged(what.to_owned()));
    let mut reader = Reader::from_reader(BufReader::new(part));
    let mut buffer = Vec::new();
    let mut depth = 0_usize;
    loop {
        match reader.read_event_into(&mut buffer) {
            Ok(Event::Start(_)) => depth += 1,
            // The reader checks that ends match their starts.
            Ok(Event::End(_)) => depth = depth.saturating_sub(1),
            Ok(Event::Eof) if depth == 0 => return Ok(()),
            Ok(Event::Eof) => return damaged("an element is never closed"),
            Err(error) => return damaged(&error.to_string()),
            Ok(_) => (),
        }
        buffer.clear();
    }
}

/// OpenDocument writes equal cells once with a count: bounds the cells, and the bytes, they stand for.
fn bound_repeats(archive: &mut Archive<'_>) -> Result<(), ZipFault> {
    let damaged = |error: &dyn std::fmt::Display| ZipFault::Damaged(error.to_string());
    let content = archive.by_name("content.xml").map_err(|error| damaged(&error))?;
    let mut reader = Reader::from_reader(BufReader::new(content));
    reader.config_mut().expand_empty_elements = true;
    let mut buffer = Vec::new();
    let most_cells = MOST_CELLS as u64;
    // Rows down to here, the widest row, bytes written out; then of the row read: its repeats, cells, bytes, last
    // filled.
    let (mut n_rows, mut widest, mut n_bytes) = (0_u64, 0_u64, 0_u64);
    let (mut repeats, mut n_cells, mut row_bytes, mut n_used) = (1_u64, 0_u64, 0_u64, 0_u64);
    let (mut pending_rows, mut cell_repeats) = (0_u64, 1_u64);
    loop {
        let start = reader.buffer_position();
        match reader.read_event_into(&mut buffer) {
            Ok(Event::Eof) => return Ok(()),
            Err(error) => return Err(damaged(&error)),
            Ok(Event::Start(element)) => match element.local_name().as_ref() {
                "table" => (n_rows, widest, pending_rows) = (0, 0, 0),
                "table-row" => {
                    repeats = repeated(&element, "number-rows-repeated");
                    (n_cells, row_bytes, n_used) = (0, 0, 0);
                }
                "table-cell" | "covered-table-cell" => {
                    cell_repeats = repeated(&element, "number-columns-repeated");
                    n_cells = n_cells.saturating_add(cell_repeats);
                    let is_filled = element.attributes().flatten().any(|attribute| {
                        let name = attribute.key.as_ref();
                        name.starts_with("office:") || name.starts_with("calcext:") || name.ends_with("formula")
                    });
                    if is_filled {
                        n_used = n_cells;
                    }
                    let n = reader.buffer_position().saturating_sub(start);
                    row_bytes = row_bytes.saturating_add(n.saturating_mul(cell_repeats));
                }
                _ => (),
            },
            Ok(Event::Text(text)) => {
                row_bytes = row_bytes.saturating_add((text.len() as u64).saturating_mul(cell_repeats));
            }
            Ok(Event::End(element)) if element.local_name().as_ref() == "table-row" => {
                pending_rows = pending_rows.saturating_add(repeats);
                if n_used > 0 {
                    n_rows = n_rows.saturating_add(pending_rows);
                    pending_rows = 0;
                    widest = widest.max(n_used);
                    n_bytes = n_bytes.saturating_add(row_bytes.saturating_mul(repeats));
                }
                if n_rows.saturating_mul(widest) > most_cells || n_bytes > MOST_BYTES {
                    return Err(ZipFault::TooLarge);
                }
            }
            Ok(_) => (),
        }
        buffer.clear();
    }
}

fn repeated(element: &BytesStart<'_>, name: &str) -> u64 {
    let mut attributes = element.attributes().flatten();
    let attribute = attributes.find(|attribute| attribute.key.local_name().as_ref() == name);
    attribute.and_then(|attribute| attribute.value.trim().parse().ok()).unwrap_or(1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;

    fn zipped(parts: &[(&str, &[u8])]) -> Vec<u8> {
        let mut writer = zip::ZipWriter::new(Cursor::new(Vec::new()));
        for (name, bytes) in parts {
            writer.start_file(*name, zip::write::SimpleFileOptions::default()).expect("starts");
            writer.write_all(bytes).expect("writes");
        }
        writer.finish().expect("is whole").into_inner()
    }

    #[test]
    fn a_part_that_unpacks_to_too_much_is_refused() {
        let archive = zipped(&[("xl/workbook.xml", &vec![b' '; 1 << 20])]);
        assert!(archive.len() < 1 << 14);
        assert_eq!(look_through_within(&archive, 1 << 20), Err(ZipFault::TooLarge));
        assert_eq!(look_through_within(&archive, (1 << 20) + 1), Ok(ZippedKind::Xlsx));
    }

    #[test]
    fn cells_repeated_without_end_are_refused() {
        let table = |inner: &str| {
            let content =
                format!("<office:document-content><table:table>{inner}</table:table></office:document-content>");
            look_through(&zipped(&[("content.xml", content.as_bytes())]))
        };
        let cell = "<table:table-cell office:value-type=\"float\" office:value=\"1\" table:number-columns-repeated=\"16384\"/>";
        let rows = |n: u64| format!("<table:table-row table:number-rows-repeated=\"{n}\">{cell}</table:table-row>");
        assert_eq!(table(&rows(1_000_000)), Err(ZipFault::TooLarge));
        assert_eq!(table(&rows(2).repeat(100)), Err(ZipFault::TooLarge));
        assert_eq!(table(&rows(2)), Ok(ZippedKind::Ods));
        // Blank rows and columns to the end of the sheet are what spreadsheet programs write.
        let blank = "<table:table-row table:number-rows-repeated=\"1048000\"><table:table-cell \
                     table:number-columns-repeated=\"16384\"/></table:table-row>";
        assert_eq!(table(&format!("{}{blank}", rows(2))), Ok(ZippedKind::Ods));
    }

    /// Found by `scripts/fuzz`: reading such a table never ended.
    #[test]
    fn a_table_never_closed_is_refused() {
        for content in ["<a><table:table table:name=\"A\"><table:table-row>", "<a><b></a></b>", "<a"] {
            let found = look_through(&zipped(&[("content.xml", content.as_bytes())]));
            assert!(matches!(found, Err(ZipFault::Damaged(_))), "{content}");
        }
    }

    #[test]
    fn other_archives_are_told() {
        assert_eq!(
            look_through(&zipped(&[("a.txt", b"a")])),
            Err(ZipFault::Other("a zip archive without a workbook in it"))
        );
        assert!(matches!(look_through(&zipped(&[("xl/workbook.bin", b"a")])), Err(ZipFault::Other(_))));
        assert!(matches!(look_through(b"PK\x03\x04 and no more"), Err(ZipFault::Damaged(_))));
    }
}
