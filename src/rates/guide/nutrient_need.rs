//! What a guide says of one soil and crop-year: amounts, state, levels, and the same in words.

use crate::rates::Crop;

/// Where a soil stands against the levels of a guide.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NeedState {
    /// Below the critical level.
    BuildUp,
    /// In the maintenance range: replace what is removed.
    Maintenance,
    /// In the draw-down range: less and less.
    DrawDown,
    /// Above all ranges: nothing.
    None,
}

impl NeedState {
    /// Words for tables.
    pub fn name(self) -> &'static str {
        match self {
            NeedState::BuildUp => "build-up",
            NeedState::Maintenance => "maintenance",
            NeedState::DrawDown => "draw-down",
            NeedState::None => "none needed",
        }
    }
}

/// Whether ground below the critical level is raised to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BuildUpChoice {
    /// Raised in the guide's years.
    Raise,
    /// Only kept up, each year: for ground that cannot hold more.
    KeepUp,
}

/// A crop with its goal, and the crops it is grown with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CropYear<'a> {
    /// The crop.
    pub crop: Crop,
    /// Goal in the crop's unit: bu/ac, alfalfa short tons/ac.
    pub yield_ac: f64,
    /// Other crops of the rotation; some guides let the most demanding one set the level.
    pub rotation: &'a [Crop],
}

/// Levels of the soil test at which the state changes, ppm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoilLevels {
    /// Below it: build-up.
    pub critical_ppm: f64,
    /// Up to it: maintenance.
    pub maintenance_to_ppm: f64,
    /// From it on nothing is needed; equal to the level before it where nothing is drawn down.
    pub none_from_ppm: f64,
}

/// What a guide says of one soil and crop-year.
///
/// `lb_ac + over_most_lb_ac = build_up_lb_ac + upkeep_share * (removal_lb_ac + added_lb_ac)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NutrientNeed {
    /// Nutrient for the crop-year, lb/ac (K2O or P2O5).
    pub lb_ac: f64,
    /// Of it, to raise the ground, lb/ac.
    pub build_up_lb_ac: f64,
    /// To raise the ground, but left out by [`BuildUpChoice::KeepUp`], lb/ac.
    pub left_out_lb_ac: f64,
    /// What the crop takes off, lb/ac.
    pub removal_lb_ac: f64,
    /// What the guide adds to it, lb/ac.
    pub added_lb_ac: f64,
    /// Share of removal and addition that is needed: 1, less in draw-down, 0 above.
    pub upkeep_share: f64,
    /// What lies above the guide's most of a crop-year, lb/ac, and is not part of `lb_ac`.
    pub over_most_lb_ac: f64,
    /// The levels of this ground.
    pub levels: SoilLevels,
    /// Where the soil stands.
    pub state: NeedState,
    /// A step of the critical level this CEC lies near, meq/100 g: a lab's error away the rate is another.
    pub near_step_cec: Option<f64>,
}

impl NutrientNeed {
    /// Why the need is what it is, with its numbers, to stand behind a colon.
    pub fn reason(&self) -> String {
        let upkeep = match self.added_lb_ac {
            0.0 => format!("{:.1} removal", self.removal_lb_ac),
            added => format!("{:.1} removal + {added:.0}", self.removal_lb_ac),
        };
        let mut reason = match self.state {
            NeedState::BuildUp if self.left_out_lb_ac > 0.0 => {
                format!("{upkeep}; {:.1} lb a year toward the level left out", self.left_out_lb_ac)
            }
            NeedState::BuildUp => format!("{:.1} lb a year toward the level + {upkeep}", self.build_up_lb_ac),
            NeedState::Maintenance => upkeep,
            NeedState::DrawDown => format!("{:.0} % of ({upkeep})", 100.0 * self.upkeep_share),
            NeedState::None => format!("at or above {:.0} ppm nothing is needed", self.levels.none_from_ppm),
        };
        if self.over_most_lb_ac > 0.0 {
            reason += &format!("; {:.0} lb of it lie above the guide's most of a year", self.over_most_lb_ac);
        }
        reason
    }
}

/// Why a guide gives no figure.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NoNeed {
    /// The guide has no rule for the nutrient.
    #[error("the guide has no rule for it")]
    NoRule,
    /// The guide is not made for the crop.
    #[error("the guide is not made for {}", .0.name())]
    NotForCrop(Crop),
    /// The rule needs a CEC, and there is none.
    #[error("there is no CEC, and the guide needs it")]
    NoCec,
    /// A soil test, CEC or goal that is no number, or below 0.
    #[error("{0} is no amount")]
    NoAmount(f64),
}
