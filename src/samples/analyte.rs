//! What labs measure, by the key of the field file.

use crate::chemistry::Cation;
use crate::units::{Compound, Quantity, SoilBasis};

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
    PhSalt, "ph_salt", "pH in dilute salt", Quantity::Ph;
    BufferPh, "buffer_ph", "buffer pH", Quantity::BufferPh;
    Ec, "ec", "electrical conductivity", Quantity::Conductivity;
    FreeLime, "free_lime", "free lime (calcium carbonate)", Quantity::MassPercent;
    ExcessLime, "excess_lime", "excess lime (rated)", Quantity::Rating;
    OrganicMatter, "organic_matter", "organic matter", Quantity::OrganicMatter;
    NitrateN, "nitrate_n", "nitrate nitrogen", Quantity::MassShare(Some(Compound::No3));
    P, "p", "phosphorus", Quantity::MassShare(Some(Compound::P2o5));
    PSecond, "p_second", "phosphorus by a second test", Quantity::MassShare(Some(Compound::P2o5));
    S, "s", "sulfur", Quantity::MassShare(Some(Compound::So4));
    K, "k", "potassium", Quantity::Cation(Cation::K);
    KSecond, "k_second", "potassium by a second test", Quantity::MassShare(Some(Compound::K2o));
    Ca, "ca", "calcium", Quantity::Cation(Cation::Ca);
    Mg, "mg", "magnesium", Quantity::Cation(Cation::Mg);
    Na, "na", "sodium", Quantity::Cation(Cation::Na);
    Al, "al", "aluminum", Quantity::Charge;
    AlExtractable, "al_extractable", "extractable aluminum", Quantity::MassShare(None);
    Acidity, "acidity", "exchangeable acidity", Quantity::Charge;
    Cec, "cec", "cation exchange capacity", Quantity::Charge;
    Zn, "zn", "zinc", Quantity::MassShare(None);
    Mn, "mn", "manganese", Quantity::MassShare(None);
    Cu, "cu", "copper", Quantity::MassShare(None);
    Fe, "fe", "iron", Quantity::MassShare(None);
    B, "b", "boron", Quantity::MassShare(None);
    CaSaturation, "ca_saturation", "calcium saturation", Quantity::Percent;
    MgSaturation, "mg_saturation", "magnesium saturation", Quantity::Percent;
    KSaturation, "k_saturation", "potassium saturation", Quantity::Percent;
    NaSaturation, "na_saturation", "sodium saturation", Quantity::Percent;
    AciditySaturation, "acidity_saturation", "acidity saturation", Quantity::Percent;
    OtherSaturation, "other_saturation", "other bases", Quantity::Percent;
    BaseSaturation, "base_saturation", "base saturation", Quantity::Percent;
    Sand, "sand", "sand", Quantity::MassPercent;
    Silt, "silt", "silt", Quantity::MassPercent;
    Clay, "clay", "clay", Quantity::MassPercent;
}

impl Analyte {
    /// Reads a key of the field file.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|analyte| analyte.key() == key)
    }

    /// Unit inside the program, as printed, for a sheet by mass or by volume of soil.
    pub fn unit_name(self, basis: SoilBasis) -> &'static str {
        match self.quantity() {
            Quantity::Ph | Quantity::BufferPh => "pH",
            Quantity::Percent | Quantity::MassPercent | Quantity::OrganicMatter => "%",
            Quantity::MassShare(_) => "ppm",
            Quantity::Cation(_) | Quantity::Charge => basis.cec_unit(),
            Quantity::Conductivity => "dS/m",
            Quantity::Rating => "rating",
        }
    }

    /// Whether the analyte is a pH of the soil itself.
    pub fn is_soil_ph(self) -> bool {
        self.quantity() == Quantity::Ph
    }

    /// Whether the analyte is mapped as itself (not as a part of the exchange, nor a step on the way).
    ///
    /// Micronutrients, sulfur and nitrate are mapped, never rated.
    pub fn is_mapped_alone(self) -> bool {
        self.is_soil_ph()
            || matches!(
                self,
                Analyte::Ec
                    | Analyte::FreeLime
                    | Analyte::OrganicMatter
                    | Analyte::NitrateN
                    | Analyte::P
                    | Analyte::PSecond
                    | Analyte::S
                    | Analyte::KSecond
                    | Analyte::AlExtractable
                    | Analyte::Zn
                    | Analyte::Mn
                    | Analyte::Cu
                    | Analyte::Fe
                    | Analyte::B
                    | Analyte::Sand
                    | Analyte::Silt
                    | Analyte::Clay
            )
    }
}
