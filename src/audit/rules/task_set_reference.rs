//! References to elements that are not there.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "task-set-reference",
    checks: "that every reference to a customer, farm, field, product, product group or value presentation finds an element of that kind",
    why: "no schema finds this; the controller then knows neither field nor product nor unit, or refuses the file",
    example: "a task of field `PFD2` where the only field is `PFD1`",
    mend: "correct the reference, or write the element it means",
};

/// Element, attribute, and the kind it refers to.
const REFERENCES: [(&str, &str, &str); 12] = [
    ("FRM", "I", "CTR"),
    ("PFD", "E", "CTR"),
    ("PFD", "F", "FRM"),
    ("PFD", "I", "PFD"),
    ("TSK", "C", "CTR"),
    ("TSK", "D", "FRM"),
    ("TSK", "E", "PFD"),
    ("PDT", "C", "PGP"),
    ("PDT", "D", "VPN"),
    ("PDV", "C", "PDT"),
    ("PDV", "E", "VPN"),
    ("TSK", "F", "WKR"),
];

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for element in set.root.walk() {
        for (_, attribute, kind) in REFERENCES.iter().filter(|(name, ..)| *name == element.name) {
            let Some(id) = element.get(attribute) else { continue };
            let target = set.referred(element, attribute);
            if target.is_none_or(|target| target.name != *kind) {
                let message = format!("`{id}` refers to no `{kind}` of this file");
                found.push(Diagnostic::error(&CODE, message).at(set.place(element, attribute)));
            }
        }
    }
    found
}
