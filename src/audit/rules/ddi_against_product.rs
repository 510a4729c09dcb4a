//! A rate's quantity against what its product is counted in.

use super::prelude::*;
use crate::audit::rate_entity;
use crate::audit::rate_unit::Counted;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "ddi-against-product",
    checks: "that a product counted by volume (`E` 0048) is ordered by volume, one by mass (004B) by mass, one by pieces (004E) by pieces",
    why: "liters ordered of what is weighed in pounds come out in the wrong amount, or the task is refused",
    example: "urea, counted by mass, ordered by 0001, volume per area",
    mend: "correct the product's `E` or the rate's quantity",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for rate in set.root.walk().into_iter().filter(|element| element.name == "PDV") {
        let Some(product) = set.referred(rate, "C") else { continue };
        let wanted = match product.get("E") {
            Some("0048") => Counted::Volume,
            Some("004B") => Counted::Mass,
            Some("004E") => Counted::Pieces,
            _ => continue,
        };
        let entity = rate.get("A").and_then(rate_entity::number).and_then(rate_entity::setpoint);
        let Some((counted, _)) = entity.and_then(|entity| entity.over_ground) else { continue };
        if counted != wanted {
            let words = |counted| match counted {
                Counted::Mass => "mass",
                Counted::Volume => "volume",
                Counted::Pieces => "pieces",
            };
            let message = format!(
                "`{}` is counted by {}, ordered by {}",
                product.get("B").unwrap_or("the product"),
                words(wanted),
                words(counted)
            );
            found.push(Diagnostic::error(&CODE, message).at(set.place(rate, "A")));
        }
    }
    found
}
