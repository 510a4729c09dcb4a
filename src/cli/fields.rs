//! `holdground fields`: fields side by side from one lab sheet.

use std::path::Path;

use holdground::columns;
use holdground::diagnostic::{Diagnostic, Place};
use holdground::export::run_record::{InputRecord, fields_record};
use holdground::export::{self, OutputFile};
use holdground::fields::side_by_side;
use holdground::samples::{NumberForm, SampleTable};
use holdground::sheet::{self, SamplesIn, UNREADABLE_SHEET};

use super::args::FieldsArgs;
use super::console::Console;
use super::exit_code::ExitCode;
use super::inputs::{read_bytes, versions};
use super::new::read_sheet;
use super::{Failure, write};

/// `holdground fields LAB`
pub(crate) fn fields(args: &FieldsArgs, console: &Console) -> Result<ExitCode, Failure> {
    let target = args.out.as_ref().map(|out| write::Target::new(out, args.replace)).transpose()?;
    let mut faults: Vec<Diagnostic> = Vec::new();
    let detected = read_sheet(&args.lab, args.sheet.as_deref()).map_err(|found| faults.extend(found)).ok();
    let applied = args.applied.as_ref().and_then(|path| read_applied(path).map_err(|found| faults.extend(found)).ok());
    let Some(detected) = detected.filter(|_| faults.is_empty()) else { return Err(Failure::refused(faults)) };
    let numbers = NumberForm { decimal: detected.form.decimal, words: Vec::new() };
    let columns = columns::understand(&detected.table, &numbers);
    let result = side_by_side(&detected.table, &columns, &numbers, applied.as_ref() as Option<&SampleTable>);
    let text = export::field_table_text(&result);
    if let Some(target) = target {
        let mut files = vec![
            OutputFile::new("fields.csv", export::field_table_csv(&result)),
            OutputFile::new("fields.png", export::field_dots_png(&result)),
            OutputFile::new("fields.txt", text.clone()),
        ];
        let understood: Vec<(String, String)> =
            columns.iter().map(|column| (column.column.clone(), column.role.to_string())).collect();
        files.push(fields_record(&records(args)?, &understood, &versions(), &files));
        target.write(&files)?;
    }
    console.result(&text);
    if args.out.is_none() {
        console.result("With `--out DIR` the table (CSV) and a picture of dots on rulers (PNG) are written.\n");
    }
    Ok(ExitCode::Done)
}

/// Reads the list of what was spread.
///
/// Only its own column names are headers: among those of a lab sheet are names of products (`K2O`, `lime`).
///
/// # Errors
/// As [`sheet::detect`]; and where what was spread stands in columns.
fn read_applied(path: &Path) -> Result<SampleTable, Vec<Diagnostic>> {
    const NAMES: [&str; 6] = ["field", "year", "product", "nutrient", "amount", "unit"];
    let bytes = read_bytes(path, "the list of what was spread")?;
    let file = path.display().to_string();
    let is_name = |header: &str| NAMES.contains(&header.trim().to_lowercase().as_str());
    let detected = sheet::detect(&file, &bytes, None, &is_name)?;
    if detected.form.samples_in == SamplesIn::Columns {
        let what = "found what was spread in columns; expected one line for each";
        let help = "write the names field, year, product, amount and unit beside each other on the first line";
        return Err(vec![Diagnostic::error(&UNREADABLE_SHEET, what).at(Place::File(file)).with_help(help)]);
    }
    Ok(detected.table)
}

/// The files read, with their hashes.
fn records(args: &FieldsArgs) -> Result<Vec<InputRecord>, Failure> {
    let inputs = std::iter::once(("lab sheet", &args.lab)).chain(args.applied.iter().map(|path| ("applied", path)));
    inputs
        .map(|(role, path)| {
            let bytes = read_bytes(path, "the lab sheet").map_err(Failure::refused)?;
            Ok(InputRecord::new(role, path.display().to_string(), &bytes, Vec::new()))
        })
        .collect()
}
