//! Oxides taken for elements, or the reverse.

use super::cation_ratio::{analytes, bases_over_cec, explained, off_its_share, over_printed_share};
use super::{CheckInput, median};
use crate::chemistry::Cation;
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::Analyte;
use crate::samples::draft::DraftSample;
use crate::units::{Compound, LabUnit};

/// Oxides taken for elements, or the reverse.
pub static OXIDE_READ_AS_ELEMENT: Code = Code {
    name: "oxide-read-as-element",
    checks: "whether cations are, all over the sheet, too large for the printed CEC and saturations by what an oxide \
weighs more than its element: K2O 1.205, CaO 1.40, MgO 1.66; and P2O5 (2.291), where phosphorus is printed twice",
    why: "K2O read as K looks like a fifth more potassium than there is, and a need could be passed by",
    example: "potassium 154 under `unit = \"ppm\"`, printed saturation 2.2 % of CEC 14.8: that is 128 ppm K, 154 of K2O",
    mend: "write the unit as the lab prints it, for example `unit = \"ppm K2O\"`",
};

/// How near the factor the ratio must come, as a share. Source: field notes; 1.205 and 1 stay apart.
const WITHIN: f64 = 0.03;

/// The oxide labs print a cation as.
fn oxide(cation: Cation) -> Compound {
    match cation {
        Cation::Ca => Compound::Cao,
        Cation::Mg => Compound::Mgo,
        Cation::K => Compound::K2o,
        Cation::Na => Compound::Na2o,
    }
}

/// An error for each column that is proven, or one for all cations by the printed CEC.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let mut found: Vec<Diagnostic> = Cation::ALL.iter().filter_map(|cation| of_share(input, *cation)).collect();
    if found.is_empty() {
        found.extend(of_sum(input));
    }
    found.extend(of_phosphorus(input));
    found
}

fn of_share(input: &CheckInput<'_>, cation: Cation) -> Option<Diagnostic> {
    let (_, column) = input.column(analytes(cation).0)?;
    let heavier = 1.0 / oxide(cation).element_share();
    let (factor, printed) = match column.unit {
        LabUnit::Mass(unit) => (heavier, LabUnit::AsCompound(unit, oxide(cation))),
        LabUnit::AsCompound(unit, _) => (1.0 / heavier, LabUnit::Mass(unit)),
        _ => return None,
    };
    let ratios = over_printed_share(input, cation);
    let n_rows = explained(input, &ratios, factor, WITHIN)?;
    // Another extract raises all cations alike; an oxide's factor is its own.
    let is_shared = |other: &Cation| {
        *other != cation && explained(input, &over_printed_share(input, *other), factor, WITHIN).is_some()
    };
    if Cation::ALL.iter().any(is_shared) {
        return None;
    }
    let times = format!("{:.2}", median(ratios).unwrap_or(factor));
    Some(off_its_share(input, &OXIDE_READ_AS_ELEMENT, column, &times, n_rows, printed))
}

/// All cations at once: as oxides they fill what the CEC leaves for them, as elements they exceed it.
fn of_sum(input: &CheckInput<'_>) -> Option<Diagnostic> {
    let (_, ca) = input.column(Analyte::Ca)?;
    let LabUnit::Mass(unit) = ca.unit else { return None };
    let as_elements = median(bases_over_cec(input, |_| 1.0))?;
    let as_oxides = bases_over_cec(input, |cation| oxide(cation).element_share());
    // Calcium leads every sum, so oxides read as elements exceed it by about CaO's factor.
    let is_exceeded = as_elements > 1.0 + 4.0 * WITHIN;
    let n_rows = explained(input, &as_oxides, 1.0, WITHIN).filter(|_| is_exceeded)?;
    let message = format!(
        "cations add up to about {as_elements:.2} times what the sheet's CEC leaves for them; as oxides (CaO, MgO, \
         K2O) they fit, at {n_rows} of {} samples",
        input.drafts.len()
    );
    let printed = LabUnit::AsCompound(unit, Compound::Cao).name();
    let help =
        format!("look on the lab's report whether the columns are CaO, MgO and K2O: `unit = \"{printed}\"` then");
    Some(Diagnostic::error(&OXIDE_READ_AS_ELEMENT, message).at(input.column_place(ca)).with_help(help))
}

