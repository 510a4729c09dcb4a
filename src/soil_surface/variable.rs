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
    /// Lime by a guide, worked out at the samples, short tons of the guide's lime an acre.
    LimeNeed,
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
            Variable::LimeNeed => "lime_need",
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
            Variable::LimeNeed => "lime needed",
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
            (Variable::LimeNeed, _) => "short tons/ac",
        }
    }

    /// Decimals worth printing.
    pub fn decimals(self) -> usize {
        match self {
            Variable::Amount(_) | Variable::Reading(Analyte::P) => 0,
            Variable::Reading(Analyte::PhWater | Analyte::PhCacl2 | Analyte::PhKcl) | Variable::LimeNeed => 2,
            _ => 1,
        }
    }

    /// Every variable that a sheet can give; what a guide makes of it is none.
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
            Variable::Reading(_) | Variable::LimeNeed => None,
        }
    }

    /// Value at a sample, as far as the sheet gives it.
    pub fn of_sample(self, sample: &Sample) -> Option<f64> {
        match self {
            Variable::LimeNeed => None,
            Variable::Reading(analyte) => sample.reading(analyte).map(|reading| reading.map_value()),
            _ => match &sample.exchange {
                Some(parts) => self.of_exchange(parts),
                None => self.printed(sample),
            },
        }
    }

    /// What a sheet prints of an analyte is mapped as this; `None` for steps on the way.
    pub fn of_analyte(analyte: Analyte) -> Option<Self> {
        let as_part = [Cation::Ca, Cation::Mg, Cation::K, Cation::Na].into_iter().find_map(|cation| {
            let (amount, share) = amount_and_share(cation);
            match analyte {
                _ if analyte == amount => Some(Variable::Amount(cation)),
                _ if analyte == share => Some(Variable::Saturation(cation)),
                _ => None,
            }
        });
        match analyte {
            Analyte::Cec => Some(Variable::Cec),
            _ if analyte.is_mapped_alone() => Some(Variable::Reading(analyte)),
            _ => as_part,
        }
    }

    /// The part of the exchange the sheet prints, where it does not print the whole.
    fn printed(self, sample: &Sample) -> Option<f64> {
        let reading = |analyte| sample.reading(analyte).map(|reading: crate::samples::Reading| reading.map_value());
        match self {
            Variable::Cec => reading(Analyte::Cec),
            Variable::Amount(cation) => Some(reading(amount_and_share(cation).0)? * cation.ppm_per_meq()),
            Variable::Saturation(cation) => reading(amount_and_share(cation).1),
            Variable::CaMgSaturation => Some(reading(Analyte::CaSaturation)? + reading(Analyte::MgSaturation)?),
            Variable::Reading(_) | Variable::LimeNeed => None,
        }
    }
}

/// Analytes that give a cation as an amount and as a share of the CEC.
fn amount_and_share(cation: Cation) -> (Analyte, Analyte) {
    match cation {
        Cation::Ca => (Analyte::Ca, Analyte::CaSaturation),
        Cation::Mg => (Analyte::Mg, Analyte::MgSaturation),
        Cation::K => (Analyte::K, Analyte::KSaturation),
        Cation::Na => (Analyte::Na, Analyte::NaSaturation),
    }
}
