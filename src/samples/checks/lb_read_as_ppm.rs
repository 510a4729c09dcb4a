//! Pounds an acre taken for ppm, or the reverse.

use super::cation_ratio::{analytes, bases_over_cec, explained, off_its_share, over_printed_share};
use super::{CheckInput, median};
use crate::chemistry::Cation;
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::{Analyte, ColumnSetting};
use crate::units::{FURROW_SLICE_LB_AC, LabUnit, soil_lb_ac};

/// Pounds an acre taken for ppm, or the reverse.
pub static LB_READ_AS_PPM: Code = Code {
    name: "lb-read-as-ppm",
    checks: "whether cations are, all over the sheet, as many times too large or too small for the printed CEC and \
saturations as pounds an acre are of ppm: 2 for samples of 7 in, 2.4 for 8 in, 3.6 for 12 in",
    why: "every cation, the CEC and every rate of potassium would be off by that factor",
    example: "calcium 3800 under `unit = \"ppm\"` beside a CEC of 14.8: the sheet prints lb/ac",
    mend: "correct `unit` of the cations in `samples.columns`, as the lab's report states it",
};

/// How near the factor the ratio must come, as a share: 1.8 to 2.2 for a factor of 2. Source: field notes.
const WITHIN: f64 = 0.10;

/// An error for each cation whose printed saturation proves it, or one for all by the printed CEC.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let of_shares: Vec<Diagnostic> = Cation::ALL.iter().filter_map(|cation| of_share(input, *cation)).collect();
    if !of_shares.is_empty() {
        return of_shares;
    }
    let Some((_, ca)) = input.column(Analyte::Ca) else { return Vec::new() };
    let Some((factors, unit)) = slip(input, ca) else { return Vec::new() };
    let ratios = bases_over_cec(input, |_| 1.0);
    let found = factors.into_iter().find_map(|factor| Some((factor, explained(input, &ratios, factor, WITHIN)?)));
    let Some((factor, n_rows)) = found else { return Vec::new() };
    let message = format!(
        "cations add up to about {:.1} times what the sheet's CEC leaves for them, at {n_rows} of {} samples",
        median(ratios).unwrap_or(factor),
        input.drafts.len()
    );
    let help = format!(
        "look on the lab's report whether Ca, Mg, K and Na are in {}: `unit` says {}",
        unit.name(),
        ca.unit.name()
    );
    vec![Diagnostic::error(&LB_READ_AS_PPM, message).at(input.column_place(ca)).with_help(help)]
}

fn of_share(input: &CheckInput<'_>, cation: Cation) -> Option<Diagnostic> {
    let (_, column) = input.column(analytes(cation).0)?;
    let (factors, unit) = slip(input, column)?;
    let ratios = over_printed_share(input, cation);
    let (factor, n_rows) =
        factors.into_iter().find_map(|factor| Some((factor, explained(input, &ratios, factor, WITHIN)?)))?;
    let times = format!("{:.1}", median(ratios).unwrap_or(factor));
    Some(off_its_share(input, &LB_READ_AS_PPM, column, &times, n_rows, unit))
}

