//! Document types and entities.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "xml-document-type",
    checks: "that the XML has no document type and no entities of its own",
    why: "entities can grow without bound or fetch files; a task set needs none and they are not expanded here",
    example: "`<!DOCTYPE ISO11783_TaskData [<!ENTITY a \"...\">]>`",
    mend: "do not load it; ask for the file again without a document type",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some((set, line)) = task_set(of).and_then(|set| Some((set, set.expands_at?))) else { return Found::new() };
    let place = Place::Row { file: set.file.clone(), line, columns: Vec::new() };
    vec![Diagnostic::error(&CODE, "it brings a document type or an entity of its own; reading ended there").at(place)]
}
