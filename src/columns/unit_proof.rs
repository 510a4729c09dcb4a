//! Units of cations, where the header prints none and the sheet's own saturations or CEC prove one.

use super::name::Name;
use super::sheet_reading::{CATIONS, SheetReading, TESTED_SOIL_LB_AC, is_charge};
use super::values::Agreement;
use crate::chemistry::Cation;
use crate::samples::Analyte;
use crate::units::{Compound, LabUnit, MassUnit};

/// Room for labs that reckon with rounded weights of the cations, such as 120 for 121.5 \[A\].
const WEIGHT_TOLERANCE: f64 = 0.02;
/// Room for a sum of several rounded columns.
const SUM_TOLERANCE: f64 = 0.05;
/// Room for rounding where the sum is small, meq/100 g.
const SUM_ROUNDING_MEQ: f64 = 0.05;
/// Pairs of numbers a proof needs.
const LEAST_PAIRS: usize = 3;

const BY_MASS: [MassUnit; 4] = [MassUnit::Ppm, MassUnit::LbAc, MassUnit::KgHa, MassUnit::Mg100g];

/// Settles units of cations: by the saturations first, by the sum for what is left.
pub(super) fn prove_units(sheet: &mut SheetReading) {
    let cec = sheet.columns_of(Analyte::Cec).into_iter().find(|column| sheet.unit(*column).is_some());
    let Some(cec) = cec else { return };
    prove_by_saturations(sheet, cec);
    prove_by_sum(sheet, cec);
}

/// Units a cation may stand in, for a CEC by mass or by volume.
fn candidates(cec: LabUnit, cation: Cation, name: Option<Name>) -> Vec<LabUnit> {
    let compound = match cation {
        Cation::Ca => Compound::Cao,
        Cation::Mg => Compound::Mgo,
        Cation::K => Compound::K2o,
        Cation::Na => Compound::Na2o,
    };
    let is_volume = matches!(cec, LabUnit::CmolDm3 | LabUnit::MmolDm3);
    let masses: &[MassUnit] = if is_volume { &[MassUnit::MgL] } else { &BY_MASS };
    let mut all: Vec<LabUnit> = masses.iter().map(|mass| LabUnit::AsCompound(*mass, compound)).collect();
    // `K2O` in the header leaves no other form.
    if !matches!(name, Some(Name::Compound(_))) {
        all.extend(masses.iter().map(|mass| LabUnit::Mass(*mass)));
        all.extend(if is_volume { [LabUnit::CmolDm3, LabUnit::MmolDm3] } else { [LabUnit::Meq100g, LabUnit::MmolKg] });
    }
    all
}

/// Cations without a unit: column, cation.
fn open_cations(sheet: &SheetReading) -> Vec<(usize, Cation)> {
    let columns = CATIONS.iter().flat_map(|(cation, analyte)| {
        sheet.columns_of(*analyte).into_iter().map(|column| (column, *cation)).collect::<Vec<_>>()
    });
    columns.filter(|(column, _)| sheet.lacks_unit(*column)).collect()
}

fn saturation_of(cation: Cation) -> Analyte {
    match cation {
        Cation::Ca => Analyte::CaSaturation,
        Cation::Mg => Analyte::MgSaturation,
        Cation::K => Analyte::KSaturation,
        Cation::Na => Analyte::NaSaturation,
    }
}

/// A unit agrees where the amount in it is `saturation / 100 * CEC`, as far as rounding tells.
fn prove_by_saturations(sheet: &mut SheetReading, cec: usize) {
    let Some(cec_unit) = sheet.unit(cec) else { return };
    let mut tested: Vec<(usize, Vec<(LabUnit, Agreement)>)> = Vec::new();
    for (column, cation) in open_cations(sheet) {
        let Some(share) = sheet.first_of(saturation_of(cation)) else { continue };
        let units = candidates(cec_unit, cation, sheet.senses[column].name);
        let agreements = units.into_iter().map(|unit| (unit, saturation_agreement(sheet, column, share, cec, unit)));
        tested.push((column, agreements.collect()));
    }
    // One cation alone may be too coarsely printed; all together they have one unit, unless one is written as a compound.
    let together = |unit: LabUnit| {
        let mut all = Agreement::default();
        for (_, agreements) in &tested {
            let of_unit = agreements.iter().filter(|(other, _)| same_form(*other, unit));
            of_unit.for_each(|(_, agreement)| all.add(*agreement));
        }
        all
    };
    let mut proven = Vec::new();
    for (column, agreements) in &tested {
        let is_alone = |unit: LabUnit, agreement: Agreement| {
            let others_fail = agreements.iter().all(|(other, a)| *other == unit || a.is_few());
            agreement.is_most(LEAST_PAIRS) && others_fail
        };
        let is_together = |unit: LabUnit, agreement: Agreement| {
            let others_fail = agreements.iter().all(|(other, _)| *other == unit || together(*other).is_few());
            agreement.is_most(1) && together(unit).is_most(LEAST_PAIRS) && others_fail
        };
        let alone = agreements.iter().find(|(unit, agreement)| is_alone(*unit, *agreement));
        let found = alone.or_else(|| agreements.iter().find(|(unit, agreement)| is_together(*unit, *agreement)));
        if let Some((unit, _)) = found {
            proven.push((*column, *unit));
        }
    }
    for (column, unit) in proven {
        conclude(sheet, column, unit, "by the printed saturations");
    }
}

