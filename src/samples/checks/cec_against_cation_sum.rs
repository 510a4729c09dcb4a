//! The lab's CEC against the sum of its parts.

use super::{CheckInput, blank_buffer_ph};
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::draft::DraftSample;
use crate::samples::{Analyte, LabMethod};
use crate::units::LabUnit;

/// The lab's CEC against the sum of its parts.
pub static CEC_AGAINST_CATION_SUM: Code = Code {
    name: "cec-against-cation-sum",
    checks: "that a CEC by summation is Ca + Mg + K + Na + acidity of the same row, and that every CEC is above 0",
    why: "it is the quickest way to see a wrong unit, a wrong buffer or a figure under the wrong header",
    example: "the parts of `B-04` add up to 10.2 meq/100 g, the sheet says CEC 14.2",
    mend: "check the unit of the cations, the name of the buffer and the row; pounds an acre read as ppm double the sum",
};

/// Least allowed difference, meq/100 g: coarse prints of four cations and the CEC (field notes 8).
const LEAST_ALLOWED_MEQ_100G: f64 = 0.5;
/// Half the print step of a buffer reading given to 0.1, pH.
const BUFFER_PRINT_PH: f64 = 0.05;
/// Share of the CEC allowed beside it: labs round equivalent weights.
const ALLOWED_SHARE: f64 = 0.02;

/// The parts of one row.
struct Parts {
    cec: f64,
    bases: f64,
    /// `None` where the sheet does not give it.
    acidity: Option<f64>,
    allowed: f64,
}

impl Parts {
    /// What the CEC is off: the bases alone count where acidity is not known, and then only what exceeds the CEC.
    fn is_off(&self, method: LabMethod) -> bool {
        match (method, self.acidity) {
            (LabMethod::Summation, Some(acidity)) => (self.cec - self.bases - acidity).abs() > self.allowed,
            (LabMethod::Summation | LabMethod::Effective, _) => self.bases - self.cec > self.allowed,
            // A CEC measured apart may well be below the bases: the check on base saturation says so.
            _ => false,
        }
    }
}

fn parts(input: &CheckInput<'_>, draft: &DraftSample) -> Option<(Parts, LabMethod)> {
    let value = |analyte| draft.reading(input.settings, analyte).map(|reading| reading.map_value());
    let (cec_index, _) = input.column(Analyte::Cec)?;
    let cec = value(Analyte::Cec)?;
    let bases = value(Analyte::Ca)? + value(Analyte::Mg)? + value(Analyte::K)? + value(Analyte::Na).unwrap_or(0.0);
    let of_buffer = || {
        let (index, _) = input.column(Analyte::BufferPh)?;
        match (draft.methods[index], value(Analyte::BufferPh)) {
            (LabMethod::Buffer(buffer), Some(buffer_ph)) => {
                Some((buffer.acidity_meq_100g(buffer_ph), buffer.meq_per_ph()))
            }
            (_, None) if blank_buffer_ph::is_by_rule(draft, input.settings) => Some((0.0, 0.0)),
            _ => None,
        }
    };
    let acidity = value(Analyte::Acidity).map(|acidity| (acidity, 0.0)).or_else(of_buffer);
    let meq_per_ph = acidity.map_or(0.0, |(_, slope)| slope);
    let allowed = LEAST_ALLOWED_MEQ_100G.max(BUFFER_PRINT_PH * meq_per_ph + ALLOWED_SHARE * cec);
    Some((Parts { cec, bases, acidity: acidity.map(|(meq, _)| meq), allowed }, draft.methods[cec_index]))
}

/// Whether this check has something to say about a row.
pub(super) fn is_off(input: &CheckInput<'_>, draft: &DraftSample) -> bool {
    parts(input, draft).is_some_and(|(parts, method)| parts.is_off(method))
}

/// An error for each CEC of 0 or less; a warning for each row that is off, or one for all where the unit explains them.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let Some((cec_index, column)) = input.column(Analyte::Cec) else { return Vec::new() };
    let header = column.column.as_str();
    let mut found = Vec::new();
    let mut off = Vec::new();
    for draft in input.drafts {
        if draft.readings[cec_index].is_some_and(|reading| reading.map_value() <= 0.0) {
            found.push(
                Diagnostic::error(
                    &CEC_AGAINST_CATION_SUM,
                    format!(
                        "CEC of `{}` is {} {}, expected above 0",
                        draft.id,
                        input.cell(draft, header),
                        column.unit.name()
                    ),
                )
                .at(input.table.place(draft.line, &[header]))
                .with_help("correct the cell, or leave it blank where the lab gave none"),
            );
        } else if let Some((parts, method)) = parts(input, draft)
            && parts.is_off(method)
        {
            off.push((draft, parts));
        }
    }
    if let Some(warning) = unit_slip(input, &off) {
        found.push(warning);
        return found;
    }
    found.extend(off.iter().map(|(draft, parts)| {
        let message = match parts.acidity {
            Some(acidity) => format!(
                "parts of `{}` add up to {:.1} meq/100 g, the sheet says CEC {:.1}",
                draft.id,
                parts.bases + acidity,
                parts.cec
            ),
            None => format!(
                "cations of `{}` alone add up to {:.1} meq/100 g, the sheet says CEC {:.1}",
                draft.id, parts.bases, parts.cec
            ),
        };
        let sum = match parts.acidity {
            Some(acidity) => format!("bases {:.1} + acidity {acidity:.1}; allowed {:.1}", parts.bases, parts.allowed),
            None => format!("no acidity on the sheet; allowed {:.1}", parts.allowed),
        };
        let place = input.table.place(draft.line, &[header]);
        if is_gross(parts) {
            return Diagnostic::error(&CEC_AGAINST_CATION_SUM, message)
                .at(place)
                .with_note(sum)
                .with_help("correct the row; a CEC this far off its parts is a slip of the pen or of a unit");
        }
        Diagnostic::warning(&CEC_AGAINST_CATION_SUM, message)
            .at(place)
            .with_note(sum)
            .with_help("check the row, the unit of the cations and the name of the buffer; the sheet's CEC is used")
    }));
    found
}

