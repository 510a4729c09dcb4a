//! Reads the field file and everything it names. Paths in it are taken from its own folder.

use std::path::{Path, PathBuf};

use holdground::boundary::{FieldBoundary, OUTLINE_CROSSES};
use holdground::crs::WorkCrsChoice;
use holdground::diagnostic::{Diagnostic, Place};
use holdground::export::run_record::{InputRecord, Versions};
use holdground::field_file::FieldFile;
use holdground::messages::COULD_NOT_READ;
use holdground::pipeline::{GroundReadings, Inputs};
use holdground::rates::guide::Guide;
use holdground::samples::{PlacesSetting, SampleTable};
use holdground::setback::Setback;
use holdground::zones::{CovariateReading, CovariateSettings, ZoneMethod};

use super::covariate::CovariateFile;
use super::covariate::raster::read_covariate_raster;
use super::covariate::table::read_covariate_table;
use super::vector_file::{
    WALKED_LINE_CLOSED, read_covariate_points, read_keep_off, read_outline, read_points, read_zone_polygons,
};

/// Role of a file of `[[keep_off]]` in the run record.
const KEEP_OFF_ROLE: &str = "keep off";
/// Beside a crossing in an outline that was walked.
const CROSSING_OF_A_WALK: &str =
    "the outline is a walked line: look for ground passed twice, such as a wait at a corner";

