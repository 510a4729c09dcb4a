//! Units that no header prints and only the numbers can tell: CEC, organic matter, texture, charges.

use super::name::Name;
use super::sheet_reading::{CATIONS, SheetReading};
use super::values::Agreement;
use super::{Found, Role};
use crate::samples::Analyte;
use crate::units::{LabUnit, MassUnit};

/// CEC in meq/100 g where no other unit gives such numbers. Heuristic: sands lie near 1, clays reach 40; above, sands in
/// mmol/kg would print the same.
const CEC_MEQ_100G: [f64; 2] = [0.5, 40.0];
/// CEC that can only be in tenths: mmolc. Heuristic, as above.
const CEC_MMOLC: [f64; 2] = [20.0, 300.0];
/// Organic matter up to this middle number is percent: as g/kg it would be half a percent of all soil. Heuristic.
const GREATEST_PERCENT_MIDDLE: f64 = 5.0;
/// How far sand, silt and clay may be from their whole.
const TEXTURE_TOLERANCE: f64 = 0.03;

/// Settles what the numbers settle.
pub(super) fn settle_units_by_values(sheet: &mut SheetReading) {
    settle_cec(sheet);
    settle_charges(sheet);
    settle_organic_matter(sheet);
    settle_texture(sheet);
}

/// Whether and why amounts stand by volume of soil.
fn volume_reason(sheet: &SheetReading) -> Option<String> {
    let by_volume = |column: &usize| {
        let unit = sheet.unit(*column);
        unit.is_some_and(|unit| matches!(unit, LabUnit::Mass(MassUnit::MgL) | LabUnit::CmolDm3 | LabUnit::MmolDm3))
    };
    let cations = CATIONS.iter().flat_map(|(_, analyte)| sheet.columns_of(*analyte));
    if let Some(column) = cations.into_iter().find(by_volume) {
        return Some(format!("by volume, as `{}`", sheet.header(column)));
    }
    let has = |word: &str| sheet.senses.iter().any(|sense| sense.words.eq_ignore_ascii_case(word));
    (has("W/V") && has("HM")).then(|| "by volume, as sheets with `W/V` and `HM%` are".to_owned())
}

fn settle_cec(sheet: &mut SheetReading) {
    let in_tenths = CATIONS.iter().flat_map(|(_, analyte)| sheet.columns_of(*analyte)).find_map(|column| {
        let unit = sheet.unit(column)?;
        matches!(unit, LabUnit::MmolDm3 | LabUnit::MmolKg).then(|| (unit, sheet.header(column)))
    });
    let volume = volume_reason(sheet);
    let is_open_basis = sheet.senses.iter().any(|sense| sense.is_portuguese);
    for column in sheet.columns_of(Analyte::Cec) {
        let Some([least, most]) = sheet.values[column].range() else { continue };
        if !sheet.lacks_unit(column) {
            continue;
        }
        let is_in = |range: [f64; 2]| range[0] <= least && most <= range[1];
        if let Some((unit, header)) = in_tenths {
            if is_in(CEC_MMOLC) {
                sheet.infer_unit(column, unit, &format!("as `{header}`, by range"));
            }
        } else if !is_in(CEC_MEQ_100G) {
            sheet.tell(column, "no unit printed, and beyond what meq/100 g would give");
        } else if let Some(reason) = &volume {
            sheet.infer_unit(column, LabUnit::CmolDm3, reason);
        } else if is_open_basis {
            sheet.tell(column, "meq/100 g or cmolc/dm3: by mass or by volume is not printed");
        } else {
            sheet.infer_unit(column, LabUnit::Meq100g, "by range: CEC of soils in meq/100 g lies between 0.5 and 40");
        }
    }
}

