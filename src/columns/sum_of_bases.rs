//! `S` beside Ca, Mg and K: sulfur, or the sum of the bases.

use super::sheet_reading::{SheetReading, is_charge};
use super::values::Agreement;
use crate::samples::Analyte;

/// How far the printed sum may be from the sum of the columns.
const TOLERANCE: f64 = 0.02;
const REASON: &str = "the sum of the bases, not sulfur";

/// Leaves a column `S` aside whose numbers are Ca + Mg + K, with or without Na.
pub(super) fn settle_sum_of_bases(sheet: &mut SheetReading) {
    let [Some(ca), Some(mg), Some(k)] = [Analyte::Ca, Analyte::Mg, Analyte::K].map(|base| sheet.first_of(base)) else {
        return;
    };
    let na = sheet.first_of(Analyte::Na);
    for column in sheet.columns_of(Analyte::S) {
        if sheet.senses[column].lab_unit().is_some_and(is_charge) {
            sheet.set_aside(column, REASON, "its unit is one of charge");
            continue;
        }
        if !sheet.lacks_unit(column) {
            continue;
        }
        let (mut without, mut with) = (Agreement::default(), Agreement::default());
        for row in 0..sheet.n_rows() {
            let at = |column: usize| sheet.values[column].at(row);
            let (Some(sum), Some(ca), Some(mg), Some(k)) = (at(column), at(ca), at(mg), at(k)) else { continue };
            let close = |bases: f64| (sum - bases).abs() <= TOLERANCE * bases.abs();
            without.count(close(ca + mg + k));
            with.count(close(ca + mg + k + na.and_then(at).unwrap_or(0.0)));
        }
        if without.is_most(1) || with.is_most(1) {
            sheet.set_aside(column, REASON, "its numbers are Ca + Mg + K added up");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::invented_sheet::{aside, shorts, understood};

    #[test]
    fn s_is_the_sum_of_bases_where_it_adds_up_and_sulfur_else() {
        let readings = understood("Ca,Mg,K,S", &["3.6,0.8,0.50,4.90", "3.4,0.8,0.44,4.64"]);
        assert_eq!(aside(&readings[3]), "the sum of the bases, not sulfur");
        assert_eq!(shorts("Ca,Mg,K,S", &["3.6,0.8,0.50,9", "3.4,0.8,0.44,12"])[3], "s | ? | ?");
        assert_eq!(shorts("Ca ppm,Mg ppm,K ppm,S ppm", &["500,72,66,9"])[3], "s | ppm | ?");
        // Sodium is in some labs' sums.
        let readings = understood("Ca,Mg,K,Na,S", &["3.6,0.8,0.5,0.4,5.3"]);
        assert!(!aside(&readings[4]).is_empty());
    }
}
