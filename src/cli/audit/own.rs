//! A run's own files looked at like a stranger's, before they are put in place.

use std::path::Path;

use holdground::audit::{Form, Prescription, audit, audit_package};
use holdground::diagnostic::{Code, Diagnostic, Place, Severity};
use holdground::export::{FOR_THE_CAB, OutputFile};
use rayon::prelude::*;

use super::plan::Plan;
use super::{load, sources};
use crate::cli::Failure;
use crate::cli::exit_code::ExitCode;

/// A file of a run that `audit` finds an error in.
pub(crate) static OWN_FILE_UNSOUND: Code = Code {
    name: "own-file-unsound",
    checks: "every file for the cab before it is put in place: `audit` must find no error in it, and the planned rate at 10,000 places of each layer",
    why: "a file that does not load, or orders another rate, is worse than none",
    example: "a task set without one of the planned passes",
    mend: "this is a fault of the program: nothing was written; report it with the field file",
};

/// Audits what a run is about to put into the folder for the cab, and holds it against the rates in `gis`.
///
/// # Errors
/// An internal error for each finding that is an error.
pub(in crate::cli) fn check(folder: &Path, files: &[OutputFile]) -> Result<(), Failure> {
    let cab = format!("{FOR_THE_CAB}/");
    if !files.iter().any(|file| file.path.starts_with(&cab)) {
        return Ok(());
    }
    let zips = files.iter().map(|file| &file.path).filter(|path| path.starts_with(&cab) && path.ends_with(".zip"));
    let typed = std::iter::once(folder.join(FOR_THE_CAB)).chain(zips.map(|path| folder.join(path)));
    let found = match typed.map(|path| load::load(&path)).collect::<Result<Vec<_>, _>>() {
        Ok(loaded) => findings(&loaded, Plan::read(folder)),
        Err(fault) => vec![*fault],
    };
    let faults: Vec<Diagnostic> = found
        .into_iter()
        .filter(|finding| finding.severity == Severity::Error)
        .map(|finding| internal(&finding, folder))
        .collect();
    if faults.is_empty() { Ok(()) } else { Err(Failure { exit_code: ExitCode::Internal, diagnostics: faults }) }
}

fn findings(loaded: &[load::Loaded], plan: Result<Plan, Box<Diagnostic>>) -> Vec<Diagnostic> {
    let plan = match plan {
        Ok(plan) => plan,
        Err(fault) => return vec![*fault],
    };
    let mut found: Vec<Diagnostic> = loaded.iter().flat_map(|loaded| audit_package(&loaded.package)).collect();
    let prescriptions: Vec<Prescription> =
        loaded.iter().flat_map(|loaded| sources::prescriptions(&loaded.files, loaded.package.is_zip)).collect();
    let held: Vec<(Vec<Diagnostic>, Vec<bool>)> = prescriptions
        .par_iter()
        .map(|prescription| {
            let (comparisons, taken) = plan.hold(prescription, false);
            let compared = comparisons.into_iter().flat_map(|comparison| comparison.findings);
            (audit(prescription).into_iter().chain(compared).collect(), taken)
        })
        .collect();
    let planned: Vec<&Prescription> = plan.prescriptions().collect();
    found.extend(planned.par_iter().flat_map_iter(|planned| audit(planned)).collect::<Vec<_>>());
    // Each form brings each planned layer.
    let form = |prescription: &Prescription| prescription.form.as_ref().map_or("unreadable file", Form::words);
    let mut forms: Vec<&str> = prescriptions.iter().map(form).collect();
    forms.sort_unstable();
    forms.dedup();
    for wanted in forms {
        for (index, layer) in planned.iter().enumerate() {
            let of_form = prescriptions.iter().zip(&held).filter(|(prescription, _)| form(prescription) == wanted);
            if !of_form.into_iter().any(|(_, (_, taken))| taken[index]) {
                let message = format!("no {wanted} brings it");
                found.push(Diagnostic::error(&OWN_FILE_UNSOUND, message).at(Place::File(layer.name.clone())));
            }
        }
    }
    found.extend(held.into_iter().flat_map(|(findings, _)| findings));
    found
}