/// How many times too large a column reads if its unit is the other of the two, and that other unit: by the soil of the
/// depth, and by the 2,000,000 lb that sheets often mean whatever the depth.
fn slip(input: &CheckInput<'_>, column: &ColumnSetting) -> Option<([f64; 2], LabUnit)> {
    let depth_in = input.drafts.first().and_then(|draft| draft.depth_in);
    let of_depth = depth_in.map(|[top, bottom]| soil_lb_ac(bottom - top));
    // Labs that print pounds an acre without a depth mean the furrow slice of 2,000,000 lb.
    let lb_per_ppm = input.settings.soil_lb_ac.or(of_depth).unwrap_or(FURROW_SLICE_LB_AC) / 1e6;
    match column.unit {
        LabUnit::PPM => Some(([lb_per_ppm, FURROW_SLICE_LB_AC / 1e6], LabUnit::LB_AC)),
        // The reading was turned by the soil of the depth.
        LabUnit::LB_AC => Some(([1.0 / lb_per_ppm; 2], LabUnit::PPM)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{Sheet, lines, sheet};
    use super::*;
    use crate::samples::DepthSetting;

    const HEADER: &str = "ID,x,y,pH,BpH,K,Ca,Mg,Na,CEC";

    /// Four rows of the silt loam (11.76 meq of bases, 3.0 of acidity, CEC 14.8) with amounts `times` what they are.
    fn silt_loam(times: f64) -> Sheet {
        let row = |n: i32| {
            let of = |ppm: f64| (ppm * times).round();
            format!("{n},{n},0,6.2,6.75,{},{},{},{},14.8\n", of(128.0) + f64::from(n), of(1900.0), of(225.0), of(14.0))
        };
        sheet(&format!("{HEADER}\n{}", (1..=4).map(row).collect::<String>()))
    }

    #[test]
    fn pounds_read_as_ppm_make_one_error_for_all_rows() {
        let found = silt_loam(2.0).with_input(check);
        assert_eq!(
            lines(&found),
            ["error: cations add up to about 2.0 times what the sheet's CEC leaves for them, at 4 of 4 samples"]
        );
        assert!(found[0].help.as_ref().expect("has help").contains("in lb/ac: `unit` says ppm"));
        assert!(silt_loam(1.0).with_input(check).is_empty());
    }

    #[test]
    fn the_factor_is_that_of_the_depth() {
        // Field notes: 12-in samples hold 3.6 times; 8 in 2.4 times.
        for (bottom_in, times) in [(7.0, 2.0), (8.0, 2.4), (12.0, 3.6)] {
            let mut sheet = silt_loam(times);
            sheet.settings.depth = DepthSetting::Fixed { top_in: 0.0, bottom_in };
            assert_eq!(sheet.with_input(check).len(), 1, "{bottom_in} in");
            let mut other = silt_loam(if times == 3.6 { 2.8 } else { 3.6 });
            other.settings.depth = DepthSetting::Fixed { top_in: 0.0, bottom_in };
            assert!(other.with_input(check).is_empty(), "{bottom_in} in");
        }
        // Whatever the depth, sheets often mean 2,000,000 lb.
        let mut shallow = silt_loam(2.0);
        shallow.settings.depth = DepthSetting::Fixed { top_in: 0.0, bottom_in: 6.0 };
        assert_eq!(shallow.with_input(check).len(), 1);
        let mut unknown = silt_loam(2.0);
        unknown.settings.depth = DepthSetting::Unknown;
        assert_eq!(unknown.with_input(check).len(), 1);
    }

    #[test]
    fn ppm_read_as_pounds_is_told_too() {
        let mut sheet = silt_loam(1.0);
        for column in sheet.settings.columns.iter_mut().filter(|column| column.unit == LabUnit::PPM) {
            column.unit = LabUnit::LB_AC;
        }
        let found = sheet.with_input(check);
        assert!(lines(&found)[0].contains("about 0.5 times"), "{found:?}");
        assert!(found[0].help.as_ref().expect("has help").contains("in ppm: `unit` says lb/ac"));
    }

    #[test]
    fn acid_soil_without_a_known_acidity_is_not_taken_for_a_slip() {
        // Bases of 5.9 meq as lb/ac, 11.8 as ppm, on a CEC of 23.5: the rest may be acidity.
        let rows: String = (1..=4).map(|n| format!("{n},{n},0,128,1900,225,14,23.5\n")).collect();
        let mut sheet = sheet(&format!("ID,x,y,K,Ca,Mg,Na,CEC\n{rows}"));
        for column in sheet.settings.columns.iter_mut().filter(|column| column.unit == LabUnit::PPM) {
            column.unit = LabUnit::LB_AC;
        }
        assert!(sheet.with_input(check).is_empty());
        for column in sheet.settings.columns.iter_mut().filter(|column| column.unit == LabUnit::LB_AC) {
            column.unit = LabUnit::PPM;
        }
        assert!(sheet.with_input(check).is_empty());
    }

    #[test]
    fn one_cation_alone_shows_by_its_printed_saturation() {
        // K 128 ppm is 0.328 meq, 2.2 % of 14.8; the sheet prints 256 lb/ac. The sum would hide it.
        let rows: String = (1..=3).map(|n| format!("{n},{n},0,256,1900,14.8,64.2,2.2\n")).collect();
        let found = sheet(&format!("ID,x,y,K,Ca,CEC,Ca%,K%\n{rows}")).with_input(check);
        assert_eq!(
            lines(&found),
            ["error: potassium is about 2.0 times what its printed saturation and the CEC make, at 3 of 3 samples"]
        );
        assert_eq!(found[0].place.as_ref().expect("has a place").to_string(), "field.toml:20, `samples.columns.k`");
    }

    #[test]
    fn two_rows_prove_nothing() {
        let mut sheet = silt_loam(2.0);
        sheet.table.rows.truncate(2);
        assert!(sheet.with_input(check).is_empty());
    }
}
