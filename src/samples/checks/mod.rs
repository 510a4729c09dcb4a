//! Checks on a lab sheet, one a file: what it checks, why, an example, how to mend it, and its tests.
//!
//! Each part reports all its faults at once; a fault that only echoes another is left out.

pub mod above_limit;
pub mod base_saturation_above_100;
pub mod base_saturation_disagrees;
pub mod below_limit;
pub mod blank_buffer_ph;
pub mod buffer_outside_window;
pub mod calcareous_cec;
pub mod cec_against_cation_sum;
pub mod coarse_buffer_print;
pub mod dummy_buffer;
pub mod duplicate_sample;
pub mod effective_cec;
pub mod extractant_unfit_at_ph;
pub mod few_cores;
pub mod id_turned_into_date;
pub mod lb_read_as_ppm;
pub mod lime_index_read_as_ph;
pub mod missing_value;
pub mod mixed_depths;
pub mod mixed_lab_methods;
pub mod mixed_soil_bases;
pub mod not_a_number;
pub mod old_sampling;
pub mod open_words;
pub mod organic_carbon;
pub mod oxide_read_as_element;
pub mod ph_media_disagree;
pub mod phosphorus_reading_not_stated;
pub mod places_far_outside;
pub mod rating_beside_number;
pub mod sample_at_two_places;
pub mod sampled_after_season;
pub mod samples_at_one_place;
pub mod samples_left_out;
pub mod samples_outside_boundary;
pub mod saturations_do_not_close;
pub mod sparse_samples;
pub mod swapped_coordinates;
pub mod texture_does_not_close;
pub mod too_few_places;
pub mod unmatched_points;
pub mod value_out_of_range;

mod cation_ratio;
#[cfg(test)]
mod hand_made;

pub use super::draft::MISSING_CELL;
pub use super::sheet_place::UNREADABLE_COORDINATE;

use super::Analyte;
use super::draft::DraftSample;
use super::sample::{Limit, Reading};
use super::settings::{ColumnSetting, SampleSettings};
use crate::boundary::FieldBoundary;
use crate::cell_grid::Site;
use crate::diagnostic::{Code, Diagnostic, Place};
use crate::sheet::DecimalMark;
use crate::sheet::SampleTable;
use crate::units::soil_lb_ac;

/// Every kind of message about a lab sheet, in the order of the reading.
pub static CODES: &[&Code] = &[
    &MISSING_CELL,
    &UNREADABLE_COORDINATE,
    &not_a_number::NOT_A_NUMBER,
    &mixed_lab_methods::UNKNOWN_LAB_METHOD,
    &mixed_depths::MIXED_DEPTHS,
    &samples_left_out::SAMPLES_LEFT_OUT,
    &id_turned_into_date::ID_TURNED_INTO_DATE,
    &duplicate_sample::DUPLICATE_SAMPLE,
    &sample_at_two_places::SAMPLE_AT_TWO_PLACES,
    &mixed_lab_methods::MIXED_LAB_METHODS,
    &mixed_soil_bases::MIXED_SOIL_BASES,
    &missing_value::MISSING_VALUE,
    &blank_buffer_ph::BLANK_BUFFER_PH,
    &lime_index_read_as_ph::LIME_INDEX_READ_AS_PH,
    &value_out_of_range::VALUE_OUT_OF_RANGE,
    &below_limit::BELOW_LIMIT,
    &above_limit::ABOVE_LIMIT,
    &rating_beside_number::RATING_BESIDE_NUMBER,
    &open_words::OPEN_WORDS,
    &organic_carbon::ORGANIC_CARBON,
    &old_sampling::OLD_SAMPLING,
    &sampled_after_season::SAMPLED_AFTER_SEASON,
    &few_cores::FEW_CORES,
    &swapped_coordinates::SWAPPED_COORDINATES,
    &unmatched_points::UNMATCHED_POINTS,
    &places_far_outside::PLACES_FAR_OUTSIDE,
    &samples_outside_boundary::SAMPLES_OUTSIDE_BOUNDARY,
    &super::sample::PLACES_OPEN,
    &samples_at_one_place::SAMPLES_AT_ONE_PLACE,
    &too_few_places::TOO_FEW_PLACES,
    &sparse_samples::SPARSE_SAMPLES,
    &saturations_do_not_close::SATURATIONS_DO_NOT_CLOSE,
    &base_saturation_disagrees::BASE_SATURATION_DISAGREES,
    &texture_does_not_close::TEXTURE_DOES_NOT_CLOSE,
    &lb_read_as_ppm::LB_READ_AS_PPM,
    &oxide_read_as_element::OXIDE_READ_AS_ELEMENT,
    &cec_against_cation_sum::CEC_AGAINST_CATION_SUM,
    &base_saturation_above_100::BASE_SATURATION_ABOVE_100,
    &buffer_outside_window::BUFFER_OUTSIDE_WINDOW,
    &coarse_buffer_print::COARSE_BUFFER_PRINT,
    &dummy_buffer::DUMMY_BUFFER,
    &ph_media_disagree::PH_MEDIA_DISAGREE,
    &calcareous_cec::CALCAREOUS_CEC,
    &effective_cec::EFFECTIVE_CEC,
    &extractant_unfit_at_ph::EXTRACTANT_UNFIT_AT_PH,
    &phosphorus_reading_not_stated::PHOSPHORUS_READING_NOT_STATED,
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
        let index = self.table.header.iter().position(|h| h == header);
        index.map_or("", |index| self.table.rows[draft.row].cells[index].as_str())
    }

    /// The number that stands for a row's reading of an analyte, in the program's unit.
    fn value(&self, draft: &DraftSample, analyte: Analyte) -> Option<f64> {
        draft.reading(self.settings, analyte).map(Reading::map_value)
    }

    /// A row's reading of an analyte, unless the lab only said that it lies below its limit.
    fn value_found(&self, draft: &DraftSample, analyte: Analyte) -> Option<f64> {
        draft.reading(self.settings, analyte).filter(|reading| reading.limit != Limit::Below).map(|r| r.value)
    }

    /// Rows with the cell of one column as the lab printed it.
    fn cells(&self, header: &str) -> impl Iterator<Item = (&DraftSample, &str)> {
        let index = self.table.header.iter().position(|h| h == header);
        let text =
            move |draft: &DraftSample| index.map_or("", |index| self.table.rows[draft.row].cells[index].as_str());
        self.drafts.iter().map(move |draft| (draft, text(draft)))
    }

    /// The most decimals printed in a column: spreadsheets drop closing zeros, so one cell tells less than all.
    fn decimals(&self, header: &str) -> usize {
        let mark = match self.settings.numbers.decimal {
            DecimalMark::Point => '.',
            DecimalMark::Comma => ',',
        };
        let of_cell = |text: &str| {
            text.split_once(mark).map_or(0, |(_, rest)| rest.bytes().take_while(u8::is_ascii_digit).count())
        };
        self.cells(header).map(|(_, text)| of_cell(text)).max().unwrap_or(0)
    }

    /// Program's unit in one unit of the sheet.
    fn lab_factor(&self, draft: &DraftSample, column: &ColumnSetting) -> f64 {
        let of_depth = || draft.depth_in.map(|[top, bottom]| soil_lb_ac(bottom - top));
        let soil = self.settings.soil_lb_ac.or_else(of_depth).unwrap_or(f64::NAN);
        column.unit.factor(column.analyte.quantity(), soil).unwrap_or(1.0)
    }
}

