//! `holdground guides`: the guides built in, and a page for each or for the user's own.

use std::path::Path;

use holdground::diagnostic::{Diagnostic, Place};
use holdground::messages::COULD_NOT_READ;
use holdground::rates::guide::{Guide, page};

use super::Failure;
use super::console::Console;
use super::exit_code::ExitCode;
use super::inputs::read_bytes;

/// `holdground guides [NAME]`
pub(crate) fn guides(name: Option<&str>, console: &Console) -> Result<ExitCode, Failure> {
    match name {
        None => console.result(&page::list()),
        Some(name) if name.ends_with(".toml") => {
            let guide = own_guide(name).map_err(Failure::refused)?;
            console.result(&page::page(&guide));
        }
        Some(name) => match Guide::find(name) {
            Some(guide) => console.result(&page::page(guide)),
            None => {
                let fault = Guide::no_such(name).at(Place::Flag("guides"));
                return Err(Failure { exit_code: ExitCode::CommandLine, diagnostics: vec![fault] });
            }
        },
    }
    Ok(ExitCode::Done)
}

/// Reads a user's own guide.
///
/// # Errors
/// All faults of the file.
fn own_guide(file: &str) -> Result<Guide, Vec<Diagnostic>> {
    let bytes = read_bytes(Path::new(file), "the guide")?;
    let text = String::from_utf8(bytes).map_err(|_| {
        let fault = Diagnostic::error(&COULD_NOT_READ, format!("`{file}` is not UTF-8 text"));
        vec![fault.at(Place::File(file.to_owned())).with_help("save it as UTF-8")]
    })?;
    Guide::parse(file, &text)
}
