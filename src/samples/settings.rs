//! Settings of the sample stage, as answered in the field file.

use super::{Analyte, LabMethod};
use crate::units::LabUnit;

/// How to read the lab's sheet.
#[derive(Debug, Clone)]
pub struct SampleSettings {
    /// Column with the sample's name.
    pub id_column: String,
    /// Where the samples lie.
    pub places: PlacesSetting,
    /// How deep the cores went.
    pub depth: DepthSetting,
    /// One entry an analyte.
    pub columns: Vec<ColumnSetting>,
    /// The lab does not run the buffer at or above this pH: blank means no acidity there.
    pub buffer_not_run_at_or_above_ph: Option<f64>,
    /// What to do with samples outside the outline.
    pub outside: OutsideRule,
    /// Dry soil the sample stands for, lb/ac; `None` = from the depth.
    pub soil_lb_ac: Option<f64>,
    /// The sheet, as typed.
    pub file: String,
    /// The field file, as typed, for faults that lie in it.
    pub field_file: String,
    /// Where the answers stand in the field file.
    pub lines: SampleLines,
}

/// Lines of the field file, from 1, for faults that lie in it.
#[derive(Debug, Clone, Copy, Default)]
pub struct SampleLines {
    /// `samples.id`
    pub id: usize,
    /// `samples.places`
    pub places: usize,
    /// `samples.depth_in`
    pub depth: usize,
}

/// Where the samples lie.
#[derive(Debug, Clone)]
pub enum PlacesSetting {
    /// Two columns of the sheet.
    Sheet(SheetCoordinates),
    /// Points of another file, joined by the sample's name.
    Points {
        /// File as typed.
        file: String,
        /// Attribute that holds the sample's name.
        id: String,
        /// CRS, where the file does not state one.
        crs: Option<String>,
    },
}

/// Coordinates in the sheet.
#[derive(Debug, Clone)]
pub struct SheetCoordinates {
    /// Column with longitude or easting.
    pub x_column: String,
    /// Column with latitude or northing.
    pub y_column: String,
    /// CRS as typed.
    pub crs: String,
    /// Added to the columns before the CRS is applied, CRS units; for local meters.
    pub offset: [f64; 2],
}

/// How deep the cores went.
#[derive(Debug, Clone)]
pub enum DepthSetting {
    /// The same for every row, inches.
    Fixed {
        /// Top, in.
        top_in: f64,
        /// Bottom, in.
        bottom_in: f64,
    },
    /// Two columns of the sheet, inches.
    Columns {
        /// Column with the top, in.
        top: String,
        /// Column with the bottom, in.
        bottom: String,
        /// The depth to map, in; rows of other depths are set aside.
        take_in: Option<[f64; 2]>,
    },
    /// The user does not know; what needs it is left out.
    Unknown,
}

/// One analyte's column.
#[derive(Debug, Clone)]
pub struct ColumnSetting {
    /// The analyte.
    pub analyte: Analyte,
    /// Column header.
    pub column: String,
    /// Unit the lab prints.
    pub unit: LabUnit,
    /// Lab method.
    pub method: MethodSetting,
    /// Line of the field file, for faults that lie in it.
    pub line: usize,
}

impl ColumnSetting {
    /// The method of every row; unknown while it is printed row by row and not yet settled.
    pub fn fixed_method(&self) -> LabMethod {
        match self.method {
            MethodSetting::Fixed(method) => method,
            MethodSetting::Column(_) => LabMethod::Unknown,
        }
    }
}

/// Lab method of a column.
#[derive(Debug, Clone, PartialEq)]
pub enum MethodSetting {
    /// The same for every row.
    Fixed(LabMethod),
    /// Printed row by row in this column.
    Column(String),
}

/// What to do with samples outside the outline.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OutsideRule {
    /// An error (the default).
    Refuse,
    /// Leave such samples out, with a warning.
    LeaveOut,
}
