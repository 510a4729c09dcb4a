//! How a CEC came about, where the sheet's own sums show it; and what aluminum and hydrogen beside it are.

use super::name::Name;
use super::sheet_reading::{CATIONS, SheetReading};
use super::values::Agreement;
use crate::samples::{Analyte, LabMethod};

/// How far a CEC may be from its sum, and the room for rounding, meq/100 g.
const TOLERANCE: f64 = 0.02;
const ROUNDING_MEQ: f64 = 0.05;
/// Rows that prove a sum.
const LEAST_ROWS: usize = 3;

/// Sums a CEC may be, with the rows that show them.
#[derive(Default)]
struct Sums {
    /// Bases and all acidity.
    with_acidity: Agreement,
    /// Bases and aluminum.
    with_aluminum: Agreement,
    /// Bases, on rows where the lab prints no acidity.
    where_neutral: Agreement,
}

/// Settles the method of every CEC whose parts stand beside it.
pub(super) fn settle_cec_method(sheet: &mut SheetReading) {
    for column in sheet.columns_of(Analyte::Cec) {
        if sheet.method(column).is_some() {
            continue;
        }
        let Some(sums) = sums_of(sheet, column) else { continue };
        let is_whole = sums.with_acidity.is_most(LEAST_ROWS);
        let is_effective = sums.with_aluminum.is_most(LEAST_ROWS);
        if is_whole && !is_effective {
            sheet.infer_method(column, LabMethod::Summation, "its numbers are bases and acidity added up");
            tell_open_charges(sheet, column);
        } else if is_effective && !is_whole {
            sheet.infer_method(column, LabMethod::Effective, "its numbers are bases and aluminum added up");
        } else if sums.where_neutral.is_most(LEAST_ROWS) {
            let reason = "where the lab finds no acidity, its numbers are the bases added up";
            sheet.infer_method(column, LabMethod::Summation, reason);
        }
    }
}

fn sums_of(sheet: &SheetReading, cec: usize) -> Option<Sums> {
    let bases: Vec<usize> = CATIONS.iter().filter_map(|(_, analyte)| sheet.first_of(*analyte)).collect();
    let [ca, mg, k] = [Analyte::Ca, Analyte::Mg, Analyte::K].map(|analyte| sheet.first_of(analyte));
    let needed = [ca?, mg?, k?];
    let aluminum = sheet.first_of(Analyte::Al);
    let acidity = sheet.columns_of(Analyte::Acidity);
    let is_hydrogen = |column: &usize| sheet.senses[*column].name == Some(Name::Hydrogen);
    let whole_acidity = acidity.iter().copied().find(|column| !is_hydrogen(column));
    let hydrogen = acidity.iter().copied().find(is_hydrogen);
    let acid_share = sheet.first_of(Analyte::AciditySaturation);
    let mut sums = Sums::default();
    for row in 0..sheet.n_rows() {
        let charge = |column: Option<usize>| column.and_then(|column| sheet.charge(column, row));
        let Some(whole) = sheet.charge(cec, row) else { continue };
        if needed.iter().any(|column| sheet.charge(*column, row).is_none()) {
            continue;
        }
        let sum: f64 = bases.iter().filter_map(|column| sheet.charge(*column, row)).sum();
        let agrees = |part: f64| (sum + part - whole).abs() <= TOLERANCE * whole + ROUNDING_MEQ;
        let acid = charge(whole_acidity)
            .or_else(|| charge(hydrogen).map(|hydrogen| hydrogen + charge(aluminum).unwrap_or(0.0)));
        if let Some(acid) = acid {
            sums.with_acidity.count(agrees(acid));
        }
        if let Some(aluminum) = charge(aluminum) {
            sums.with_aluminum.count(agrees(aluminum));
        }
        if acid_share.and_then(|column| sheet.values[column].at(row)) == Some(0.0) {
            sums.where_neutral.count(agrees(0.0));
        }
    }
    Some(sums)
}

/// Cations without a unit that add up to a CEC stand in its unit, by mass or by volume.
fn tell_open_charges(sheet: &mut SheetReading, cec: usize) {
    let note = format!("adds up to `{}`: a charge, by mass or by volume not printed", sheet.header(cec));
    let parts = [Analyte::Ca, Analyte::Mg, Analyte::K, Analyte::Na, Analyte::Al, Analyte::Acidity];
    let columns: Vec<usize> = parts.into_iter().filter_map(|analyte| sheet.first_of(analyte)).collect();
    for column in columns {
        if sheet.lacks_unit(column) {
            sheet.tell(column, &note);
        }
    }
}

/// Hydrogen is the acidity only where no aluminum and no acidity stand beside it.
pub(super) fn settle_hydrogen(sheet: &mut SheetReading) {
    let acidity = sheet.columns_of(Analyte::Acidity);
    let is_hydrogen = |column: &usize| sheet.senses[*column].name == Some(Name::Hydrogen);
    let has_whole = acidity.iter().any(|column| !is_hydrogen(column));
    let has_aluminum = sheet.first_of(Analyte::Al).is_some();
    if !has_whole && !has_aluminum {
        return;
    }
    let hydrogen: Vec<usize> = acidity.iter().copied().filter(is_hydrogen).collect();
    for column in hydrogen {
        sheet.set_aside(column, "hydrogen without the aluminum beside it: a part of the acidity", "by name");
    }
}

#[cfg(test)]
mod tests {
    use super::super::invented_sheet::{aside, shorts, understood};

    #[test]
    fn two_exchange_capacities_are_told_apart_by_their_sums() {
        let rows = ["3.0,0.8,0.5,0.2,3.0,7.5,4.5", "2.0,0.6,0.3,0.4,3.6,6.9,3.3", "4.0,1.0,0.6,0.0,2.4,8.0,5.6"];
        let readings = understood("Ca,Mg,K,Al,H,CTC,CEC", &rows);
        let told = shorts("Ca,Mg,K,Al,H,CTC,CEC", &rows);
        assert_eq!(told[5], "cec | ? | summation");
        assert!(aside(&readings[6]).contains("effective"));
        assert!(aside(&readings[4]).contains("part of the acidity"));
        assert!(readings[0].why.contains("by mass or by volume not printed"));
    }

    #[test]
    fn a_measured_capacity_is_not_called_a_sum() {
        let rows = ["3.0,0.8,0.5,3.0,9.9", "2.0,0.6,0.3,3.6,8.1", "4.0,1.0,0.6,2.4,11.0"];
        assert_eq!(shorts("Ca meq/100g,Mg meq/100g,K meq/100g,Acidity meq/100g,CEC", &rows)[4], "cec | meq/100g | ?");
    }

    #[test]
    fn hydrogen_alone_is_the_acidity() {
        assert_eq!(shorts("H meq/100g", &["1.8"])[0], "acidity | meq/100g | ?");
    }
}
