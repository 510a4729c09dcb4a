//! Names in a zip that lead out of it.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "zip-path-escapes",
    checks: "that no name in a zip is absolute, names a drive or climbs out with `..`",
    why: "unpacked by a careless program such a file would overwrite something elsewhere; nothing honest needs it",
    example: "an entry called `../../TASKDATA/TASKDATA.XML`",
    mend: "do not unpack it; ask for the files again, zipped from the folder they lie in",
};

pub(super) fn find(package: &Package) -> Found {
    let entries = package.entries.iter().filter(|entry| package.is_zip && escapes(entry));
    entries
        .map(|entry| {
            let message = format!("`{entry}` leads out of the zip; nothing of it was unpacked");
            Diagnostic::error(&CODE, message).at(Place::File(package.name.clone()))
        })
        .collect()
}

/// Whether a name could be written outside the folder a zip is unpacked in.
pub fn escapes(entry: &str) -> bool {
    let is_drive = entry.as_bytes().get(1) == Some(&b':');
    entry.starts_with(['/', '\\']) || is_drive || entry.split(['/', '\\']).any(|part| part == "..")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_lead_out_are_told_from_those_that_only_look_odd() {
        for entry in ["../x", "a/../../x", "/x", "\\x", "C:/x", "a\\..\\x"] {
            assert!(escapes(entry), "{entry}");
        }
        for entry in ["TASKDATA/TASKDATA.XML", "a..b/x", "..a", "a/..x"] {
            assert!(!escapes(entry), "{entry}");
        }
    }
}
