//! What a header names, before its unit, its method and the values below it are looked at.

use crate::samples::Analyte;
use crate::units::Compound;

/// What a header names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Name {
    /// One analyte whatever the unit; elements may turn to saturations.
    Analyte(Analyte),
    /// An element, written as a compound.
    Compound(Compound),
    /// pH of the soil; the method words say in what.
    Ph,
    /// pH in water, worked out by the lab from another pH.
    PhConverted,
    /// Ten times a buffer pH.
    LimeIndex,
    /// Phosphorus by a test that its short name tells: `P1`, `P2`.
    PhosphorusBray(u8),
    /// Nitrate, as nitrogen or as nitrate not said.
    NitrateForm,
    /// Organic carbon.
    OrganicCarbon,
    /// `MO`: organic matter, or molybdenum.
    OrganicMatterOrMolybdenum,
    /// Exchangeable hydrogen: in percent the acidity's share.
    Hydrogen,
    /// Effective CEC.
    EffectiveCec,
    /// Total exchange capacity of base-saturation sheets.
    ExchangeCapacity,
    /// Name of the sample, or of what may stand for it: 0 is best.
    SampleId(u8),
    /// Longitude.
    Longitude,
    /// Latitude.
    Latitude,
    /// First coordinate, degrees or meters.
    X,
    /// Second coordinate, degrees or meters.
    Y,
    /// Easting.
    Easting,
    /// Northing.
    Northing,
    /// Top of the core.
    DepthTop,
    /// Bottom of the core.
    DepthBottom,
    /// Day of sampling; 0 is best.
    SampledOn(u8),
    /// Cores in a sample.
    Cores,
    /// Use of the ground.
    Status,
    /// Crop: tells the use only where some ground lies fallow.
    Crop,
    /// What was spread.
    Programme,
    /// A lab quantity this program does not use, and why.
    LeftAside(&'static str),
    /// Nothing a lab measures, and why it is not used.
    NoQuantity(&'static str),
}

impl Name {
    /// Whether a lab measures or works it out.
    pub(super) fn is_lab_quantity(self) -> bool {
        !matches!(
            self,
            Name::SampleId(_)
                | Name::Longitude
                | Name::Latitude
                | Name::X
                | Name::Y
                | Name::Easting
                | Name::Northing
                | Name::DepthTop
                | Name::DepthBottom
                | Name::SampledOn(_)
                | Name::Cores
                | Name::Status
                | Name::Crop
                | Name::Programme
                | Name::NoQuantity(_)
        )
    }
}
