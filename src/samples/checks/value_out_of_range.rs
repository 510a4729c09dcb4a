//! Readings no soil gives.

use super::super::sample::Limit;
use super::{CheckInput, first_ten, lime_index_read_as_ph};
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::draft::DraftSample;
use crate::samples::{Analyte, ColumnSetting, DepthSetting};
use crate::units::{LabUnit, Quantity};

/// Readings no soil gives.
pub static VALUE_OUT_OF_RANGE: Code = Code {
    name: "value-out-of-range",
    checks: "that pH lies within 2 to 11, CEC within 0.5 to 200 meq/100 g (above 60 is warned), shares within 0 to 100 % (of a base up to 150, see base-saturation-above-100), and no amount is negative",
    why: "a slipped point or a figure under the wrong header makes a hill on the map where there is none",
    example: "line 14 has pH 62 in the place of 6.2",
    mend: "correct the cell from the lab's report, or the unit in `samples.columns`",
};

/// pH of any soil, with room.
const PH: [f64; 2] = [2.0, 11.0];
/// CEC of any soil, meq/100 g: clean sand to pure vermiculite or muck.
const CEC_MEQ_100G: [f64; 2] = [0.5, 200.0];
/// Above this a mineral soil is rare, meq/100 g.
const RARE_CEC_MEQ_100G: f64 = 60.0;
/// Share of one base, percent: extracts of limy soil exceed the CEC.
const MOST_BASE_PERCENT: f64 = 150.0;

/// An error for each reading out of range, a warning for each rare one.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let mut found = depths(input);
    let is_lime_index = lime_index_read_as_ph::is_lime_index(input);
    let mut rare = Vec::new();
    for draft in input.drafts {
        for (index, column) in input.settings.columns.iter().enumerate() {
            let Some(reading) = draft.readings[index] else { continue };
            if column.analyte == Analyte::BufferPh && is_lime_index {
                continue; // one error of its own
            }
            let cell = Cell { input, draft, column };
            if reading.limit != Limit::Exact && is_ph(column.analyte) {
                found.push(
                    cell.error("is a limit; pH needs a number").with_help("enter the reading, or leave the cell blank"),
                );
                continue;
            }
            if column.analyte == Analyte::Cec && reading.value <= 0.0 {
                continue; // an error of the check of the CEC against its parts
            }
            let [least, most] = range(column.analyte);
            if reading.value < least || reading.value > most {
                found.push(cell.out_of(least, most));
            } else if column.analyte == Analyte::Cec && reading.value > RARE_CEC_MEQ_100G {
                rare.push(cell);
            }
        }
    }
    found.extend(rare_cec(&rare));
    found
}

/// One warning for all rare readings of CEC.
fn rare_cec(rare: &[Cell<'_>]) -> Option<Diagnostic> {
    let first = rare.first()?;
    let what = format!("above {}{}, rare in mineral soil", first.printed(RARE_CEC_MEQ_100G), first.unit());
    let header = first.column.column.as_str();
    let printed = |cell: &Cell<'_>| cell.input.cell(cell.draft, header).to_owned();
    let warning = if rare.len() == 1 {
        Diagnostic::warning(&VALUE_OUT_OF_RANGE, first.says(&format!("lies {what}")))
    } else {
        let message = format!("{} cells of column `{header}` lie {what}", rare.len());
        let cells = first_ten(rare.iter().map(|cell| format!("`{}` {}", cell.draft.id, printed(cell))));
        Diagnostic::warning(&VALUE_OUT_OF_RANGE, message).with_note(cells)
    };
    let help = "compare with the lab's report: muck and peat can reach it, a slipped point too";
    Some(warning.at(first.place()).with_help(help))
}

/// Range in the program's unit.
fn range(analyte: Analyte) -> [f64; 2] {
    use Analyte as A;
    match (analyte, analyte.quantity()) {
        (A::Cec, _) => CEC_MEQ_100G,
        _ if is_ph(analyte) => PH,
        (A::CaSaturation | A::MgSaturation | A::KSaturation | A::NaSaturation, _) => [0.0, MOST_BASE_PERCENT],
        (_, Quantity::Percent | Quantity::MassPercent | Quantity::OrganicMatter) => [0.0, 100.0],
        (_, Quantity::Rating) => [0.0, 3.0],
        _ => [0.0, f64::INFINITY],
    }
}

fn is_ph(analyte: Analyte) -> bool {
    matches!(analyte.quantity(), Quantity::Ph | Quantity::BufferPh)
}

struct Cell<'a> {
    input: &'a CheckInput<'a>,
    draft: &'a DraftSample,
    column: &'a ColumnSetting,
}

