//! One analyte in several columns: which is taken, which is a second test, which is left aside.

use super::header_words::{pieces, squeezed, words};
use super::sheet_reading::SheetReading;
use crate::samples::{Analyte, LabMethod};
use crate::units::{LabUnit, MassUnit};

/// Leaves at most one column an analyte.
pub(super) fn settle_repeats(sheet: &mut SheetReading) {
    for analyte in Analyte::ALL.iter().copied() {
        if !matches!(analyte, Analyte::P | Analyte::K) {
            keep_one(sheet, &sheet.columns_of(analyte));
        }
    }
    settle_phosphorus(sheet);
    settle_potassium(sheet);
}

/// Order of units where the same test stands in several: the one guides are written in first.
fn unit_rank(unit: Option<LabUnit>) -> usize {
    match unit {
        None => 9,
        Some(LabUnit::Mass(MassUnit::Ppm)) => 0,
        Some(LabUnit::Mass(MassUnit::MgL)) => 1,
        Some(LabUnit::Mass(_)) => 2,
        Some(LabUnit::AsCompound(..)) => 4,
        Some(_) => 3,
    }
}

/// The test behind a column: its method, or the words of one this program does not know.
fn test_of(sheet: &SheetReading, column: usize) -> String {
    if let Some(method) = sheet.method(column) {
        return method.name().to_owned();
    }
    let printed = sheet.senses[column].methods.iter().map(|method| squeezed(&words(&pieces(&method.printed))));
    printed.collect::<Vec<_>>().join(" ")
}

fn has_same_test(sheet: &SheetReading, one: usize, other: usize) -> bool {
    test_of(sheet, one) == test_of(sheet, other)
}

/// Why a column is left aside for another.
fn reason_beside(sheet: &SheetReading, column: usize, taken: usize) -> String {
    let header = sheet.header(taken);
    if !has_same_test(sheet, column, taken) {
        format!("by another test than `{header}`, which is taken")
    } else if sheet.unit(column) == sheet.unit(taken) {
        format!("stands twice: `{header}` is taken")
    } else {
        format!("stands twice, in another unit: `{header}` is taken")
    }
}

/// Keeps the best of several columns of one analyte and test.
fn keep_one(sheet: &mut SheetReading, columns: &[usize]) {
    let rank = |column: &usize| {
        let method = sheet.method(*column);
        // An effective CEC leaves out acidity that guides reckon with.
        (method == Some(LabMethod::Effective), method.is_none(), unit_rank(sheet.unit(*column)), *column)
    };
    let Some(taken) = columns.iter().copied().min_by_key(rank) else { return };
    for other in columns.iter().copied().filter(|column| *column != taken) {
        let reason = reason_beside(sheet, other, taken);
        let reason = match sheet.method(other) {
            Some(LabMethod::Effective) => format!("the effective CEC; `{}` holds all acidity", sheet.header(taken)),
            _ => reason,
        };
        sheet.set_aside(other, reason, "one column an analyte");
    }
}

/// Columns grouped by test, in the order of the sheet; one column a test is kept.
fn one_column_a_test(sheet: &mut SheetReading, analyte: Analyte) -> Vec<usize> {
    let mut tests: Vec<Vec<usize>> = Vec::new();
    for column in sheet.columns_of(analyte) {
        match tests.iter_mut().find(|test| has_same_test(sheet, test[0], column)) {
            Some(test) => test.push(column),
            None => tests.push(vec![column]),
        }
    }
    tests.iter().for_each(|test| keep_one(sheet, test));
    sheet.columns_of(analyte)
}

/// The first two tests of phosphorus by the order of the sheet; which one a guide needs, the user says.
fn settle_phosphorus(sheet: &mut SheetReading) {
    let columns = one_column_a_test(sheet, Analyte::P);
    let [first, second, rest @ ..] = columns.as_slice() else { return };
    for (column, other) in [(*first, *second), (*second, *first)] {
        let note = format!(
            "the sheet has a second phosphorus test, `{}`: your guide says which it needs",
            sheet.header(other)
        );
        sheet.tell(column, &note);
    }
    sheet.set_analyte(*second, Analyte::PSecond);
    for column in rest {
        sheet.set_aside(*column, "a third phosphorus test", "two phosphorus tests are taken, the first of the sheet");
    }
}