/// Phosphorus does not enter the CEC: only a second column of the same test tells.
fn of_phosphorus(input: &CheckInput<'_>) -> Option<Diagnostic> {
    let ((_, first), (_, second)) = (input.column(Analyte::P)?, input.column(Analyte::PSecond)?);
    if first.fixed_method() != second.fixed_method() {
        return None;
    }
    let ratio = |draft: &DraftSample| {
        let (p, other) = (input.value_found(draft, Analyte::P)?, input.value_found(draft, Analyte::PSecond)?);
        (other > 0.0).then_some(p / other)
    };
    let ratios: Vec<f64> = input.drafts.iter().filter_map(ratio).collect();
    let heavier = 1.0 / Compound::P2o5.element_share();
    let (n_rows, column) = match explained(input, &ratios, heavier, WITHIN) {
        Some(n_rows) => (n_rows, first),
        None => (explained(input, &ratios, 1.0 / heavier, WITHIN)?, second),
    };
    let message = format!(
        "`{}` and `{}` are one test, and one is 2.29 times the other at {n_rows} of {} samples: P2O5 beside P",
        first.column,
        second.column,
        input.drafts.len()
    );
    let help = format!("where the lab prints `{}` as P2O5, say so in its `unit`: \"ppm P2O5\"", column.column);
    Some(Diagnostic::error(&OXIDE_READ_AS_ELEMENT, message).at(input.column_place(column)).with_help(help))
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;
    use crate::samples::MethodSetting;
    use crate::units::MassUnit;

    // Silt loam of 1900 Ca, 225 Mg, 128 K ppm, CEC 14.8; as oxides 2658 CaO, 373 MgO, 154 K2O (atomic masses).
    fn of_saturations(amounts: &str) -> super::super::hand_made::Sheet {
        let rows: String = (1..=4).map(|n| format!("{n},{n},0,{amounts},14.8,64.2,12.7,2.2\n")).collect();
        sheet(&format!("ID,x,y,Ca,Mg,K,CEC,Ca%,Mg%,K%\n{rows}"))
    }

    #[test]
    fn one_oxide_shows_by_its_printed_saturation() {
        assert!(of_saturations("1900,225,128").with_input(check).is_empty());
        let found = of_saturations("1900,225,154").with_input(check);
        assert_eq!(
            lines(&found),
            ["error: potassium is about 1.21 times what its printed saturation and the CEC make, at 4 of 4 samples"]
        );
        assert!(found[0].help.as_ref().expect("has help").contains("`K` is in ppm K2O: `unit` says ppm"));
        assert_eq!(of_saturations("2658,373,154").with_input(check).len(), 3);
    }

    #[test]
    fn an_element_read_as_oxide_is_told_too() {
        let mut sheet = of_saturations("1900,225,128");
        sheet.column(Analyte::Mg).unit = LabUnit::AsCompound(MassUnit::Ppm, Compound::Mgo);
        let found = sheet.with_input(check);
        assert!(lines(&found)[0].starts_with("error: magnesium is about 0.60 times"), "{found:?}");
    }

    #[test]
    fn potassium_a_tenth_too_high_proves_nothing() {
        assert!(of_saturations("1900,225,142").with_input(check).is_empty());
    }

    #[test]
    fn a_factor_that_all_cations_share_is_no_oxide() {
        // 1.205 times all three: another extract, or another CEC.
        assert!(of_saturations("2290,271,154").with_input(check).is_empty());
    }

    #[test]
    fn all_oxides_show_by_the_cec_alone() {
        let sheet = |amounts: &str| {
            let rows: String = (1..=4).map(|n| format!("{n},{n},0,6.2,6.75,{amounts},14.7\n")).collect();
            sheet(&format!("ID,x,y,pH,BpH,K,Ca,Mg,CEC\n{rows}"))
        };
        let found = sheet("154,2658,373").with_input(check);
        assert_eq!(found.len(), 1);
        assert!(found[0].message.contains("as oxides (CaO, MgO, K2O) they fit, at 4 of 4 samples"), "{found:?}");
        assert!(sheet("128,1900,225").with_input(check).is_empty());
        // Pounds an acre are twice, no oxide.
        assert!(sheet("256,3800,450").with_input(check).is_empty());
    }

    #[test]
    fn phosphorus_twice_by_one_test_shows_p2o5() {
        let mut sheet = sheet("ID,x,y,P,P2\nA,0,0,55,24\nB,9,0,46,20\nC,0,9,28,12\n");
        assert!(sheet.with_input(check).is_empty(), "two tests differ as they like");
        sheet.column(Analyte::PSecond).method = MethodSetting::Fixed(crate::samples::LabMethod::Bray1);
        let found = sheet.with_input(check);
        assert_eq!(
            lines(&found),
            ["error: `P` and `P2` are one test, and one is 2.29 times the other at 3 of 3 samples: P2O5 beside P"]
        );
        assert!(found[0].help.as_ref().expect("has help").contains("prints `P` as P2O5"));
    }
}
