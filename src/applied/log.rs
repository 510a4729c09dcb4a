//! A log's points: one row a point, with named columns.

use crate::crs::LonLat;
use crate::diagnostic::{Code, Diagnostic, Place};
use crate::units::M_PER_FOOT;

/// A log that cannot be read whole.
pub static LOG_UNREADABLE: Code = Code {
    name: "log-unreadable",
    checks: "that each line or point of a log of what was spread has a longitude, a latitude, a rate and a width that are numbers",
    why: "a point left out would read as ground that got nothing",
    example: "the column with the rate is called `Rate_lbac`, or a line holds `--` where the flow stopped",
    mend: "name the columns with `--lon`, `--lat`, `--rate`, `--width-ft`; write 0 where nothing was spread",
};

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

/// A log as read: rows of text under names of columns.
#[derive(Debug, Clone, PartialEq)]
pub struct LogRows {
    /// File as typed.
    pub file: String,
    /// Names of columns.
    pub header: Vec<String>,
    /// In the order of the file.
    pub rows: Vec<LogRow>,
}

/// One row of a log.
#[derive(Debug, Clone, PartialEq)]
pub struct LogRow {
    /// Where it stands in the file.
    pub stands: Place,
    /// A text a column.
    pub cells: Vec<String>,
    /// Its place, where the file itself has places; else it stands in columns.
    pub at: Option<LonLat>,
}

/// Reads a log of comma-separated text, in the order of the file. `file` is named in faults.
///
/// # Errors
/// [`LOG_UNREADABLE`]: all columns not found; else all lines that hold no numbers.
pub fn read_log(file: &str, bytes: &[u8], columns: &LogColumns) -> Result<Vec<LogPoint>, Vec<Diagnostic>> {
    let line_place = |line: usize| Place::Row { file: file.to_owned(), line, columns: Vec::new() };
    let fault = |line: usize, message: String| Diagnostic::error(&LOG_UNREADABLE, message).at(line_place(line));
    let mut reader = csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(bytes);
    let header = reader.headers().map_err(|error| vec![fault(1, error.to_string())])?;
    let header = header.iter().map(|name| name.trim_start_matches('\u{feff}').to_owned()).collect();
    let (mut rows, mut faults) = (Vec::new(), Vec::new());
    for record in reader.records() {
        match record {
            Ok(record) => {
                let line = record.position().map_or(0, csv::Position::line) as usize;
                let cells = record.iter().map(str::to_owned).collect();
                rows.push(LogRow { stands: line_place(line), cells, at: None });
            }
            Err(error) => {
                let line = error.position().map_or(0, csv::Position::line) as usize;
                faults.push(fault(line, format!("the line cannot be read: {error}")));
            }
        }
    }
    match (points_of(&LogRows { file: file.to_owned(), header, rows }, columns), faults.is_empty()) {
        (found, true) => found,
        (Ok(_), false) => Err(faults),
        (Err(more), false) => Err([faults, more].concat()),
    }
}

/// The points of a log's rows, in their order.
///
/// # Errors
/// [`LOG_UNREADABLE`]: all columns not found; else all rows that hold no numbers.
pub fn points_of(log: &LogRows, columns: &LogColumns) -> Result<Vec<LogPoint>, Vec<Diagnostic>> {
    let fault = |stands: &Place, message: String| Diagnostic::error(&LOG_UNREADABLE, message).at(stands.clone());
    let whole = Place::File(log.file.clone());
    if log.rows.is_empty() {
        return Err(vec![fault(&whole, "the log holds no point".to_owned())]);
    }
    let mut faults = Vec::new();
    let mut column = |name: &str| {
        let found = log.header.iter().position(|other| other.eq_ignore_ascii_case(name));
        if found.is_none() {
            let message = format!("the log has no column `{name}`; it has `{}`", log.header.join("`, `"));
            let fault = fault(&whole, message);
            faults.push(fault.with_help("name its columns with `--lon`, `--lat`, `--rate`, `--width-ft`"));
        }
        found
    };
    let in_columns = log.rows.iter().any(|row| row.at.is_none());
    let (lon, lat) = if in_columns { (column(&columns.lon), column(&columns.lat)) } else { (None, None) };
    let rate = column(&columns.rate);
    let width = match &columns.width {
        Width::Feet(_) => None,
        Width::Column(name) => column(name),
    };
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut points = Vec::new();
    for row in &log.rows {
        let mut number = |column: Option<usize>, range: std::ops::RangeInclusive<f64>| {
            let text = column.and_then(|column| row.cells.get(column)).map_or("", String::as_str);
            let value = text.trim().parse::<f64>().ok().filter(|value| range.contains(value));
            if value.is_none() {
                let name = column.and_then(|column| log.header.get(column)).map_or("", String::as_str);
                let (low, high) = (range.start(), range.end());
                let message = format!("`{name}` is `{text}`, expected a number from {low} to {high}");
                faults.push(fault(&row.stands, message));
            }
            value
        };
        let place = match row.at {
            Some(at) => Some(at),
            None => {
                let (lon, lat) = (number(lon, -180.0..=180.0), number(lat, -90.0..=90.0));
                lon.zip(lat)
            }
        };
        let rate = number(rate, 0.0..=1e6);
        let width_ft = match &columns.width {
            Width::Feet(feet) => Some(*feet),
            Width::Column(_) => number(width, WIDTH_FT),
        };
        if let (Some(place), Some(rate), Some(width_ft)) = (place, rate, width_ft) {
            points.push(LogPoint { place, rate, width_m: width_ft * M_PER_FOOT });
        }
    }
    if faults.is_empty() { Ok(points) } else { Err(faults) }
}
