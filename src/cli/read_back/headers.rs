//! What the headers of a shapefile's parts say of their lengths. GDAL passes over a table longer than its shapes.

use std::io::Read as _;
use std::path::Path;

/// Compares lengths and numbers of records in the headers of `.shp`, `.shx` and `.dbf` with the files, which lie beside
/// each other or in the zip named.
///
/// # Errors
/// The first part that says otherwise, as words.
pub(super) fn compare(path: &Path, n_records: usize) -> Result<(), String> {
    for ending in ["shp", "shx", "dbf"] {
        let bytes = part(path, ending).map_err(|error| format!(".{ending}: {error}"))?;
        let (stated, expected) = match ending {
            // In words of 16 bits.
            "shp" => (2 * big_endian(&bytes, 24), None),
            // 8 bytes a record.
            "shx" => (2 * big_endian(&bytes, 24), Some(100 + 8 * n_records)),
            _ => {
                let [n, header, record] = [4..8, 8..10, 10..12].map(|at| little_endian(&bytes, at));
                // One byte ends the file.
                (header + n * record + 1, Some(header + n_records * record + 1))
            }
        };
        if stated != bytes.len() || expected.is_some_and(|expected| expected != stated) {
            let expected = expected.unwrap_or(bytes.len());
            return Err(format!(".{ending} states {stated} bytes, has {}, {expected} expected", bytes.len()));
        }
    }
    Ok(())
}

/// Bytes of a part, of a file beside the one named or of one in a zip.
fn part(path: &Path, ending: &str) -> std::io::Result<Vec<u8>> {
    let file = path.with_extension(ending);
    if path.extension().is_none_or(|ending| ending != "zip") {
        return std::fs::read(file);
    }
    let mut zip = zip::ZipArchive::new(std::fs::File::open(path)?)?;
    let mut bytes = Vec::new();
    zip.by_name(&file.file_name().unwrap_or_default().to_string_lossy())?.read_to_end(&mut bytes)?;
    Ok(bytes)
}

fn big_endian(bytes: &[u8], at: usize) -> usize {
    bytes.get(at..at + 4).map_or(0, |four| four.iter().fold(0, |sum, &byte| sum << 8 | usize::from(byte)))
}

fn little_endian(bytes: &[u8], at: std::ops::Range<usize>) -> usize {
    bytes.get(at).map_or(0, |some| some.iter().rev().fold(0, |sum, &byte| sum << 8 | usize::from(byte)))
}
