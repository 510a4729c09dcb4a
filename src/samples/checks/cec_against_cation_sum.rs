//! The lab's CEC against the sum of its parts.

use super::{CheckInput, blank_buffer_ph, counted, listed};
use crate::chemistry::Cation;
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::draft::DraftSample;
use crate::samples::{Analyte, LabMethod};

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

    /// How far, meq/100 g. Without acidity on the sheet, parts below the CEC say nothing.
    fn off(&self) -> f64 {
        match self.acidity {
            Some(acidity) => (self.bases + acidity - self.cec).abs(),
            None => self.bases - self.cec,
        }
    }

    fn says(&self, draft: &DraftSample) -> String {
        let Parts { cec, bases, .. } = self;
        match self.acidity {
            Some(acidity) => {
                let sum = bases + acidity;
                format!("parts of `{}` add up to {sum:.1} meq/100 g, the sheet says CEC {cec:.1}", draft.id)
            }
            None => {
                format!("cations of `{}` alone add up to {bases:.1} meq/100 g, the sheet says CEC {cec:.1}", draft.id)
            }
        }
    }

    fn sum(&self) -> String {
        match self.acidity {
            Some(acidity) => format!("bases {:.1} + acidity {acidity:.1}; allowed {:.1}", self.bases, self.allowed),
            None => format!("no acidity on the sheet; allowed {:.1}", self.allowed),
        }
    }
}

/// Ca + Mg + K and Na where the sheet has it, each times `weight`, meq/100 g.
pub(super) fn bases_meq_100g(
    input: &CheckInput<'_>,
    draft: &DraftSample,
    weight: impl Fn(Cation) -> f64,
) -> Option<f64> {
    let of = |analyte, cation| Some(input.value(draft, analyte)? * weight(cation));
    let na = of(Analyte::Na, Cation::Na).unwrap_or(0.0);
    Some(of(Analyte::Ca, Cation::Ca)? + of(Analyte::Mg, Cation::Mg)? + of(Analyte::K, Cation::K)? + na)
}

/// Acidity of a row, meq/100 g, and how much of it one unit of buffer pH is; `None` where the sheet does not tell.
pub(super) fn known_acidity(input: &CheckInput<'_>, draft: &DraftSample) -> Option<(f64, f64)> {
    if let Some(acidity) = input.value(draft, Analyte::Acidity) {
        return Some((acidity, 0.0));
    }
    let (index, _) = input.column(Analyte::BufferPh)?;
    match (draft.methods[index], input.value(draft, Analyte::BufferPh)) {
        (LabMethod::Buffer(buffer), Some(buffer_ph)) => Some((buffer.acidity_meq_100g(buffer_ph), buffer.meq_per_ph())),
        (_, None) if blank_buffer_ph::is_by_rule(draft, input.settings) => Some((0.0, 0.0)),
        _ => None,
    }
}

fn parts(input: &CheckInput<'_>, draft: &DraftSample) -> Option<(Parts, LabMethod)> {
    let (cec_index, _) = input.column(Analyte::Cec)?;
    let cec = input.value(draft, Analyte::Cec)?;
    let bases = bases_meq_100g(input, draft, |_| 1.0)?;
    let acidity = known_acidity(input, draft);
    let meq_per_ph = acidity.map_or(0.0, |(_, slope)| slope);
    let allowed = LEAST_ALLOWED_MEQ_100G.max(BUFFER_PRINT_PH * meq_per_ph + ALLOWED_SHARE * cec);
    Some((Parts { cec, bases, acidity: acidity.map(|(meq, _)| meq), allowed }, draft.methods[cec_index]))
}

/// Whether this check has something to say about a row.
pub(super) fn is_off(input: &CheckInput<'_>, draft: &DraftSample) -> bool {
    parts(input, draft).is_some_and(|(parts, method)| parts.is_off(method))
}

