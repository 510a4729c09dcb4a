//! Units: names as labs print them, and the exact conversions. The only place that converts.
//!
//! Analytes have one unit inside the program: pH as pH, organic matter and saturations in percent, phosphorus in mg/kg,
//! and all cations, acidity and CEC in meq/100 g (= cmol(+)/kg). Sheets by volume (per dm3) keep their numbers and are
//! marked so: see [`SoilBasis`].

use crate::chemistry::Cation;

/// Square meters in an acre (international). Source: 1 yd = 0.9144 m exactly, 1 ac = 4,840 yd2. Test: 4046.8564224.
pub const M2_PER_ACRE: f64 = 4046.8564224;
/// Grams in a pound (avoirdupois). Source: International yard and pound agreement, 1959. Test: 453.59237.
pub const GRAMS_PER_POUND: f64 = 453.59237;
/// kg/ha in one lb/ac. Source: the two constants above \[A\]. Test: 1 kg/ha = 0.8922 lb/ac.
pub const KG_HA_PER_LB_AC: f64 = GRAMS_PER_POUND * 10.0 / M2_PER_ACRE;
/// Pounds in a short ton.
pub const LB_PER_SHORT_TON: f64 = 2000.0;
/// Meters in a foot (international). Source: 1959 agreement.
pub const M_PER_FOOT: f64 = 0.3048;
/// Pounds of soil in one inch of one acre. Source: UC Davis laboratory method 450, 2.4 million lb in 8 in \[R\].
const SOIL_LB_PER_AC_INCH: f64 = 300_000.0;
/// The furrow slice labs mean by "2,000,000 lb", for samples of about 6 2/3 to 7 in. Source: agronomy texts \[R2\].
const FURROW_SLICE_LB_AC: f64 = 2_000_000.0;

/// Dry soil in one acre to a sample's thickness, lb.
///
/// 6 2/3 to 7 in are the customary furrow slice of 2,000,000 lb, all else 300,000 lb an inch: 8 in give 2,400,000 lb.
pub fn soil_lb_ac(thickness_in: f64) -> f64 {
    if (6.66..=7.0).contains(&thickness_in) { FURROW_SLICE_LB_AC } else { thickness_in * SOIL_LB_PER_AC_INCH }
}

/// Whether amounts are per mass or per volume of soil.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SoilBasis {
    /// Per 100 g or per kg.
    Mass,
    /// Per 100 cm3 or per dm3. Ratios and saturations hold; guides made for ppm do not.
    Volume,
}

impl SoilBasis {
    /// Unit of cations and CEC on this basis.
    pub fn cec_unit(self) -> &'static str {
        match self {
            SoilBasis::Mass => "meq/100 g",
            SoilBasis::Volume => "meq/100 cm3",
        }
    }
}

/// A unit a lab may print.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LabUnit {
    /// pH units.
    Ph,
    /// ppm = mg/kg.
    Ppm,
    /// Pounds an acre to the depth of the sample.
    LbAc,
    /// meq/100 g = cmol(+)/kg.
    Meq100g,
    /// cmol(+)/dm3.
    CmolDm3,
    /// mmol(+)/dm3.
    MmolDm3,
    /// Percent.
    Percent,
}

/// What kind of quantity an analyte is; decides which units fit and how they convert.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// pH.
    Ph,
    /// A share in percent.
    Percent,
    /// A nutrient by mass, kept in mg/kg.
    MassShare,
    /// A cation, kept in meq/100 g.
    Cation(Cation),
    /// Charge (acidity, CEC), kept in meq/100 g.
    Charge,
}

