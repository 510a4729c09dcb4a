//! Settings of the sample stage, as answered in the field file.

use super::number_form::NumberForm;
use super::{Analyte, LabMethod};
use crate::sheet::SheetForm;
use crate::units::LabUnit;

/// How to read the lab's sheet.
#[derive(Debug, Clone)]
pub struct SampleSettings {
    /// Column with the sample's name; `None` = the sheet has none, rows are numbered from 1.
    pub id_column: Option<String>,
    /// Where the samples lie.
    pub places: PlacesSetting,
    /// How deep the cores went.
    pub depth: DepthSetting,
    /// One entry an analyte.
    pub columns: Vec<ColumnSetting>,
    /// The lab does not run the buffer at or above this pH: blank means no acidity there.
    pub buffer_not_run_at_or_above_ph: Option<f64>,
    /// That rule is still to be answered: blanks are warned of, and stay unknown.
    pub buffer_rule_is_open: bool,
    /// What to do with samples outside the outline.
    pub outside: OutsideRule,
    /// Samples that do not count, by name.
    pub leave_out: Vec<String>,
    /// Dry soil the sample stands for, lb/ac; `None` = from the depth.
    pub soil_lb_ac: Option<f64>,
    /// How the sheet is read.
    pub sheet: SheetForm,
    /// How the sheet prints numbers, and what words in their place mean.
    pub numbers: NumberForm,
    /// Cores that went into each sample; `None` = not told.
    pub cores_per_sample: Option<f64>,
    /// Day the cores were taken, ISO 8601.
    pub taken: Option<String>,
    /// Harvest year of the crop planned for.
    pub season: Option<u32>,
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
    /// `samples.taken`
    pub taken: usize,
    /// `samples.cores_per_sample`
    pub cores: usize,
    /// `samples.words`
    pub words: usize,
    /// `samples.leave_out`
    pub leave_out: usize,
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
        /// How names are compared.
        matching: NameMatch,
        /// CRS, where the file does not state one.
        crs: Option<String>,
        /// What of the file's shapes the samples lie at.
        take: PlaceShape,
    },
    /// Still to be answered: rows can be checked, nothing can be mapped.
    Open,
}

/// How names of the sheet are compared with names of points.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NameMatch {
    /// Letter by letter.
    Letters,
    /// By the numbers in the names alone, leading zeros dropped: `12` is `A-012`.
    Number,
}

impl NameMatch {
    /// What two names must share to be the same; empty where the name has nothing to compare.
    pub fn key(self, name: &str) -> String {
        match self {
            NameMatch::Letters => name.trim().to_owned(),
            NameMatch::Number => {
                let groups = name.split(|c: char| !c.is_ascii_digit()).filter(|group| !group.is_empty());
                let groups: Vec<&str> = groups
                    .map(|group| match group.trim_start_matches('0') {
                        "" => "0",
                        rest => rest,
                    })
                    .collect();
                groups.join("-")
            }
        }
    }
}

/// Shapes of another file that samples lie at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlaceShape {
    /// Points.
    Points,
    /// Polygons, each sampled as one composite that stands at a point inside.
    Polygons,
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

/// Unit of a depth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DepthUnit {
    /// Inches.
    Inches,
    /// Centimeters.
    Centimeters,
    /// Still to be answered: depths can be told apart, but not used.
    Open,
}

impl DepthUnit {
    /// Inches in one of this unit; 1 while it is open. Source: 1 in = 2.54 cm exactly (1959).
    pub fn inches(self) -> f64 {
        match self {
            DepthUnit::Inches | DepthUnit::Open => 1.0,
            DepthUnit::Centimeters => 1.0 / 2.54,
        }
    }

    /// Name as printed and as typed in the field file.
    pub fn name(self) -> &'static str {
        match self {
            DepthUnit::Inches => "in",
            DepthUnit::Centimeters => "cm",
            DepthUnit::Open => "(unit not told)",
        }
    }
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
    /// Columns of the sheet.
    Columns {
        /// Column with the top; `None` = cores start at the surface.
        top: Option<String>,
        /// Column with the bottom.
        bottom: String,
        /// Unit of the columns.
        unit: DepthUnit,
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

impl SampleSettings {
    /// The column with the names, for the place of a fault; none where rows are numbered.
    pub(super) fn id_columns(&self) -> Vec<&str> {
        self.id_column.as_deref().into_iter().collect()
    }
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
