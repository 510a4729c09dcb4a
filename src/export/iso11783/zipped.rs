//! Files as one zip archive: stored paths with `/`, one fixed date, so the same files give the same bytes.

use std::io::{Cursor, Write as _};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use super::OutputFile;

/// One zip archive named `path` with all `files` at their paths.
///
/// # Panics
/// Never: memory takes every file, and paths of one run differ.
pub fn zipped(path: impl Into<String>, files: &[OutputFile]) -> OutputFile {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    // 1 January 1980, the first date the format knows.
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .last_modified_time(DateTime::default())
        .unix_permissions(0o644);
    for file in files {
        writer.start_file(file.path.as_str(), options).expect("paths differ");
        writer.write_all(&file.bytes).expect("memory takes it");
    }
    OutputFile::new(path, writer.finish().expect("memory takes it").into_inner())
}
