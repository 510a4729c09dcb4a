//! `method` of `[zones]` with its own keys, and `[covariates]`.

use super::Answer;
use super::reader::{MISSING_KEY, Reader, Section, WRONG_VALUE, choice, ranged, wrong};
use crate::rates::{CropYear, GoalYield};
use crate::soil_surface::Variable;
use crate::zones::{ClassBreaks, CovariateSettings, DEFAULT_FUZZINESS, ZoneMethod, ZonePolygonsFile, ZoneQuantity};

/// Fuzziness that is of use: nearer to 1 groups are as sharp as those of k-means, beyond all shares are much alike
/// (heuristic).
const FUZZINESS: [f64; 2] = [1.1, 4.0];
/// Most edges of one quantity: six classes.
const MAX_EDGES: usize = 5;
/// Longest reach of a covariate's points, meters.
const MAX_REACH_M: f64 = 1000.0;

/// A quantity by its key: a soil quantity, or a covariate of the file; a fault of `path` otherwise.
pub(super) fn quantity(
    reader: &mut Reader<'_>,
    covariates: &[CovariateSettings],
    key: &str,
    (line, path): (usize, &str),
) -> Option<ZoneQuantity> {
    if let Some(variable) = Variable::from_key(key) {
        return Some(ZoneQuantity::Soil(variable));
    }
    if covariates.iter().any(|covariate| covariate.name == key) {
        return Some(ZoneQuantity::Covariate(key.to_owned()));
    }
    let mut known: Vec<&str> = Variable::all().iter().map(|variable| variable.key()).collect();
    known.extend(covariates.iter().map(|covariate| covariate.name.as_str()));
    let message = format!("`{key}` is not a mapped quantity, nor a line of `[covariates]`");
    let help = format!("zones can be drawn from: `{}`", known.join("`, `"));
    reader.fault(&WRONG_VALUE, line, path, message, &help);
    None
}

/// `method`, `fuzziness`, `breaks`, `polygons`
pub(super) fn method<'a>(
    reader: &mut Reader<'a>,
    section: &mut Section<'a>,
    covariates: &[CovariateSettings],
) -> Option<ZoneMethod> {
    let names = ZoneMethod::NAMES;
    let named = choice(reader, section, "method", |text| names.iter().find(|name| **name == text).copied(), &names);
    let is_faulty = matches!(named, Answer::Absent) && section.has("method");
    if matches!(named, Answer::Absent) && !is_faulty {
        reader.default_row("zones.method", "k-means");
    }
    let name = named.given().unwrap_or("k-means");
    let fuzziness = ranged(reader, section, "fuzziness", FUZZINESS[0], FUZZINESS[1]);
    let breaks = breaks(reader, section, covariates);
    let polygons = polygons(reader, section);
    if is_faulty {
        return None;
    }
    for (key, own) in [("fuzziness", "fuzzy-c-means"), ("breaks", "breaks"), ("polygons", "polygons")] {
        if section.has(key) && name != own {
            wrong(reader, section, key, format!("`{key}` means nothing to method `{name}`"));
        }
    }
    match name {
        "fuzzy-c-means" => {
            if !section.has("fuzziness") {
                reader.default_row("zones.fuzziness", &DEFAULT_FUZZINESS.to_string());
            }
            Some(ZoneMethod::FuzzyCMeans { fuzziness: fuzziness.unwrap_or(DEFAULT_FUZZINESS) })
        }
        "breaks" => {
            let help = "for example `breaks = { cec = [8, 16], ca_mg_saturation = [80] }`";
            needs(reader, section, "breaks", help);
            breaks.map(ZoneMethod::Breaks)
        }
        "polygons" => {
            needs(
                reader,
                section,
                "polygons",
                "for example `polygons = { file = \"zones.geojson\", name = \"ZONE\" }`",
            );
            polygons.map(ZoneMethod::Polygons)
        }
        _ => Some(ZoneMethod::KMeans),
    }
}

/// The key a method cannot do without.
fn needs(reader: &mut Reader<'_>, section: &Section<'_>, key: &str, help: &str) {
    if !section.has(key) {
        let path = section.path_of(key);
        let message = format!("`{path}` is missing, which the method stated needs");
        reader.fault(&MISSING_KEY, section.line_of(reader, "method"), &path, message, help);
    }
}

/// `breaks = { cec = [8, 16], ... }`; `None` with any fault in it.
fn breaks<'a>(
    reader: &mut Reader<'a>,
    parent: &mut Section<'a>,
    covariates: &[CovariateSettings],
) -> Option<Vec<ClassBreaks>> {
    let n_faults = reader.faults.len();
    let mut section = reader.section(parent, "breaks");
    if !section.is_there() {
        return None;
    }
    let line = section.line;
    let mut all = Vec::new();
    for (key, _) in section.entries() {
        let path = section.path_of(&key);
        let found = quantity(reader, covariates, &key, (line, &path));
        let edges = reader.numbers(&mut section, &key).given();
        let Some((quantity, edges)) = found.zip(edges) else { continue };
        let is_ascending = edges.windows(2).all(|pair| pair[0] < pair[1]);
        if edges.is_empty() || edges.len() > MAX_EDGES {
            wrong(reader, &section, &key, format!("{} edges of `{key}`; expected 1 to {MAX_EDGES}", edges.len()));
        } else if !is_ascending {
            let found = edges.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
            let message = format!("the edges of `{key}` must ascend, found: {found}");
            reader.fault(&WRONG_VALUE, line, &path, message, "write the lowest first, each once");
        }
        all.push(ClassBreaks { quantity, edges });
    }
    reader.finish(section);
    if all.is_empty() && reader.faults.len() == n_faults {
        reader.fault(&WRONG_VALUE, line, "zones.breaks", "`zones.breaks` names no quantity".to_owned(), "");
    }
    (reader.faults.len() == n_faults && !all.is_empty()).then_some(all)
}

