//! Units of rates as files write them.

use crate::units::{GRAMS_PER_POUND, KG_HA_PER_LB_AC, LB_PER_SHORT_TON, M2_PER_ACRE};

/// What a rate counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Counted {
    /// Mass: base unit kg/ha.
    Mass,
    /// Volume: base unit L/ha.
    Volume,
    /// Pieces: base unit 1/ha.
    Pieces,
}

/// A unit of rates: amount over ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RateUnit {
    /// What it counts.
    pub counted: Counted,
    /// Base units in one.
    pub in_base: f64,
    /// How it is printed.
    pub name: &'static str,
    /// Unit of a total, and the ground a rate is for, square meters.
    pub amount: &'static str,
    /// Ground one rate is for, square meters.
    pub per_m2: f64,
}

/// Square meters of a hectare.
const M2_PER_HA: f64 = 10_000.0;
/// Liters of a US gallon, exact (231 cubic inches; NIST Handbook 44, appendix C).
const L_PER_GAL: f64 = 3.785_411_784;
/// US fluid ounces of a US gallon.
const FL_OZ_PER_GAL: f64 = 128.0;
const HA_PER_AC: f64 = M2_PER_ACRE / M2_PER_HA;

/// Every unit known, with the forms it is written in: lower case, without blanks, points and underlines.
pub static UNITS: &[(RateUnit, &[&str])] = &[
    (unit(Counted::Mass, KG_HA_PER_LB_AC, "lb/ac", "lb", M2_PER_ACRE), &["lb/ac", "lbac", "lbs/ac", "lbsac", "#/ac"]),
    (unit(Counted::Mass, 1.0, "kg/ha", "kg", M2_PER_HA), &["kg/ha", "kgha"]),
    (unit(Counted::Mass, 1000.0, "t/ha", "t", M2_PER_HA), &["t/ha", "tha", "tonne/ha", "tonneha", "mg/ha"]),
    (
        unit(Counted::Mass, KG_HA_PER_LB_AC * LB_PER_SHORT_TON, "short ton/ac", "short tons", M2_PER_ACRE),
        &["shortton/ac", "shorttonac", "shorttons/ac", "ton/ac", "tonac", "tons/ac"],
    ),
    (unit(Counted::Mass, 10.0, "g/m2", "g", 1.0), &["g/m2", "gm2"]),
    (unit(Counted::Volume, L_PER_GAL / HA_PER_AC, "gal/ac", "gal", M2_PER_ACRE), &["gal/ac", "galac", "usgal/ac"]),
    (
        unit(Counted::Volume, L_PER_GAL / FL_OZ_PER_GAL / HA_PER_AC, "fl oz/ac", "fl oz", M2_PER_ACRE),
        &["floz/ac", "flozac"],
    ),
    (unit(Counted::Volume, 1.0, "L/ha", "L", M2_PER_HA), &["l/ha", "lha"]),
    (unit(Counted::Pieces, 1.0 / HA_PER_AC, "seeds/ac", "seeds", M2_PER_ACRE), &["seeds/ac", "seedsac"]),
    (unit(Counted::Pieces, 1.0, "seeds/ha", "seeds", M2_PER_HA), &["seeds/ha", "seedsha", "1/ha"]),
    (unit(Counted::Pieces, M2_PER_HA, "1/m2", "", 1.0), &["1/m2", "seeds/m2"]),
];

const fn unit(counted: Counted, in_base: f64, name: &'static str, amount: &'static str, per_m2: f64) -> RateUnit {
    RateUnit { counted, in_base, name, amount, per_m2 }
}

/// The unit a text names.
pub fn named(text: &str) -> Option<&'static RateUnit> {
    let plain = plain(text);
    UNITS.iter().find(|(_, forms)| forms.contains(&plain.as_str())).map(|(unit, _)| unit)
}