/// The first ten of a list, then the count of the others.
fn first_ten(items: impl ExactSizeIterator<Item = String>) -> String {
    const SHOWN: usize = 10;
    let n = items.len();
    let mut text = items.take(SHOWN).collect::<Vec<_>>().join(", ");
    if n > SHOWN {
        text.push_str(&format!(" and {} more", n - SHOWN));
    }
    text
}

/// The first ten names in backticks, then the count of the others.
fn listed(names: &[&str]) -> String {
    first_ten(names.iter().map(|name| format!("`{name}`")))
}

/// The middle of unsorted numbers; the upper of two.
fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}

/// `1 sample`, `2 samples`.
fn counted(n: usize, noun: &str) -> String {
    if n == 1 { format!("1 {noun}") } else { format!("{n} {noun}s") }
}

/// Names, depths, methods and cells: all that can be told before the places are known.
pub(super) fn of_rows(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let mut found = old_sampling::check(input);
    found.extend(sampled_after_season::check(input));
    found.extend(few_cores::check(input));
    let depths = mixed_depths::check(input);
    let is_one_depth = depths.is_empty();
    found.extend(depths);
    if is_one_depth {
        // Labs test less in the subsoil: blanks of rows that do not belong here would only echo mixed depths.
        found.extend(missing_value::check(input));
        found.extend(blank_buffer_ph::check(input));
    }
    found.extend(id_turned_into_date::check(input));
    found.extend(duplicate_sample::check(input));
    found.extend(sample_at_two_places::check(input));
    found.extend(mixed_lab_methods::check(input));
    found.extend(mixed_soil_bases::check(input));
    found.extend(lime_index_read_as_ph::check(input));
    found.extend(value_out_of_range::check(input));
    found.extend(below_limit::check(input));
    found.extend(above_limit::check(input));
    found.extend(rating_beside_number::check(input));
    found.extend(open_words::check(input));
    found.extend(organic_carbon::check(input));
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
    found.extend(base_saturation_disagrees::check(input));
    found.extend(texture_does_not_close::check(input));
    found.extend(cec_against_cation_sum::not_above_0(input));
    let mut wrong_units = lb_read_as_ppm::check(input);
    wrong_units.extend(oxide_read_as_element::check(input));
    if wrong_units.is_empty() {
        // A wrong unit puts every row off; telling each of them would only echo it.
        found.extend(cec_against_cation_sum::check(input));
        found.extend(base_saturation_above_100::check(input));
    }
    found.extend(wrong_units);
    found.extend(buffer_outside_window::check(input));
    found.extend(coarse_buffer_print::check(input));
    found.extend(dummy_buffer::check(input));
    found.extend(ph_media_disagree::check(input));
    found.extend(calcareous_cec::check(input));
    found.extend(effective_cec::check(input));
    found.extend(extractant_unfit_at_ph::check(input));
    found.extend(phosphorus_reading_not_stated::check(input));
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
