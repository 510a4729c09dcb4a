//! What a column is as far as its header alone tells.

use super::header_sense::HeaderSense;
use super::method_words::MethodWord;
use super::name::Name;
use super::unit_words::UnitWord;
use super::{DepthUnit, Found, Role};
use crate::chemistry::Buffer;
use crate::samples::{Analyte, LabMethod};
use crate::units::{Compound, LabUnit, MassUnit, Quantity};

/// Soil of a furrow slice, lb/ac; here only to ask whether a unit fits at all.
const ANY_SOIL_LB_AC: f64 = crate::units::FURROW_SLICE_LB_AC;

/// Role and reason by the header alone.
pub(super) fn role_by_name(sense: &HeaderSense) -> (Role, String) {
    let by_name = |role: Role| (role, "by name".to_owned());
    let aside = |reason: &str| (Role::LeftAside(reason.to_owned()), "by name".to_owned());
    let Some(name) = sense.name else {
        let reason = "not among the names this program knows";
        return (Role::LeftAside(reason.to_owned()), reason.to_owned());
    };
    match name {
        Name::LeftAside(reason) | Name::NoQuantity(reason) => aside(reason),
        Name::SampleId(_) => by_name(Role::SampleId),
        Name::Longitude => by_name(Role::Longitude),
        Name::Latitude => by_name(Role::Latitude),
        Name::X | Name::Easting => by_name(Role::Easting),
        Name::Y | Name::Northing => by_name(Role::Northing),
        Name::DepthTop => by_name(Role::DepthTop(depth_unit(sense))),
        Name::DepthBottom => by_name(Role::DepthBottom(depth_unit(sense))),
        Name::SampledOn(_) => by_name(Role::SampledOn),
        Name::Cores => by_name(Role::Cores),
        Name::Status | Name::Crop => by_name(Role::Status),
        Name::Programme => by_name(Role::Programme),
        _ => match quantity_role(name, sense) {
            Ok((role, why)) => (role, why),
            Err(reason) => aside(reason),
        },
    }
}

fn depth_unit(sense: &HeaderSense) -> Found<DepthUnit> {
    let Some(length) = &sense.length else { return Found::NotPrinted };
    match length.to_lowercase().as_str() {
        "in" | "inch" | "inches" => Found::Printed(DepthUnit::Inches, length.clone()),
        "cm" | "centimeters" => Found::Printed(DepthUnit::Centimeters, length.clone()),
        _ => Found::NotPrinted,
    }
}

/// Role of a measured quantity; an error is the reason to leave it aside.
fn quantity_role(name: Name, sense: &HeaderSense) -> Result<(Role, String), &'static str> {
    let mut why = vec!["by name".to_owned()];
    let analyte = analyte_of(name, sense)?;
    let (unit, note) = unit_of(name, analyte, sense);
    why.extend(note);
    let (method, note) = method_of(name, analyte, sense);
    why.extend(note);
    if name == Name::PhConverted {
        why.push("the lab worked it out from another pH".to_owned());
    }
    Ok((Role::Analyte { analyte, unit, method }, why.join("; ")))
}

