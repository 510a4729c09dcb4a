//! What would move a share, and how much of it by stoichiometry. Shown, never prescribed.

use super::departure::{Departure, SumRule};
use super::stoichiometry::{field_k2o_lb_ac, gypsum_lb_ac, k2o_lb_ac, lime_meq_100g};
use super::zone_ground::ZoneGround;
use crate::chemistry::Cation;

/// Lime of the plan, as calcium.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlannedLime {
    /// Lime as calcium carbonate, lb/ac.
    pub lb_cce_ac: f64,
    /// What it brings, meq/100 g.
    pub meq_100g: f64,
    /// Calcium's share once it has taken the place of acidity, percent of the CEC; never more than the acidity gives.
    pub ca_percent_after: f64,
}

/// Something that would move a share, or a word that nothing bought does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Mover {
    /// Lime moves calcium where the ground is acid; the lime guide decides how much, never the share.
    Lime {
        /// Acidity calcium can take the place of, meq/100 g.
        acidity_meq_100g: f64,
        /// What the plan brings.
        planned: Option<PlannedLime>,
    },
    /// Gypsum with as much calcium as magnesium is in excess.
    GypsumForMagnesium {
        /// Pure gypsum, lb/ac.
        lb_ac: f64,
        /// Magnesium is no less than calcium, in equivalents: the one case in which Michigan State Univ. lets calcium be
        /// added for the ratio \[R\].
        mg_is_no_less_than_ca: bool,
    },
    /// No fertilizer moves magnesium on ground without acidity: drainage, loosening, organic matter.
    NothingBoughtMovesMagnesium,
    /// Potash with as much potassium as the share lacks.
    Potash {
        /// By stoichiometry, lb K2O/ac.
        k2o_lb_ac: f64,
        /// By what soils take in the field, from and to, lb K2O/ac.
        field_k2o_lb_ac: [f64; 2],
    },
}

/// What would move each departure, in the order calcium, magnesium, potassium.
pub(super) fn movers(ground: &ZoneGround, departures: &[Departure], sum: &SumRule, soil_lb_ac: f64) -> Vec<Mover> {
    let of = |cation| departures.iter().find(|departure| departure.cation == cation);
    let parts = &ground.exchange;
    let has_acidity = matches!(sum, SumRule::Acid { .. });
    let mut movers = Vec::new();
    if of(Cation::Ca).is_some_and(Departure::is_lack) && has_acidity {
        let acidity_meq_100g = parts.rest_meq_100g.max(0.0);
        let planned = ground.planned_lime_lb_ac.filter(|lb| *lb > 0.0).map(|lb_cce_ac| {
            let meq_100g = lime_meq_100g(lb_cce_ac, soil_lb_ac);
            let ca_meq_100g = parts.ca_meq_100g + meq_100g.min(acidity_meq_100g);
            PlannedLime { lb_cce_ac, meq_100g, ca_percent_after: 100.0 * ca_meq_100g / parts.cec_meq_100g() }
        });
        movers.push(Mover::Lime { acidity_meq_100g, planned });
    }
    if let Some(excess) = of(Cation::Mg).filter(|departure| departure.is_excess()) {
        let mg_is_no_less_than_ca = parts.mg_meq_100g >= parts.ca_meq_100g;
        if !has_acidity {
            movers.push(Mover::NothingBoughtMovesMagnesium);
        }
        let lb_ac = gypsum_lb_ac(excess.meq_100g, soil_lb_ac);
        movers.push(Mover::GypsumForMagnesium { lb_ac, mg_is_no_less_than_ca });
    }
    if let Some(lack) = of(Cation::K).filter(|departure| departure.is_lack()) {
        let meq_100g = -lack.meq_100g;
        movers.push(Mover::Potash {
            k2o_lb_ac: k2o_lb_ac(meq_100g, soil_lb_ac),
            field_k2o_lb_ac: field_k2o_lb_ac(meq_100g),
        });
    }
    movers
}
