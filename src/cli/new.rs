//! `holdground new`: a field file drafted from a lab sheet and an outline.

use std::path::{Path, PathBuf};

use holdground::boundary::FieldBoundary;
use holdground::columns::{self, ColumnReading, Role};
use holdground::crs::WorkCrsChoice;
use holdground::diagnostic::{Checked, Diagnostic, Place, Severity};
use holdground::field_file::{FieldFile, OutlineLine};
use holdground::pipeline::{self, GroundReadings, Inputs};
use holdground::samples::{NumberForm, PlaceShape, PlacesSetting, SampleTable};
use holdground::sheet::{self, Detected};
use holdground::start::{self, Drafted, Join, PlacesFound, Sources};

use super::args::NewArgs;
use super::console::Console;
use super::exit_code::ExitCode;
use super::inputs::read_bytes;
use super::vector_file::{read_outline, read_point_names, read_points};
use super::{Failure, paths, refuse_if_strict, write};

/// Name of the table that `--blank` writes.
const BLANK_TABLE: &str = "lab_table.csv";
/// How to mend a field file, or an empty table, that is there already.
const NAME_ANOTHER: &str = "name another file with `--file`, or move the one that is there";
const MOVE_TABLE: &str = "type into the one that is there, or move it";

/// `holdground new --blank`
pub(crate) fn blank(console: &Console) -> Result<ExitCode, Failure> {
    write::new_file(Path::new(BLANK_TABLE), sheet::blank_table().as_bytes(), MOVE_TABLE)?;
    console.result(&format!(
        "Wrote {BLANK_TABLE}: one row a sample; delete the columns your lab sheet does not print, and write the unit the \
         lab prints into each header.\nThen:  holdground new {BLANK_TABLE} OUTLINE\n"
    ));
    Ok(ExitCode::Done)
}

/// `holdground new LAB OUTLINE`
pub(crate) fn new(args: &NewArgs, strict: bool, console: &Console) -> Result<ExitCode, Failure> {
    let (Some(lab), Some(outline)) = (&args.lab, &args.outline) else { return blank(console) };
    write::refuse_existing(&args.file, NAME_ANOTHER)?;
    let mut faults = Vec::new();
    let detected = read_sheet(lab, args.sheet.as_deref()).map_err(|found| faults.extend(found)).ok();
    let field = read_boundary(outline, args).map_err(|found| faults.extend(found)).ok();
    let (Some(detected), Some((boundary, mut notes))) = (detected, field) else {
        return Err(Failure::refused(faults));
    };
    let numbers = NumberForm { decimal: detected.form.decimal, words: Vec::new() };
    let columns = columns::understand(&detected.table, &numbers);
    let folder = args.file.parent().unwrap_or(Path::new(""));
    let found = find_places(args, folder, &detected.table, &columns, &numbers, &boundary).map_err(Failure::refused)?;
    let sources = Sources {
        lab_file: &paths::seen_from(folder, lab),
        form: &detected.form,
        form_reasons: &detected.reasons,
        table: &detected.table,
        columns: &columns,
        numbers: &numbers,
        outline_file: &paths::seen_from(folder, outline),
        outline_crs: args.outline_crs.as_deref(),
        outline_line_closed: args.close_line,
        boundary: &boundary,
        places: &found.places,
    };
    let drafted = start::draft(&sources).map_err(Failure::refused)?;
    let (n_inside, checked) = check(&drafted, args, &detected.table, &boundary)?;
    let (faults, warnings): (Vec<Diagnostic>, Vec<Diagnostic>) =
        checked.into_iter().partition(|diagnostic| diagnostic.severity == Severity::Error);
    notes.extend(warnings);
    refuse_if_strict(&notes, strict)?;
    write::new_file(&args.file, drafted.text.as_bytes(), NAME_ANOTHER)?;
    notes.extend(faults.clone());
    console.diagnostics(&notes);
    console.result(&told(args, &detected, &drafted, &found, (faults.len(), n_inside), &boundary));
    Ok(ExitCode::Done)
}