/// Whether two units are one but for the cation's own compound.
fn same_form(one: LabUnit, other: LabUnit) -> bool {
    match (one, other) {
        (LabUnit::AsCompound(one, _), LabUnit::AsCompound(other, _)) => one == other,
        _ => one == other,
    }
}

fn saturation_agreement(sheet: &SheetReading, column: usize, share: usize, cec: usize, unit: LabUnit) -> Agreement {
    let mut agreement = Agreement::default();
    let quantity = sheet.analyte(column).map(Analyte::quantity);
    let factor = quantity.and_then(|quantity| unit.factor(quantity, TESTED_SOIL_LB_AC));
    let cec_factor = sheet.unit(cec).and_then(|unit| unit.factor(Analyte::Cec.quantity(), TESTED_SOIL_LB_AC));
    let (Some(factor), Some(cec_factor)) = (factor, cec_factor) else { return agreement };
    let half_step = |column: usize| sheet.values[column].half_step;
    for row in 0..sheet.n_rows() {
        let at = |column: usize| sheet.values[column].at(row);
        let (Some(amount), Some(percent), Some(whole)) = (at(column), at(share), at(cec)) else { continue };
        let whole = whole * cec_factor;
        let expected = percent / 100.0 * whole;
        if amount <= 0.0 || expected <= 0.0 {
            continue;
        }
        let rounding = half_step(share) / 100.0 * whole
            + percent / 100.0 * half_step(cec) * cec_factor
            + half_step(column) * factor
            + WEIGHT_TOLERANCE * expected;
        agreement.count((amount * factor - expected).abs() <= rounding);
    }
    agreement
}

/// A unit agrees where cations and acidity in it add up to the CEC.
fn prove_by_sum(sheet: &mut SheetReading, cec: usize) {
    let Some(cec_unit) = sheet.unit(cec) else { return };
    let open = open_cations(sheet);
    if open.is_empty() || sheet.first_of(Analyte::Ca).is_none() || sheet.first_of(Analyte::Mg).is_none() {
        return;
    }
    // Written as compounds, cations are not mixed with plain ones: one form for all that lack a unit.
    let forms = candidates(cec_unit, Cation::Ca, sheet.senses[open[0].0].name);
    let tested: Vec<(LabUnit, Agreement)> =
        forms.into_iter().map(|form| (form, sum_agreement(sheet, cec, &open, form))).collect();
    let found = tested.iter().find(|(form, agreement)| {
        agreement.is_most(LEAST_PAIRS) && tested.iter().all(|(other, a)| other == form || a.is_few())
    });
    let Some((form, _)) = found.copied() else { return };
    let reason = format!("the cations add up to `{}` in it", sheet.header(cec));
    for (column, cation) in open {
        let units = candidates(cec_unit, cation, sheet.senses[column].name);
        if let Some(unit) = units.into_iter().find(|unit| same_form(*unit, form)) {
            conclude(sheet, column, unit, &reason);
        }
    }
}

/// Takes a proven unit, unless it is an amount on an acre or a hectare: that was tried with the soil of 2,000,000 lb, and
/// labs reckon with other depths too, so the user must say.
fn conclude(sheet: &mut SheetReading, column: usize, unit: LabUnit, reason: &str) {
    if unit.needs_depth() {
        let name = unit.name();
        sheet.tell(column, &format!("{reason} it would be {name} of 2,000,000 lb of soil: say so if the lab does"));
    } else {
        sheet.infer_unit(column, unit, reason);
    }
}

