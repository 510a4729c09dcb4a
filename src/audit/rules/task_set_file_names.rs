//! Capitals in the names of a task set's files.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "task-set-file-names",
    checks: "that the folder is `TASKDATA`, the main file `TASKDATA.XML`, and grid files end in `.bin`, capitals as written here",
    why: "capitals count, by an unofficial summary of ISO 11783-10; readers differ on `.bin` and `.BIN`, and in a zip it matters",
    example: "`taskdata.xml`",
    mend: "name the files as the standard does, on the medium that is carried, not only on the desk",
};

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    let mut wrong = |is: &str, wanted: &str, shown: &str| {
        if is != wanted && is.eq_ignore_ascii_case(wanted) {
            let message = format!("named `{is}`; `{wanted}` expected");
            found.push(Diagnostic::error(&CODE, message).at(Place::File(shown.to_owned())));
        }
    };
    wrong(folder_and_name(&set.folder).1, FOLDER, &set.file);
    wrong(&set.main_file, MAIN_FILE, &set.file);
    for grid in grids(set) {
        let (Some(stem), Some(file)) = (grid.get("G"), set.grid_file(grid)) else { continue };
        if file.name == format!("{stem}.BIN") {
            let message = format!("named `{}`; readers differ on capitals here, most want `{stem}.bin`", file.name);
            found.push(Diagnostic::warning(&CODE, message).at(Place::File(file.shown.clone())));
        } else if file.name != format!("{stem}.bin") {
            let message = format!("named `{}`; `{stem}.bin` expected", file.name);
            found.push(Diagnostic::error(&CODE, message).at(Place::File(file.shown.clone())));
        }
    }
    found
}
