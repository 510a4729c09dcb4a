//! Checks on a lab sheet, one a file: what it checks, why, an example, how to mend it, and its tests.
//!
//! Each part reports all its faults at once; a fault that only echoes another is left out.

pub mod base_saturation_above_100;
pub mod below_limit;
pub mod blank_buffer_ph;
pub mod buffer_outside_window;
pub mod calcareous_cec;
pub mod cec_against_cation_sum;
pub mod duplicate_sample;
pub mod missing_value;
pub mod mixed_depths;
pub mod mixed_lab_methods;
pub mod mixed_soil_bases;
pub mod not_a_number;
pub mod sample_at_two_places;
pub mod samples_at_one_place;
pub mod samples_outside_boundary;
pub mod saturations_do_not_close;
pub mod swapped_coordinates;
pub mod too_few_places;
pub mod unmatched_points;
pub mod value_out_of_range;

#[cfg(test)]
mod hand_made;

pub use super::draft::MISSING_CELL;
pub use super::table::{NO_SUCH_COLUMN, UNREADABLE_SHEET};

use super::Analyte;
use super::draft::DraftSample;
use super::settings::{ColumnSetting, SampleSettings};
use super::table::SampleTable;
use crate::boundary::FieldBoundary;
use crate::cell_grid::Site;
use crate::diagnostic::{Code, Diagnostic, Place};
use crate::units::soil_lb_ac;

/// Every kind of message about a lab sheet, in the order of the reading.
pub static CODES: &[&Code] = &[
    &UNREADABLE_SHEET,
    &NO_SUCH_COLUMN,
    &MISSING_CELL,
    &not_a_number::NOT_A_NUMBER,
    &mixed_lab_methods::UNKNOWN_LAB_METHOD,
    &mixed_depths::MIXED_DEPTHS,
    &duplicate_sample::DUPLICATE_SAMPLE,
    &sample_at_two_places::SAMPLE_AT_TWO_PLACES,
    &mixed_lab_methods::MIXED_LAB_METHODS,
    &mixed_soil_bases::MIXED_SOIL_BASES,
    &missing_value::MISSING_VALUE,
    &blank_buffer_ph::BLANK_BUFFER_PH,
    &value_out_of_range::VALUE_OUT_OF_RANGE,
    &below_limit::BELOW_LIMIT,
    &swapped_coordinates::SWAPPED_COORDINATES,
    &unmatched_points::UNMATCHED_POINTS,
    &samples_outside_boundary::SAMPLES_OUTSIDE_BOUNDARY,
    &samples_at_one_place::SAMPLES_AT_ONE_PLACE,
    &too_few_places::TOO_FEW_PLACES,
    &saturations_do_not_close::SATURATIONS_DO_NOT_CLOSE,
    &cec_against_cation_sum::CEC_AGAINST_CATION_SUM,
    &base_saturation_above_100::BASE_SATURATION_ABOVE_100,
    &buffer_outside_window::BUFFER_OUTSIDE_WINDOW,
    &calcareous_cec::CALCAREOUS_CEC,
];

/// What a check sees.
pub(super) struct CheckInput<'a> {
    pub(super) table: &'a SampleTable,
    pub(super) settings: &'a SampleSettings,
    pub(super) drafts: &'a [DraftSample],
    pub(super) boundary: &'a FieldBoundary,
    pub(super) points: Option<&'a [(String, f64, f64)]>,
}

