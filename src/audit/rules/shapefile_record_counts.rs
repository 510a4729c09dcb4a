//! Parts with unlike numbers of records.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "shapefile-record-counts",
    checks: "that `.shp`, `.shx` and `.dbf` have the same number of records",
    why: "a shape without a row has no rate, and after a lost row every shape has its neighbor's",
    example: "4 shapes, 3 rows",
    mend: "do not edit one part by itself; have the file written again",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(file) = shapefile(of) else { return Found::new() };
    let (Some(shapes), Some(index), Some(table)) = (&file.shapes, &file.index, &file.table) else {
        return Found::new();
    };
    let counts = (shapes.records.len(), index.n_records(), table.n_records);
    if counts.0 == counts.1 && counts.1 == counts.2 {
        return Found::new();
    }
    let message = format!("{} shapes, {} in the index, {} rows in the table", counts.0, counts.1, counts.2);
    vec![Diagnostic::error(&CODE, message).at(Place::File(file.file.clone()))]
}
