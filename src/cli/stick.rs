//! `holdground stick`: several fields in one folder for the cab.

use holdground::diagnostic::Diagnostic;
use holdground::export::{FOR_THE_CAB, FieldOfStick, READ_ME_FIRST, stick_of_fields};
use holdground::pipeline::{self, Outcome};

use super::args::StickArgs;
use super::console::Console;
use super::exit_code::ExitCode;
use super::inputs::{self, ReadInputs};
use super::{Failure, gis_file, refuse_if_strict, write};

/// `holdground stick FIELD... --out DIR`
pub(crate) fn stick(args: &StickArgs, strict: bool, console: &Console) -> Result<ExitCode, Failure> {
    let target = write::Target::new(&args.out, args.replace)?;
    let progress = console.progress();
    let (mut runs, mut faults) = (Vec::new(), Vec::new());
    for path in &args.field_files {
        progress.stage(&path.display().to_string());
        let run = inputs::read(path).and_then(|read| {
            let ReadInputs { inputs, records, notes } = read;
            let mut outcome = pipeline::run(inputs, &|_| ())?;
            outcome.warnings.splice(0..0, notes);
            Ok((outcome, records))
        });
        match run {
            Ok(run) => runs.push(run),
            Err(found) => faults.extend(found),
        }
    }
    progress.finish();
    if !faults.is_empty() {
        return Err(Failure::refused(faults));
    }
    let warnings: Vec<Diagnostic> = runs.iter().flat_map(|(outcome, _)| outcome.warnings.clone()).collect();
    refuse_if_strict(&warnings, strict)?;
    let mut fields = Vec::new();
    for (outcome, records) in &runs {
        let mut contents = outcome.gis_contents().map_err(Failure::refused)?;
        contents.retain(|content| content.path().starts_with(&format!("{FOR_THE_CAB}/")));
        fields.push(FieldOfStick { report: outcome.report(), inputs: records, rasters: gis_file::make(contents)? });
    }
    let files = stick_of_fields(fields, &inputs::versions()).map_err(Failure::refused)?;
    target.write(&files)?;
    for (path, (outcome, _)) in
        args.field_files.iter().zip(&runs).filter(|(_, (outcome, _))| !outcome.warnings.is_empty())
    {
        console.line(&format!("{}:", path.display()));
        console.diagnostics(&outcome.warnings);
    }
    console
        .result(&words(&runs.iter().map(|(outcome, _)| outcome).collect::<Vec<_>>(), &args.out.display().to_string()));
    Ok(ExitCode::Done)
}

fn words(outcomes: &[&Outcome], out: &str) -> String {
    let mut text = String::new();
    for outcome in outcomes {
        let plans = &outcome.plan.passes;
        let layers: Vec<String> =
            plans.iter().map(|plan| format!("{} {} {}", plan.number, plan.pass.name, plan.product.name)).collect();
        text += &format!("{}: {}\n", outcome.inputs.field_file.field.name, layers.join("; "));
    }
    text += "Audited: the planned rate at 10,000 places a layer, cells on borders aside.\n";
    text += "Summaries, maps and tables of a field are those of `holdground run`.\n";
    text += &format!("To read     {out}/{READ_ME_FIRST}\nTo copy     what is in {out}/{FOR_THE_CAB}\n");
    text
}
