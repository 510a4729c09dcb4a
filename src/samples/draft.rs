//! Rows of the sheet with their cells read as numbers in the program's units; not yet checked against each other.

use super::checks::not_a_number;
use super::depth_span::depth_span;
use super::number_form::{CellNumber, rating};
use super::sample::{Limit, Reading};
use super::settings::{DepthSetting, DepthUnit, MethodSetting, PlacesSetting, SampleSettings};
use super::{Analyte, LabMethod, sheet_place};
use crate::crs::InputCrs;
use crate::diagnostic::{Code, Diagnostic, Place};
use crate::sheet::{DecimalMark, SampleTable};
use crate::units::{Quantity, soil_lb_ac};

/// An id, a coordinate or a depth is blank.
pub static MISSING_CELL: Code = Code {
    name: "missing-cell",
    checks: "that every row has a sample name, a place and, where the sheet prints it, a depth",
    why: "a sample without a name or a place cannot be put on the map, and leaving it out unseen would move the map",
    example: "line 12 has a blank `Long`",
    mend: "fill the cell from the field notes, or delete the row",
};

/// A row read cell by cell.
#[derive(Debug, Clone)]
pub struct DraftSample {
    /// Line in the sheet, from 1.
    pub line: usize,
    /// Index of the row in the table.
    pub row: usize,
    /// Sample name, as text: `012` stays `012`.
    pub id: String,
    /// Top and bottom, in.
    pub depth_in: Option<[f64; 2]>,
    /// Coordinates of the sheet, offset applied, CRS of the sheet.
    pub sheet_xy: Option<[f64; 2]>,
    /// Readings in the order of `SampleSettings::columns`; `None` = blank.
    pub readings: Vec<Option<Reading>>,
    /// Lab method of each reading.
    pub methods: Vec<LabMethod>,
}

impl DraftSample {
    /// The reading of an analyte.
    pub fn reading(&self, settings: &SampleSettings, analyte: Analyte) -> Option<Reading> {
        let index = settings.columns.iter().position(|column| column.analyte == analyte)?;
        self.readings[index]
    }
}

