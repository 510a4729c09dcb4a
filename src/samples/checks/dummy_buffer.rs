//! A buffer reading that only stands for "not run".

use super::{CheckInput, counted};
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::{Analyte, LabMethod};

/// A buffer reading that only stands for "not run".
pub static DUMMY_BUFFER: Code = Code {
    name: "dummy-buffer",
    checks: "whether one buffer reading, at or above where the buffer starts, stands at every sample above some pH",
    why: "labs print such a figure where they did not run the buffer; it is no negative acidity",
    example: "Woodruff buffer pH 7.2 at all samples of pH 6.9 and above",
    mend: "on neutral soil nothing: it counts as no acidity; on acid soil blank the cells, or ask the lab for readings",
};

/// Below this pH in water soil has acidity, and a figure that says none stands for "not run". Heuristic: labs run the buffer
/// below 6.0 to 6.8 \[R, R2\].
const ACID_BELOW_PH: f64 = 6.5;
/// Fewer rows may be alike by chance.
const LEAST_ROWS: usize = 3;

/// At most one note, a warning where it stands on acid soil.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let Some((index, column)) = input.column(Analyte::BufferPh) else { return Vec::new() };
    let LabMethod::Buffer(buffer) = column.fixed_method() else { return Vec::new() };
    let both = |draft| Some((input.value(draft, Analyte::PhWater)?, draft.readings[index]?.value));
    let readings: Vec<(f64, f64)> = input.drafts.iter().filter_map(both).collect();
    let neutral = readings.iter().filter(|(_, buffer_ph)| *buffer_ph >= buffer.neutral_ph());
    let Some(from_ph) = neutral.clone().map(|(ph, _)| *ph).reduce(f64::min) else { return Vec::new() };
    let printed: Vec<f64> = readings.iter().filter(|(ph, _)| *ph >= from_ph).map(|(_, buffer_ph)| *buffer_ph).collect();
    let is_one = printed.iter().all(|buffer_ph| *buffer_ph == printed[0]);
    if !is_one || printed.len() < LEAST_ROWS || neutral.count() != printed.len() {
        return Vec::new();
    }
    let message = format!(
        "buffer pH is {} at all {} of pH {from_ph} or above, where the {} buffer finds nothing: counted as no acidity",
        printed[0],
        counted(printed.len(), "sample"),
        buffer.name()
    );
    let at_column = |found: Diagnostic| vec![found.at(input.column_place(column))];
    if from_ph < ACID_BELOW_PH {
        let help = "ask the lab whether it ran the buffer there; blank the cells where it did not";
        return at_column(Diagnostic::warning(&DUMMY_BUFFER, message).with_help(help));
    }
    at_column(Diagnostic::note(&DUMMY_BUFFER, message))
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{Sheet, lines, sheet};
    use super::*;
    use crate::chemistry::Buffer;
    use crate::samples::MethodSetting;

    fn woodruff(rows: &str) -> Sheet {
        let mut sheet = sheet(&format!("ID,x,y,pH,BpH\n{rows}"));
        sheet.column(Analyte::BufferPh).method = MethodSetting::Fixed(LabMethod::Buffer(Buffer::Woodruff));
        sheet
    }

    #[test]
    fn one_figure_at_every_neutral_sample_is_a_dummy() {
        let found = woodruff("A,0,0,7.0,7.2\nB,9,0,6.9,7.2\nC,0,9,7.8,7.2\nD,9,9,5.8,6.6\n").with_input(check);
        assert_eq!(
            lines(&found),
            ["note: buffer pH is 7.2 at all 3 samples of pH 6.9 or above, where the woodruff buffer finds nothing: \
                 counted as no acidity"]
        );
    }

    #[test]
    fn a_dummy_on_acid_soil_is_warned_of() {
        let found = woodruff("A,0,0,7.0,7.2\nB,9,0,5.8,7.2\nC,0,9,7.8,7.2\n").with_input(check);
        assert!(lines(&found)[0].starts_with("warning: buffer pH is 7.2 at all 3 samples of pH 5.8 or above"));
    }

    #[test]
    fn readings_that_differ_or_mix_with_acid_ones_are_readings() {
        assert!(woodruff("A,0,0,7.0,7.2\nB,9,0,6.9,7.1\nC,0,9,7.8,7.2\n").with_input(check).is_empty());
        assert!(woodruff("A,0,0,7.0,7.2\nB,9,0,6.9,7.2\nC,0,9,7.8,6.8\n").with_input(check).is_empty());
        assert!(woodruff("A,0,0,7.0,7.2\nB,9,0,6.9,7.2\n").with_input(check).is_empty());
    }
}