/// Reads an untidy sheet and finds its form.
pub(crate) fn read_sheet(lab: &Path, name: Option<&str>) -> Result<Detected, Vec<Diagnostic>> {
    let bytes = read_bytes(lab, "the lab sheet")?;
    sheet::detect(&lab.display().to_string(), &bytes, name, &columns::is_known_header)
        .map_err(|found| found.into_iter().map(mended_by_flag).collect())
}

/// Keys of a field file in the help of a message, and the flag that stands for each while there is no field file yet.
const FLAG_OF_KEY: [(&str, &str); 3] = [
    ("as `samples.sheet.name`", "with `--sheet`"),
    ("write `outline_line = \"close\"` under `[field]`", "pass `--close-line`"),
    ("state it as `outline_crs` under `[field]`", "state it with `--outline-crs`"),
];

/// Names the flag instead of the key of a field file.
fn mended_by_flag(mut fault: Diagnostic) -> Diagnostic {
    fault.help = fault.help.map(|help| FLAG_OF_KEY.iter().fold(help, |help, (key, flag)| help.replace(key, flag)));
    fault
}

fn read_boundary(outline: &Path, args: &NewArgs) -> Result<(FieldBoundary, Vec<Diagnostic>), Vec<Diagnostic>> {
    let rule = if args.close_line { OutlineLine::Close } else { OutlineLine::Refuse };
    let place = Place::File(outline.display().to_string());
    let at_outline = |found: Vec<Diagnostic>| -> Vec<Diagnostic> {
        let with_place = |fault: Diagnostic| if fault.place.is_some() { fault } else { fault.at(place.clone()) };
        found.into_iter().map(with_place).map(mended_by_flag).collect()
    };
    let read = read_outline(outline, args.outline_crs.as_deref(), rule).map_err(at_outline)?;
    let checked = FieldBoundary::from_rings(&read.rings_lon_lat, Some(&read.polygons), &WorkCrsChoice::Derived)
        .map_err(at_outline)?;
    Ok((checked.value, [read.notes, at_outline(checked.warnings)].concat()))
}

/// Places, with what is to be said of the join.
struct Found {
    places: PlacesFound,
    /// One line for the terminal.
    sentence: String,
}

/// Points named on the command line come first, then coordinates of the sheet.
fn find_places(
    args: &NewArgs,
    folder: &Path,
    table: &SampleTable,
    columns: &[ColumnReading],
    numbers: &NumberForm,
    boundary: &FieldBoundary,
) -> Result<Found, Vec<Diagnostic>> {
    let column = |role: Role| columns.iter().find(|column| column.role == role);
    let plain = |places: PlacesFound| Found { places, sentence: String::new() };
    if let Some(points) = &args.places {
        return join(points, folder, table, column(Role::SampleId));
    }
    if let (Some(lon), Some(lat)) = (column(Role::Longitude), column(Role::Latitude)) {
        return Ok(plain(PlacesFound::Degrees { lon: lon.column.clone(), lat: lat.column.clone() }));
    }
    if let (Some(east), Some(north)) = (column(Role::Easting), column(Role::Northing)) {
        let read = |index: usize, row: &sheet::Row| numbers.reading(&row.cells[index]).map(|reading| reading.value);
        let pairs = table.rows.iter().filter_map(|row| Some((read(east.index, row)?, read(north.index, row)?)));
        let (xs, ys): (Vec<f64>, Vec<f64>) = pairs.unzip();
        let crs = start::crs_by_trial(&xs, &ys, &utm_candidates(boundary), boundary).map(|(crs, n_inside)| {
            (crs, format!("by trial: with it {n_inside} of {} samples fall inside the outline", xs.len()))
        });
        return Ok(plain(PlacesFound::Metric { east: east.column.clone(), north: north.column.clone(), crs }));
    }
    let why = "the sheet prints no coordinates this program knows: two columns, or a file of points (`--places`)";
    Ok(plain(PlacesFound::Unknown(why.to_owned())))
}

/// UTM zones the field lies in, on the two datums receivers and maps use.
fn utm_candidates(boundary: &FieldBoundary) -> Vec<String> {
    let [west, east, south, north] = boundary.bounds_lon_lat();
    let zone = (((west + east) / 2.0 + 180.0) / 6.0).floor() as i32 + 1;
    if south + north < 0.0 {
        return vec![format!("EPSG:{}", 32700 + zone)];
    }
    let mut candidates = vec![format!("EPSG:{}", 32600 + zone)];
    if (1..=23).contains(&zone) {
        candidates.push(format!("EPSG:{}", 26900 + zone));
    }
    candidates
}

