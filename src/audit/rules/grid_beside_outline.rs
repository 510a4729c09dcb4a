//! Grids that do not cover their field.

use super::grid_rows_columns_exchanged::fitting;
use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "grid-beside-outline",
    checks: "that a grid covers the bounds of its field's outline",
    why: "where the grid ends the default rate is spread; a grid elsewhere is another field's, or latitude and longitude are exchanged",
    example: "the grid of the neighboring field under this field's outline",
    mend: "have grid and outline written from one field; `A` is the south edge, `B` the west edge of the first cell",
};

/// Share of the bounds below which a grid does not cover its field: half a cell at the edge is no fault.
const LEAST_COVERED: f64 = 0.95;

pub(super) fn find(of: &Prescription) -> Found {
    let exchanged = super::grid_rows_columns_exchanged::find(of);
    fitting(of, |fit| fit.covered < LEAST_COVERED)
        .into_iter()
        .map(|(set, grid, fit)| (set.place(grid, "A"), set.place(grid, "E"), fit))
        .filter(|(_, size, _)| !exchanged.iter().any(|finding| finding.place.as_ref() == Some(size)))
        .map(|(place, _, fit)| match fit.covered > 0.0 {
            true => {
                let message = format!("the grid covers {:.0} % of its field's bounds", 100.0 * fit.covered);
                Diagnostic::warning(&CODE, message).at(place)
            }
            false => Diagnostic::error(&CODE, "the grid lies beside its field's outline").at(place),
        })
        .collect()
}
