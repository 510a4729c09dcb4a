//! Ids of features that occur twice.

use std::collections::BTreeMap;

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "geojson-ids",
    checks: "that no two features have one `id`",
    why: "what is picked by its id then can be either",
    example: "every feature with `\"id\": 0`",
    mend: "number the features, or leave `id` out",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(file) = geo_json(of) else { return Found::new() };
    let (mut seen, mut found) = (BTreeMap::new(), Found::new());
    for (index, feature) in file.features.iter().enumerate() {
        let Some(id) = &feature.id else { continue };
        if let Some(first) = seen.insert(id, index) {
            let message = format!("id {id} is also that of record {}", first + 1);
            found.push(Diagnostic::warning(&CODE, message).at(record_place(&file.file, index, String::new())));
        }
    }
    found
}