impl Cell<'_> {
    fn error(&self, what: &str) -> Diagnostic {
        Diagnostic::error(&VALUE_OUT_OF_RANGE, self.says(what)).at(self.place())
    }

    fn says(&self, what: &str) -> String {
        let header = self.column.column.as_str();
        format!("`{}` in column `{header}` {what}", self.input.cell(self.draft, header))
    }

    fn place(&self) -> crate::diagnostic::Place {
        self.input.table.place(self.draft.line, &[self.column.column.as_str()])
    }

    /// A number of the program's unit in the lab's.
    fn printed(&self, value: f64) -> String {
        let in_lab_unit = value / self.input.lab_factor(self.draft, self.column);
        format!("{}", (in_lab_unit * 1e6).round() / 1e6)
    }

    /// The unit, where it says more than the analyte's name.
    fn unit(&self) -> String {
        if self.column.unit == LabUnit::Ph { String::new() } else { format!(" {}", self.column.unit.name()) }
    }

    fn out_of(&self, least: f64, most: f64) -> Diagnostic {
        let what = if most.is_finite() {
            format!("lies outside {} to {}{}", self.printed(least), self.printed(most), self.unit())
        } else {
            format!("lies below {}{}", self.printed(least), self.unit())
        };
        self.error(&what).with_help(format!(
            "correct the cell from the lab's report, or `unit` in `samples.columns.{}`",
            self.column.analyte.key()
        ))
    }
}

/// Depths that end above their top.
fn depths(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let DepthSetting::Columns { top, bottom, unit, .. } = &input.settings.depth else { return Vec::new() };
    let is_upside_down = |draft: &&DraftSample| draft.depth_in.is_some_and(|[top, bottom]| top < 0.0 || bottom <= top);
    let rows = input.drafts.iter().filter(is_upside_down);
    let fault = |draft: &DraftSample| {
        let message = format!(
            "the depth of `{}` runs from {} to {} {}",
            draft.id,
            top.as_ref().map_or("0", |top| input.cell(draft, top)),
            input.cell(draft, bottom),
            unit.name()
        );
        Diagnostic::error(&VALUE_OUT_OF_RANGE, message)
            .at(input.table.place(draft.line, &top.iter().chain([bottom]).map(String::as_str).collect::<Vec<_>>()))
            .with_help("write top and bottom as depths below the surface, the top first")
    };
    rows.map(fault).collect()
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    fn run(csv: &str) -> Vec<String> {
        lines(&sheet(csv).with_input(check))
    }

    #[test]
    fn slips_are_errors_in_the_labs_unit() {
        assert_eq!(
            run("ID,x,y,pH,OM,K,CEC,Ca%,H%\nA,0,0,62,120,-5,0.2,160,101\n"),
            [
                "error: `62` in column `pH` lies outside 2 to 11",
                "error: `120` in column `OM` lies outside 0 to 100 %",
                "error: `-5` in column `K` lies below 0 ppm",
                "error: `0.2` in column `CEC` lies outside 0.5 to 200 meq/100g",
                "error: `160` in column `Ca%` lies outside 0 to 150 %",
                "error: `101` in column `H%` lies outside 0 to 100 %",
            ]
        );
    }

    #[test]
    fn the_range_follows_the_unit_of_the_column() {
        let mut sheet = sheet("ID,x,y,CEC\nA,0,0,2500\nB,0,9,650\nC,9,0,140\n");
        sheet.settings.columns[0].unit = LabUnit::MmolDm3;
        assert_eq!(
            lines(&sheet.with_input(check)),
            [
                "error: `2500` in column `CEC` lies outside 5 to 2000 mmolc/dm3",
                "warning: `650` in column `CEC` lies above 600 mmolc/dm3, rare in mineral soil",
            ]
        );
    }

    #[test]
    fn rare_cec_folds_to_one_warning() {
        let found = sheet("ID,x,y,CEC\nA,0,0,65\nB,0,9,14\nC,9,0,80\n").with_input(check);
        assert_eq!(lines(&found), ["warning: 2 cells of column `CEC` lie above 60 meq/100g, rare in mineral soil"]);
        assert_eq!(found[0].notes, ["`A` 65, `C` 80"]);
    }

    #[test]
    fn a_limit_is_no_ph_but_an_amount() {
        assert_eq!(run("ID,x,y,pH,P\nA,0,0,<4,<5\n"), ["error: `<4` in column `pH` is a limit; pH needs a number"]);
    }

    #[test]
    fn a_depth_must_go_down() {
        assert_eq!(
            run("ID,x,y,From,To,pH\nA,0,0,8,0,6\nB,9,0,0,8,6\n"),
            ["error: the depth of `A` runs from 8 to 0 in"]
        );
    }
}
