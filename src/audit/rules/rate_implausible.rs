//! Rates no machine would be asked for.

use super::prelude::*;
use crate::audit::facts_text::grouped;
use crate::audit::rate_unit::{self, Counted};

/// See its page.
pub(super) static CODE: Code = Code {
    name: "rate-implausible",
    checks: "that the highest rate is at most 25,000 kg/ha (22,300 lb/ac), 100,000 L/ha (10,700 gal/ac) or 10 million seeds/ha, and by mass at least 1 kg/ha; limits of this program, no source",
    why: "a slip of the point or a mistaken unit shows here first: pounds under `short tons`, or short tons under `lb`",
    example: "1.5 under `lb/ac` for lime that was meant in short tons",
    mend: "correct the unit or the rate; nothing, if it is meant so",
};

pub(super) fn find(of: &Prescription) -> Found {
    let mut found = Found::new();
    for layer in &of.layers {
        let Some(unit) = layer.unit.as_deref().and_then(rate_unit::named) else { continue };
        let rates: Vec<f64> = match &layer.ground {
            Ground::Shapes { rates, .. } => rates.iter().flatten().copied().collect(),
            Ground::Cells(cells) => cells.rates.iter().copied().filter(|rate| rate.is_finite()).collect(),
        };
        let most = rates.iter().copied().fold(0.0, f64::max);
        let in_base = most * unit.in_base;
        let (limit, least) = match unit.counted {
            Counted::Mass => (25_000.0, 1.0),
            Counted::Volume => (100_000.0, 0.0),
            Counted::Pieces => (10_000_000.0, 0.0),
        };
        let message = if in_base > limit {
            format!(
                "the highest rate of `{}` is {} {}: more than any machine spreads",
                layer.name,
                grouped(most),
                unit.name
            )
        } else if most > 0.0 && in_base < least {
            format!("the highest rate of `{}` is {} {}: next to nothing", layer.name, shown_rate(most), unit.name)
        } else {
            continue;
        };
        found.push(Diagnostic::warning(&CODE, message).at(Place::File(of.name.clone())));
    }
    found
}
