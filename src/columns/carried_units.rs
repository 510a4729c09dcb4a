//! Units that stand in one header and hold for the group.

use super::name::Name;
use super::sheet_reading::{SheetReading, is_charge};
use crate::samples::Analyte;
use crate::units::LabUnit;

/// Carries units within the exchangeable ones (`Exc Al cmol(+)/kg`, `Exc Ca`) and within the triples of
/// base-saturation sheets (`Ca Desired Value lb/A`, `Ca Value Found`), where all that print one print the same.
pub(super) fn carry_units(sheet: &mut SheetReading) {
    let is_cation = |sheet: &SheetReading, column: usize| {
        matches!(
            sheet.analyte(column),
            Some(Analyte::Ca | Analyte::Mg | Analyte::K | Analyte::Na | Analyte::Al | Analyte::Acidity)
        )
    };
    let exchangeable = |sheet: &SheetReading, c: usize| sheet.senses[c].is_exchangeable;
    carry(sheet, |sheet, c| exchangeable(sheet, c) && is_cation(sheet, c));
    // The unit may stand at the desired value, which itself is left aside.
    let in_triple = |sheet: &SheetReading, c: usize| sheet.senses[c].is_of_triple && !sheet.senses[c].is_saturation;
    carry(sheet, |sheet, c| {
        in_triple(sheet, c) && (is_cation(sheet, c) || matches!(sheet.senses[c].name, Some(Name::LeftAside(_))))
    });
}

fn carry(sheet: &mut SheetReading, is_member: impl Fn(&SheetReading, usize) -> bool) {
    let members: Vec<usize> = (0..sheet.readings.len()).filter(|column| is_member(sheet, *column)).collect();
    let amount = |column: &usize| -> Option<(usize, LabUnit)> {
        let unit = sheet.senses[*column].lab_unit()?;
        (is_charge(unit) || matches!(unit, LabUnit::Mass(_))).then_some((*column, unit))
    };
    let printed: Vec<(usize, LabUnit)> = members.iter().filter_map(amount).collect();
    let Some((from, unit)) = printed.first().copied() else { return };
    if printed.iter().any(|(_, other)| *other != unit) {
        return;
    }
    let reason = format!("as `{}`", sheet.header(from));
    for column in members {
        // A name such as `K2O` is another form of amount than its neighbors'.
        let is_compound = matches!(sheet.senses[column].name, Some(Name::Compound(_)));
        if sheet.lacks_unit(column) && !is_compound {
            sheet.infer_unit(column, unit, &reason);
        }
    }
}
