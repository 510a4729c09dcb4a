//! Exchangeable base cations and their equivalent weights.

/// A base cation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cation {
    /// Calcium.
    Ca,
    /// Magnesium.
    Mg,
    /// Potassium.
    K,
    /// Sodium.
    Na,
}

impl Cation {
    /// All four, in the order they are printed.
    pub const ALL: [Cation; 4] = [Cation::Ca, Cation::Mg, Cation::K, Cation::Na];

    /// ppm (mg/kg) that make 1 meq/100 g.
    ///
    /// # Source
    /// Mengel, Purdue AY-238, as quoted \[R2\]; Clemson Univ. "CEC calculations" gives the same as lb/ac in 2,000,000 lb
    /// (400, 240, 782, 460) \[R\]. By atomic mass 200.4, 121.5, 391.0, 229.9 \[A\].
    ///
    /// # Check values
    /// Ca 1471 ppm is 7.4 meq; K 221 lb/ac is 0.28 meq.
    pub fn ppm_per_meq(self) -> f64 {
        match self {
            Cation::Ca => 200.0,
            Cation::Mg => 120.0,
            Cation::K => 390.0,
            Cation::Na => 230.0,
        }
    }

    /// Chemical symbol.
    pub fn symbol(self) -> &'static str {
        match self {
            Cation::Ca => "Ca",
            Cation::Mg => "Mg",
            Cation::K => "K",
            Cation::Na => "Na",
        }
    }
}
