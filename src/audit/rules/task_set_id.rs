//! How ids are written.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "task-set-id",
    checks: "that ids are the element's three letters and a number from 1 without leading zeros, at most 14 characters",
    why: "0 is reserved, numbers below 0 are the machine's own, and readers differ on leading zeros, by an unofficial summary of ISO 11783-10",
    example: "`CTR0`, `PFD007`",
    mend: "number the elements of each kind from 1",
};

/// Elements that have ids.
const WITH_ID: [&str; 12] = ["CTR", "FRM", "PFD", "PDT", "VPN", "TSK", "PGP", "WKR", "CTP", "CVT", "DVC", "CPC"];

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for element in set.root.children.iter().filter(|element| WITH_ID.contains(&element.name.as_str())) {
        let Some(id) = element.get("A") else { continue };
        let digits = id.strip_prefix(&element.name).unwrap_or("");
        let is_number = !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit());
        if !is_number || digits.starts_with('0') || id.len() > 14 {
            let message = format!("`{id}` is no id; `{}1` and so on expected", element.name);
            found.push(Diagnostic::error(&CODE, message).at(set.place(element, "A")));
        }
    }
    found
}
