//! Every message of the program by name, for `holdground explain`.

use crate::boundary;
use crate::crs;
use crate::diagnostic::{Code, Diagnostic, Place};

/// A file could not be read.
pub static COULD_NOT_READ: Code = Code {
    name: "could-not-read",
    checks: "that the files named can be read",
    why: "nothing is guessed in the place of a file that is not there",
    example: "the field file says `lab.csv`, but the sheet is called `Lab 2025.csv`",
    mend: "correct the name; paths in a field file start from the field file's own folder",
};
/// A result could not be written.
pub static COULD_NOT_WRITE: Code = Code {
    name: "could-not-write",
    checks: "that the result folder can be made beside its place and renamed into it",
    why: "a half-written folder could be taken for a whole one",
    example: "the disk is full",
    mend: "make room, or name another folder with `--out`",
};
/// The result folder is there already.
pub static RESULT_FOLDER_EXISTS: Code = Code {
    name: "result-folder-exists",
    checks: "that `--out` names a folder that is not there yet, or with `--replace` one of an earlier run",
    why: "earlier results, and files that are not ours, are never overwritten unasked",
    example: "`--out north-2026` a second time",
    mend: "name another folder, or pass `--replace`",
};
/// A file that would be written is there already.
pub static FILE_EXISTS: Code = Code {
    name: "file-exists",
    checks: "that a file `new` is to write is not there yet",
    why: "answers already given, and files that are not ours, are never overwritten",
    example: "`holdground new lab.csv north.geojson` a second time in one folder",
    mend: "name another file with `--file`, or move the one that is there",
};
/// `explain` was asked for a name that is no message.
pub static NO_SUCH_MESSAGE: Code = Code {
    name: "no-such-message",
    checks: "that `explain` is asked for a message of this program",
    why: "a page about something else would mislead",
    example: "`holdground explain outside`",
    mend: "copy the name in brackets; `holdground explain` lists all",
};

/// All messages of the library and those of `edge`, sorted by name.
pub fn all(edge: &[&'static Code]) -> Vec<&'static Code> {
    let mut all: Vec<&'static Code> =
        vec![&COULD_NOT_READ, &COULD_NOT_WRITE, &RESULT_FOLDER_EXISTS, &FILE_EXISTS, &NO_SUCH_MESSAGE];
    all.extend([&crs::UNKNOWN_CRS, &crs::COORDINATES_OUTSIDE_CRS, &crs::WORK_CRS_UNFIT]);
    all.extend([&boundary::OUTLINE_EMPTY, &boundary::OUTLINE_INVALID, &boundary::OUTLINE_ROLES_CHANGED]);
    all.extend([&boundary::OUTLINE_COORDINATES, &boundary::OUTLINE_CROSSES, &boundary::OUTLINE_RING_CLOSED]);
    all.extend([&boundary::OUTLINE_RING_REPEATED, &boundary::OUTLINE_RING_TOO_SMALL]);
    for part in [
        crate::setback::CODES,
        crate::sheet::CODES,
        crate::field_file::CODES,
        crate::samples::checks::CODES,
        crate::coverage::CODES,
        crate::rates::guide::CODES,
        crate::rates::need_settings::CODES,
        crate::rates::need::CODES,
        crate::rates::lime_need::CODES,
        crate::rates::own_need::CODES,
        crate::zones::CODES,
        crate::rates::rate_plan::CODES,
        crate::rates::season::CODES,
        crate::start::CODES,
        crate::export::CODES,
        crate::pipeline::CODES,
        crate::applied::CODES,
    ] {
        all.extend(part);
    }
    all.extend(crate::audit::rules::RULES.iter().map(|rule| rule.code));
    all.extend(edge);
    all.sort_by_key(|code| code.name);
    all
}

/// A message by name.
///
/// # Errors
/// The fault to print, with names that hold the word asked for.
pub fn find(name: &str, edge: &[&'static Code]) -> Result<&'static Code, Box<Diagnostic>> {
    all(edge).into_iter().find(|code| code.name == name).ok_or_else(|| {
        let near: Vec<&str> = all(edge).iter().map(|code| code.name).filter(|known| known.contains(name)).collect();
        let fault = Diagnostic::error(&NO_SUCH_MESSAGE, format!("`{name}` is not a message of this program"))
            .at(Place::Flag("explain"));
        Box::new(match near.is_empty() {
            true => fault.with_help("`holdground explain` lists all names"),
            false => fault.with_help(format!("perhaps `{}`", near.join("`, `"))),
        })
    })
}

/// The page of a message.
pub fn page(code: &Code) -> String {
    format!(
        "{}\n\nChecks   {}.\nWhy      {}.\nExample  {}.\nMend     {}.\n",
        code.name, code.checks, code.why, code.example, code.mend
    )
}
