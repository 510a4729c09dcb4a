//! Passes: trips over the field, in the order driven.

use crate::fields::HoldingClass;
use crate::units::soil_lb_ac;

/// Where a pass puts its products.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Placement {
    /// Spread and worked in.
    Tilled,
    /// Spread and left on the surface.
    Surface,
    /// Put down in bands beside the row or in the soil.
    Band,
}

impl Placement {
    /// All.
    pub const ALL: [Placement; 3] = [Placement::Tilled, Placement::Surface, Placement::Band];

    /// Name in the field file.
    pub fn name(self) -> &'static str {
        match self {
            Placement::Tilled => "tilled",
            Placement::Surface => "surface",
            Placement::Band => "band",
        }
    }
}

/// When in the life of the crop nitrogen of a pass comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NitrogenStage {
    /// In the fall before the crop.
    Fall,
    /// Before or at planting.
    Planting,
    /// In the standing crop.
    Standing,
}

/// Cost of a trip, USD an acre driven; `None` = unknown.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TripCost {
    /// With one rate.
    pub flat_usd_ac: Option<f64>,
    /// With rates that vary.
    pub variable_usd_ac: Option<f64>,
}

/// One trip over the field.
#[derive(Debug, Clone, PartialEq)]
pub struct Pass {
    /// Printed name.
    pub name: String,
    /// When, in the user's words: "April".
    pub window: Option<String>,
    /// Crop year it comes before or in, from 1.
    pub year: usize,
    /// Short names of the products it may bring.
    pub products: Vec<String>,
    /// Where they are put.
    pub placement: Placement,
    /// Depth of soil the products reach, inches: what the pass can load, never the depth of the cores.
    pub reaches_in: f64,
    /// In the standing crop.
    pub standing_crop: bool,
    /// In the fall before the crop of its year.
    pub fall: bool,
    /// Only on ground of these holding classes; `None` = on all ground.
    pub holds: Option<Vec<HoldingClass>>,
    /// Cost of the trip.
    pub trip: TripCost,
}

impl Pass {
    /// Soil its products reach, lb/ac: 2,000,000 for 6 2/3 to 7 in, else 300,000 an inch (3 in: 900,000).
    pub fn placement_lb_ac(&self) -> f64 {
        soil_lb_ac(self.reaches_in)
    }

    /// When its nitrogen comes.
    pub fn nitrogen_stage(&self) -> NitrogenStage {
        match (self.standing_crop, self.fall) {
            (true, _) => NitrogenStage::Standing,
            (false, true) => NitrogenStage::Fall,
            (false, false) => NitrogenStage::Planting,
        }
    }

    /// Whether it is driven on ground of a class; `None` where that hangs on a class that is not known.
    pub fn is_open_to(&self, class: Option<HoldingClass>) -> Option<bool> {
        match &self.holds {
            None => Some(true),
            Some(holds) => class.map(|class| holds.contains(&class)),
        }
    }

    /// The classes it is for, in words: "ground that holds little"; `None` = all ground.
    pub fn ground_words(&self) -> Option<String> {
        let words: Vec<&str> = self.holds.as_ref()?.iter().map(|class| class.words()).collect();
        Some(format!("ground that {}", words.join(" or ")))
    }
}
