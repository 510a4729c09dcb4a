//! What one pass may bring to ground, by what the ground can hold.

use crate::fields::HoldingClass;

/// Limits of a pass and holding classes. All of it is the user's, none a published limit unless it says so.
#[derive(Debug, Clone, PartialEq)]
pub struct HoldSettings {
    /// CEC up to which ground holds little, and up to which it holds some, meq/100 g.
    pub edges_meq_100g: [f64; 2],
    /// Most one pass may raise the potassium share of the CEC, percent of the CEC; `None` = no such limit.
    pub k_rise_percent_of_cec: Option<f64>,
    /// Most potash of one pass on any ground, lb K2O/ac; `None` = no ceiling.
    pub k2o_most_lb_ac: Option<f64>,
    /// Most lime of one pass that is worked in, short tons of product as spread an acre.
    pub lime_tilled_short_ton_ac: Option<f64>,
    /// Most lime of one pass left on the surface, short tons of product as spread an acre.
    pub lime_surface_short_ton_ac: Option<f64>,
    /// Whether nitrogen in the fall is allowed on ground that holds little.
    pub fall_n_on_little: bool,
    /// CEC up to which potassium is kept up but not built up, meq/100 g; `None` = built up everywhere.
    pub no_build_up_to_cec: Option<f64>,
}

impl HoldSettings {
    /// Class of ground by its CEC, by the edges stated.
    pub fn class(&self, cec_meq_100g: f64) -> HoldingClass {
        HoldingClass::by_edges(cec_meq_100g, self.edges_meq_100g)
    }
}