/// Whether a summed CEC is so far off its parts that no rounding, buffer or extract explains it: by more than 3 meq/100 g
/// and a half. Source: heuristic; a decimal point in the wrong place is a factor of 10, pounds read as ppm of 2.
fn is_gross(parts: &Parts) -> bool {
    let sum = parts.bases + parts.acidity.unwrap_or(0.0);
    // Without acidity on the sheet, parts below the CEC say nothing.
    let off = if parts.acidity.is_some() { (sum - parts.cec).abs() } else { sum - parts.cec };
    off > 3.0 && off > 0.5 * sum.min(parts.cec)
}

/// One error where cations about twice or half of what the CEC leaves for them show pounds an acre taken for ppm, or
/// the reverse (field notes 15).
fn unit_slip(input: &CheckInput<'_>, off: &[(&DraftSample, Parts)]) -> Option<Diagnostic> {
    const LEAST_ROWS: usize = 3;
    let mut ratios: Vec<f64> =
        off.iter().map(|(_, parts)| parts.bases / (parts.cec - parts.acidity.unwrap_or(0.0))).collect();
    if ratios.len() < LEAST_ROWS.max(input.drafts.len().div_ceil(2)) {
        return None;
    }
    ratios.sort_by(f64::total_cmp);
    let ratio = ratios[ratios.len() / 2];
    let (_, ca) = input.column(Analyte::Ca)?;
    let unit = match ca.unit {
        LabUnit::Ppm if (1.8..=2.2).contains(&ratio) => LabUnit::LbAc,
        LabUnit::LbAc if (0.45..=0.55).contains(&ratio) => LabUnit::Ppm,
        _ => return None,
    };
    Some(
        Diagnostic::error(
            &CEC_AGAINST_CATION_SUM,
            format!(
                "cations add up to about {ratio:.1} times what the sheet's CEC leaves for them, at {} of {} samples",
                off.len(),
                input.drafts.len()
            ),
        )
        .at(input.column_place(ca))
        .with_help(format!(
            "look on the lab's report whether Ca, Mg, K and Na are in {}: `unit` says {}",
            unit.name(),
            ca.unit.name()
        )),
    )
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;
    use crate::samples::MethodSetting;

    // Ca 1900 / 200 + Mg 225 / 120 + K 128 / 390 + Na 14 / 230 = 11.764 meq; Sikora 6.75 gives 3.0 more.
    const HEADER: &str = "ID,x,y,pH,BpH,K,Ca,Mg,Na,CEC";

    fn run(rows: &str) -> Vec<Diagnostic> {
        sheet(&format!("{HEADER}\n{rows}")).with_input(check)
    }

    #[test]
    fn a_cec_within_the_print_of_its_parts_is_fine_and_one_beyond_is_warned_with_both_numbers() {
        // Allowed: 0.05 * 12 + 2 % of 14.8 = 0.9.
        assert!(run("A,0,0,6.2,6.75,128,1900,225,14,14.8\nB,0,9,6.2,6.75,128,1900,225,14,15.6\n").is_empty());
        let found = run("A,0,0,6.2,6.75,128,1900,225,14,17.0\n");
        assert_eq!(lines(&found), ["warning: parts of `A` add up to 14.8 meq/100 g, the sheet says CEC 17.0"]);
        assert_eq!(found[0].notes, ["bases 11.8 + acidity 3.0; allowed 0.9"]);
    }

    #[test]
    fn without_acidity_only_bases_above_the_cec_are_said() {
        let without = |cec: &str| sheet(&format!("ID,x,y,K,Ca,Mg,CEC\nA,0,0,128,1900,225,{cec}\n")).with_input(check);
        assert!(without("20").is_empty());
        assert_eq!(
            lines(&without("9.0")),
            ["warning: cations of `A` alone add up to 11.7 meq/100 g, the sheet says CEC 9.0"]
        );
    }

    #[test]
    fn a_measured_cec_is_not_held_against_the_sum() {
        let mut sheet = sheet(&format!("{HEADER}\nA,0,0,6.2,6.75,128,1900,225,14,9\n"));
        let last = sheet.settings.columns.len() - 1;
        sheet.settings.columns[last].method = MethodSetting::Fixed(LabMethod::MeasuredPh7);
        assert!(sheet.with_input(check).is_empty());
    }

    #[test]
    fn a_cec_of_0_is_an_error() {
        let found = run("A,0,0,6.2,6.75,128,1900,225,14,0\n");
        assert_eq!(lines(&found), ["error: CEC of `A` is 0 meq/100g, expected above 0"]);
    }

    #[test]
    fn pounds_read_as_ppm_make_one_error_for_all_rows() {
        let rows: String = (1..=4).map(|n| format!("{n},{n},0,6.2,6.75,{},3800,450,28,14.8\n", 250 + n)).collect();
        let found = run(&rows);
        assert_eq!(
            lines(&found),
            ["error: cations add up to about 2.0 times what the sheet's CEC leaves for them, at 4 of 4 samples"]
        );
        assert!(found[0].help.as_ref().expect("has help").contains("in lb/ac: `unit` says ppm"));
    }
}
