//! Parts of version 4 in a file of version 3.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "task-set-newer-than-version",
    checks: "that a file of version 3 uses nothing that only version 4 has",
    why: "the published schema of version 3 does not know it; a strict reader refuses the file",
    example: "`lang` on the root of a version 3.3 file, or a task status of 5",
    mend: "leave the part out, or have the file written as version 4",
};

/// Elements only version 4 has.
const ELEMENTS: [&str; 8] = ["AFE", "BSN", "TCC", "GGP", "GPN", "CAT", "GAN", "PRN"];
/// Attributes only version 4 has.
const ATTRIBUTES: [(&str, &[&str]); 7] = [
    ("ISO11783_TaskData", &["lang"]),
    ("PDV", &["F", "G"]),
    ("PDT", &["F", "G", "H", "I", "J"]),
    ("PGP", &["C"]),
    ("PLN", &["E"]),
    ("LSG", &["F"]),
    ("PNT", &["G", "H", "I", "J", "K"]),
];

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of).filter(|set| set.root.whole("VersionMajor") == Some(3)) else { return Found::new() };
    let mut found = Found::new();
    for element in set.root.walk() {
        if ELEMENTS.contains(&element.name.as_str()) {
            found.push(Diagnostic::warning(&CODE, "version 3 has no such element").at(set.place(element, "")));
        }
        let newer = ATTRIBUTES.iter().filter(|(name, _)| *name == element.name).flat_map(|(_, keys)| keys.iter());
        for key in newer.filter(|key| element.get(key).is_some()) {
            found.push(Diagnostic::warning(&CODE, "version 3 has no such attribute").at(set.place(element, key)));
        }
        if element.name == "TSK" && matches!(element.get("G"), Some("5" | "6")) {
            found.push(Diagnostic::warning(&CODE, "version 3 has no such status").at(set.place(element, "G")));
        }
    }
    found
}
