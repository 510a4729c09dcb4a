//! What sits on the exchange sites of a sample or a cell: base cations and the rest, which together are the CEC.

use super::Cation;

/// Exchangeable parts, meq/100 g. The CEC is their sum, so the parts always close.
///
/// `rest` is acidity where the CEC is summed; where the lab measured the CEC it is what the printed bases leave of it,
/// and it is negative where the base saturation is above 100 %.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exchange {
    /// Calcium.
    pub ca_meq_100g: f64,
    /// Magnesium.
    pub mg_meq_100g: f64,
    /// Potassium.
    pub k_meq_100g: f64,
    /// Sodium; `None` where the lab did not report it.
    pub na_meq_100g: Option<f64>,
    /// Acidity, or what measured CEC leaves beside the bases.
    pub rest_meq_100g: f64,
}

impl Exchange {
    /// Amount of a cation, meq/100 g.
    pub fn meq_100g(&self, cation: Cation) -> Option<f64> {
        match cation {
            Cation::Ca => Some(self.ca_meq_100g),
            Cation::Mg => Some(self.mg_meq_100g),
            Cation::K => Some(self.k_meq_100g),
            Cation::Na => self.na_meq_100g,
        }
    }

    /// Sum of the base cations, meq/100 g.
    pub fn bases_meq_100g(&self) -> f64 {
        self.ca_meq_100g + self.mg_meq_100g + self.k_meq_100g + self.na_meq_100g.unwrap_or(0.0)
    }

    /// Cation exchange capacity, meq/100 g.
    pub fn cec_meq_100g(&self) -> f64 {
        self.bases_meq_100g() + self.rest_meq_100g
    }

    /// Share of a cation, percent of the CEC.
    pub fn saturation_percent(&self, cation: Cation) -> Option<f64> {
        self.meq_100g(cation).map(|meq| 100.0 * meq / self.cec_meq_100g())
    }

    /// Calcium and magnesium together, percent of the CEC.
    pub fn ca_mg_percent(&self) -> f64 {
        100.0 * (self.ca_meq_100g + self.mg_meq_100g) / self.cec_meq_100g()
    }

    /// All bases, percent of the CEC.
    pub fn base_saturation_percent(&self) -> f64 {
        100.0 * self.bases_meq_100g() / self.cec_meq_100g()
    }

    /// Exchangeable sodium percentage.
    pub fn esp_percent(&self) -> Option<f64> {
        self.saturation_percent(Cation::Na)
    }

    /// Ca:Mg by equivalents; `None` without magnesium. Not the ratio by mass that some sheets print.
    pub fn ca_mg_ratio_equivalents(&self) -> Option<f64> {
        (self.mg_meq_100g > 0.0).then(|| self.ca_meq_100g / self.mg_meq_100g)
    }

    /// Ca:Mg by mass; `None` without magnesium.
    pub fn ca_mg_ratio_mass(&self) -> Option<f64> {
        let mass = |cation: Cation, meq: f64| meq * cation.ppm_per_meq();
        (self.mg_meq_100g > 0.0).then(|| mass(Cation::Ca, self.ca_meq_100g) / mass(Cation::Mg, self.mg_meq_100g))
    }
}

/// CEC a mineral soil may be expected to have, from organic matter and clay: for plausibility, never for a rate.
///
/// # Source
/// `2 * OM % + 0.5 * clay %`: textbook excerpt (CRC Press 2000) \[R2\]. Check: 2 % and 16 % give 12.
pub fn expected_cec_meq_100g(organic_matter_percent: f64, clay_percent: f64) -> f64 {
    2.0 * organic_matter_percent + 0.5 * clay_percent
}