/// Reads every row.
///
/// # Errors
/// All missing columns; then all cells that are no number, all blank names, places and depths.
pub(super) fn read_drafts(table: &SampleTable, settings: &SampleSettings) -> Result<Vec<DraftSample>, Vec<Diagnostic>> {
    let mut faults = Vec::new();
    let mut column_at = |header: &str, line: usize, key: String| {
        let asked_at = Place::Key { file: settings.field_file.clone(), line, key };
        table.column(header, asked_at).map_err(|fault| faults.push(*fault)).ok()
    };
    let id_column = settings.id_column.as_ref().map(|id| column_at(id, settings.lines.id, "samples.id".to_owned()));
    let xy_columns = match &settings.places {
        PlacesSetting::Sheet(sheet) => {
            let line = settings.lines.places;
            let x = column_at(&sheet.x_column, line, "samples.places".to_owned());
            let y = column_at(&sheet.y_column, line, "samples.places".to_owned());
            x.zip(y)
        }
        PlacesSetting::Points { .. } | PlacesSetting::Open => None,
    };
    let depth_columns = match &settings.depth {
        DepthSetting::Columns { top, bottom, unit, .. } => {
            let line = settings.lines.depth;
            let top = top.as_ref().map(|top| column_at(top, line, "samples.depth_in".to_owned()));
            let bottom = column_at(bottom, line, "samples.depth_in".to_owned());
            bottom.map(|bottom| (top.flatten(), bottom, unit.inches()))
        }
        _ => None,
    };
    let mut value_columns = Vec::new();
    for column in &settings.columns {
        let key = format!("samples.columns.{}", column.analyte.key());
        let value = column_at(&column.column, column.line, key.clone());
        let method = match &column.method {
            MethodSetting::Fixed(_) => None,
            MethodSetting::Column(header) => column_at(header, column.line, key),
        };
        value_columns.push((value, method));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let decimal_comma = settings.numbers.decimal == DecimalMark::Comma;
    let is_geographic = match &settings.places {
        PlacesSetting::Sheet(sheet) => InputCrs::from_text(&sheet.crs).ok().map(|crs| crs.is_geographic()),
        PlacesSetting::Points { .. } | PlacesSetting::Open => None,
    };
    let unit_is_told = !matches!(settings.depth, DepthSetting::Columns { unit: DepthUnit::Open, .. });
    let mut drafts = Vec::with_capacity(table.rows.len());
    for (row_index, row) in table.rows.iter().enumerate() {
        let sheet_xy = match (&settings.places, xy_columns) {
            (PlacesSetting::Sheet(sheet), Some(columns)) => {
                sheet_place::read((table, row), sheet, columns, is_geographic, decimal_comma, &mut faults)
            }
            _ => None,
        };
        let mut number = |column: usize, what: &str| -> Option<f64> {
            let text = &row.cells[column];
            let header = table.header[column].as_str();
            if text.is_empty() {
                faults.push(
                    Diagnostic::error(&MISSING_CELL, format!("{what} is blank"))
                        .at(table.place(row.line, &[header]))
                        .with_help("fill the cell, or delete the row"),
                );
                return None;
            }
            match settings.numbers.reading(text) {
                Some(Reading { value, limit: Limit::Exact }) => Some(value),
                _ => {
                    faults.push(not_a_number::fault(table, row.line, header, text, &settings.numbers));
                    None
                }
            }
        };
        let depth_in = match (&settings.depth, depth_columns) {
            (DepthSetting::Fixed { top_in, bottom_in }, _) => Some([*top_in, *bottom_in]),
            (_, Some((top, bottom, inches))) => {
                let span = match top {
                    // One column holds the bottom, or both: `0-6`.
                    None => depth_span(&row.cells[bottom], &settings.numbers)
                        .or_else(|| number(bottom, "the depth").map(|bottom| [0.0, bottom])),
                    Some(top) => {
                        let top = number(top, "the depth");
                        top.zip(number(bottom, "the depth")).map(|(top, bottom)| [top, bottom])
                    }
                };
                span.map(|span| span.map(|depth| depth * inches))
            }
            _ => None,
        };
        let id = match id_column {
            None => (row_index + 1).to_string(),
            Some(column) => column.map_or(String::new(), |column| row.cells[column].clone()),
        };
        if id.is_empty() {
            faults.push(
                Diagnostic::error(&MISSING_CELL, "the sample name is blank")
                    .at(table.place(row.line, &settings.id_columns()))
                    .with_help("fill the cell, or delete the row"),
            );
        }
        let soil_lb_ac = settings
            .soil_lb_ac
            .or_else(|| depth_in.filter(|_| unit_is_told).map(|[top, bottom]| soil_lb_ac(bottom - top)));
        let mut readings = Vec::with_capacity(settings.columns.len());
        let mut methods = Vec::with_capacity(settings.columns.len());
        for (column, (value, method)) in settings.columns.iter().zip(&value_columns) {
            let text = value.map_or("", |index| row.cells[index].as_str());
            let number = match column.analyte.quantity() {
                Quantity::Rating if settings.numbers.word(text).is_none() && !text.is_empty() => {
                    rating(text).map(CellNumber::Reading)
                }
                _ => settings.numbers.cell(text),
            };
            let reading = match number {
                Some(CellNumber::Reading(reading) | CellNumber::Rated(reading)) => Some(reading),
                Some(CellNumber::Blank | CellNumber::OpenWord) => None,
                None => {
                    faults.push(not_a_number::fault(table, row.line, &column.column, text, &settings.numbers));
                    None
                }
            };
            // `settings` was checked: the unit fits, and pounds an acre come with a depth.
            let factor = column.unit.factor(column.analyte.quantity(), soil_lb_ac.unwrap_or(f64::NAN)).unwrap_or(1.0);
            readings.push(reading.map(|r| Reading { value: r.value * factor, limit: r.limit }));
            methods.push(match (&column.method, method) {
                (MethodSetting::Fixed(method), _) => *method,
                (MethodSetting::Column(header), Some(index)) => {
                    let text = row.cells[*index].as_str();
                    LabMethod::parse(text).unwrap_or_else(|| {
                        if !text.is_empty() {
                            faults.push(super::checks::mixed_lab_methods::unknown(table, row.line, header, text));
                        }
                        LabMethod::Unknown
                    })
                }
                (MethodSetting::Column(_), None) => LabMethod::Unknown,
            });
        }
        drafts.push(DraftSample { line: row.line, row: row_index, id, depth_in, sheet_xy, readings, methods });
    }
    if faults.is_empty() { Ok(drafts) } else { Err(faults) }
}
