//! What one column of a sheet was understood to be.

use crate::samples::{Analyte, DepthUnit, LabMethod};
use crate::units::LabUnit;

/// Something a sheet prints, or not.
#[derive(Debug, Clone, PartialEq)]
pub enum Found<T> {
    /// Printed in the header, in these words.
    Printed(T, String),
    /// Not printed, but only one thing fits; the reason.
    Inferred(T, String),
    /// Not on the sheet: the user must say.
    NotPrinted,
}

impl<T: Copy> Found<T> {
    /// The thing found.
    pub fn value(&self) -> Option<T> {
        match self {
            Found::Printed(value, _) | Found::Inferred(value, _) => Some(*value),
            Found::NotPrinted => None,
        }
    }
}

/// What a column is.
#[derive(Debug, Clone, PartialEq)]
pub enum Role {
    /// Name of the sample, field or place.
    SampleId,
    /// Longitude in degrees.
    Longitude,
    /// Latitude in degrees.
    Latitude,
    /// Easting; the CRS is not on the sheet unless an EPSG column or the header says so.
    Easting,
    /// Northing.
    Northing,
    /// Top of the core.
    DepthTop(Found<DepthUnit>),
    /// Bottom of the core; where the sheet has no top, cores start at the surface.
    DepthBottom(Found<DepthUnit>),
    /// Day the cores were taken.
    SampledOn,
    /// Cores that went into a sample.
    Cores,
    /// What the ground is used for: fallow is told from cropped by it.
    Status,
    /// What was spread, in words or as an amount.
    Programme,
    /// A measured quantity.
    Analyte {
        /// The quantity.
        analyte: Analyte,
        /// Its unit.
        unit: Found<LabUnit>,
        /// Its lab method; where the analyte has only one, that one.
        method: Found<LabMethod>,
    },
    /// Not used, and why: "an index, not an amount".
    LeftAside(String),
}

/// One column, understood.
#[derive(Debug, Clone, PartialEq)]
pub struct ColumnReading {
    /// Header as in the table.
    pub column: String,
    /// Position in the table, from 0.
    pub index: usize,
    /// What it is.
    pub role: Role,
    /// Why, in a few words: "by name", "by name and range".
    pub why: String,
}

impl std::fmt::Display for Role {
    /// `k in ppm`, `longitude`, `left aside: an index, not an amount`
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Role::SampleId => write!(f, "name"),
            Role::Longitude => write!(f, "longitude"),
            Role::Latitude => write!(f, "latitude"),
            Role::Easting => write!(f, "easting"),
            Role::Northing => write!(f, "northing"),
            Role::DepthTop(_) => write!(f, "top of the core"),
            Role::DepthBottom(_) => write!(f, "bottom of the core"),
            Role::SampledOn => write!(f, "day of sampling"),
            Role::Cores => write!(f, "cores in a sample"),
            Role::Status => write!(f, "what the ground is used for"),
            Role::Programme => write!(f, "what was spread"),
            Role::Analyte { analyte, unit, .. } => match unit.value() {
                Some(LabUnit::Ph | LabUnit::Rating) => write!(f, "{}", analyte.key()),
                Some(unit) => write!(f, "{} in {}", analyte.key(), unit.name()),
                None => write!(f, "{}, its unit not printed", analyte.key()),
            },
            Role::LeftAside(why) => write!(f, "left aside: {why}"),
        }
    }
}