/// An error for each row a slip has put far off; one warning for all others that are off.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let Some((_, column)) = input.column(Analyte::Cec) else { return Vec::new() };
    let header = column.column.as_str();
    let off = input.drafts.iter().filter_map(|draft| {
        let (parts, method) = parts(input, draft)?;
        // A CEC of 0 or less is an error of its own.
        (parts.cec > 0.0 && parts.is_off(method)).then_some((draft, parts))
    });
    let (gross, slight): (Vec<_>, Vec<_>) = off.partition(|(_, parts)| is_gross(parts));
    let mut found: Vec<Diagnostic> = gross
        .iter()
        .map(|(draft, parts)| {
            Diagnostic::error(&CEC_AGAINST_CATION_SUM, parts.says(draft))
                .at(input.table.place(draft.line, &[header]))
                .with_note(parts.sum())
                .with_help("correct the row; a CEC this far off its parts is a slip of the pen or of a unit")
        })
        .collect();
    let worst = slight.iter().max_by(|(_, a), (_, b)| a.off().total_cmp(&b.off()));
    if let (Some((first, _)), Some((worst, parts))) = (slight.first(), worst) {
        let message = if slight.len() == 1 {
            parts.says(worst)
        } else {
            format!(
                "CEC is off its parts at {} of {}; the most: {}",
                slight.len(),
                counted(input.drafts.len(), "sample"),
                parts.says(worst)
            )
        };
        let names: Vec<&str> = slight.iter().map(|(draft, _)| draft.id.as_str()).collect();
        let mut warning = Diagnostic::warning(&CEC_AGAINST_CATION_SUM, message)
            .at(input.table.place(if slight.len() == 1 { worst.line } else { first.line }, &[header]))
            .with_note(parts.sum());
        if slight.len() > 1 {
            warning = warning.with_note(format!("off at {}", listed(&names)));
        }
        found.push(
            warning.with_help(
                "check the rows, the unit of the cations and the name of the buffer; the sheet's CEC is used",
            ),
        );
    }
    found
}

/// An error for each CEC of 0 or less.
pub(super) fn not_above_0(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let Some((cec_index, column)) = input.column(Analyte::Cec) else { return Vec::new() };
    let header = column.column.as_str();
    let is_wrong = |draft: &&DraftSample| draft.readings[cec_index].is_some_and(|reading| reading.map_value() <= 0.0);
    let fault = |draft: &DraftSample| {
        let (cell, unit) = (input.cell(draft, header), column.unit.name());
        let message = format!("CEC of `{}` is {cell} {unit}, expected above 0", draft.id);
        Diagnostic::error(&CEC_AGAINST_CATION_SUM, message)
            .at(input.table.place(draft.line, &[header]))
            .with_help("correct the cell, or leave it blank where the lab gave none")
    };
    input.drafts.iter().filter(is_wrong).map(fault).collect()
}

/// Whether a summed CEC is so far off its parts that no rounding, buffer or extract explains it: by more than 3 meq/100 g
/// and a half. Source: heuristic; a decimal point in the wrong place is a factor of 10, pounds read as ppm of 2.
fn is_gross(parts: &Parts) -> bool {
    let sum = parts.bases + parts.acidity.unwrap_or(0.0);
    parts.off() > 3.0 && parts.off() > 0.5 * sum.min(parts.cec)
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
    fn rows_that_are_off_fold_to_the_worst_and_slips_stay_one_a_row() {
        let good = "A,0,0,6.2,6.75,128,1900,225,14,14.8\n";
        let slight = "B,0,9,6.2,6.75,128,1900,225,14,17.0\nC,0,9,6.2,6.75,128,1900,225,14,12.0\n";
        let found = run(&format!("{good}{slight}D,0,9,6.2,6.75,128,1900,225,14,1.48\n"));
        assert_eq!(
            lines(&found),
            [
                "error: parts of `D` add up to 14.8 meq/100 g, the sheet says CEC 1.5",
                "warning: CEC is off its parts at 2 of 4 samples; the most: parts of `C` add up to 14.8 meq/100 g, the \
                 sheet says CEC 12.0",
            ]
        );
        assert_eq!(found[1].notes, ["bases 11.8 + acidity 3.0; allowed 0.8", "off at `B`, `C`"]);
        assert_eq!(found[1].place.as_ref().expect("has a place").to_string(), "lab.csv:3, column `CEC`");
    }

    #[test]
    fn a_cec_of_0_is_an_error() {
        let sheet = sheet(&format!("{HEADER}\nA,0,0,6.2,6.75,128,1900,225,14,0\n"));
        let found = sheet.with_input(not_above_0);
        assert_eq!(lines(&found), ["error: CEC of `A` is 0 meq/100g, expected above 0"]);
        assert!(sheet.with_input(check).is_empty());
    }
}
