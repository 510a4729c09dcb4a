//! What labs measure, by the key of the field file.

use crate::chemistry::Cation;
use crate::units::{Quantity, SoilBasis};

macro_rules! analytes {
    ($($variant:ident, $key:literal, $label:literal, $quantity:expr;)*) => {
        /// A measured quantity.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Analyte { $(#[doc = $label] $variant,)* }

        impl Analyte {
            /// Every analyte, in the order of tables.
            pub const ALL: &'static [Analyte] = &[$(Analyte::$variant,)*];
            /// Key in the field file.
            pub fn key(self) -> &'static str { match self { $(Analyte::$variant => $key,)* } }
            /// Name on pictures and in sentences.
            pub fn label(self) -> &'static str { match self { $(Analyte::$variant => $label,)* } }
            /// Kind of quantity; decides the units that fit.
            pub fn quantity(self) -> Quantity { match self { $(Analyte::$variant => $quantity,)* } }
        }
    };
}

analytes! {
    PhWater, "ph_water", "pH in water", Quantity::Ph;
    PhCacl2, "ph_cacl2", "pH in calcium chloride", Quantity::Ph;
    PhKcl, "ph_kcl", "pH in potassium chloride", Quantity::Ph;
    BufferPh, "buffer_ph", "buffer pH", Quantity::Ph;
    OrganicMatter, "organic_matter", "organic matter", Quantity::Percent;
    P, "p", "phosphorus", Quantity::MassShare;
    K, "k", "potassium", Quantity::Cation(Cation::K);
    Ca, "ca", "calcium", Quantity::Cation(Cation::Ca);
    Mg, "mg", "magnesium", Quantity::Cation(Cation::Mg);
    Na, "na", "sodium", Quantity::Cation(Cation::Na);
    Al, "al", "aluminum", Quantity::Charge;
    Acidity, "acidity", "exchangeable acidity", Quantity::Charge;
    Cec, "cec", "cation exchange capacity", Quantity::Charge;
    CaSaturation, "ca_saturation", "calcium saturation", Quantity::Percent;
    MgSaturation, "mg_saturation", "magnesium saturation", Quantity::Percent;
    KSaturation, "k_saturation", "potassium saturation", Quantity::Percent;
    NaSaturation, "na_saturation", "sodium saturation", Quantity::Percent;
    AciditySaturation, "acidity_saturation", "acidity saturation", Quantity::Percent;
    OtherSaturation, "other_saturation", "other bases", Quantity::Percent;
}

impl Analyte {
    /// Reads a key of the field file.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|analyte| analyte.key() == key)
    }

    /// Unit inside the program, as printed, for a sheet by mass or by volume of soil.
    pub fn unit_name(self, basis: SoilBasis) -> &'static str {
        match self.quantity() {
            Quantity::Ph => "pH",
            Quantity::Percent => "%",
            Quantity::MassShare => "ppm",
            Quantity::Cation(_) | Quantity::Charge => basis.cec_unit(),
        }
    }

    /// Whether the analyte is mapped as itself (not as a part of the exchange, nor a step on the way).
    pub fn is_mapped_alone(self) -> bool {
        matches!(self, Analyte::PhWater | Analyte::PhCacl2 | Analyte::PhKcl | Analyte::OrganicMatter | Analyte::P)
    }
}
