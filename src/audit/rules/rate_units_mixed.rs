//! Several units in one column of rates.

use super::prelude::*;
use crate::audit::rate_column::{rate_columns, units};

/// See its page.
pub(super) static CODE: Code = Code {
    name: "rate-units-mixed",
    checks: "that all rates of a column have one unit",
    why: "a controller knows one unit a column: the other rates are spread in the wrong one",
    example: "UNIT is `lb/ac` in two records, `kg/ha` in the third",
    mend: "turn all rates into one unit",
};

pub(super) fn find(of: &Prescription) -> Found {
    let mut found = Found::new();
    for table in &of.tables {
        for index in rate_columns(table).taken {
            let units = units(table, &table.columns[index]);
            if units.len() > 1 {
                let message = format!("`{}` is in `{}`", table.columns[index].name, units.join("`, `"));
                found.push(Diagnostic::error(&CODE, message).at(Place::File(table.file.clone())));
            }
        }
    }
    found
}
