//! The unit a header prints.

use super::header_words::Piece;
use crate::units::{LabUnit, MassUnit};

/// A unit as printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum UnitWord {
    /// A unit of the program. Percent is a share; what of, the name says.
    Unit(LabUnit),
    /// Pounds, equivalents or centimoles, with `an acre` or `per 100 g` left out.
    Short(LabUnit),
    /// A unit the program has not.
    Foreign,
}

const PER_MASS: LabUnit = LabUnit::Meq100g;
const PER_VOLUME: LabUnit = LabUnit::CmolDm3;

/// Units with their names, brackets and spaces removed. `-1` is an exponent; `_` may stand for the stroke.
const NAMES: &[(UnitWord, &[&str])] = &[
    (UnitWord::Unit(LabUnit::PPM), &["ppm", "mg/kg", "mgkg-1", "mgkg", "ug/g", "ugg-1"]),
    (
        UnitWord::Unit(LabUnit::Mass(MassUnit::MgL)),
        &["mg/l", "mg/dm3", "mgl-1", "mgdm-3", "mgdm3", "mgl", "ug/ml", "mg/dm-3", "ug/cm3", "ugcm-3"],
    ),
    (UnitWord::Unit(LabUnit::Mass(MassUnit::Mg100g)), &["mg/100g", "mg100g-1", "mg100g"]),
    (UnitWord::Unit(LabUnit::Mass(MassUnit::GKg)), &["g/kg", "gkg-1", "gkg"]),
    (
        UnitWord::Unit(LabUnit::LB_AC),
        &[
            "lb/a",
            "lbs/a",
            "lb/ac",
            "lbs/ac",
            "lb/acre",
            "lbs/acre",
            "#/a",
            "#/ac",
            "#/acre",
            "lbac",
            "lbsac",
            "lbsperacre",
            "lbperacre",
            "poundsperacre",
            "poundsacre",
            "lba",
            "lbsa",
            "lbsacre",
            "lbacre",
        ],
    ),
    (UnitWord::Short(LabUnit::LB_AC), &["lb", "lbs"]),
    (UnitWord::Unit(LabUnit::Mass(MassUnit::KgHa)), &["kg/ha", "kgha-1", "kgha"]),
    (
        UnitWord::Unit(PER_MASS),
        &[
            "meq/100g",
            "me/100g",
            "meq100g-1",
            "meq100g",
            "cmolc/kg",
            "cmol/kg",
            "cmol+/kg",
            "cmolckg-1",
            "cmolkg-1",
            "cmol+kg-1",
            "cmolckg",
            "cmolkg",
            "mval/100g",
            "meq/100gm",
            "meq/100gsoil",
            "meq%",
            "me%",
            "meqper100g",
            "cmolc+/kg",
            "cmole/kg",
        ],
    ),
    (UnitWord::Short(PER_MASS), &["meq", "cmol", "cmolc", "cmol+"]),
    (
        UnitWord::Unit(LabUnit::MmolKg),
        &["mmolc/kg", "mmol/kg", "mmol+/kg", "mmolckg-1", "mmolkg-1", "mmol+kg-1", "meq/kg", "meqkg-1"],
    ),
    (
        UnitWord::Unit(PER_VOLUME),
        &[
            "cmolc/dm3",
            "cmol/dm3",
            "cmol+/dm3",
            "cmolcdm-3",
            "cmoldm-3",
            "cmol+dm-3",
            "cmolcdm3",
            "meq/100cm3",
            "meq/100cc",
            "meq/100ml",
            "me/100cm3",
            "cmolc/l",
            "cmol/l",
            "cmolc/dm-3",
        ],
    ),
    (
        UnitWord::Unit(LabUnit::MmolDm3),
        &["mmolc/dm3", "mmol/dm3", "mmol+/dm3", "mmolcdm-3", "mmoldm-3", "mmolcdm3", "mmolc/l", "meq/dm3"],
    ),
    (UnitWord::Unit(LabUnit::Percent), &["%", "pct", "percent", "percentage"]),
    (
        UnitWord::Unit(LabUnit::DsM),
        &["ds/m", "dsm-1", "dsm", "mmho/cm", "mmhos/cm", "mmho", "mmhos", "ms/cm", "mscm-1"],
    ),
    (UnitWord::Unit(LabUnit::MsM), &["ms/m", "msm-1"]),
    (UnitWord::Unit(LabUnit::UsCm), &["us/cm", "uscm-1", "umho/cm", "umhos/cm"]),
    (
        UnitWord::Foreign,
        &[
            "g/dm3",
            "gdm-3",
            "gdm3",
            "g/l",
            "gl-1",
            "mg/100ml",
            "mg/100cm3",
            "ppb",
            "ug/kg",
            "kg/t",
            "kg/m3",
            "meq/l",
            "mmol/l",
            "oz/ac",
            "g/cm3",
            "g/cc",
            "t/ha",
            "tonnes/ha",
            "t/ac",
            "tons/ac",
            "ton/acre",
            "tons/acre",
        ],
    ),
];

