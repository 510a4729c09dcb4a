//! Maps that order nothing.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "rates-all-zero",
    checks: "that at least one rate is above 0",
    why: "a whole day is lost on a map of zeros, and it looks as if it had worked",
    example: "a pass of a product no zone needs",
    mend: "leave the file off the stick, or have it written again",
};

pub(super) fn find(of: &Prescription) -> Found {
    let is_above = |layer: &&RateLayer| match &layer.ground {
        Ground::Shapes { rates, .. } => rates.iter().flatten().any(|rate| *rate > 0.0),
        Ground::Cells(cells) => cells.rates.iter().any(|rate| *rate > 0.0),
    };
    let has_rates = |layer: &&RateLayer| match &layer.ground {
        Ground::Shapes { rates, .. } => rates.iter().any(Option::is_some),
        Ground::Cells(cells) => cells.rates.iter().any(|rate| rate.is_finite()),
    };
    let zeros = of.layers.iter().filter(|layer| has_rates(layer) && !is_above(layer));
    zeros
        .map(|layer| {
            let message = format!("`{}` orders 0 everywhere", layer.name);
            Diagnostic::warning(&CODE, message).at(Place::File(of.name.clone()))
        })
        .collect()
}