/// Aluminum and acidity stand in the unit of the CEC they are a part of, where no number is above it.
fn settle_charges(sheet: &mut SheetReading) {
    let Some(cec) = sheet.first_of(Analyte::Cec) else { return };
    let Some(unit) = sheet.unit(cec) else { return };
    for analyte in [Analyte::Al, Analyte::Acidity] {
        for column in sheet.columns_of(analyte) {
            let is_part = |row: usize| match (sheet.values[column].at(row), sheet.values[cec].at(row)) {
                (Some(part), Some(whole)) => Some(part <= whole),
                _ => None,
            };
            let mut agreement = Agreement::default();
            (0..sheet.n_rows()).filter_map(is_part).for_each(|agrees| agreement.count(agrees));
            // A bare `Ac` is acidity on sheets by volume, and acres on others.
            let is_acres = sheet.senses[column].words.eq_ignore_ascii_case("ac") && volume_reason(sheet).is_none();
            let is_part = agreement.n_pairs > 0 && agreement.n_agree == agreement.n_pairs && !is_acres;
            if sheet.lacks_unit(column) && is_part {
                let reason = format!("as `{}`, of which it is a part", sheet.header(cec));
                sheet.infer_unit(column, unit, &reason);
            }
        }
    }
}

fn settle_organic_matter(sheet: &mut SheetReading) {
    for column in sheet.columns_of(Analyte::OrganicMatter) {
        // `MO` is organic matter, and molybdenum on sheets in capitals.
        let is_carbon =
            matches!(sheet.senses[column].name, Some(Name::OrganicCarbon | Name::OrganicMatterOrMolybdenum));
        let is_percent = sheet.values[column].median().is_some_and(|middle| middle <= GREATEST_PERCENT_MIDDLE);
        if sheet.lacks_unit(column) && !is_carbon && is_percent {
            let reason = "by range: as g/kg it would be next to none";
            sheet.infer_unit(column, LabUnit::Percent, reason);
        }
    }
}

/// Sand, silt and clay make up 100 % or 1000 g/kg.
fn settle_texture(sheet: &mut SheetReading) {
    let parts = [Analyte::Sand, Analyte::Silt, Analyte::Clay].map(|part| sheet.first_of(part));
    let [Some(sand), Some(silt), Some(clay)] = parts else { return };
    let wholes = [
        (LabUnit::Percent, 100.0, "sand, silt and clay make up 100"),
        (LabUnit::Mass(MassUnit::GKg), 1000.0, "sand, silt and clay make up 1000"),
    ];
    for (unit, whole, reason) in wholes {
        let mut agreement = Agreement::default();
        for row in 0..sheet.n_rows() {
            let at = |column: usize| sheet.values[column].at(row);
            if let (Some(sand), Some(silt), Some(clay)) = (at(sand), at(silt), at(clay)) {
                agreement.count((sand + silt + clay - whole).abs() <= TEXTURE_TOLERANCE * whole);
            }
        }
        if agreement.is_most(1) {
            for column in [sand, silt, clay] {
                if matches!(sheet.readings[column].role, Role::Analyte { unit: Found::NotPrinted, .. }) {
                    sheet.infer_unit(column, unit, reason);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::invented_sheet::shorts;

    #[test]
    fn a_capacity_stands_in_the_unit_its_neighbors_and_range_allow() {
        assert_eq!(shorts("CEC", &["13.1"])[0], "cec | meq/100g | ?");
        assert_eq!(shorts("CEC", &["131"])[0], "cec | ? | ?");
        assert_eq!(shorts("CTC", &["7.5"])[0], "cec | ? | ?");
        assert_eq!(shorts("Ca cmolc/dm3,CTC", &["3.6,7.5"])[1], "cec | cmolc/dm3 | ?");
        assert_eq!(shorts("Ca mmolc/dm3,CTC", &["36,75"])[1], "cec | mmolc/dm3 | ?");
        assert_eq!(shorts("CEC", &[])[0], "cec | ? | ?");
    }

    #[test]
    fn organic_matter_and_texture_are_percent_where_nothing_else_fits() {
        assert_eq!(shorts("OM", &["2.9", "3.4"])[0], "organic_matter | % | ?");
        assert_eq!(shorts("OM", &["29", "34"])[0], "organic_matter | ? | ?");
        assert_eq!(shorts("Sand,Silt,Clay", &["34,43,23"])[2], "clay | % | calculated");
        assert_eq!(shorts("Sand,Silt,Clay", &["340,430,230"])[2], "clay | g/kg | calculated");
        assert_eq!(shorts("Clay", &["23"])[0], "clay | ? | calculated");
    }
}