/// The analyte a name stands for, with its unit and method words.
fn analyte_of(name: Name, sense: &HeaderSense) -> Result<Analyte, &'static str> {
    let unit = sense.lab_unit();
    let has = |method: LabMethod| sense.methods.iter().any(|m| m.method == MethodWord::Known(method));
    let is_share = unit == Some(LabUnit::Percent) || (sense.is_saturation && unit.is_none());
    let is_mass = matches!(unit, Some(LabUnit::Mass(_)));
    Ok(match name {
        Name::Ph | Name::Analyte(Analyte::BufferPh) if name != Name::Ph || has_buffer(sense) => Analyte::BufferPh,
        Name::Ph if has(LabMethod::CalciumChloride) => Analyte::PhCacl2,
        Name::Ph if has(LabMethod::PotassiumChloride) => Analyte::PhKcl,
        Name::Ph if has(LabMethod::DiluteSalt) => Analyte::PhSalt,
        Name::Ph | Name::PhConverted => Analyte::PhWater,
        Name::LimeIndex => Analyte::BufferPh,
        Name::Analyte(Analyte::ExcessLime) if unit == Some(LabUnit::Percent) => Analyte::FreeLime,
        Name::Analyte(Analyte::Ca) if is_share => Analyte::CaSaturation,
        Name::Analyte(Analyte::Mg) if is_share => Analyte::MgSaturation,
        Name::Analyte(Analyte::K) if is_share => Analyte::KSaturation,
        Name::Analyte(Analyte::Na) if is_share => Analyte::NaSaturation,
        Name::Hydrogen | Name::Analyte(Analyte::Acidity) if is_share => Analyte::AciditySaturation,
        Name::Hydrogen => Analyte::Acidity,
        Name::Analyte(Analyte::Al) if is_share => return Err("the share of aluminum: no saturation this program uses"),
        Name::Analyte(Analyte::Al) if is_mass && sense.is_exchangeable => {
            return Err("exchangeable aluminum by mass: this program takes it as charge only");
        }
        Name::Analyte(Analyte::Al) if is_mass => Analyte::AlExtractable,
        Name::Analyte(analyte) if is_share && matches!(analyte.quantity(), Quantity::MassShare(_)) => {
            return Err("a share in percent is no soil test of it");
        }
        Name::Analyte(analyte) => analyte,
        Name::Compound(Compound::P2o5) | Name::PhosphorusBray(_) => Analyte::P,
        Name::Compound(Compound::K2o) => Analyte::K,
        Name::Compound(Compound::Cao) => Analyte::Ca,
        Name::Compound(Compound::Mgo) => Analyte::Mg,
        Name::Compound(Compound::Na2o) => Analyte::Na,
        Name::Compound(Compound::No3) | Name::NitrateForm => Analyte::NitrateN,
        Name::Compound(Compound::So4) => Analyte::S,
        Name::OrganicMatterOrMolybdenum if is_mass && unit != Some(LabUnit::Mass(MassUnit::GKg)) => {
            return Err("molybdenum: not used by this program");
        }
        Name::OrganicMatterOrMolybdenum if unit.is_none() && sense.words == "Mo" => {
            return Err("molybdenum or organic matter: the header does not say");
        }
        Name::OrganicCarbon | Name::OrganicMatterOrMolybdenum => Analyte::OrganicMatter,
        Name::EffectiveCec | Name::ExchangeCapacity => Analyte::Cec,
        _ => return Err("not among the names this program knows"),
    })
}

fn has_buffer(sense: &HeaderSense) -> bool {
    let is_buffer =
        |m: MethodWord| matches!(m, MethodWord::Known(LabMethod::Buffer(_)) | MethodWord::Sikora | MethodWord::Mehlich);
    sense.methods.iter().any(|method| is_buffer(method.method))
}

/// The unit by the header, and what there is to say of it.
fn unit_of(name: Name, analyte: Analyte, sense: &HeaderSense) -> (Found<LabUnit>, Option<String>) {
    let inferred = |unit: LabUnit, reason: &str| (Found::Inferred(unit, reason.to_owned()), None);
    match analyte.quantity() {
        Quantity::Ph => return (Found::Printed(LabUnit::Ph, "pH".to_owned()), None),
        Quantity::BufferPh if name == Name::LimeIndex => {
            return (Found::Printed(LabUnit::LimeIndex, sense.words.clone()), None);
        }
        Quantity::BufferPh => return inferred(LabUnit::Ph, "a buffer reading is a pH"),
        Quantity::Rating => return inferred(LabUnit::Rating, "a word for how much"),
        _ => {}
    }
    let Some(printed) = &sense.unit else {
        return match (analyte.quantity(), name) {
            (Quantity::Percent, _) => inferred(LabUnit::Percent, "a share in percent by its name"),
            (_, Name::Compound(compound)) => {
                (Found::NotPrinted, Some(format!("no unit printed; it is written as {}", compound.formula())))
            }
            (_, Name::OrganicCarbon) => (Found::NotPrinted, Some(ORGANIC_CARBON.to_owned())),
            _ => (Found::NotPrinted, None),
        };
    };
    let (unit, is_short) = match printed.unit {
        UnitWord::Unit(unit) => (unit, false),
        UnitWord::Short(unit) => (unit, true),
        UnitWord::Foreign => {
            return (
                Found::NotPrinted,
                Some(format!("`{}` is not among the units this program turns", printed.printed)),
            );
        }
    };
    let unit = match (unit, name) {
        (LabUnit::Percent, Name::OrganicCarbon) => LabUnit::PercentCarbon,
        (LabUnit::Mass(MassUnit::GKg), Name::OrganicCarbon) => LabUnit::GKgCarbon,
        (LabUnit::Mass(mass), Name::Compound(compound)) => LabUnit::AsCompound(mass, compound),
        (_, Name::NitrateForm) => {
            return (Found::NotPrinted, Some("as nitrogen or as nitrate: the header does not say".to_owned()));
        }
        (unit, _) => unit,
    };
    if unit.factor(analyte.quantity(), ANY_SOIL_LB_AC).is_none() {
        return (Found::NotPrinted, Some(format!("`{}` does not fit {}", printed.printed, analyte.label())));
    }
    if is_short {
        let whole = unit.name();
        return inferred(unit, &format!("`{}` on soil sheets is {whole}", printed.printed));
    }
    (Found::Printed(unit, printed.printed.clone()), None)
}