fn sum_agreement(sheet: &SheetReading, cec: usize, open: &[(usize, Cation)], form: LabUnit) -> Agreement {
    let mut agreement = Agreement::default();
    let acidity = sheet.first_of(Analyte::Acidity).filter(|column| sheet.unit(*column).is_some_and(is_charge));
    let acid_share = sheet.first_of(Analyte::AciditySaturation);
    for row in 0..sheet.n_rows() {
        let Some(whole) = sheet.charge(cec, row) else { continue };
        let acid = match (acidity, acid_share) {
            (Some(column), _) => sheet.charge(column, row),
            (None, Some(column)) => sheet.values[column].at(row).map(|percent| percent / 100.0 * whole),
            (None, None) => return agreement,
        };
        let mut sum = acid;
        for (cation, analyte) in CATIONS {
            let Some(column) = sheet.first_of(analyte) else { continue };
            let amount = if open.iter().any(|(open, _)| *open == column) {
                let unit = candidates(form, cation, None).into_iter().find(|unit| same_form(*unit, form));
                let factor = unit.and_then(|unit| unit.factor(analyte.quantity(), TESTED_SOIL_LB_AC));
                sheet.values[column].at(row).zip(factor).map(|(value, factor)| value * factor)
            } else {
                sheet.charge(column, row)
            };
            // Sodium is often not run.
            let amount = if analyte == Analyte::Na { Some(amount.unwrap_or(0.0)) } else { amount };
            sum = sum.zip(amount).map(|(sum, amount)| sum + amount);
        }
        if let Some(sum) = sum {
            agreement.count((sum - whole).abs() <= SUM_TOLERANCE * whole + SUM_ROUNDING_MEQ);
        }
    }
    agreement
}

#[cfg(test)]
mod tests {
    use super::super::invented_sheet::{shorts, understood};
    use super::super::{Found, Role};

    /// Three invented soils; cations in ppm are the amounts behind the printed saturations [A].
    const SHARES: [&str; 3] = ["5.11,48.9,11.7,3.3", "14.76,64.3,12.7,2.2", "23.74,59.0,37.9,2.3"];
    const PPM: [[f64; 3]; 3] = [[500.0, 72.0, 66.0], [1900.0, 225.0, 128.0], [2800.0, 1080.0, 210.0]];

    /// Units told where each of Ca, Mg, K stands `times` its ppm, printed to `decimals`.
    fn units(header: &str, times: [f64; 3], decimals: usize) -> Vec<String> {
        let rows: Vec<String> = SHARES
            .iter()
            .zip(PPM)
            .map(|(shares, ppm)| {
                let cell = |n: usize| format!("{:.decimals$}", ppm[n] * times[n]);
                format!("{},{},{},{shares}", cell(0), cell(1), cell(2))
            })
            .collect();
        let rows: Vec<&str> = rows.iter().map(String::as_str).collect();
        shorts(header, &rows)[..3].iter().map(|told| told.split(" | ").nth(1).unwrap().to_owned()).collect()
    }

    #[test]
    fn the_printed_saturations_prove_the_unit() {
        let header = "Ca,Mg,K,CEC,% Ca,% Mg,% K";
        assert_eq!(units(header, [1.0; 3], 0), ["ppm", "ppm", "ppm"]);
        // Which soil mass a lab means by an acre is not known: left open, and said.
        assert_eq!(units(header, [2.0; 3], 0), ["?", "?", "?"]);
        let readings = understood(header, &["1000,144,132,5.11,48.9,11.7,3.3"; 3]);
        assert!(readings[0].why.contains("lb/ac of 2,000,000 lb of soil"), "{}", readings[0].why);
        assert_eq!(units(header, [1.0 / 200.39, 1.0 / 121.525, 1.0 / 39.0983 / 10.0], 2), ["meq/100g"; 3]);
        // K written as K2O [A]: ppm / 0.8301.
        assert_eq!(units(header, [1.0, 1.0, 1.0 / 0.8301], 0), ["ppm", "ppm", "ppm K2O"]);
        let readings = understood(header, &["500,72,66,5.11,48.9,11.7,3.3"; 3]);
        let Role::Analyte { unit: Found::Inferred(_, reason), .. } = &readings[0].role else { panic!("{readings:?}") };
        assert_eq!(reason, "by the printed saturations");
    }

    #[test]
    fn numbers_that_fit_no_unit_leave_it_open() {
        let header = "Ca,Mg,K,CEC,% Ca,% Mg,% K";
        assert_eq!(units(header, [5.0; 3], 0), ["?", "?", "?"]);
        assert_eq!(shorts("Ca,Mg,K", &["500,72,66"; 4]), ["ca | ? | ?", "mg | ? | ?", "k | ? | ?"]);
    }

    #[test]
    fn the_sum_proves_the_unit_where_acidity_is_printed() {
        let header = "Ca,Mg,K,Acidity meq/100g,CEC";
        let told = shorts(header, &["500,72,66,1.8,5.1", "1900,225,128,3.0,14.7", "2800,1080,210,0,23.5"]);
        assert_eq!(told[..3], ["ca | ppm | ?", "mg | ppm | ?", "k | ppm | ?"]);
        assert_eq!(told[4], "cec | meq/100g | summation");
        // Without acidity nothing is proven.
        let told = shorts("Ca,Mg,K,CEC", &["500,72,66,5.1", "1900,225,128,14.7", "2800,1080,210,23.5"]);
        assert_eq!(told[..3], ["ca | ? | ?", "mg | ? | ?", "k | ? | ?"]);
    }
}
