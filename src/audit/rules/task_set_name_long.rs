//! Names of more than 32 letters.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "task-set-name-long",
    checks: "that names have at most 32 letters",
    why: "the published schema allows no more; a strict reader refuses the file, others cut the name",
    example: "a field called by its whole legal description",
    mend: "shorten the name, and keep it unlike the others",
};

/// Attributes that hold a name.
pub(super) const NAMES: [(&str, &str); 11] = [
    ("ISO11783_TaskData", "ManagementSoftwareManufacturer"),
    ("ISO11783_TaskData", "ManagementSoftwareVersion"),
    ("CTR", "B"),
    ("FRM", "B"),
    ("PFD", "C"),
    ("PDT", "B"),
    ("PGP", "B"),
    ("TSK", "B"),
    ("TZN", "B"),
    ("VPN", "E"),
    ("PLN", "B"),
];

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for element in set.root.walk() {
        for (_, attribute) in NAMES.iter().filter(|(name, _)| *name == element.name) {
            let length = element.get(attribute).map_or(0, |text| text.chars().count());
            if length > 32 {
                let message = format!("a name of {length} letters; at most 32 expected");
                found.push(Diagnostic::error(&CODE, message).at(set.place(element, attribute)));
            }
        }
    }
    found
}
