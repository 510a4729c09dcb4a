//! Buffer readings printed too coarsely for the CEC summed from them.

use super::super::sample::{cec_source, exchange};
use super::{CheckInput, counted, first_ten};
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::{Analyte, CecSource};
use crate::units::LabUnit;

/// Buffer readings printed too coarsely for the CEC summed from them.
pub static COARSE_BUFFER_PRINT: Code = Code {
    name: "coarse-buffer-print",
    checks: "where CEC is summed from the buffer: that one printed step of the reading is not above 10 % of the CEC",
    why: "0.1 of SMP buffer pH is 1.2 meq/100 g: on a CEC of 5 that is 24 %, enough to put the ground into another class",
    example: "buffer pH 6.8 printed to 0.1, CEC 5.1 meq/100 g by summation: it may be 4.5 or 5.7",
    mend: "name the lab's own CEC in `samples.columns.cec`, or ask the lab for the buffer to 0.01",
};

/// Share of the CEC one printed step may be. Source: field notes, heuristic.
const MOST_SHARE: f64 = 0.10;

/// At most one warning.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let (CecSource::SummedFromBuffer(buffer), Some((index, column))) =
        (cec_source(input.settings), input.column(Analyte::BufferPh))
    else {
        return Vec::new();
    };
    // A lime index is ten times a pH: its whole numbers are steps of 0.1.
    let of_unit = if column.unit == LabUnit::LimeIndex { 1 } else { 0 };
    let decimals = input.decimals(&column.column) + of_unit;
    let step_meq = buffer.meq_per_ph() * 0.1_f64.powi(i32::try_from(decimals).unwrap_or(0));
    let mut coarse = Vec::new();
    for draft in input.drafts.iter().filter(|draft| draft.readings[index].is_some()) {
        let Some(parts) = exchange(draft, input.settings) else { continue };
        let cec = parts.cec_meq_100g();
        if step_meq > MOST_SHARE * cec {
            coarse.push((draft, cec));
        }
    }
    let Some((first, _)) = coarse.first() else { return Vec::new() };
    let message = format!(
        "one printed step of the {} buffer is {step_meq:.1} meq/100 g, above 10 % of the CEC at {} of {}",
        buffer.name(),
        coarse.len(),
        counted(input.drafts.len(), "sample")
    );
    let shares =
        coarse.iter().map(|(draft, cec)| format!("`{}` {:.0} % of {cec:.1}", draft.id, 100.0 * step_meq / cec));
    vec![
        Diagnostic::warning(&COARSE_BUFFER_PRINT, message)
            .at(input.table.place(first.line, &[column.column.as_str()]))
            .with_note(format!("one step is {}", first_ten(shares)))
            .with_note("a class of CEC whose edge lies within half a step of such a sample is not certain there")
            .with_help("name the lab's own CEC in `samples.columns.cec`, or ask the lab for the buffer to 0.01"),
    ]
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    // 2.50 + 0.60 + 0.17 meq of bases; Sikora 6.9 gives 1.2, 6.85 gives 1.8 (field notes, sandy ridge).
    const SAND: &str = "ID,x,y,pH,BpH,K,Ca,Mg\nA,0,0,5.7,";

    #[test]
    fn a_tenth_of_smp_is_1_2_meq_and_too_coarse_for_sand_but_a_hundredth_is_not() {
        let found = sheet(&format!("{SAND}6.9,66,500,72\nB,9,0,6.0,6.7,128,1900,225\n")).with_input(check);
        let text =
            "warning: one printed step of the sikora buffer is 1.2 meq/100 g, above 10 % of the CEC at 1 of 2 samples";
        assert_eq!(lines(&found), [text]);
        // 1.2 / (2.5 + 0.6 + 0.169 + 1.2) = 26.9 %.
        assert_eq!(found[0].notes[0], "one step is `A` 27 % of 4.5");
        assert!(sheet(&format!("{SAND}6.85,66,500,72\n")).with_input(check).is_empty());
    }

    #[test]
    fn the_step_is_that_of_the_finest_cell_and_of_the_unit() {
        // 6.9 beside 6.85 is 6.90 without its closing zero.
        let rows = format!("{SAND}6.9,66,500,72\nB,9,0,5.7,6.85,66,500,72\n");
        assert!(sheet(&rows).with_input(check).is_empty());
        let mut index = sheet(&format!("{SAND}69,66,500,72\n"));
        index.column(Analyte::BufferPh).unit = LabUnit::LimeIndex;
        assert!(lines(&index.with_input(check))[0].contains("is 1.2 meq/100 g"));
    }

    #[test]
    fn the_labs_own_cec_settles_it() {
        let found = sheet("ID,x,y,pH,BpH,K,Ca,Mg,CEC\nA,0,0,5.7,6.9,66,500,72,4.5\n").with_input(check);
        assert!(found.is_empty());
    }
}