/// `polygons = { file = .., name = .. }`
fn polygons<'a>(reader: &mut Reader<'a>, parent: &mut Section<'a>) -> Option<ZonePolygonsFile> {
    let mut section = reader.section(parent, "polygons");
    if !section.is_there() {
        return None;
    }
    let line = section.line;
    let file = reader.text(&mut section, "file");
    let file = reader.required(&section, "file", file);
    let name = reader.text(&mut section, "name");
    let name = reader.required(&section, "name", name);
    let crs = reader.text(&mut section, "crs").given();
    reader.finish(section);
    Some(ZonePolygonsFile { file: file?, name: name?, crs, line })
}

/// `[covariates]`
pub(super) fn covariates<'a>(reader: &mut Reader<'a>, root: &mut Section<'a>) -> Vec<CovariateSettings> {
    let mut section = reader.section(root, "covariates");
    let mut all = Vec::new();
    for (name, item) in section.entries() {
        let path = section.path_of(&name);
        let inner = reader.section_of(item, path.clone());
        if !name.starts_with(|c: char| c.is_ascii_alphabetic())
            || !name.chars().all(|c| c.is_ascii_alphanumeric() || c == '_')
        {
            let message = format!("`{name}` must be letters, digits and `_`, a letter first");
            reader.fault(&WRONG_VALUE, inner.line, &path, message, "");
        } else if Variable::from_key(&name).is_some() {
            let message = format!("`{name}` is a quantity of the soil already, so no covariate can be called so");
            let help = format!("call it otherwise, for example `{name}_survey`");
            reader.fault(&WRONG_VALUE, inner.line, &path, message, &help);
            covariate(reader, name, inner);
            continue;
        }
        all.extend(covariate(reader, name, inner));
    }
    reader.finish(section);
    all
}

fn covariate<'a>(reader: &mut Reader<'a>, name: String, mut section: Section<'a>) -> Option<CovariateSettings> {
    if !section.is_there() {
        return None;
    }
    let line = section.line;
    let file = reader.text(&mut section, "file");
    let file = reader.required(&section, "file", file);
    let crs = reader.text(&mut section, "crs").given();
    let lon = reader.text(&mut section, "lon").given();
    let lat = reader.text(&mut section, "lat").given();
    let column = reader.text(&mut section, "column").given();
    let unit = reader.text(&mut section, "unit").given();
    let reach_m = ranged(reader, &mut section, "reach_m", 0.0, MAX_REACH_M);
    if lon.is_some() || lat.is_some() {
        // A sheet: nothing but the field file says where its columns lie.
        for (key, is_given) in [("lon", lon.is_some()), ("lat", lat.is_some()), ("column", column.is_some())] {
            if !is_given {
                reader.required(&section, key, Answer::<String>::Absent);
            }
        }
        if crs.is_none() {
            reader.required(&section, "crs", Answer::<String>::Absent);
        }
    }
    reader.finish(section);
    Some(CovariateSettings { name, file: file?, crs, lon_lat: lon.zip(lat), column, unit, reach_m, line })
}

/// A covariate no zone is drawn from and no goal comes from: what it was meant to do would be passed over.
pub(super) fn unused_covariates(
    reader: &mut Reader<'_>,
    covariates: &[CovariateSettings],
    (from, method): (&[ZoneQuantity], &ZoneMethod),
    years: &[CropYear],
) {
    let is_goal =
        |name: &str| years.iter().any(|year| matches!(&year.goal, Some(GoalYield::Covariate(of)) if of == name));
    let is_used = |name: &str| {
        let names = |quantity: &ZoneQuantity| matches!(quantity, ZoneQuantity::Covariate(used) if used == name);
        let is_drawn_from = match method {
            ZoneMethod::Breaks(breaks) => breaks.iter().any(|breaks| names(&breaks.quantity)),
            _ => from.iter().any(names),
        };
        is_drawn_from || is_goal(name)
    };
    for covariate in covariates.iter().filter(|covariate| !is_used(&covariate.name)) {
        let path = format!("covariates.{}", covariate.name);
        let key = if matches!(method, ZoneMethod::Breaks(_)) { "zones.breaks" } else { "zones.from" };
        let message = format!("no zone is drawn from `{}`: `{key}` does not name it", covariate.name);
        reader.fault(
            &WRONG_VALUE,
            covariate.line,
            &path,
            message,
            &format!("name it in `{key}`, or take the line out"),
        );
    }
}
