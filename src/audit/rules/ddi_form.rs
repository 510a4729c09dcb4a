//! How numbers of the data dictionary are written.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "ddi-form",
    checks: "that a rate's quantity is four hexadecimal digits in capitals",
    why: "the published schema takes exactly two bytes; `6` is refused, and small letters are not read everywhere",
    example: "`6` or `000b`",
    mend: "write `0006`, `000B`",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for rate in set.root.walk().into_iter().filter(|element| element.name == "PDV") {
        let Some(text) = rate.get("A") else { continue };
        let is_digit = |byte: u8| byte.is_ascii_digit() || (b'A'..=b'F').contains(&byte);
        if text.len() == 4 && text.bytes().all(is_digit) {
            continue;
        }
        let message = format!("`{text}` is not four hexadecimal digits in capitals");
        let only_small = text.len() == 4 && text.bytes().all(|byte| byte.is_ascii_hexdigit());
        let finding = if only_small { Diagnostic::warning(&CODE, message) } else { Diagnostic::error(&CODE, message) };
        found.push(finding.at(set.place(rate, "A")));
    }
    found
}
