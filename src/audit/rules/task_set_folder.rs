//! Where the folder of a task set lies.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "task-set-folder",
    checks: "that `TASKDATA.XML` lies in a folder `TASKDATA`, and that folder at the top of the stick or zip",
    why: "a controller looks for `TASKDATA/TASKDATA.XML` and nowhere else, by an unofficial summary of ISO 11783-10",
    example: "a zip with `TASKDATA.XML` at its top, without the folder",
    mend: "copy the whole folder `TASKDATA` to the top of an empty stick",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let place = Place::File(set.file.clone());
    let last = folder_and_name(&set.folder).1;
    if !last.eq_ignore_ascii_case(FOLDER) {
        let message = match last {
            "" => format!("the main file lies in no folder; `{FOLDER}/{MAIN_FILE}` expected"),
            other => format!("the main file lies in `{other}`; a folder `{FOLDER}` expected"),
        };
        return vec![Diagnostic::error(&CODE, message).at(place)];
    }
    if set.folder.contains('/') {
        let message = format!("the task set lies in `{}`, not at the top", set.folder);
        return vec![Diagnostic::warning(&CODE, message).at(place).with_help("copy its folder `TASKDATA` to the top")];
    }
    Found::new()
}
