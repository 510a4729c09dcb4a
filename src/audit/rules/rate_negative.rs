//! Rates below 0.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "rate-negative",
    checks: "that no rate is below 0",
    why: "nothing can be taken back from the ground; a mark for no data, such as -9999, is read as a rate",
    example: "-9999 in cells outside the field",
    mend: "write 0 where nothing is spread; in a raster state the mark as its value for no data",
};

pub(super) fn find(of: &Prescription) -> Found {
    let mut found = Found::new();
    for layer in &of.layers {
        let message = |rate: f64| format!("the rate is {} in `{}`", shown_rate(rate), layer.from);
        match &layer.ground {
            Ground::Shapes { set, rates } => {
                let Some(set) = of.shape_sets.get(*set) else { continue };
                for (shape, rate) in set.shapes.iter().zip(rates) {
                    if let Some(rate) = rate.filter(|rate| *rate < 0.0) {
                        found.push(Diagnostic::error(&CODE, message(rate)).at(shape.place.clone()));
                    }
                }
            }
            Ground::Cells(cells) => {
                let is_below = |rate: &f64| rate.is_finite() && *rate < 0.0;
                let n = cells.rates.iter().filter(|rate| is_below(rate)).count();
                if let Some(index) = cells.rates.iter().position(is_below) {
                    let message =
                        format!("{}; below 0 in {n} of {} cells", message(cells.rates[index]), cells.rates.len());
                    found.push(Diagnostic::error(&CODE, message).at(cell_place(cells, index)));
                }
            }
        }
    }
    found
}
