//! GeoJSON that is no JSON.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "geojson-not-json",
    checks: "that the file is JSON from begin to end",
    why: "a reader stops at the first fault; `NaN` and `Infinity` are no JSON, though some programs write them",
    example: "`\"RATE\": NaN`",
    mend: "have the file written again, with 0 or the right number",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some((file, (line, why))) = geo_json(of).and_then(|file| Some((file, file.not_json.as_ref()?))) else {
        return Found::new();
    };
    let place = Place::Row { file: file.file.clone(), line: *line, columns: Vec::new() };
    vec![Diagnostic::error(&CODE, format!("not JSON: {why}")).at(place)]
}
