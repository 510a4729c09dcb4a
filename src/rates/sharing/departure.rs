//! How far a share is from its target, and the rule of the sum.

use super::stoichiometry::cation_lb_ac;
use super::targets::TargetRow;
use super::zone_ground::ZoneGround;
use crate::chemistry::{Cation, Exchange};
use crate::fields::NO_ROOM_PERCENT;

/// A cation against its target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Departure {
    /// The cation.
    pub cation: Cation,
    /// Target, from and to, percent of the CEC; one figure twice where it is no range.
    pub target_percent: [f64; 2],
    /// Excess over the target's end where above 0, lack of it where below; 0 inside; meq/100 g.
    pub meq_100g: f64,
    /// The same as pounds of the element an acre.
    pub lb_ac: f64,
    /// Whether it is larger than the error of the zone's mean share; without an error it counts as larger.
    pub is_told: bool,
}

impl Departure {
    /// Of a cation with `percent` of the CEC. `error_percent` is that of the share.
    fn of(
        cation: Cation,
        parts: &Exchange,
        target: [f64; 2],
        error_percent: Option<f64>,
        soil_lb_ac: f64,
    ) -> Option<Self> {
        let percent = parts.saturation_percent(cation)?;
        let apart = percent - percent.clamp(target[0], target[1]);
        let meq_100g = apart / 100.0 * parts.cec_meq_100g();
        Some(Departure {
            cation,
            target_percent: target,
            meq_100g,
            lb_ac: cation_lb_ac(cation, meq_100g, soil_lb_ac),
            is_told: error_percent.is_none_or(|error| apart.abs() > error),
        })
    }

    /// More than the target, told apart from it.
    pub fn is_excess(&self) -> bool {
        self.is_told && self.meq_100g > 0.0
    }

    /// Less than the target, told apart from it.
    pub fn is_lack(&self) -> bool {
        self.is_told && self.meq_100g < 0.0
    }
}

/// Every cation that has a target. `skip` is one whose reading does not stand for what is exchangeable.
pub(super) fn departures(
    ground: &ZoneGround,
    row: &TargetRow,
    skip: Option<Cation>,
    soil_lb_ac: f64,
) -> Vec<Departure> {
    let targets = [
        (Cation::Ca, Some([row.ca_percent; 2])),
        (Cation::Mg, Some([row.mg_percent; 2])),
        (Cation::K, Some(row.k_percent)),
        (Cation::Na, row.na_most_percent.map(|most| [0.0, most])),
    ];
    let with_target = targets.into_iter().zip(ground.error_percent).filter(|((cation, _), _)| Some(*cation) != skip);
    with_target
        .filter_map(|((cation, target), error)| Departure::of(cation, &ground.exchange, target?, error, soil_lb_ac))
        .collect()
}

/// Calcium and magnesium together against the sum of their targets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SumRule {
    /// No acidity to trade: calcium and magnesium take all that potassium and sodium leave, whatever is spread.
    NoAcidity,
    /// There is acidity.
    Acid {
        /// What they take, percent of the CEC.
        found_percent: f64,
        /// What the rule allows, percent of the CEC.
        most_percent: f64,
    },
}

impl SumRule {
    /// By the parts of a zone. On limy ground there is no acidity, whatever the parts leave.
    pub(super) fn of(parts: &Exchange, row: &TargetRow, is_limy: bool) -> Self {
        if is_limy || parts.base_saturation_percent() >= NO_ROOM_PERCENT {
            return SumRule::NoAcidity;
        }
        SumRule::Acid { found_percent: parts.ca_mg_percent(), most_percent: row.ca_mg_percent() }
    }
}
