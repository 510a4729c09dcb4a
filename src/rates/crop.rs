//! Crops and what a bushel of them takes off the field.

/// A crop the first potassium guide knows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Crop {
    /// Corn for grain.
    Corn,
    /// Soybean.
    Soybean,
    /// Wheat.
    Wheat,
}

impl Crop {
    /// All crops.
    pub const ALL: [Crop; 3] = [Crop::Corn, Crop::Soybean, Crop::Wheat];

    /// Name in the field file and in sentences.
    pub fn name(self) -> &'static str {
        match self {
            Crop::Corn => "corn",
            Crop::Soybean => "soybean",
            Crop::Wheat => "wheat",
        }
    }

    /// Reads a name of the field file.
    pub fn parse(text: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|crop| crop.name() == text)
    }

    /// K2O removed with a bushel, lb.
    ///
    /// # Source
    /// Tri-State 1995 coefficients: corn and soybean by Michigan State Univ. (Silva) totals, 150 bu corn 41 lb and
    /// 40 bu soybean 56 lb K2O \[R2\]; wheat from memory \[M\].
    pub fn k2o_removed_lb_bu(self) -> f64 {
        match self {
            Crop::Corn => 0.27,
            Crop::Soybean => 1.40,
            Crop::Wheat => 0.37,
        }
    }
}
