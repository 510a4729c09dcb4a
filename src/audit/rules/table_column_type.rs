//! Types of a table's columns.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "table-column-type",
    checks: "that the table is dBASE III and its columns are texts (C), numbers (N), dates (D) or yes and no (L)",
    why: "other types, such as binary numbers, came later: loaders pass over the column or refuse the table",
    example: "a column of type F or B",
    mend: "store rates as N with width 10 and 2 decimals",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(table) = shapefile(of).and_then(|file| file.table.as_ref()) else { return Found::new() };
    let place = || Place::File(table.file.clone());
    let mut found = Found::new();
    if table.version != 3 {
        let message = format!("the table begins with {:#04x}; 0x03, dBASE III, expected", table.version);
        found.push(Diagnostic::warning(&CODE, message).at(place()));
    }
    for field in table.fields.iter().filter(|field| !['C', 'N', 'D', 'L'].contains(&field.kind)) {
        // F is a number of dBASE IV, which most take.
        let message = format!("`{}` is of type {}; C, N, D or L expected", field.name, field.kind);
        found.push(Diagnostic::warning(&CODE, message).at(place()));
    }
    found
}
