//! Amounts by mass and by volume of soil on one sheet.

use super::CheckInput;
use crate::chemistry::Buffer;
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::{Analyte, LabMethod};
use crate::units::{Quantity, SoilBasis};

/// Amounts by mass and by volume of soil on one sheet.
pub static MIXED_SOIL_BASES: Code = Code {
    name: "mixed-soil-bases",
    checks: "that cations, acidity and CEC are all by mass of soil (per 100 g, per kg) or all by volume (per dm3)",
    why: "they are added up; a dm3 of soil weighs 0.8 to 1.5 kg, so the sum would mean neither",
    example: "`Ca` in cmolc/dm3 and `K` in ppm (mg/kg)",
    mend: "correct the unit in `samples.columns`, or ask the lab for all of them on one basis",
};

/// At most one message: an error for columns of both kinds, a warning for a buffer by volume beside cations by mass.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let is_summed = |analyte: Analyte| matches!(analyte.quantity(), Quantity::Cation(_) | Quantity::Charge);
    let of_basis = |basis: SoilBasis| {
        let columns = input.settings.columns.iter();
        columns.filter(|c| is_summed(c.analyte) && c.unit.basis() == Some(basis)).collect::<Vec<_>>()
    };
    let (by_mass, by_volume) = (of_basis(SoilBasis::Mass), of_basis(SoilBasis::Volume));
    let fewer = if by_mass.len() < by_volume.len() { &by_mass } else { &by_volume };
    let spelled = |columns: &[&crate::samples::ColumnSetting]| {
        columns.iter().map(|c| format!("`{}` ({})", c.column, c.unit.name())).collect::<Vec<_>>().join(", ")
    };
    if !by_mass.is_empty() && !by_volume.is_empty() {
        let message = format!(
            "by mass of soil: {}; by volume: {}; they cannot be added up",
            spelled(&by_mass),
            spelled(&by_volume)
        );
        return vec![
            Diagnostic::error(&MIXED_SOIL_BASES, message)
                .at(input.column_place(fewer[0]))
                .with_help("correct `unit` in `samples.columns`, or ask the lab for all of them on one basis"),
        ];
    }
    let buffer = input.column(Analyte::BufferPh).map(|(index, column)| (column, index));
    let is_mehlich =
        |index: usize| input.drafts.iter().any(|draft| draft.methods[index] == LabMethod::Buffer(Buffer::Mehlich));
    // The lab's own CEC or acidity is used before a buffer is.
    let is_needed = input.column(Analyte::Cec).is_none() && input.column(Analyte::Acidity).is_none();
    match buffer {
        Some((column, index)) if is_needed && !by_mass.is_empty() && is_mehlich(index) => {
            let message = "the mehlich buffer gives acidity by volume of soil (meq/100 cm3), the cations are by mass";
            vec![
                Diagnostic::warning(&MIXED_SOIL_BASES, message)
                    .at(input.column_place(column))
                    .with_note("they are added up as if 100 cm3 of soil weighed 100 g")
                    .with_help("add the lab's own CEC or acidity to `samples.columns`, where it is printed"),
            ]
        }
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;
    use crate::samples::MethodSetting;
    use crate::units::LabUnit;

    #[test]
    fn cations_by_mass_and_by_volume_are_refused() {
        let mut sheet = sheet("ID,x,y,P,K,Ca,Mg\nA,0,0,20,120,4.1,1.2\n");
        assert!(sheet.with_input(check).is_empty());
        sheet.settings.columns[2].unit = LabUnit::CmolDm3;
        sheet.settings.columns[3].unit = LabUnit::MmolDm3;
        let found = sheet.with_input(check);
        assert_eq!(
            lines(&found),
            [
                "error: by mass of soil: `K` (ppm); by volume: `Ca` (cmolc/dm3), `Mg` (mmolc/dm3); they cannot be added up"
            ]
        );
        assert_eq!(found[0].place.as_ref().expect("has a place").to_string(), "field.toml:21, `samples.columns.k`");
    }

    #[test]
    fn phosphorus_by_mass_beside_cations_by_volume_is_fine() {
        let mut sheet = sheet("ID,x,y,P,Ca\nA,0,0,20,4.1\n");
        sheet.settings.columns[1].unit = LabUnit::CmolDm3;
        assert!(sheet.with_input(check).is_empty());
    }

    #[test]
    fn a_buffer_by_volume_beside_cations_by_mass_is_warned_only_where_it_is_needed() {
        let mut without_cec = sheet("ID,x,y,pH,BpH,K\nA,0,0,6,6.2,120\n");
        assert!(without_cec.with_input(check).is_empty());
        without_cec.settings.columns[1].method = MethodSetting::Fixed(LabMethod::Buffer(Buffer::Mehlich));
        assert_eq!(without_cec.with_input(check).len(), 1);
        let mut with_cec = sheet("ID,x,y,pH,BpH,K,CEC\nA,0,0,6,6.2,120,9\n");
        with_cec.settings.columns[1].method = MethodSetting::Fixed(LabMethod::Buffer(Buffer::Mehlich));
        assert!(with_cec.with_input(check).is_empty());
    }
}