/// The exchangeable potassium, in the unit of calcium and magnesium, and one other test.
fn settle_potassium(sheet: &mut SheetReading) {
    let family: Vec<LabUnit> = [Analyte::Ca, Analyte::Mg]
        .into_iter()
        .filter_map(|analyte| sheet.first_of(analyte))
        .filter_map(|column| sheet.unit(column))
        .collect();
    let rank = |sheet: &SheetReading, column: usize| {
        let is_family = sheet.unit(column).is_some_and(|unit| family.contains(&unit));
        let is_bicarbonate = matches!(sheet.method(column), Some(LabMethod::Colwell | LabMethod::Olsen));
        let is_exchangeable = sheet.is_charge(column) || sheet.senses[column].is_exchangeable;
        (is_bicarbonate, !is_family, !is_exchangeable, unit_rank(sheet.unit(column)), column)
    };
    let mut columns = sheet.columns_of(Analyte::K);
    columns.sort_by_key(|column| rank(sheet, *column));
    let [taken, others @ ..] = columns.as_slice() else { return };
    let mut has_second = false;
    for column in others.iter().copied() {
        let fits = sheet.unit(column).is_none_or(|unit| {
            unit.factor(Analyte::KSecond.quantity(), super::sheet_reading::TESTED_SOIL_LB_AC).is_some()
        });
        if has_second || !fits || has_same_test(sheet, column, *taken) {
            let reason = reason_beside(sheet, column, *taken);
            sheet.set_aside(column, reason, "one column an analyte");
            continue;
        }
        has_second = true;
        sheet.set_analyte(column, Analyte::KSecond);
        let note = format!("a second potassium test; `{}` is the exchangeable one", sheet.header(*taken));
        sheet.tell(column, &note);
    }
}

#[cfg(test)]
mod tests {
    use super::super::invented_sheet::{aside, shorts, understood};

    #[test]
    fn the_same_column_again_stands_twice() {
        let readings = understood("K ppm,K ppm #2,Na %,ESP", &["141,142,1,1"]);
        assert!(aside(&readings[1]).contains("stands twice: `K ppm`"));
        assert!(aside(&readings[3]).contains("stands twice"));
        let readings = understood("Ca lb/ac,Ca ppm", &["2000,1000"]);
        assert!(aside(&readings[0]).contains("in another unit: `Ca ppm`"));
    }

    #[test]
    fn of_three_phosphorus_tests_two_are_taken_in_the_order_of_the_sheet() {
        let told = shorts("P1 ppm,P2 ppm,Olsen P ppm", &["20,40,12"]);
        assert_eq!(told, ["p | ppm | bray-1", "p_second | ppm | bray-2", "-"]);
        let told = shorts("Olsen P ppm,P1 ppm", &["12,20"]);
        assert_eq!(told, ["p | ppm | olsen", "p_second | ppm | bray-1"]);
        // One test in two units is one test.
        assert_eq!(shorts("P M3 lb/ac,P M3 ppm", &["40,20"]), ["-", "p | ppm | mehlich-3"]);
    }

    #[test]
    fn exchangeable_potassium_is_the_one_beside_calcium() {
        let told = shorts("K Colwell mg/kg,Exc K cmol/kg,Ca cmol/kg", &["172,0.44,5.8"]);
        assert_eq!(told[..2], ["k_second | ppm | colwell", "k | meq/100g | ?"]);
        let told = shorts("K meq/100g,K ppm,Ca ppm", &["0.36,141,2150"]);
        assert_eq!(told[..2], ["-", "k | ppm | ?"]);
    }
}
