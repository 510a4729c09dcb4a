//! What keeps a rate of one pass down, with its numbers.

use std::fmt;

use super::{Placement, RateUnit};
use crate::units::thousands;

/// What keeps a rate of one pass down.
#[derive(Debug, Clone, PartialEq)]
pub enum Limit {
    /// The potassium share of the CEC may rise so far in one pass.
    KRise {
        /// Rise allowed, percent of the CEC.
        percent: f64,
        /// CEC counted, meq/100 g.
        cec_meq_100g: f64,
        /// Soil the pass reaches, lb/ac.
        placement_lb_ac: f64,
        /// What comes of it, lb K2O/ac.
        k2o_lb_ac: f64,
    },
    /// Most potash of one pass on any ground.
    KCeiling {
        /// The ceiling, lb K2O/ac.
        k2o_lb_ac: f64,
    },
    /// Most lime of one pass.
    LimePass {
        /// Where the pass puts it.
        placement: Placement,
        /// Product as spread, short tons/ac.
        short_ton_ac: f64,
    },
    /// Most nitrogen of one pass by a published set.
    NitrogenSet {
        /// Name of the set.
        set: String,
        /// Most of one pass, lb N/ac.
        n_lb_ac: f64,
    },
    /// Most the machine spreads.
    MachineMost {
        /// Unit of the rate.
        unit: RateUnit,
        /// The most, in that unit.
        most: f64,
    },
    /// Most the machine puts out at its speed.
    Flow {
        /// Most it puts out, lb/min.
        flow_lb_min: f64,
        /// Working width, ft.
        swath_ft: f64,
        /// Working speed, miles an hour.
        speed_mph: f64,
        /// What comes of it, lb of product/ac.
        product_lb_ac: f64,
    },
    /// Raised to the least the machine spreads.
    MachineLeast {
        /// Unit of the rate.
        unit: RateUnit,
        /// The least, in that unit.
        least: f64,
    },
}

impl fmt::Display for Limit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Limit::KRise { percent, cec_meq_100g, placement_lb_ac, k2o_lb_ac } => write!(
                f,
                "one pass may bring {k2o_lb_ac:.0} lb K2O: {percent} % of a CEC of {cec_meq_100g:.1} in the {} lb it reaches",
                thousands(*placement_lb_ac, 0)
            ),
            Limit::KCeiling { k2o_lb_ac } => write!(f, "one pass may bring {k2o_lb_ac:.0} lb K2O on any ground"),
            Limit::LimePass { placement, short_ton_ac } => {
                let how = match placement {
                    Placement::Tilled => "worked in",
                    Placement::Surface => "left on the surface",
                    Placement::Band => "in bands",
                };
                write!(f, "one pass may bring {short_ton_ac} short tons of lime {how}, as spread")
            }
            Limit::NitrogenSet { set, n_lb_ac } => write!(f, "one pass may bring {n_lb_ac:.0} lb N by {set}"),
            Limit::MachineMost { unit, most } => write!(f, "the machine spreads {most} {} at most", unit.name()),
            Limit::Flow { flow_lb_min, swath_ft, speed_mph, product_lb_ac } => write!(
                f,
                "the machine puts out {} lb/min at most: {product_lb_ac:.0} lb/ac over {swath_ft} ft at {speed_mph} mph",
                thousands(*flow_lb_min, 0)
            ),
            Limit::MachineLeast { unit, least } => {
                write!(f, "raised to the machine's least of {least} {}", unit.name())
            }
        }
    }
}
