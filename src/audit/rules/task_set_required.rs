//! Attributes that must be there.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "task-set-required",
    checks: "that every element has the attributes the published schemas require",
    why: "a strict reader refuses the whole file for one of them",
    example: "a task without its status `G`",
    mend: "have the file written again with them",
};

const REQUIRED: [(&str, &[&str]); 15] = [
    (
        "ISO11783_TaskData",
        &[
            "VersionMajor",
            "VersionMinor",
            "ManagementSoftwareManufacturer",
            "ManagementSoftwareVersion",
            "DataTransferOrigin",
        ],
    ),
    ("CTR", &["A", "B"]),
    ("FRM", &["A", "B"]),
    ("PFD", &["A", "C", "D"]),
    ("PLN", &["A"]),
    ("LSG", &["A"]),
    ("PNT", &["A", "C", "D"]),
    ("PDT", &["A", "B"]),
    ("VPN", &["A", "B", "C", "D"]),
    ("TSK", &["A", "G"]),
    ("TZN", &["A"]),
    ("PDV", &["A", "B"]),
    ("GRD", &["A", "B", "C", "D", "E", "F", "G", "I"]),
    ("PGP", &["A", "B"]),
    ("DET", &["A"]),
];

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for element in set.root.walk() {
        let required = REQUIRED.iter().find(|(name, _)| *name == element.name).map_or(&[][..], |(_, keys)| keys);
        for key in required.iter().filter(|key| element.get(key).is_none_or(str::is_empty)) {
            found.push(Diagnostic::error(&CODE, format!("`{key}` is missing or blank")).at(set.place(element, "")));
        }
    }
    found
}
