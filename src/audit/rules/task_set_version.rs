//! What the root element says.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "task-set-version",
    checks: "that the root is `ISO11783_TaskData`, version 3 or 4 with a minor from 0 to 3, and comes from an office (`DataTransferOrigin` 1)",
    why: "a controller picks its reading by the version, and takes orders only from an office; from the published schemas",
    example: "`VersionMajor=\"5\"`",
    mend: "have the file written as version 3.3, which most controllers take, or 4.3",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of).filter(|set| !set.root.name.is_empty()) else { return Found::new() };
    let root = &set.root;
    if root.name != "ISO11783_TaskData" {
        let message = format!("the root element is `{}`; `ISO11783_TaskData` expected", root.name);
        return vec![Diagnostic::error(&CODE, message).at(set.place(root, ""))];
    }
    let mut found = Found::new();
    let mut check = |attribute: &str, is_known: bool, expected: &str, is_error: bool| {
        if let Some(text) = root.get(attribute).filter(|_| !is_known) {
            let message = format!("`{text}` where {expected} is expected");
            let finding =
                if is_error { Diagnostic::error(&CODE, message) } else { Diagnostic::warning(&CODE, message) };
            found.push(finding.at(set.place(root, attribute)));
        }
    };
    let major = root.whole("VersionMajor");
    check("VersionMajor", matches!(major, Some(3 | 4)), "3 or 4", true);
    check("VersionMinor", matches!(root.whole("VersionMinor"), Some(0..=3)), "0 to 3", false);
    check("DataTransferOrigin", root.whole("DataTransferOrigin") == Some(1), "1, from an office,", false);
    found
}
