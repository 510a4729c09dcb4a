//! Lengths the parts state.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "shapefile-lengths",
    checks: "that `.shp`, `.shx` and `.dbf` are as long as their headers say, and begin as such files do",
    why: "a part that was cut short loses its last records without a word",
    example: "a stick pulled out too early",
    mend: "copy all parts again; if they are so where they were made, have them written again",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(file) = shapefile(of) else { return Found::new() };
    let mut found = Found::new();
    let mut fault = |shown: String, message: String| {
        found.push(Diagnostic::error(&CODE, message).at(Place::File(shown)));
    };
    if let Some(shapes) = &file.shapes {
        if shapes.file_code != FILE_CODE {
            fault(shapes.file.clone(), format!("it begins with {}, {FILE_CODE} expected", shapes.file_code));
        } else if shapes.stated_bytes != shapes.n_bytes {
            fault(shapes.file.clone(), format!("{} bytes stated, it has {}", shapes.stated_bytes, shapes.n_bytes));
        } else if let Some(why) = &shapes.ends_early {
            fault(shapes.file.clone(), why.clone());
        }
    }
    if let Some(index) = file.index.filter(|index| index.stated_bytes != index.n_bytes) {
        let shown =
            file.parts.iter().find(|part| part.ending == "shx").map_or(file.file.clone(), |part| part.shown.clone());
        fault(shown, format!("{} bytes stated, it has {}", index.stated_bytes, index.n_bytes));
    }
    if let Some(table) = &file.table {
        let rows = table.header_bytes + table.n_records * table.record_bytes;
        // A last byte may end the table or be left out.
        if table.n_bytes != rows && table.n_bytes != rows + 1 {
            fault(
                table.file.clone(),
                format!("{} rows stated, {} bytes, it has {}", table.n_records, rows + 1, table.n_bytes),
            );
        }
    }
    found
}