fn join(
    points: &Path,
    folder: &Path,
    table: &SampleTable,
    id: Option<&ColumnReading>,
) -> Result<Found, Vec<Diagnostic>> {
    let names = read_point_names(points)?;
    let numbered: Vec<String> = (1..=table.rows.len()).map(|number| number.to_string()).collect();
    let ids: Vec<&str> = match id {
        Some(id) => table.rows.iter().map(|row| row.cells[id.index].as_str()).collect(),
        None => numbered.iter().map(String::as_str).collect(),
    };
    let file = points.display().to_string();
    let found = |places: PlacesFound, sentence: String| Ok(Found { places, sentence });
    match start::join(&ids, &names.attributes) {
        Some(Join::OneToOne { attribute, matching, points_left }) => {
            let mut sentence = format!("Samples and points of {file} meet one to one by `{attribute}`");
            if matching == holdground::samples::NameMatch::Number {
                sentence += ", by the numbers in their names: look whether that is meant";
            }
            if !points_left.is_empty() {
                sentence += &format!("; points without a sample: {}", listed(&points_left));
            }
            let seen = paths::seen_from(folder, points);
            let polygons = names.shape == PlaceShape::Polygons;
            found(PlacesFound::Points { file: seen, attribute, matching, polygons }, sentence + ".\n")
        }
        Some(Join::Left { attribute, samples, points: left }) => {
            let sentence = format!(
                "Samples and points of {file} do not meet one to one; nearest by `{attribute}`:\n  samples left  {}\n  \
                 points left   {}\n",
                listed(&samples),
                listed(&left)
            );
            found(PlacesFound::Unknown(format!("names on the sheet and in `{file}` do not meet one to one")), sentence)
        }
        None => {
            let sentence = format!("{file} holds {} places, none with a name.\n", names.n_places);
            found(PlacesFound::Unknown(format!("the places of `{file}` carry no names")), sentence)
        }
    }
}

/// The first twelve in backticks, then a count.
fn listed(names: &[String]) -> String {
    const SHOWN: usize = 12;
    if names.is_empty() {
        return "none".to_owned();
    }
    let mut text = names.iter().take(SHOWN).map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ");
    if names.len() > SHOWN {
        text += &format!(" and {} more", names.len() - SHOWN);
    }
    text
}

/// Reads the draft back and checks the sheet by it: how many samples lie inside, where all is well, and what `check` would
/// say.
fn check(
    drafted: &Drafted,
    args: &NewArgs,
    table: &SampleTable,
    boundary: &FieldBoundary,
) -> Result<(Option<usize>, Vec<Diagnostic>), Failure> {
    let file = args.file.display().to_string();
    let field_file = FieldFile::parse(&file, &drafted.text)
        .map_err(|diagnostics| Failure { exit_code: ExitCode::Internal, diagnostics })?;
    let points = match (&field_file.samples.places, &args.places) {
        (PlacesSetting::Points { id, take, .. }, Some(path)) => {
            let read = read_points(path, id, None, *take).map_err(Failure::refused)?;
            Some(read.points.into_iter().map(|point| (point.id, point.lon, point.lat)).collect())
        }
        _ => None,
    };
    let inputs = Inputs {
        field_file,
        boundary: boundary.clone(),
        table: table.clone(),
        points,
        keep_off: Vec::new(),
        ground: GroundReadings::default(),
    };
    let checked = match inputs.field_file.samples.places {
        PlacesSetting::Open => pipeline::check_rows(&inputs).map(|checked| (None, checked.warnings)),
        _ => pipeline::check(&inputs).map(|Checked { value, warnings }| (Some(value.samples.len()), warnings)),
    };
    Ok(checked.unwrap_or_else(|faults| (None, faults)))
}

