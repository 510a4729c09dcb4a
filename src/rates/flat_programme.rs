//! The flat programme a zoned one is held against.

/// What would be spread without zones, once for all crop years covered.
#[derive(Debug, Clone, PartialEq)]
pub struct FlatProgramme {
    /// Rates as stated: (short name of the product, rate in its rate unit). A product that is not named is spread at the
    /// mean rate of its passes.
    pub rates: Vec<(String, f64)>,
    /// What sampling for zones costs more than sampling for one rate, USD/ac; `None` = unknown.
    pub sampling_usd_ac: Option<f64>,
}
