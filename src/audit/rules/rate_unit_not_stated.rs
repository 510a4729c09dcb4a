//! Rates without a unit.

use super::prelude::*;
use crate::audit::rate_unit;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "rate-unit-not-stated",
    checks: "that the unit of the rates is stated, and is one known here",
    why: "the operator types a unit on the screen; where the file does not say which, pounds and kilograms are exchanged",
    example: "a column RATE without a column UNIT",
    mend: "add a text column UNIT, `lb/ac` or `kg/ha`, or put it into the name: RATE_LBAC",
};

pub(super) fn find(of: &Prescription) -> Found {
    let mut found = Found::new();
    let is_mixed = !super::rate_units_mixed::find(of).is_empty();
    for layer in &of.layers {
        let message = match layer.unit.as_deref() {
            None if is_mixed => continue,
            None => format!("the unit of `{}` is not stated", layer.from),
            Some(unit) if rate_unit::named(unit).is_none() => {
                format!("the unit of `{}`, `{unit}`, is not known here: no total is made", layer.from)
            }
            Some(_) => continue,
        };
        found.push(Diagnostic::warning(&CODE, message).at(Place::File(of.name.clone())));
    }
    found
}
