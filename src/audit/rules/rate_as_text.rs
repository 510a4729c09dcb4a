//! Rates that are stored as text.

use super::prelude::*;
use crate::audit::rate_column::rate_columns;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "rate-as-text",
    checks: "that columns named like a rate hold numbers, not text",
    why: "controllers list only columns of numbers to pick the rate from",
    example: "RATE of type C with `135 lb`",
    mend: "store the bare number in a column of numbers, the unit in a column of its own",
};

pub(super) fn find(of: &Prescription) -> Found {
    let mut found = Found::new();
    for table in &of.tables {
        let columns = rate_columns(table);
        for index in columns.as_text.into_iter().filter(|index| !columns.taken.contains(index)) {
            let column = &table.columns[index];
            let example = column.distinct().first().copied().unwrap_or_default().to_owned();
            let message = format!("`{}` is text, such as `{example}`", column.name);
            let place = Place::File(table.file.clone());
            found.push(match columns.taken.is_empty() {
                true => Diagnostic::error(&CODE, message).at(place),
                false => Diagnostic::warning(&CODE, message).at(place),
            });
        }
    }
    found
}
