//! `holdground audit`: any prescription looked at as a controller would.

mod geo_json;
mod geo_package;
mod load;
mod memory;
pub(in crate::cli) mod own;
pub(in crate::cli) mod plan;
mod raster;
mod shapefile_source;
mod sources;
mod table_layers;
mod task_set;
mod validity;
mod xml;

use std::path::{Path, PathBuf};

use holdground::audit::facts_text::{counted, facts_text};
use holdground::audit::{audit, audit_package};
use holdground::diagnostic::{Code, Diagnostic, Place, Severity};

use super::Failure;
use super::args::AuditArgs;
use super::console::Console;
use super::exit_code::ExitCode;

/// Nothing that could be a prescription.
pub(crate) static NOTHING_TO_AUDIT: Code = Code {
    name: "nothing-to-audit",
    checks: "that what is named holds a task set, a shapefile, GeoJSON, GeoTIFF or GeoPackage",
    why: "a stick without a prescription must not read as one without faults",
    example: "the folder `TASKDATA` was copied empty",
    mend: "name the file, the folder or the zip that holds the prescription",
};

/// Messages of this module, for `holdground explain`.
pub(crate) static CODES: &[&Code] = &[&NOTHING_TO_AUDIT, &own::OWN_FILE_UNSOUND];

/// Folder of a run's files for the cab.
const FOR_THE_CAB: &str = "for-the-cab";

/// `holdground audit PATH`
pub(crate) fn run(args: &AuditArgs, strict: bool, console: &Console) -> Result<ExitCode, Failure> {
    let path = what_is_carried(&args.path);
    let mut plan = match &args.against {
        Some(folder) => Some(plan::Plan::read(folder).map_err(|fault| Failure::refused(vec![*fault]))?),
        None => None,
    };
    let loaded = load::load(&path).map_err(|fault| Failure::refused(vec![*fault]))?;
    let mut findings = audit_package(&loaded.package);
    let prescriptions = sources::prescriptions(&loaded.files, loaded.package.is_zip);
    let mut text = String::new();
    for prescription in &prescriptions {
        findings.extend(audit(prescription));
        let mut planned = Vec::new();
        for comparison in plan.as_mut().map(|plan| plan.compare(prescription)).unwrap_or_default() {
            planned.push(comparison.words);
            findings.extend(comparison.findings);
        }
        text += &facts_text(prescription, &planned);
        text.push('\n');
    }
    if prescriptions.is_empty() && findings.iter().all(|finding| finding.severity != Severity::Error) {
        let message = format!("`{}` holds no prescription known here", path.display());
        let place = Place::File(path.display().to_string());
        findings.push(Diagnostic::error(&NOTHING_TO_AUDIT, message).at(place));
    }
    // A single shapefile need not bring all passes.
    if let Some(plan) = plan.filter(|_| prescriptions.len() > 1 || loaded.files.len() > 5 || path.is_dir()) {
        findings.extend(plan.left_over());
    }
    console.result(&text);
    console.diagnostics(&findings);
    console.result(&last_line(&findings));
    let has = |severity| findings.iter().any(|finding| finding.severity == severity);
    Ok(match (has(Severity::Error), strict && has(Severity::Warning)) {
        (true, _) => ExitCode::InputRefused,
        (false, true) => ExitCode::NoSafeResult,
        (false, false) => ExitCode::Done,
    })
}

/// Of a result folder its files for the cab are what is carried.
fn what_is_carried(path: &Path) -> PathBuf {
    let cab = path.join(FOR_THE_CAB);
    if path.join("run_record.json").is_file() && cab.is_dir() { cab } else { path.to_owned() }
}

fn last_line(findings: &[Diagnostic]) -> String {
    let n = |severity| findings.iter().filter(|finding| finding.severity == severity).count();
    let (errors, warnings, notes) = (n(Severity::Error), n(Severity::Warning), n(Severity::Note));
    let counts = format!("{}, {}, {}", counted(errors, "error"), counted(warnings, "warning"), counted(notes, "note"));
    match (errors, warnings) {
        (0, 0) => format!("Nothing found that a controller would choke on; {}.\n", counted(notes, "note")),
        _ => format!("{counts}. `holdground explain NAME` says more of each.\n"),
    }
}
