//! Records and cells without a usable rate.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "rate-missing",
    checks: "that every record has a rate that is a finite number",
    why: "for a blank, `NaN` or a word one controller orders 0, the next the last rate, the third refuses the file",
    example: "`NaN` in the column of rates",
    mend: "write the rate, or 0 where nothing is spread",
};

pub(super) fn find(of: &Prescription) -> Found {
    let mut found = Found::new();
    for layer in &of.layers {
        match &layer.ground {
            Ground::Shapes { set, rates } => {
                let Some(set) = of.shape_sets.get(*set) else { continue };
                for (shape, _) in set.shapes.iter().zip(rates).filter(|(_, rate)| rate.is_none()) {
                    let message = format!("no number in `{}`", layer.from);
                    found.push(Diagnostic::error(&CODE, message).at(shape.place.clone()));
                }
            }
            Ground::Cells(cells) => {
                if let Some(index) = cells.rates.iter().position(|rate| rate.is_infinite()) {
                    let message = format!("no finite number in `{}`", layer.from);
                    found.push(Diagnostic::error(&CODE, message).at(cell_place(cells, index)));
                }
            }
        }
    }
    found
}