/// The unit a column's name ends in: `RATE_LBAC`.
pub fn at_end_of(column: &str) -> Option<&'static RateUnit> {
    let plain: String = plain(column).chars().filter(|letter| *letter != '/').collect();
    let ends = |form: &&&str| !form.contains('/') && plain.len() > form.len() && plain.ends_with(**form);
    // The longest form wins: `RATE_KGHA` is no `...HA` of something else.
    let found = UNITS.iter().flat_map(|(unit, forms)| forms.iter().filter(ends).map(move |form| (form.len(), unit)));
    found.max_by_key(|(length, _)| *length).filter(|(length, _)| *length >= 4).map(|(_, unit)| unit)
}

fn plain(text: &str) -> String {
    let lower = text.to_lowercase();
    let mut plain: String = lower.chars().filter(|letter| !" ._\u{b7}".contains(*letter)).collect();
    for (long, short) in [("peracre", "/ac"), ("per", "/"), ("/acre", "/ac"), ("\u{b2}", "2"), ("pounds", "lb")] {
        plain = plain.replace(long, short);
    }
    plain
}

/// Factors between rates that come from a mistaken unit, with the mistake in words.
pub fn named_factors() -> Vec<(f64, String)> {
    let acres_a_hectare = 1.0 / HA_PER_AC;
    let pairs = [
        (KG_HA_PER_LB_AC, "kg/ha", "lb/ac"),
        (LB_PER_SHORT_TON, "lb", "short tons"),
        (1000.0, "kg", "tonnes"),
        (LB_PER_SHORT_TON * GRAMS_PER_POUND / 1000.0, "kg", "short tons"),
        (1000.0 / GRAMS_PER_POUND, "lb", "kg"),
        (acres_a_hectare, "amounts a hectare", "amounts an acre"),
        (L_PER_GAL / HA_PER_AC, "L/ha", "gal/ac"),
        (L_PER_GAL, "L", "gal"),
        (FL_OZ_PER_GAL, "fl oz", "gal"),
        (100.0, "counts of the task set (0.01 kg/ha)", "kg/ha"),
        (100.0 * KG_HA_PER_LB_AC, "counts of the task set (0.01 kg/ha)", "lb/ac"),
        (10.0, "ten times the number", "the number"),
    ];
    let mut factors = Vec::new();
    for (factor, got, wanted) in pairs {
        factors.push((factor, format!("{got} in the place of {wanted}")));
        factors.push((1.0 / factor, format!("{wanted} in the place of {got}")));
    }
    factors
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_found_however_they_are_written() {
        for (text, name) in [
            ("lb/ac", "lb/ac"),
            ("Lbs per acre", "lb/ac"),
            ("kg/ha", "kg/ha"),
            ("L/HA", "L/ha"),
            ("short ton/ac", "short ton/ac"),
            ("US gal/ac", "gal/ac"),
            ("g/m\u{b2}", "g/m2"),
        ] {
            assert_eq!(named(text).map(|unit| unit.name), Some(name), "{text}");
        }
        assert_eq!(named("lb K2O"), None);
        assert_eq!(at_end_of("RATE_LBAC").map(|unit| unit.name), Some("lb/ac"));
        assert_eq!(at_end_of("rate_kg_ha").map(|unit| unit.name), Some("kg/ha"));
        assert_eq!(at_end_of("AREA"), None);
        assert_eq!(at_end_of("ALPHA"), None);
    }

    #[test]
    fn conversions_are_the_published_ones() {
        // NIST Handbook 44 (2024) appendix C: 1 lb = 0.453 592 37 kg, 1 acre = 0.404 685 64 ha, 1 gal = 3.785 412 L.
        let base = |text: &str| named(text).expect("known").in_base;
        assert!((base("lb/ac") - 0.453_592_37 / 0.404_685_642_24).abs() < 1e-12);
        assert!((base("gal/ac") - 9.353_956).abs() < 1e-5);
        assert!((base("short ton/ac") / base("lb/ac") - 2000.0).abs() < 1e-9);
        assert!((base("fl oz/ac") - 0.073_078).abs() < 1e-6);
    }
}