/// A finding as a fault of this program, without the name of the folder half written.
fn internal(finding: &Diagnostic, folder: &Path) -> Diagnostic {
    let part = format!("{}/", folder.display());
    let plain = |text: &str| text.replace(&part, "");
    let at = finding.place.as_ref().map_or_else(String::new, |place| format!("`{}`: ", plain(&place.to_string())));
    let message = format!(
        "internal error: {at}{} [{}]; this is a fault of the program",
        plain(&finding.message),
        finding.code.name
    );
    let fault = Diagnostic::error(&OWN_FILE_UNSOUND, message);
    let fault = finding.notes.iter().fold(fault, |fault, note| fault.with_note(plain(note)));
    fault.with_help("nothing was written; report it with the field file")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rates(rates: [f64; 2]) -> String {
        let feature = |id: usize| {
            let (west, east) = (-93.51 + 0.004 * id as f64, -93.506 + 0.004 * id as f64);
            format!(
                r#"{{"type":"Feature","id":{id},"properties":{{"ZONE":{id},"RATE":{},"UNIT":"lb/ac","PRODUCT":"Potash","PASS":"Fall"}},
                "geometry":{{"type":"Polygon","coordinates":[[[{west:.3},41.0],[{east:.3},41.0],[{east:.3},41.004],[{west:.3},41.004],[{west:.3},41.0]]]}}}}"#,
                rates[id]
            )
        };
        format!(r#"{{"type":"FeatureCollection","features":[{},{}]}}"#, feature(0), feature(1))
    }

    /// Codes of a check on a folder with these files.
    fn found(files: &[(&str, String)]) -> Vec<String> {
        let folder = tempfile::tempdir().unwrap();
        let files: Vec<OutputFile> = files.iter().map(|(path, text)| OutputFile::new(*path, text.clone())).collect();
        for file in &files {
            let path = folder.path().join(&file.path);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, &file.bytes).unwrap();
        }
        let faults = check(folder.path(), &files).map_or_else(|failure| failure.diagnostics, |()| Vec::new());
        let part = folder.path().display().to_string();
        assert!(faults.iter().all(|fault| !fault.message.contains(&part)), "{faults:?}");
        faults.into_iter().map(|fault| fault.message).collect()
    }

    #[test]
    fn files_that_order_what_was_planned_pass_and_others_do_not() {
        let plan = ("gis/N_1_POT.geojson", rates([80.0, 120.0]));
        let cab = |text: String| ("for-the-cab/N_1_POT.geojson", text);
        assert_eq!(found(&[plan.clone(), cab(rates([80.0, 120.0]))]), Vec::<String>::new());
        for (wrong, code) in [
            (rates([80.0, 121.0]), "rates-differ-from-plan"),
            (rates([120.0, 80.0]), "rates-differ-from-plan"),
            (rates([80.0, 120.0]).replace("41.004],[-93.51", "41.004],[-93.49"), "polygon-invalid"),
            (rates([80.0, 120.0]).replace("}}]}", "}}"), "geojson-not-json"),
        ] {
            let messages = found(&[plan.clone(), cab(wrong)]);
            assert!(messages.iter().any(|message| message.contains(code)), "{code}: {messages:?}");
            assert!(messages.iter().all(|message| message.starts_with("internal error: ")), "{messages:?}");
        }
        // A second planned layer that no file brings.
        let other = ("gis/N_2_MAP.geojson", rates([10.0, 20.0]).replace("Potash", "MAP").replace("Fall", "Spring"));
        let messages = found(&[plan.clone(), other, cab(rates([80.0, 120.0]))]);
        assert!(messages.len() == 1 && messages[0].contains("no GeoJSON brings it"), "{messages:?}");
        // A result without files for the cab has nothing to audit.
        assert!(found(&[plan]).is_empty());
    }
}