impl LabUnit {
    /// Units with the names they are accepted by; the first is the one printed.
    const NAMES: [(LabUnit, &'static [&'static str]); 7] = [
        (LabUnit::Ph, &["pH"]),
        (LabUnit::Ppm, &["ppm", "mg/kg"]),
        (LabUnit::LbAc, &["lb/ac", "lbs/ac", "lb/acre", "lb/a"]),
        (LabUnit::Meq100g, &["meq/100g", "cmolc/kg", "cmol(+)/kg", "me/100g"]),
        (LabUnit::CmolDm3, &["cmolc/dm3", "cmol(+)/dm3", "meq/100cm3"]),
        (LabUnit::MmolDm3, &["mmolc/dm3", "mmol(+)/dm3"]),
        (LabUnit::Percent, &["%"]),
    ];

    /// Reads a unit's name; spaces and case do not matter.
    pub fn parse(text: &str) -> Option<Self> {
        let plain: String = text.chars().filter(|c| !c.is_whitespace()).collect::<String>().to_lowercase();
        Self::NAMES.iter().find(|(_, names)| names.iter().any(|n| n.to_lowercase() == plain)).map(|(unit, _)| *unit)
    }

    /// The name printed.
    pub fn name(self) -> &'static str {
        Self::NAMES.iter().find(|(unit, _)| *unit == self).map_or("", |(_, names)| names[0])
    }

    /// Whether the unit is by mass or by volume of soil, where that matters.
    pub fn basis(self) -> Option<SoilBasis> {
        match self {
            LabUnit::Ppm | LabUnit::LbAc | LabUnit::Meq100g => Some(SoilBasis::Mass),
            LabUnit::CmolDm3 | LabUnit::MmolDm3 => Some(SoilBasis::Volume),
            LabUnit::Ph | LabUnit::Percent => None,
        }
    }

    /// Factor that turns this unit into the program's unit of a quantity; `None` where the unit does not fit.
    ///
    /// `soil_lb_ac` is the soil the sample stands for, needed by pounds an acre.
    pub fn factor(self, quantity: Quantity, soil_lb_ac: f64) -> Option<f64> {
        let ppm_per_lb_ac = 1e6 / soil_lb_ac;
        match (quantity, self) {
            (Quantity::Ph, LabUnit::Ph)
            | (Quantity::Percent, LabUnit::Percent)
            | (Quantity::MassShare, LabUnit::Ppm) => Some(1.0),
            (Quantity::MassShare, LabUnit::LbAc) => Some(ppm_per_lb_ac),
            (Quantity::Cation(cation), LabUnit::Ppm) => Some(1.0 / cation.ppm_per_meq()),
            (Quantity::Cation(cation), LabUnit::LbAc) => Some(ppm_per_lb_ac / cation.ppm_per_meq()),
            (Quantity::Cation(_) | Quantity::Charge, LabUnit::Meq100g | LabUnit::CmolDm3) => Some(1.0),
            (Quantity::Cation(_) | Quantity::Charge, LabUnit::MmolDm3) => Some(0.1),
            _ => None,
        }
    }

    /// Names of the units that fit a quantity.
    pub fn fitting(quantity: Quantity) -> Vec<&'static str> {
        let fits = |unit: LabUnit| unit.factor(quantity, FURROW_SLICE_LB_AC).is_some();
        Self::NAMES.iter().filter(|(unit, _)| fits(*unit)).map(|(unit, _)| unit.name()).collect()
    }
}

/// The units of printed results.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnitSystem {
    /// Acres, pounds an acre, feet.
    Us,
    /// Hectares, kilograms a hectare, meters.
    Si,
}

/// A whole or decimal number with thousands marked by commas, `decimals` figures after the point.
pub fn thousands(value: f64, decimals: usize) -> String {
    let text = format!("{:.decimals$}", value.abs());
    let (whole, rest) = text.split_once('.').map_or((text.as_str(), None), |(w, r)| (w, Some(r)));
    let mut marked = String::new();
    for (index, digit) in whole.chars().enumerate() {
        if index > 0 && (whole.len() - index).is_multiple_of(3) {
            marked.push(',');
        }
        marked.push(digit);
    }
    if let Some(rest) = rest {
        marked.push('.');
        marked.push_str(rest);
    }
    let is_zero = !text.chars().any(|c| ('1'..='9').contains(&c));
    if value < 0.0 && !is_zero { format!("-{marked}") } else { marked }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn row_81_kg_ha_to_lb_ac_is_0_8922() {
        // agronomy check 81 [A]; a widespread table misprints 0.9822.
        assert!((1.0 / KG_HA_PER_LB_AC - 0.8922).abs() < 0.0005);
    }

    #[test]
    fn soil_of_a_sample_is_2_million_lb_for_a_furrow_slice_and_2_4_for_8_inches() {
        assert_eq!(soil_lb_ac(7.0), 2e6);
        assert_eq!(soil_lb_ac(8.0), 2.4e6);
        assert_eq!(soil_lb_ac(6.0), 1.8e6);
        // 12-in samples: lb = ppm x 3.6 (field notes 15).
        assert_eq!(soil_lb_ac(12.0), 3.6e6);
    }

    #[test]
    fn every_unit_name_reads_back() {
        for (unit, names) in LabUnit::NAMES {
            for name in names {
                assert_eq!(LabUnit::parse(&name.to_uppercase()), Some(unit), "{name}");
            }
        }
        assert_eq!(LabUnit::parse("meq / 100 g"), Some(LabUnit::Meq100g));
        assert_eq!(LabUnit::parse("kg/kg"), None);
    }

    #[test]
    fn thousands_are_marked() {
        assert_eq!(thousands(17238.4, 0), "17,238");
        assert_eq!(thousands(-0.04, 1), "0.0");
        assert_eq!(thousands(-1234.5, 1), "-1,234.5");
        assert_eq!(thousands(999.0, 0), "999");
    }
}
