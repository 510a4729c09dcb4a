//! Several fields in one folder for the cab: one task set with the tasks of all, their layers, one `READ-ME-FIRST.txt`.

use std::collections::BTreeMap;

use super::cab_files::{lost_position, stems, stick_field, stick_text, task_set_of};
use super::run_record::{InputRecord, Versions, run_record, stick_record};
use super::stick::StickField;
use super::{OutputFile, Report, vector_files};
use crate::diagnostic::{Code, Diagnostic, Place};

/// Fields that one stick cannot carry.
pub static FIELDS_NOT_FOR_ONE_STICK: Code = Code {
    name: "fields-not-for-one-stick",
    checks: "that fields for one stick all have rates, unlike names and unlike names of files, and ask for the same kind of task set",
    why: "files of one name would overwrite each other, and a task of a field called like another would be loaded on the wrong ground",
    example: "two field files with `short = \"NORTH\"`",
    mend: "give each field its own `field.name` and `field.short`; write the same `[write]` and `machine.lost_position` in all",
};

/// A field with what was read and made for it.
pub struct FieldOfStick<'a> {
    /// Its results.
    pub report: Report<'a>,
    /// Its inputs.
    pub inputs: &'a [InputRecord],
    /// Rasters for the cab, made by the edge.
    pub rasters: Vec<OutputFile>,
}

/// All files of the folder, the run record last: what goes on the stick, and in `gis` the rates it is held against.
///
/// # Errors
/// All [`FIELDS_NOT_FOR_ONE_STICK`]; else a value a format cannot carry whole.
pub fn stick_of_fields(fields: Vec<FieldOfStick<'_>>, versions: &Versions) -> Result<Vec<OutputFile>, Vec<Diagnostic>> {
    let reports: Vec<&Report<'_>> = fields.iter().map(|field| &field.report).collect();
    let faults = faults(&reports);
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut files = Vec::new();
    for report in &reports {
        let of_field = vector_files(report)?;
        files.extend(of_field.into_iter().filter(|file| file.path != "gis/zones.geojson"));
    }
    let (task_set, notes) = task_set_of(&reports)?;
    files.extend(task_set);
    let records: Vec<OutputFile> =
        fields.iter().map(|field| run_record(&field.report, field.inputs, versions, &[])).collect();
    files.extend(fields.iter().flat_map(|field| field.rasters.clone()));
    let on_stick = reports.iter().map(|report| stick_field(report)).collect::<Result<Vec<_>, _>>()?;
    let on_stick: Vec<StickField> = on_stick.into_iter().flatten().collect();
    files.push(stick_text(&reports, &on_stick, &files, &notes));
    files.sort_by(|a, b| a.path.cmp(&b.path));
    let record = stick_record(&records, versions, &files);
    files.push(record);
    Ok(files)
}

fn faults(reports: &[&Report<'_>]) -> Vec<Diagnostic> {
    let mut faults = Vec::new();
    let mut fault = |report: &Report<'_>, message: String, help: &str| {
        let place = Place::File(report.field_file.file.clone());
        faults.push(Diagnostic::error(&FIELDS_NOT_FOR_ONE_STICK, message).at(place).with_help(help));
    };
    // Sticks do not tell capitals from small letters.
    let (mut names, mut files) = (BTreeMap::new(), BTreeMap::new());
    for report in reports {
        let field = &report.field_file.field;
        if !report.plan.has_rates() {
            let help = "answer what `check` lists, or leave the field out";
            fault(report, format!("{} has no rates: nothing of it could go on the stick", field.name), help);
            continue;
        }
        let file = &report.field_file.file;
        if let Some(other) = names.insert(field.name.trim().to_lowercase(), file) {
            let message = format!("the field is called `{}` like that of `{other}`", field.name);
            fault(report, message, "give each field its own `field.name`");
        }
        let of_field = stems(report).concat();
        let taken = of_field.iter().find_map(|stem| Some((stem, *files.get(&stem.to_uppercase())?)));
        if let Some((stem, other)) = taken {
            let message = format!("its files are called `{stem}` like those of `{other}`");
            fault(report, message, "give each field its own `field.short`");
        }
        files.extend(of_field.iter().map(|stem| (stem.to_uppercase(), file)));
    }
    let kind = |report: &Report<'_>| {
        let write = &report.field_file.write;
        let version = write.controller.iter().find(|format| format.is_task_set()).copied();
        (version, write.task_set_zones, write.task_set_place, version.map(|_| lost_position(report)))
    };
    for report in reports.iter().skip(1).filter(|report| kind(report) != kind(reports[0])) {
        let message = format!("it asks for another task set than `{}`", reports[0].field_file.file);
        let help = "write the same `controller`, `task_set`, `task_set_in` and `machine.lost_position` in all";
        fault(report, message, help);
    }
    faults
}