const ORGANIC_CARBON: &str = "organic carbon, not organic matter: choose a unit of carbon";

/// The method by the header, and what there is to say of it.
fn method_of(name: Name, analyte: Analyte, sense: &HeaderSense) -> (Found<LabMethod>, Option<String>) {
    let inferred = |method: LabMethod, reason: &str| (Found::Inferred(method, reason.to_owned()), None);
    match name {
        Name::PhosphorusBray(1) => return inferred(LabMethod::Bray1, "`P1` is the weak Bray test by custom"),
        Name::PhosphorusBray(_) => return inferred(LabMethod::Bray2, "`P2` is the strong Bray test by custom"),
        Name::PhConverted => return (Found::Printed(LabMethod::Water, sense.words.clone()), None),
        Name::EffectiveCec => return (Found::Printed(LabMethod::Effective, sense.words.clone()), None),
        Name::ExchangeCapacity if sense.methods.is_empty() => {
            return inferred(LabMethod::Summation, "total exchange capacity is a sum on base-saturation sheets");
        }
        _ => {}
    }
    if analyte == Analyte::PhSalt {
        return (Found::Printed(LabMethod::DiluteSalt, "salt".to_owned()), None);
    }
    if is_share_of_exchange(analyte) {
        return inferred(LabMethod::Calculated, "a share is worked out by the lab");
    }
    let fitting = LabMethod::fitting(analyte);
    let mut note = None;
    for printed in &sense.methods {
        if matches!(printed.method, MethodWord::Ratio(_)) && analyte != Analyte::Ec {
            continue;
        }
        match method_for(printed.method, analyte) {
            Ok(method) if fitting.contains(&method) => return (Found::Printed(method, printed.printed.clone()), None),
            Ok(_) => {}
            Err(reason) => note = Some(reason.replace("{}", &printed.printed)),
        }
    }
    let is_ratio = |m: &MethodWord| matches!(m, MethodWord::Ratio(Some(LabMethod::OneToOne | LabMethod::OneToTwo)));
    if name == Name::Ph && analyte == Analyte::PhWater {
        return match sense.methods.iter().find(|printed| is_ratio(&printed.method)) {
            Some(printed) => inferred(LabMethod::Water, &format!("`{}` is soil to water", printed.printed)),
            None => (Found::NotPrinted, Some("in water or in a salt: the header does not say".to_owned())),
        };
    }
    if let ([only, LabMethod::Unknown], None) = (fitting.as_slice(), &note) {
        return inferred(*only, "the only one for it");
    }
    if analyte == Analyte::BufferPh && note.is_none() {
        note = Some("which buffer: the header does not say".to_owned());
    }
    (Found::NotPrinted, note)
}

/// The method a word means for an analyte; an error is why it means none, `{}` for the word.
fn method_for(word: MethodWord, analyte: Analyte) -> Result<LabMethod, &'static str> {
    match word {
        MethodWord::Known(method) => Ok(method),
        MethodWord::Ratio(Some(method)) => Ok(method),
        MethodWord::Ratio(None) => Err("`{}` of soil and water is not among the methods this program knows"),
        MethodWord::Bray => Err("`{}`: the weak or the strong test, the header does not say"),
        MethodWord::Sikora => Err("`{}` names three buffers: sikora, sikora-2, moore-sikora"),
        MethodWord::Mehlich if analyte == Analyte::BufferPh => Ok(LabMethod::Buffer(Buffer::Mehlich)),
        MethodWord::Mehlich => Err("`{}`: Mehlich-1 or Mehlich-3, the header does not say"),
        MethodWord::Foreign => Err("`{}` is not among the methods this program knows"),
    }
}

