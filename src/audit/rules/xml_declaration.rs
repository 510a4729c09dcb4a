//! The first line of the XML.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "xml-declaration",
    checks: "that the first line declares XML 1.0 in UTF-8",
    why: "a task set is UTF-8 by an unofficial summary of ISO 11783-10; other encodings garble names or do not load",
    example: "`<?xml version=\"1.0\" encoding=\"ISO-8859-1\"?>`",
    mend: "begin with `<?xml version=\"1.0\" encoding=\"UTF-8\"?>` and save as UTF-8",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of).filter(|set| set.not_well_formed.is_none()) else { return Found::new() };
    let message = match &set.declaration {
        None => "the XML declaration is missing".to_owned(),
        Some(text) => {
            let plain = text.to_uppercase().replace('\'', "\"");
            if plain.contains("VERSION=\"1.0\"") && plain.contains("ENCODING=\"UTF-8\"") {
                return Found::new();
            }
            format!("declared as `{}`; XML 1.0 in UTF-8 expected", text.trim())
        }
    };
    let place = Place::Row { file: set.file.clone(), line: 1, columns: Vec::new() };
    vec![Diagnostic::warning(&CODE, message).at(place)]
}
