//! Crops that guides know, and the unit their yield is counted in.

/// A crop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Crop {
    /// Corn for grain.
    Corn,
    /// Soybean.
    Soybean,
    /// Wheat.
    Wheat,
    /// Alfalfa for hay.
    Alfalfa,
}

impl Crop {
    /// All crops.
    pub const ALL: [Crop; 4] = [Crop::Corn, Crop::Soybean, Crop::Wheat, Crop::Alfalfa];

    /// Name in the field file, in guides and in sentences.
    pub fn name(self) -> &'static str {
        match self {
            Crop::Corn => "corn",
            Crop::Soybean => "soybean",
            Crop::Wheat => "wheat",
            Crop::Alfalfa => "alfalfa",
        }
    }

    /// Reads a name of the field file or of a guide.
    pub fn parse(text: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|crop| crop.name() == text)
    }

    /// Unit of its yield an acre: `bu`, or `short ton`.
    pub fn yield_unit(self) -> &'static str {
        match self {
            Crop::Corn | Crop::Soybean | Crop::Wheat => "bu",
            Crop::Alfalfa => "short ton",
        }
    }
}
