//! The edge: the only code that touches files, terminal and environment.

mod applied;
pub(crate) mod args;
mod audit;
pub(crate) mod console;
mod covariate;
mod decide;
pub(crate) mod exit_code;
mod fields;
mod gis_file;
mod guides;
mod inputs;
mod new;
mod paths;
mod read_back;
mod stick;
mod vector_file;
mod write;

pub(crate) use applied::applied;
pub(crate) use audit::run as audit;
pub(crate) use decide::decide;
pub(crate) use fields::fields;
pub(crate) use guides::guides;
pub(crate) use new::new;
use std::path::Path;
pub(crate) use stick::stick;

use console::Console;
use exit_code::ExitCode;
use holdground::diagnostic::{Checked, Diagnostic, Severity};
use holdground::samples::PlacesSetting;
use holdground::{export, messages, pipeline};

/// Why a command ends without its result.
pub(crate) struct Failure {
    pub(crate) exit_code: ExitCode,
    pub(crate) diagnostics: Vec<Diagnostic>,
}

impl Failure {
    fn refused(diagnostics: Vec<Diagnostic>) -> Self {
        Failure { exit_code: ExitCode::InputRefused, diagnostics }
    }
}

/// `holdground check`
pub(crate) fn check(field_file: &Path, strict: bool, console: &Console) -> Result<ExitCode, Failure> {
    let read = inputs::read(field_file).map_err(Failure::refused)?;
    let checked = match read.inputs.field_file.samples.places {
        PlacesSetting::Open => pipeline::check_rows(&read.inputs),
        _ => pipeline::check(&read.inputs)
            .map(|checked| Checked { value: checked.value.samples.len(), warnings: checked.warnings }),
    };
    let checked = checked.map_err(Failure::refused)?;
    let warnings = [read.notes, checked.warnings].concat();
    console.diagnostics(&warnings);
    refuse_if_strict(&warnings, strict)?;
    let n_warnings = warnings.iter().filter(|w| w.severity == Severity::Warning).count();
    let open = &read.inputs.field_file.open;
    let mut text = format!(
        "{}: {} samples checked, {} warning{}. Nothing was written.\n",
        field_file.display(),
        checked.value,
        n_warnings,
        if n_warnings == 1 { "" } else { "s" }
    );
    for (line, key) in open {
        text += &format!("  still to be answered, line {line}: {key}\n");
    }
    console.result(&text);
    Ok(ExitCode::Done)
}

/// `holdground run`
pub(crate) fn run(
    field_file: &Path,
    out: &Path,
    replace: bool,
    strict: bool,
    console: &Console,
) -> Result<ExitCode, Failure> {
    let target = write::Target::new(out, replace)?;
    let progress = console.progress();
    progress.stage("reading");
    let read = inputs::read(field_file).map_err(Failure::refused)?;
    let mut outcome = pipeline::run(read.inputs, &|stage| progress.stage(stage)).map_err(Failure::refused)?;
    // What was said while reading belongs to the result too.
    outcome.warnings.splice(0..0, read.notes);
    refuse_if_strict(&outcome.warnings, strict).inspect_err(|_| progress.finish())?;
    progress.stage("writing");
    let made = gis_file::make(outcome.gis_contents().map_err(Failure::refused)?)?;
    let files = outcome.files(&read.records, &inputs::versions(), made).map_err(Failure::refused)?;
    target.write(&files)?;
    progress.finish();
    console.diagnostics(&outcome.warnings);
    console.result(&export::summary(&outcome.report(), &out.display().to_string()));
    Ok(ExitCode::Done)
}

/// `holdground explain`
pub(crate) fn explain(code: Option<&str>, console: &Console) -> Result<ExitCode, Failure> {
    let edge =
        [vector_file::CODES, read_back::CODES, audit::CODES, applied::CODES, gis_file::CODES, decide::CODES].concat();
    let Some(name) = code else {
        let list: String = messages::all(&edge).iter().map(|code| format!("{}\n", code.name)).collect();
        console.result(&list);
        return Ok(ExitCode::Done);
    };
    match messages::find(name, &edge) {
        Ok(code) => {
            console.result(&messages::page(code));
            Ok(ExitCode::Done)
        }
        Err(fault) => Err(Failure { exit_code: ExitCode::CommandLine, diagnostics: vec![*fault] }),
    }
}

fn refuse_if_strict(warnings: &[Diagnostic], strict: bool) -> Result<(), Failure> {
    if strict && warnings.iter().any(|warning| warning.severity == Severity::Warning) {
        return Err(Failure { exit_code: ExitCode::NoSafeResult, diagnostics: warnings.to_vec() });
    }
    Ok(())
}
