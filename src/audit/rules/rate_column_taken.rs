//! Which column was taken as the rate.

use super::prelude::*;
use crate::audit::rate_column::{Reason, rate_columns};

/// See its page.
pub(super) static CODE: Code = Code {
    name: "rate-column-taken",
    checks: "which column is the rate: one called RATE, else those named like rates, else the only numbers",
    why: "on the controller's screen a person has to pick the column; what is called otherwise, or is one of several, can be picked wrongly",
    example: "columns POT_LBAC and MAP_LBAC in one file",
    mend: "call it RATE, one file a product; nothing, if the one taken is the one meant",
};

pub(super) fn find(of: &Prescription) -> Found {
    let mut found = Found::new();
    for table in &of.tables {
        let columns = rate_columns(table);
        let names: Vec<&str> = columns.taken.iter().map(|index| table.columns[*index].name.as_str()).collect();
        let names = names.join("`, `");
        let place = Place::File(table.file.clone());
        let finding = match (columns.reason, columns.taken.len()) {
            (Reason::NamedLikeRates, 2..) => Diagnostic::warning(
                &CODE,
                format!("`{names}` are all taken as rates: pick the right one on the screen"),
            ),
            (Reason::OnlyNumbers, _) => {
                Diagnostic::warning(&CODE, format!("`{names}` is taken as the rate: the only numbers in the file"))
            }
            (Reason::NamedLikeRates, _) => {
                Diagnostic::note(&CODE, format!("`{names}` is taken as the rate, by its name"))
            }
            (Reason::NamedRate | Reason::None, _) => continue,
        };
        found.push(finding.at(place));
    }
    found
}
