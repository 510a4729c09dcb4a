//! Crop years: what is grown, in the order grown, and the yield it is fed for.

use super::Crop;

/// Yield goal, in the crop's unit an acre (bushels; alfalfa short tons).
#[derive(Debug, Clone, PartialEq)]
pub enum GoalYield {
    /// The same everywhere.
    Field(f64),
    /// One a zone, zone 1 first.
    Zones(Vec<f64>),
    /// The mean of a covariate over each zone: a yield raster or the points of a yield log.
    Covariate(String),
}

/// One crop of the years covered.
#[derive(Debug, Clone, PartialEq)]
pub struct CropYear {
    /// The crop; `None` while it is open or unknown.
    pub crop: Option<Crop>,
    /// What it is fed for; `None` while it is open or unknown.
    pub goal: Option<GoalYield>,
}
