//! What can be mapped and zoned: CEC, saturations, amounts and plain readings.

use crate::chemistry::{Cation, Exchange};
use crate::samples::{Analyte, Sample};
use crate::units::SoilBasis;

/// A mapped quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Variable {
    /// Cation exchange capacity, meq/100 g.
    Cec,
    /// Share of a cation, percent of the CEC.
    Saturation(Cation),
    /// Calcium and magnesium together, percent of the CEC.
    CaMgSaturation,
    /// Amount of a cation, ppm (mg/dm3 on a sheet by volume).
    Amount(Cation),
    /// A reading mapped as itself: pH, organic matter, phosphorus.
    Reading(Analyte),
}

impl Variable {
    /// Key in the field file and in tables.
    pub fn key(self) -> &'static str {
        match self {
            Variable::Cec => "cec",
            Variable::Saturation(Cation::Ca) => "ca_saturation",
            Variable::Saturation(Cation::Mg) => "mg_saturation",
            Variable::Saturation(Cation::K) => "k_saturation",
            Variable::Saturation(Cation::Na) => "na_saturation",
            Variable::CaMgSaturation => "ca_mg_saturation",
            Variable::Amount(Cation::Ca) => "ca",
            Variable::Amount(Cation::Mg) => "mg",
            Variable::Amount(Cation::K) => "k",
            Variable::Amount(Cation::Na) => "na",
            Variable::Reading(analyte) => analyte.key(),
        }
    }

    /// Name in sentences and on pictures.
    pub fn label(self) -> &'static str {
        match self {
            Variable::Cec => "CEC",
            Variable::Saturation(Cation::Ca) => "calcium share of CEC",
            Variable::Saturation(Cation::Mg) => "magnesium share of CEC",
            Variable::Saturation(Cation::K) => "potassium share of CEC",
            Variable::Saturation(Cation::Na) => "sodium share of CEC",
            Variable::CaMgSaturation => "calcium and magnesium share of CEC",
            Variable::Amount(Cation::Ca) => "calcium",
            Variable::Amount(Cation::Mg) => "magnesium",
            Variable::Amount(Cation::K) => "potassium",
            Variable::Amount(Cation::Na) => "sodium",
            Variable::Reading(analyte) => analyte.label(),
        }
    }

    /// Unit, as printed, for a sheet by mass or by volume of soil.
    pub fn unit_name(self, basis: SoilBasis) -> &'static str {
        match (self, basis) {
            (Variable::Cec, _) => basis.cec_unit(),
            (Variable::Saturation(_) | Variable::CaMgSaturation, _) => "%",
            (Variable::Amount(_), SoilBasis::Mass) => "ppm",
            (Variable::Amount(_), SoilBasis::Volume) => "mg/dm3",
            (Variable::Reading(analyte), _) => analyte.unit_name(basis),
        }
    }

    /// Decimals worth printing.
    pub fn decimals(self) -> usize {
        match self {
            Variable::Amount(_) | Variable::Reading(Analyte::P) => 0,
            Variable::Reading(Analyte::PhWater | Analyte::PhCacl2 | Analyte::PhKcl) => 2,
            _ => 1,
        }
    }

    /// Every variable.
    pub fn all() -> Vec<Variable> {
        let mut all = vec![Variable::Cec, Variable::CaMgSaturation];
        all.extend(Cation::ALL.map(Variable::Saturation));
        all.extend(Cation::ALL.map(Variable::Amount));
        all.extend(Analyte::ALL.iter().copied().filter(|a| a.is_mapped_alone()).map(Variable::Reading));
        all
    }

    /// Reads a key of the field file.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::all().into_iter().find(|variable| variable.key() == key)
    }

    /// Value from exchangeable parts; `None` for plain readings and for sodium that was not reported.
    pub fn of_exchange(self, parts: &Exchange) -> Option<f64> {
        match self {
            Variable::Cec => Some(parts.cec_meq_100g()),
            Variable::Saturation(cation) => parts.saturation_percent(cation),
            Variable::CaMgSaturation => Some(parts.ca_mg_percent()),
            Variable::Amount(cation) => parts.meq_100g(cation).map(|meq| meq * cation.ppm_per_meq()),
            Variable::Reading(_) => None,
        }
    }

    /// Value at a sample.
    pub fn of_sample(self, sample: &Sample) -> Option<f64> {
        match self {
            Variable::Reading(analyte) => sample.reading(analyte).map(|reading| reading.map_value()),
            _ => self.of_exchange(sample.exchange.as_ref()?),
        }
    }
}