impl CheckInput<'_> {
    /// Place of a key in the field file.
    pub(super) fn key_place(&self, key: &str, line: usize) -> Place {
        Place::Key { file: self.settings.field_file.clone(), line, key: key.to_owned() }
    }

    /// Place of an analyte's line in the field file.
    fn column_place(&self, column: &ColumnSetting) -> Place {
        self.key_place(&format!("samples.columns.{}", column.analyte.key()), column.line)
    }

    /// An analyte's column and its index in `SampleSettings::columns`.
    fn column(&self, analyte: Analyte) -> Option<(usize, &ColumnSetting)> {
        self.settings.columns.iter().enumerate().find(|(_, column)| column.analyte == analyte)
    }

    /// The cell as the lab printed it; blank where the sheet lacks it.
    fn cell(&self, draft: &DraftSample, header: &str) -> &str {
        let row = self.table.rows.iter().find(|row| row.line == draft.line);
        let index = self.table.header.iter().position(|h| h == header);
        row.zip(index).map_or("", |(row, index)| row.cells[index].as_str())
    }

    /// Program's unit in one unit of the sheet.
    fn lab_factor(&self, draft: &DraftSample, column: &ColumnSetting) -> f64 {
        let of_depth = || draft.depth_in.map(|[top, bottom]| soil_lb_ac(bottom - top));
        let soil = self.settings.soil_lb_ac.or_else(of_depth).unwrap_or(f64::NAN);
        column.unit.factor(column.analyte.quantity(), soil).unwrap_or(1.0)
    }
}

/// The first ten names in backticks, then the count of the others.
fn listed(names: &[&str]) -> String {
    const SHOWN: usize = 10;
    let mut text = names.iter().take(SHOWN).map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ");
    if names.len() > SHOWN {
        text.push_str(&format!(" and {} more", names.len() - SHOWN));
    }
    text
}

/// `1 sample`, `2 samples`.
fn counted(n: usize, noun: &str) -> String {
    if n == 1 { format!("1 {noun}") } else { format!("{n} {noun}s") }
}

/// Names, depths, methods and cells: all that can be told before the places are known.
pub(super) fn of_rows(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let mut found = mixed_depths::check(input);
    if found.is_empty() {
        // Labs test less in the subsoil: blanks of rows that do not belong here would only echo mixed depths.
        found.extend(missing_value::check(input));
        found.extend(blank_buffer_ph::check(input));
    }
    found.extend(duplicate_sample::check(input));
    found.extend(sample_at_two_places::check(input));
    found.extend(mixed_lab_methods::check(input));
    found.extend(mixed_soil_bases::check(input));
    found.extend(value_out_of_range::check(input));
    found.extend(below_limit::check(input));
    found
}

/// What the places tell. Returns the indices of the drafts to keep as well.
///
/// # Shape
/// `lon_lat` and `sites` hold one entry a draft.
pub(super) fn of_places(
    input: &CheckInput<'_>,
    lon_lat: &[(f64, f64)],
    sites: &[Site],
) -> (Vec<usize>, Vec<Diagnostic>) {
    let (kept, mut found) = samples_outside_boundary::check(input, lon_lat, sites);
    found.extend(samples_at_one_place::check(input, sites, &kept));
    (kept, found)
}

/// Whether the parts of a row agree with each other.
pub(super) fn of_chemistry(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let mut found = saturations_do_not_close::check(input);
    found.extend(cec_against_cation_sum::check(input));
    found.extend(base_saturation_above_100::check(input));
    found.extend(buffer_outside_window::check(input));
    found.extend(calcareous_cec::check(input));
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_code_has_its_own_kebab_name_and_a_full_page() {
        let mut names: Vec<&str> = CODES.iter().map(|code| code.name).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), CODES.len());
        for code in CODES {
            assert!(
                code.name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'),
                "{}",
                code.name
            );
            for text in [code.checks, code.why, code.example, code.mend] {
                assert!(text.len() > 20 && !text.ends_with('.'), "{}: {text}", code.name);
            }
        }
    }

    #[test]
    fn long_lists_end_in_a_count() {
        let names: Vec<String> = (1..=12).map(|n| n.to_string()).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        assert_eq!(listed(&names[..2]), "`1`, `2`");
        assert!(listed(&names).ends_with("`10` and 2 more"));
    }

    #[test]
    fn rows_of_several_depths_are_not_also_blamed_for_blanks() {
        let sheet = hand_made::sheet("ID,x,y,From,To,pH\n1,0,0,0,8,6.1\n1,0,0,8,24,\n2,9,9,0,8,6.3\n");
        let codes: Vec<&str> = sheet.with_input(of_rows).iter().map(|d| d.code.name).collect();
        assert_eq!(codes, ["mixed-depths"]);
    }
}