/// What is printed.
fn told(
    args: &NewArgs,
    detected: &Detected,
    drafted: &Drafted,
    found: &Found,
    (n_faults, n_inside): (usize, Option<usize>),
    boundary: &FieldBoundary,
) -> String {
    let display = |path: &Option<PathBuf>| path.as_ref().map_or(String::new(), |path| path.display().to_string());
    let file = args.file.display();
    let n_parts = boundary.n_parts();
    let mut text = format!(
        "{}   {} rows, {} columns      {}   {} outline{}, {:.1} ac\n",
        display(&args.lab),
        detected.table.rows.len(),
        detected.table.header.len(),
        display(&args.outline),
        n_parts,
        if n_parts == 1 { "" } else { "s" },
        boundary.area_ac()
    );
    for reason in &detected.reasons {
        text += &wrapped("read as", reason);
    }
    text += &found.sentence;
    if let Some(n) = n_inside {
        text += &format!("{n} samples lie inside the outline.\n");
    }
    text += &wrapped("understood", &drafted.understood.join(", "));
    if !drafted.left_aside.is_empty() {
        let names: Vec<String> = drafted.left_aside.iter().map(|aside| format!("`{}`", aside.column)).collect();
        text += &wrapped("left aside", &format!("{} (why: {file})", names.join(", ")));
    }
    text += &format!("Wrote {file}. ");
    text += &match drafted.open.len() {
        0 => "Nothing is left to answer.\n".to_owned(),
        1 => "One answer is still \"?\":\n".to_owned(),
        n => format!("{n} answers are still \"?\":\n"),
    };
    for (lines, keys, needed) in folded(drafted) {
        text += &format!("  line {lines:<6} {keys}\n{:14}{needed}\n", "");
    }
    let is_placed = !matches!(found.places, PlacesFound::Unknown(_) | PlacesFound::Metric { crs: None, .. });
    if n_faults > 0 {
        text += &format!("To mend first: the faults told above; then  holdground check {file}\n");
    } else if !is_placed {
        text += &format!("Nothing can be mapped before `samples.places` is answered; then  holdground check {file}\n");
    } else {
        let what = if drafted.can_zone { "Zones can be drawn now" } else { "Maps can be drawn now" };
        text += &format!("{what}:  holdground run {file} --out first-look\n");
    }
    text
}

/// Open answers of one kind in one entry: lines, keys, what they are needed for.
fn folded(drafted: &Drafted) -> Vec<(String, String, String)> {
    let mut folded: Vec<(String, String, String)> = Vec::new();
    let mut columns: Vec<(&str, Vec<&start::OpenAnswer>)> = vec![("unit", Vec::new()), ("method", Vec::new())];
    for open in &drafted.open {
        let ending = columns
            .iter_mut()
            .find(|(ending, _)| open.key.starts_with("samples.columns.") && open.key.ends_with(&format!(".{ending}")));
        match ending {
            Some((_, list)) => list.push(open),
            None => folded.push((open.line.to_string(), open.key.clone(), open.needed.clone())),
        }
    }
    for (ending, list) in columns {
        let (Some(first), Some(last)) = (list.first(), list.last()) else { continue };
        let lines =
            if first.line == last.line { first.line.to_string() } else { format!("{}-{}", first.line, last.line) };
        let names: Vec<&str> = list.iter().filter_map(|open| open.key.split('.').nth(2)).collect();
        let needed = match ending {
            "unit" => "as the lab prints it; the column is left out until then",
            _ => "as the lab prints it, or \"unknown\"; zones do not need it, guides do",
        };
        folded.push((lines, format!("samples.columns, {ending} of {}", names.join(", ")), needed.to_owned()));
    }
    folded.sort_by_key(|(lines, ..)| lines.split('-').next().and_then(|line| line.parse::<usize>().ok()));
    folded
}

/// A labelled paragraph of at most 80 columns.
fn wrapped(label: &str, text: &str) -> String {
    const WIDTH: usize = 80;
    const INDENT: usize = 15;
    let mut lines = vec![format!("{label:<INDENT$}")];
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let line = lines.last_mut().expect("starts with one line");
        if line.chars().count() > INDENT && line.chars().count() + 1 + word.chars().count() > WIDTH {
            lines.push(format!("{:INDENT$}{word}", ""));
        } else {
            if line.chars().count() > INDENT {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines.join("\n") + "\n"
}
