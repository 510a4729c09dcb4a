//! MODUS XML, the open exchange format of soil laboratories, to a table.
//!
//! Its public structure: `ModusResult` > `Event` > `EventSamples` > `Soil` > `SoilSample` > `Depths` > `Depth` >
//! `NutrientResults` > `NutrientResult`. Elements that are not named here are left out. No schema and no list of test
//! codes is part of this program: a column is named by the codes the file itself holds.

use super::form::TextEncoding;
use super::modus_columns::{ModusRow, TestResult, table};
use super::table::{SampleTable, UNREADABLE_SHEET};
use super::xml_tree::{self, Element};
use super::{text, unreadable};
use crate::diagnostic::{Diagnostic, Place};

/// CRS of a place that names none: longitude and latitude of WGS 84.
pub(super) const LON_LAT_EPSG: &str = "4326";

/// Top, bottom and unit of a depth, as stated.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct StatedDepth {
    pub(super) top: String,
    pub(super) bottom: String,
    pub(super) unit: String,
}

/// A place of a sample, as stated.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct StatedPlace {
    pub(super) x: String,
    pub(super) y: String,
    pub(super) epsg: String,
}

/// Reads a file of results: one row for each depth of each sample.
///
/// # Errors
/// XML that does not read or is no MODUS; results below zero; two unlike results of one test; no results.
pub(super) fn read(file: &str, bytes: &[u8]) -> Result<SampleTable, Vec<Diagnostic>> {
    let letters = text::decoded(file, bytes, encoding(bytes))?;
    let help = "ask the lab for the file anew, or for CSV";
    let root = xml_tree::read(&letters).map_err(|(line, what)| vec![fault(file, line, what).with_help(help)])?;
    if root.name != "ModusResult" {
        let message = format!("the XML is `{}`; of XML only MODUS (`ModusResult`) is read", root.name);
        return Err(unreadable(file, message, "ask the lab for CSV, a workbook or MODUS"));
    }
    let mut rows: Vec<ModusRow> = Vec::new();
    let mut faults = Vec::new();
    for event in root.all("Event") {
        let date = event.all("EventMetaData").next().map_or("", |data| data.text_of("EventDate"));
        for soil in event.all_below("EventSamples", "Soil") {
            let depths = stated_depths(soil);
            for sample in soil.all("SoilSample") {
                match rows_of(file, sample, date, &depths) {
                    Ok(found) => rows.extend(found),
                    Err(found) => faults.extend(found),
                }
            }
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    if rows.is_empty() {
        return Err(unreadable(file, "the MODUS file holds no soil results", "ask the lab for the file with results"));
    }
    table(file, rows)
}

fn fault(file: &str, line: usize, what: impl Into<String>) -> Diagnostic {
    Diagnostic::error(&UNREADABLE_SHEET, what).at(Place::Row { file: file.to_owned(), line, columns: Vec::new() })
}

/// UTF-8, unless the declaration in the first line says a code page of western letters.
fn encoding(bytes: &[u8]) -> TextEncoding {
    let start = String::from_utf8_lossy(&bytes[..bytes.len().min(200)]).to_lowercase();
    let declaration = start.split("?>").next().unwrap_or("");
    let is_western = ["windows-1252", "iso-8859-1"].iter().any(|name| declaration.contains(name));
    if is_western { TextEncoding::Windows1252 } else { text::guessed_encoding_of_xml(bytes) }
}

fn stated_depths(soil: &Element) -> Vec<(String, StatedDepth)> {
    let of = |depth: &Element| {
        let unit = depth.text_of("DepthUnit").to_lowercase();
        let unit = match unit.as_str() {
            "inch" | "inches" => "in".to_owned(),
            "centimeter" | "centimeters" | "centimetre" | "centimetres" => "cm".to_owned(),
            _ => unit,
        };
        let top = depth.text_of("StartingDepth").to_owned();
        StatedDepth { top, bottom: depth.text_of("EndingDepth").to_owned(), unit }
    };
    let references = soil.all_below("DepthRefs", "DepthRef");
    references.map(|depth| (depth.attributes.get("DepthID").cloned().unwrap_or_default(), of(depth))).collect()
}

fn rows_of(
    file: &str,
    sample: &Element,
    date: &str,
    depths: &[(String, StatedDepth)],
) -> Result<Vec<ModusRow>, Vec<Diagnostic>> {
    let mut faults = Vec::new();
    let data = sample.all("SampleMetaData").next();
    let text_of = |name: &str| data.map_or("", |data| data.text_of(name)).to_owned();
    let place = data.and_then(|data| data.all("Geometry").next()).filter(|geometry| !geometry.text.trim().is_empty());
    let place = place.and_then(|geometry| {
        let found = stated_place(geometry);
        if found.is_none() {
            let what = format!("the place `{}` is not a point", short(geometry.text.trim()));
            faults.push(fault(file, geometry.line, what).with_help("a place reads `POINT(-93.5 41.0)`: x before y"));
        }
        found
    });
    let mut rows = Vec::new();
    for depth in sample.all_below("Depths", "Depth") {
        let id = depth.attributes.get("DepthID").cloned().unwrap_or_default();
        let known = depths.iter().find(|(known, _)| *known == id);
        if known.is_none() && !depths.is_empty() {
            let help = "each `DepthID` of a sample must stand among the `DepthRefs`";
            faults.push(fault(file, depth.line, format!("no depth `{id}` is described")).with_help(help));
        }
        let mut results = Vec::new();
        for result in depth.all_below("NutrientResults", "NutrientResult") {
            match test_result(result) {
                Ok(found) => results.push(found),
                Err(what) => {
                    faults.push(fault(file, result.line, what).with_help("ask the lab for the right result"));
                }
            }
        }
        rows.push(ModusRow {
            line: depth.line,
            sample_number: text_of("SampleNumber"),
            fmis_id: text_of("FMISSampleID"),
            place: place.clone(),
            date: date.to_owned(),
            depth: known.map(|(_, depth)| depth.clone()).unwrap_or_default(),
            results,
        });
    }
    if faults.is_empty() { Ok(rows) } else { Err(faults) }
}

/// `POINT(x y)`, with or without blanks and height.
fn stated_place(geometry: &Element) -> Option<StatedPlace> {
    let text = geometry.text.trim();
    let start = text.get(..5).filter(|word| word.eq_ignore_ascii_case("POINT"))?;
    let inner = text[start.len()..].trim().trim_start_matches(['Z', 'z']).trim();
    let inner = inner.strip_prefix('(')?.strip_suffix(')')?;
    let numbers: Vec<&str> = inner.split_whitespace().collect();
    let ([x, y] | [x, y, _]) = numbers[..] else { return None };
    let [x, y] = [x, y].map(|number| number.parse::<f64>().ok().filter(|n| n.is_finite()).map(|n| n.to_string()));
    let epsg = geometry.attributes.get("epsg").map_or("", |epsg| epsg.trim());
    let epsg = epsg.strip_prefix("EPSG:").unwrap_or(epsg);
    Some(StatedPlace { x: x?, y: y?, epsg: if epsg.is_empty() { LON_LAT_EPSG } else { epsg }.to_owned() })
}

fn test_result(result: &Element) -> Result<TestResult, String> {
    let text_of = |name: &str| result.text_of(name).to_owned();
    let stated = text_of("Value");
    let value = match stated.parse::<f64>() {
        Ok(number) if number < 0.0 => {
            return Err(format!("the result of {} is {stated}, below zero", short(result.text_of("Element"))));
        }
        // Powers of ten are written out; all else stays as the lab wrote it.
        Ok(number) if number.is_finite() && stated.contains(['e', 'E']) => number.to_string(),
        _ => stated,
    };
    Ok(TestResult {
        line: result.line,
        element: text_of("Element"),
        unit: text_of("ValueUnit"),
        test_id: text_of("ModusTestID"),
        value_type: text_of("ValueType"),
        value,
    })
}

fn short(text: &str) -> String {
    text.chars().take(60).collect()
}