/// Reads the guides of the user's own that `[need]` names.
///
/// # Errors
/// All faults of all of them; then what does not fit together with them.
fn read_guides(
    field_file: &mut FieldFile,
    folder: &Path,
    records: &mut Vec<InputRecord>,
) -> Result<(), Vec<Diagnostic>> {
    let mut faults = Vec::new();
    let names: Vec<String> = field_file.rates.open_guides().into_iter().map(str::to_owned).collect();
    for name in names {
        let path = folder.join(&name);
        let typed = path.display().to_string();
        let read = read_bytes(&path, "a guide").and_then(|bytes| {
            records.push(InputRecord::new("guide", &name, &bytes, Vec::new()));
            let text = String::from_utf8(bytes).map_err(|_| {
                let message = format!("`{typed}` is not UTF-8 text");
                vec![Diagnostic::error(&COULD_NOT_READ, message).at(Place::File(typed.clone()))]
            })?;
            Guide::parse(&typed, &text)
        });
        match read.and_then(|guide| field_file.add_guide(&name, &guide)) {
            Ok(()) => {}
            Err(found) => faults.extend(found),
        }
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}

/// Everything read, with what was understood.
pub(crate) struct ReadInputs {
    pub(crate) inputs: Inputs,
    pub(crate) records: Vec<InputRecord>,
    pub(crate) notes: Vec<Diagnostic>,
}

/// Reads all inputs of a field file.
///
/// # Errors
/// The field file's faults; else those of all files it names together.
pub(crate) fn read(path: &Path) -> Result<ReadInputs, Vec<Diagnostic>> {
    let file = path.display().to_string();
    let bytes = read_bytes(path, "the field file")?;
    let text = String::from_utf8(bytes.clone()).map_err(|_| {
        vec![Diagnostic::error(&COULD_NOT_READ, format!("`{file}` is not UTF-8 text")).at(Place::File(file.clone()))]
    })?;
    let mut field_file = FieldFile::parse(&file, &text)?;
    let folder = path.parent().unwrap_or(Path::new(""));
    let mut faults = Vec::new();
    let mut notes = Vec::new();
    let mut records = vec![InputRecord::new("field file", &file, &bytes, Vec::new())];
    read_guides(&mut field_file, folder, &mut records)?;

    let field = &field_file.field;
    let outline_path = folder.join(&field.outline);
    let outline_place = Place::File(outline_path.display().to_string());
    // A fault of a stated CRS carries no place: it lies in the field file.
    let in_field_file = |key: &str, fault: Diagnostic| {
        if fault.place.is_some() {
            return fault;
        }
        fault.at(Place::Key { file: file.clone(), line: field.outline_line, key: key.to_owned() })
    };
    let boundary = read_outline(&outline_path, field.outline_crs.as_deref(), field.outline_line_rule)
        .map_err(|found| found.into_iter().map(|fault| in_field_file("field.outline_crs", fault)).collect::<Vec<_>>())
        .and_then(|outline| {
            let is_walk = outline.notes.iter().any(|note| *note.code == WALKED_LINE_CLOSED);
            let taken = if is_walk { "closed line(s)" } else { "feature(s) with polygons" };
            let about = vec![
                outline.crs_name,
                outline.accuracy,
                format!("{} layer(s), {} {taken}", outline.n_layers, outline.n_features),
            ];
            records.extend(record("outline", &outline_path, &field.outline, about));
            notes.extend(outline.notes);
            let choice = field.work_crs.clone().map_or(WorkCrsChoice::Derived, WorkCrsChoice::Stated);
            let at_outline = |found: Vec<Diagnostic>| {
                let with_place = |fault: Diagnostic| {
                    let crosses = is_walk && *fault.code == OUTLINE_CROSSES;
                    let fault = if fault.place.is_some() { fault } else { fault.at(outline_place.clone()) };
                    if crosses { fault.with_note(CROSSING_OF_A_WALK) } else { fault }
                };
                found.into_iter().map(with_place).collect::<Vec<_>>()
            };
            FieldBoundary::from_rings(&outline.rings_lon_lat, Some(&outline.polygons), &choice)
                .map(|checked| {
                    notes.extend(at_outline(checked.warnings));
                    checked.value
                })
                .map_err(at_outline)
        });
    let boundary = boundary.map_err(|found| faults.extend(found)).ok();

    let table_path = folder.join(&field_file.samples.file);
    let table = read_bytes(&table_path, "the lab sheet").and_then(|bytes| {
        records.push(InputRecord::new("lab sheet", &field_file.samples.file, &bytes, Vec::new()));
        SampleTable::read(&table_path.display().to_string(), &bytes, &field_file.samples.sheet)
    });
    let table = table.map_err(|found| faults.extend(found)).ok();

    let mut points = None;
    if let PlacesSetting::Points { file, id, crs, take, .. } = &field_file.samples.places {
        let path = folder.join(file);
        match read_points(&path, id, crs.as_deref(), *take) {
            Ok(read) => {
                records.extend(record("sample places", &path, file, vec![read.crs_name.clone()]));
                notes.extend(read.notes);
                points = Some(read.points.into_iter().map(|point| (point.id, point.lon, point.lat)).collect());
            }
            Err(found) => faults.extend(found.into_iter().map(|fault| in_field_file("samples.places", fault))),
        }
    }
    let mut keep_off = Vec::new();
    for (index, settings) in field_file.keep_off.iter().enumerate() {
        let path = folder.join(&settings.file);
        let read = read_keep_off(&path, settings.crs.as_deref()).map_err(|found| {
            let key = format!("keep_off[{}].crs", index + 1);
            let place = Place::Key { file: file.clone(), line: settings.line, key };
            let with_place = |fault: Diagnostic| if fault.place.is_some() { fault } else { fault.at(place.clone()) };
            found.into_iter().map(with_place).collect::<Vec<_>>()
        });
        match read {
            Ok(read) => {
                // One file may be named twice, with a distance for each product.
                if !records.iter().any(|known| known.role == KEEP_OFF_ROLE && known.name == settings.file) {
                    let about = vec![read.crs_name, read.accuracy, format!("{} feature(s)", read.n_features)];
                    records.extend(record(KEEP_OFF_ROLE, &path, &settings.file, about));
                    notes.extend(read.notes);
                }
                let at_file = |fault: Diagnostic| fault.at(Place::File(path.display().to_string()));
                match boundary.as_ref().map(|boundary| Setback::around(settings, &read.shapes, boundary)) {
                    Some(Ok(checked)) => {
                        notes.extend(checked.warnings.into_iter().map(at_file));
                        keep_off.push(checked.value);
                    }
                    Some(Err(fault)) => faults.push(at_file(*fault)),
                    None => {} // the outline has faults of its own
                }
            }
            Err(found) => faults.extend(found),
        }
    }
    let mut ground = GroundReadings::default();
    if let Some(boundary) = &boundary {
        for settings in &field_file.covariates {
            let key = |key: &str| format!("covariates.{}.{key}", settings.name);
            match read_covariate(&folder.join(&settings.file), settings, boundary.bounds_lon_lat()) {
                Ok(read) => {
                    let about = vec![read.crs_name, read.accuracy, format!("{} value(s)", read.values.len())];
                    records.extend(record("covariate", &folder.join(&settings.file), &settings.file, about));
                    notes.extend(read.notes);
                    let (name, unit) = (settings.name.clone(), settings.unit.clone());
                    ground.covariates.push(CovariateReading { name, unit, places: read.values });
                }
                Err(found) => {
                    let place = Place::Key { file: file.clone(), line: settings.line, key: key("crs") };
                    faults.extend(found.into_iter().map(|fault| with_place(fault, &place)));
                }
            }
        }
    }
    if let Some(ZoneMethod::Polygons(drawn)) = field_file.zones.as_ref().map(|zones| &zones.method) {
        let path = folder.join(&drawn.file);
        match read_zone_polygons(&path, &drawn.name, drawn.crs.as_deref()) {
            Ok(read) => {
                let about = vec![read.crs_name, read.accuracy, format!("{} feature(s)", read.n_features)];
                records.extend(record("zone polygons", &path, &drawn.file, about));
                notes.extend(read.notes);
                ground.polygons = Some(read.zones);
            }
            Err(found) => {
                let place = Place::Key { file: file.clone(), line: drawn.line, key: "zones.polygons.crs".to_owned() };
                faults.extend(found.into_iter().map(|fault| with_place(fault, &place)));
            }
        }
    }
    match (boundary, table) {
        (Some(boundary), Some(table)) if faults.is_empty() => {
            let inputs = Inputs { field_file, boundary, table, points, keep_off, ground };
            Ok(ReadInputs { inputs, records, notes })
        }
        _ => Err(faults),
    }
}

/// A fault of a stated CRS carries no place: it lies in the field file.
fn with_place(fault: Diagnostic, place: &Place) -> Diagnostic {
    if fault.place.is_some() { fault } else { fault.at(place.clone()) }
}

/// A sheet where columns of places are named, a vector file where a column alone is, else a raster.
fn read_covariate(
    path: &Path,
    settings: &CovariateSettings,
    bounds_lon_lat: [f64; 4],
) -> Result<CovariateFile, Vec<Diagnostic>> {
    let crs = settings.crs.as_deref();
    match (&settings.lon_lat, &settings.column, crs) {
        (Some((lon, lat)), Some(column), Some(crs)) => read_covariate_table(path, column, [lon, lat], crs),
        (_, Some(column), _) => read_covariate_points(path, column, crs),
        (_, None, _) => read_covariate_raster(path, bounds_lon_lat, crs),
    }
}

pub(super) fn read_bytes(path: &Path, what: &str) -> Result<Vec<u8>, Vec<Diagnostic>> {
    std::fs::read(path).map_err(|error| {
        let name = path.display().to_string();
        let fault =
            Diagnostic::error(&COULD_NOT_READ, format!("could not read `{name}` while loading {what}: {error}"))
                .at(Place::File(name))
                .with_help(match what {
                    "the field file" => "name the field file, for example `holdground check field.toml`",
                    _ => "paths in a field file start from the field file's own folder",
                });
        vec![fault]
    })
}

/// Hashes a vector file; a shapefile with all its parts.
fn record(role: &'static str, path: &Path, name: &str, notes: Vec<String>) -> Vec<InputRecord> {
    let mut records = Vec::new();
    if let Ok(bytes) = std::fs::read(path) {
        records.push(InputRecord::new(role, name, &bytes, notes));
    }
    let is_shapefile = path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("shp"));
    for extension in ["dbf", "prj", "shx"].iter().filter(|_| is_shapefile) {
        let part: PathBuf = path.with_extension(extension);
        if let Ok(bytes) = std::fs::read(&part) {
            let name = Path::new(name).with_extension(extension).display().to_string();
            records.push(InputRecord::new(role, name, &bytes, Vec::new()));
        }
    }
    records
}

/// Versions for the run record.
pub(crate) fn versions() -> Versions {
    Versions {
        program: env!("CARGO_PKG_VERSION").to_owned(),
        libraries: vec![("gdal".to_owned(), gdal::version::version_info("RELEASE_NAME"))],
    }
}
