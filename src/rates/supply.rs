//! What a product brings and a zone needs.

/// What is counted, in pounds an acre. Nutrient and product never share a name: `k2o_lb_ac`, `product_lb_ac`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Supply {
    /// Lime, as pounds of material of the quality the lime guide is stated for.
    Lime,
    /// Phosphate.
    P2o5,
    /// Potash.
    K2o,
    /// Sulfur.
    S,
    /// Nitrogen; last, because other products carry some.
    N,
}

impl Supply {
    /// All, in the order needs are placed: what carries nitrogen comes before nitrogen.
    pub const ALL: [Supply; 5] = [Supply::Lime, Supply::P2o5, Supply::K2o, Supply::S, Supply::N];

    /// Name in sentences and tables.
    pub fn name(self) -> &'static str {
        match self {
            Supply::Lime => "lime",
            Supply::P2o5 => "P2O5",
            Supply::K2o => "K2O",
            Supply::S => "S",
            Supply::N => "N",
        }
    }

    /// Key in the field file: `k`, `p`, `n`, `s`, `lime`.
    pub fn key(self) -> &'static str {
        match self {
            Supply::Lime => "lime",
            Supply::P2o5 => "p",
            Supply::K2o => "k",
            Supply::S => "s",
            Supply::N => "n",
        }
    }

    /// Reads a key of the field file.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|supply| supply.key() == key)
    }
}
