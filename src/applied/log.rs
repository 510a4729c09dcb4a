//! A log as text: one line a point, with named columns.

use crate::crs::LonLat;
use crate::diagnostic::{Code, Diagnostic, Place};

/// A log that cannot be read whole.
pub static LOG_UNREADABLE: Code = Code {
    name: "log-unreadable",
    checks: "that each line of a log of what was spread has a longitude, a latitude, a rate and a width that are numbers",
    why: "a point left out would read as ground that got nothing",
    example: "the column with the rate is called `Rate_lbac`, or a line holds `--` where the flow stopped",
    mend: "name the columns with `--lon`, `--lat`, `--rate`, `--width-ft`; write 0 where nothing was spread",
};

/// Meters in an international foot.
const M_PER_FT: f64 = 0.3048;
/// Widths taken for no slip, feet.
const WIDTH_FT: std::ops::RangeInclusive<f64> = 1.0..=200.0;

/// A logged point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogPoint {
    /// Longitude and latitude, degrees on WGS 84.
    pub place: LonLat,
    /// Rate in the log's unit.
    pub rate: f64,
    /// Width it was spread over, meters.
    pub width_m: f64,
}

/// Where the width comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum Width {
    /// One width, feet.
    Feet(f64),
    /// A column in feet.
    Column(String),
}

/// Names of a log's columns.
#[derive(Debug, Clone, PartialEq)]
pub struct LogColumns {
    /// Longitude, degrees.
    pub lon: String,
    /// Latitude, degrees.
    pub lat: String,
    /// Rate.
    pub rate: String,
    /// Width.
    pub width: Width,
}

/// Reads a log, in the order of the file. `file` is named in faults.
///
/// # Errors
/// [`LOG_UNREADABLE`]: all columns not found; else all lines that hold no numbers.
pub fn read_log(file: &str, bytes: &[u8], columns: &LogColumns) -> Result<Vec<LogPoint>, Vec<Diagnostic>> {
    let fault = |line: usize, message: String| {
        let place = Place::Row { file: file.to_owned(), line, columns: Vec::new() };
        Diagnostic::error(&LOG_UNREADABLE, message).at(place)
    };
    let mut reader = csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(bytes);
    let header = reader.headers().map_err(|error| vec![fault(1, error.to_string())])?.clone();
    let mut faults = Vec::new();
    let mut column = |name: &str| {
        let name_of = |text: &str| text.trim_start_matches('\u{feff}').eq_ignore_ascii_case(name);
        let found = header.iter().position(name_of);
        if found.is_none() {
            let names: Vec<&str> = header.iter().collect();
            let message = format!("the log has no column `{name}`; it has `{}`", names.join("`, `"));
            faults.push(fault(1, message).with_help("name its columns with `--lon`, `--lat`, `--rate`, `--width-ft`"));
        }
        found
    };
    let found = (column(&columns.lon), column(&columns.lat), column(&columns.rate));
    let width = match &columns.width {
        Width::Feet(_) => Some(None),
        Width::Column(name) => column(name).map(Some),
    };
    let ((Some(lon), Some(lat), Some(rate)), Some(width)) = (found, width) else { return Err(faults) };
    let mut points = Vec::new();
    for record in reader.records() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                let line = error.position().map_or(0, csv::Position::line) as usize;
                faults.push(fault(line, format!("the line cannot be read: {error}")));
                continue;
            }
        };
        let line = record.position().map_or(0, csv::Position::line) as usize;
        let mut number = |column: usize, range: std::ops::RangeInclusive<f64>| {
            let text = record.get(column).unwrap_or("");
            let value = text.parse::<f64>().ok().filter(|value| range.contains(value));
            if value.is_none() {
                let (name, low, high) = (header.get(column).unwrap_or(""), range.start(), range.end());
                faults.push(fault(line, format!("`{name}` is `{text}`, expected a number from {low} to {high}")));
            }
            value
        };
        let place = (number(lon, -180.0..=180.0), number(lat, -90.0..=90.0));
        let rate = number(rate, 0.0..=1e6);
        let width_ft = match (&columns.width, width) {
            (Width::Feet(feet), _) => Some(*feet),
            (Width::Column(_), Some(column)) => number(column, WIDTH_FT),
            (Width::Column(_), None) => None,
        };
        if let ((Some(lon), Some(lat)), Some(rate), Some(width_ft)) = (place, rate, width_ft) {
            points.push(LogPoint { place: (lon, lat), rate, width_m: width_ft * M_PER_FT });
        }
    }
    if points.is_empty() && faults.is_empty() {
        faults.push(fault(2, "the log holds no point".to_owned()));
    }
    if faults.is_empty() { Ok(points) } else { Err(faults) }
}
