//! Rows of the sheet with their cells read as numbers in the program's units; not yet checked against each other.

use super::checks::not_a_number;
use super::sample::{Limit, Reading};
use super::settings::{DepthSetting, MethodSetting, PlacesSetting, SampleSettings};
use super::table::SampleTable;
use super::{Analyte, LabMethod};
use crate::diagnostic::{Code, Diagnostic, Place};
use crate::units::soil_lb_ac;

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
    let id_column = column_at(&settings.id_column, settings.lines.id, "samples.id".to_owned());
    let xy_columns = match &settings.places {
        PlacesSetting::Sheet(sheet) => {
            let line = settings.lines.places;
            let x = column_at(&sheet.x_column, line, "samples.places".to_owned());
            let y = column_at(&sheet.y_column, line, "samples.places".to_owned());
            x.zip(y)
        }
        PlacesSetting::Points { .. } => None,
    };
    let depth_columns = match &settings.depth {
        DepthSetting::Columns { top, bottom, .. } => {
            let line = settings.lines.depth;
            let top = column_at(top, line, "samples.depth_in".to_owned());
            top.zip(column_at(bottom, line, "samples.depth_in".to_owned()))
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
    let mut drafts = Vec::with_capacity(table.rows.len());
    for row in &table.rows {
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
            match not_a_number::read(text) {
                Some(Reading { value, limit: Limit::Exact }) => Some(value),
                _ => {
                    faults.push(not_a_number::fault(table, row.line, header, text));
                    None
                }
            }
        };
        let sheet_xy = xy_columns.and_then(|(x, y)| {
            let (x, y) = (number(x, "the place"), number(y, "the place"));
            let offset = match &settings.places {
                PlacesSetting::Sheet(sheet) => sheet.offset,
                PlacesSetting::Points { .. } => [0.0; 2],
            };
            Some([x? + offset[0], y? + offset[1]])
        });
        let depth_in = match (&settings.depth, depth_columns) {
            (DepthSetting::Fixed { top_in, bottom_in }, _) => Some([*top_in, *bottom_in]),
            (_, Some((top, bottom))) => {
                let (top, bottom) = (number(top, "the depth"), number(bottom, "the depth"));
                top.zip(bottom).map(|(top, bottom)| [top, bottom])
            }
            _ => None,
        };
        let id = id_column.map_or(String::new(), |column| row.cells[column].clone());
        if id.is_empty() {
            faults.push(
                Diagnostic::error(&MISSING_CELL, "the sample name is blank")
                    .at(table.place(row.line, &[settings.id_column.as_str()]))
                    .with_help("fill the cell, or delete the row"),
            );
        }
        let soil_lb_ac = settings.soil_lb_ac.or_else(|| depth_in.map(|[top, bottom]| soil_lb_ac(bottom - top)));
        let mut readings = Vec::with_capacity(settings.columns.len());
        let mut methods = Vec::with_capacity(settings.columns.len());
        for (column, (value, method)) in settings.columns.iter().zip(&value_columns) {
            let text = value.map_or("", |index| row.cells[index].as_str());
            let reading = if text.is_empty() {
                None
            } else {
                let reading = not_a_number::read(text);
                if reading.is_none() {
                    faults.push(not_a_number::fault(table, row.line, &column.column, text));
                }
                reading
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
        drafts.push(DraftSample { line: row.line, id, depth_in, sheet_xy, readings, methods });
    }
    if faults.is_empty() { Ok(drafts) } else { Err(faults) }
}
