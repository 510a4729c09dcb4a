//! Tables without a rate.

use super::prelude::*;
use crate::audit::rate_column::{Reason, rate_columns};

/// See its page.
pub(super) static CODE: Code = Code {
    name: "no-rate-column",
    checks: "that a table has a column of numbers that is named like a rate, or one column of numbers beside ids and areas",
    why: "without one there is nothing to order; of several unnamed ones nobody can know which is meant",
    example: "columns ZONE and AREA only",
    mend: "call the column of rates RATE, and let it be numbers",
};

pub(super) fn find(of: &Prescription) -> Found {
    let mut found = Found::new();
    for table in &of.tables {
        let columns = rate_columns(table);
        if columns.reason == Reason::None && columns.as_text.is_empty() {
            let names: Vec<&str> = table.columns.iter().map(|column| column.name.as_str()).collect();
            let message = match names.is_empty() {
                true => "there are no columns, so no rates".to_owned(),
                false => format!("no column of rates; found `{}`", names.join("`, `")),
            };
            found.push(Diagnostic::error(&CODE, message).at(Place::File(table.file.clone())));
        }
    }
    found
}