/// A unit and where it stands.
pub(super) struct PrintedUnit {
    /// The unit.
    pub(super) unit: UnitWord,
    /// As the header prints it.
    pub(super) printed: String,
}

/// Takes the unit out of a header's pieces: the longest that is one, the last of equals (`Mg mg/kg`).
pub(super) fn take_unit(header: &str, pieces: &mut Vec<Piece>) -> Option<PrintedUnit> {
    const LONGEST: usize = 8;
    for length in (1..=LONGEST.min(pieces.len())).rev() {
        for start in (0..=pieces.len() - length).rev() {
            let end = start + length;
            let window = &pieces[start..end];
            let joins_before = window[0].glued && window[0].is_text() && start > 0 && pieces[start - 1].is_text();
            let last = &pieces[end - 1];
            let joins_after = last.is_text() && pieces.get(end).is_some_and(|next| next.glued && next.is_text());
            if joins_before || joins_after {
                continue;
            }
            let text: String = window.iter().map(|piece| piece.text.as_str()).collect();
            let Some(unit) = NAMES.iter().find(|(_, names)| names.contains(&text.as_str())).map(|(unit, _)| *unit)
            else {
                continue;
            };
            let printed = header.get(window[0].place.start..last.place.end).unwrap_or(&text).to_owned();
            pieces.drain(start..end);
            if let Some(next) = pieces.get_mut(start) {
                next.glued = false;
            }
            return Some(PrintedUnit { unit, printed });
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::super::header_words::{pieces, squeezed, words};
    use super::*;

    /// Unit and what is left of the header.
    fn taken(header: &str) -> (Option<UnitWord>, String) {
        let mut parts = pieces(header);
        let unit = take_unit(header, &mut parts).map(|printed| printed.unit);
        (unit, squeezed(&words(&parts)))
    }

    #[test]
    fn units_are_taken_out_wherever_they_stand() {
        let unit = |name: &str| Some(UnitWord::Unit(LabUnit::parse(name).unwrap()));
        assert_eq!(taken("K ppm"), (unit("ppm"), "k".to_owned()));
        assert_eq!(taken("Mg mg/kg"), (unit("ppm"), "mg".to_owned()));
        assert_eq!(taken("Mg kg/ha"), (unit("kg/ha"), "mg".to_owned()));
        assert_eq!(taken("K lbs/A M1"), (unit("lb/ac"), "km1".to_owned()));
        assert_eq!(taken("P2O5 (CAL) mg/100g"), (unit("mg/100g"), "p2o5cal".to_owned()));
        assert_eq!(taken("Total Exchange Capacity (ME/100 g)").0, unit("meq/100g"));
        assert_eq!(taken("Exc Al cmol(+)/kg"), (unit("meq/100g"), "excal".to_owned()));
        assert_eq!(taken("Ca (cmolc.dm⁻³)"), (unit("cmolc/dm3"), "ca".to_owned()));
        assert_eq!(taken("1:1 Salts mmho/cm"), (unit("dS/m"), "1:1salts".to_owned()));
        assert_eq!(taken("K2O g kg-1"), (unit("g/kg"), "k2o".to_owned()));
        assert_eq!(taken("%K"), (unit("%"), "k".to_owned()));
        assert_eq!(taken("h_pct_lab"), (unit("%"), "hlab".to_owned()));
        assert_eq!(taken("MO g/dm3").0, Some(UnitWord::Foreign));
        assert_eq!(taken("K lbs").0, Some(UnitWord::Short(LabUnit::LB_AC)));
    }

    #[test]
    fn what_only_looks_like_a_unit_stays() {
        for header in ["Mg", "K/Mg Ratio", "P2O5", "Gkg1x", "lbsx"] {
            assert_eq!(taken(header).0, None, "{header}");
        }
    }
}