/// Whether an analyte is a share of the exchange capacity.
pub(super) fn is_share_of_exchange(analyte: Analyte) -> bool {
    analyte.quantity() == Quantity::Percent
}

#[cfg(test)]
mod tests {
    use super::super::invented_sheet::{aside, shorts, understood};

    fn one(header: &str) -> String {
        shorts(header, &[]).remove(0)
    }

    #[test]
    fn ph_is_told_by_its_medium_and_stays_open_without() {
        assert_eq!(one("pH"), "ph_water | pH | ?");
        assert_eq!(one("pH (H2O 1:1)"), "ph_water | pH | water");
        assert_eq!(one("pH water"), "ph_water | pH | water");
        assert_eq!(one("pH KCl"), "ph_kcl | pH | potassium chloride");
        assert_eq!(one("Salt pH"), "ph_salt | pH | dilute salt");
        assert_eq!(one("pH [S-PH-1:1.02.07]"), "ph_water | pH | ?");
    }

    #[test]
    fn buffers_are_told_by_name_and_stay_open_where_the_name_is_shared() {
        for (header, method) in [
            ("Buffer pH", "?"),
            ("BpH", "?"),
            ("Buffer pH (SMP)", "smp"),
            ("SMP", "smp"),
            ("Adams-Evans", "adams-evans"),
            ("Mehlich buffer pH", "mehlich"),
            ("Moore-Sikora BpH", "moore-sikora"),
            ("Sikora", "?"),
        ] {
            assert_eq!(one(header), format!("buffer_ph | pH | {method}"), "{header}");
        }
        assert!(understood("Sikora pH", &[])[0].why.contains("three buffers"));
        assert_eq!(one("Lime index"), "buffer_ph | lime index | ?");
    }

    #[test]
    fn phosphorus_is_told_by_its_test() {
        for (header, expected) in [
            ("P1 ppm", "p | ppm | bray-1"),
            ("P2 ppm", "p | ppm | bray-2"),
            ("Bray P1 ppm", "p | ppm | bray-1"),
            ("P (M3)", "p | ? | mehlich-3"),
            ("P M3 ICP ppm", "p | ppm | mehlich-3 icp"),
            ("P ppm [S-P-M3.04]", "p | ppm | mehlich-3"),
            ("P2O5 Dyer g/kg", "p | g/kg P2O5 | ?"),
            ("Olsen ppm", "p | ppm | olsen"),
            ("P (resina) mg/dm3", "p | mg/L | resin"),
        ] {
            assert_eq!(one(header), expected, "{header}");
        }
        assert!(understood("P2O5 Dyer g/kg", &[])[0].why.contains("`Dyer` is not among the methods"));
    }

    #[test]
    fn compounds_shares_and_misfits_have_their_own_answers() {
        for (header, expected) in [
            ("NO3-N ppm", "nitrate_n | ppm | ?"),
            ("NO3 ppm", "nitrate_n | ppm NO3 | ?"),
            ("SO4-S ppm", "s | ppm | ?"),
            ("Cations ppm K", "k | ppm | ?"),
            ("Base Saturation %K", "k_saturation | % | calculated"),
            ("K/CEC %", "k_saturation | % | calculated"),
            ("H+Al cmolc/dm3", "acidity | cmolc/dm3 | ?"),
            ("CEC ppm", "cec | ? | ?"),
            ("MO g/dm3", "organic_matter | ? | ?"),
            ("Mo ppm", "-"),
            ("N %", "-"),
            ("Ca:Mg", "-"),
            ("Zn DTPA ppm", "zn | ppm | dtpa"),
            ("B hot water ppm", "b | ppm | hot water"),
            ("Yield map", "-"),
        ] {
            assert_eq!(one(header), expected, "{header}");
        }
        assert!(understood("CEC ppm", &[])[0].why.contains("does not fit"));
        assert!(aside(&understood("Yield map", &[])[0]).contains("not among the names"));
    }
}
