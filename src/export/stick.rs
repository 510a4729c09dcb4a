//! `READ-ME-FIRST.txt`: how the stick must look, and what the screen in the cab should show.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::check_places::{CheckPlace, CheckPlaces};
use super::figure::unturned;
use super::iso11783::{TaskField, TaskPass, TaskProduct};
use super::screen_facts::ScreenFacts;
use super::shapefile_limits::MAX_STEM_BYTES;
use super::summary::wrapped;
use super::{FOR_THE_CAB, OutputFile};
use crate::rates::{LostPosition, RateUnit};
use crate::units::thousands;

/// Name of the text, at the top of the result folder.
pub const READ_ME_FIRST: &str = "READ-ME-FIRST.txt";

/// A field of the stick.
#[derive(Debug, Clone)]
pub struct StickField {
    /// Its passes and rates.
    pub field: TaskField,
    /// Check places, one a pass.
    pub places: Vec<CheckPlaces>,
    /// Starts of names of files: one list a pass, one a product.
    pub stems: Vec<Vec<String>>,
    /// Date printed; `None` = not stated.
    pub issued: Option<String>,
}

/// What goes on the stick.
#[derive(Debug, Clone, Copy)]
pub struct Stick<'a> {
    /// Paths below [`FOR_THE_CAB`], parts joined by `/`.
    pub paths: &'a [String],
    /// What the task set orders while there is no position; `None` without task set.
    pub lost_position: Option<LostPosition>,
    /// What the writers of the files want said.
    pub notes: &'a [String],
    /// Cautions by what the plan holds.
    pub cautions: &'a str,
}

/// Start of the names of a product's files in a pass: `NORTH_2_POT`, at most 13 ASCII letters.
///
/// The field's part is cut where all three do not fit; pass and product are kept whole.
pub fn file_stem(field_short: &str, pass_number: usize, product_short: &str) -> String {
    let end = format!("_{pass_number}_{product_short}");
    let room = MAX_STEM_BYTES.saturating_sub(end.len()).max(1);
    let start: String = field_short.chars().filter(char::is_ascii_alphanumeric).take(room).collect();
    format!("{start}{end}")
}

/// The text.
pub fn read_me_first(fields: &[StickField], stick: &Stick<'_>) -> OutputFile {
    let mut text = String::from("READ ME FIRST\n");
    for field in fields {
        let issued = field.issued.as_ref().map_or(String::new(), |issued| format!(", issued {issued}"));
        wrapped(&mut text, &format!("{}{issued}", field.field.name), "");
    }
    text.push_str("\nThe stick\n");
    let line =
        format!("Copy what is in the folder {FOR_THE_CAB} to the top of an empty stick. It must then look like this:");
    wrapped(&mut text, &line, "  ");
    text.push_str(&tree(stick.paths));
    wrapped(&mut text, "Rename nothing, and take no file out of its folder.", "  ");
    let is_task_set = |path: &&String| path.as_str() == "TASKDATA.zip";
    let zips = || stick.paths.iter().filter(|path| path.ends_with(".zip"));
    if zips().any(|path| is_task_set(&path)) {
        wrapped(&mut text, "Unpack TASKDATA.zip first where the controller wants the folder TASKDATA.", "  ");
    }
    if zips().any(|path| !is_task_set(&path)) {
        wrapped(
            &mut text,
            "Unpack the zips of rates where the controller wants the files in them, all of one zip together.",
            "  ",
        );
    }
    for field in fields {
        for ((pass, places), stems) in field.field.passes.iter().zip(&field.places).zip(&field.stems) {
            write_pass(&mut text, (&field.field, fields.len() > 1), (pass, places, stems), stick);
        }
    }
    if let Some(choice) = stick.lost_position {
        text.push_str("\nIf the receiver loses its place\n");
        wrapped(&mut text, lost_position_words(choice), "  ");
        for field in fields.iter().filter(|_| choice == LostPosition::Mean) {
            for product in field.field.passes.iter().flat_map(|pass| &pass.products) {
                let rate = rate_text(product, product.lost_position_rate(choice));
                let of_field = if fields.len() > 1 { format!(" on {}", field.field.name) } else { String::new() };
                wrapped(&mut text, &format!("{}{of_field}: {rate}.", product.name), "  ");
            }
        }
    }
    for note in stick.notes {
        wrapped(&mut text, &format!("Note: {note}."), "");
    }
    text.push('\n');
    wrapped(&mut text, stick.cautions, "");
    OutputFile::new(READ_ME_FIRST, unturned(&text))
}

/// What is ordered while there is no position.
pub(super) fn lost_position_words(choice: LostPosition) -> &'static str {
    match choice {
        LostPosition::Zero => "The task set orders 0: the machine stops spreading until the place is known again.",
        LostPosition::Mean => {
            "The task set orders the field's mean rate: the machine goes on spreading, also where another rate or none should be."
        }
    }
}

fn write_pass(
    text: &mut String,
    (field, is_of_several): (&TaskField, bool),
    (pass, places, stems): (&TaskPass, &CheckPlaces, &Vec<String>),
    stick: &Stick<'_>,
) {
    let _ = writeln!(text);
    let of_field = if is_of_several { format!("{}. ", field.name) } else { String::new() };
    wrapped(text, &format!("{of_field}Pass {} of {}: {}", pass.number, field.passes.len(), pass.name), "");
    if stick.lost_position.is_some() {
        let letters = if is_of_several { format!("{} ", field.short) } else { String::new() };
        wrapped(text, &format!("In TASKDATA it is the task {letters}{} {}.", pass.number, pass.name), "  ");
    }
    for (product, stem) in pass.products.iter().zip(stems) {
        let (name, unit) = (product.name.to_uppercase(), unit_words(product.unit));
        wrapped(text, &format!("{name}: all rates are {unit} of PRODUCT an acre, not of nutrient."), "  ");
        if stick.paths.iter().any(|path| path.starts_with(&format!("{stem}."))) {
            wrapped(text, &format!("Files {stem}.*, all of them together; the rate is in column RATE."), "  ");
        }
        screen(text, product);
        for place in &places.places {
            let rate = pass.products.iter().zip(&place.rates).find(|(other, _)| std::ptr::eq(*other, product));
            let rate = rate.map_or(String::new(), |(product, rate)| rate_text(product, *rate));
            let _ = writeln!(text, "    at {}  {}   {rate}", place.name, place_text(place));
        }
    }
    wrapped(text, "Outside the outline and on ground kept off: 0.", "  ");
    wrapped(text, "If one of these differs, do not start: wrong file, wrong field or wrong unit.", "  ");
    if !places.not_told.is_empty() {
        let readings: Vec<&str> = places.not_told.iter().map(|reading| reading.words()).collect();
        let line = format!(
            "The field is too even for the places to tell a map that was read wrongly ({}): compare its picture too.",
            readings.join("; ")
        );
        wrapped(text, &line, "  ");
    }
}

/// What the screen shows of a product before the start.
fn screen(text: &mut String, product: &TaskProduct) {
    let facts = ScreenFacts::of(product);
    let (Some(least), Some(most)) = (facts.rates.first(), facts.rates.last()) else {
        wrapped(text, "Nothing is spread: every rate is 0.", "  ");
        return;
    };
    let rates = match facts.rates.len() {
        1 => format!("1 rate, {}", rate_text(product, *least)),
        n => format!("{n} rates, least {}, most {}", rate_text(product, *least), rate_text(product, *most)),
    };
    let none = if facts.has_zero { ", and ground with 0" } else { "" };
    let line =
        format!("The screen should show {rates}{none}; total {} on {}.", facts.total_text(product), facts.area_text());
    wrapped(text, &line, "  ");
}

/// The files as a tree of folders; those of one name and several endings share a line.
fn tree(paths: &[String]) -> String {
    let mut folders: BTreeMap<&str, BTreeMap<&str, Vec<&str>>> = BTreeMap::new();
    for path in paths {
        let (folder, file) = path.rsplit_once('/').unwrap_or(("", path));
        let (stem, ending) = file.rsplit_once('.').unwrap_or((file, ""));
        folders.entry(folder).or_default().entry(stem).or_default().push(ending);
    }
    let mut text = String::from("    the stick\n");
    for (folder, files) in folders.iter_mut().rev() {
        let indent = if folder.is_empty() { "" } else { "|   " };
        if !folder.is_empty() {
            let _ = writeln!(text, "    |-- {folder}");
        }
        for (stem, endings) in files {
            endings.sort_unstable();
            let _ = writeln!(text, "    {indent}|-- {stem}.{}", endings.join(" ."));
        }
    }
    text
}

/// A unit as it cannot be misread.
pub(super) fn unit_words(unit: RateUnit) -> &'static str {
    match unit {
        RateUnit::LbAc => "POUNDS",
        RateUnit::ShortTonAc => "SHORT TONS (2,000 lb)",
        RateUnit::GalAc => "US GALLONS",
    }
}

/// A rate with its unit, as the screen shows it.
pub(super) fn rate_text(product: &TaskProduct, rate: f64) -> String {
    format!("{} {}", thousands(rate, product.decimals()), product.unit.name())
}

/// `41.00213 N  93.50412 W`
pub(super) fn place_text(place: &CheckPlace) -> String {
    let side = |degrees: f64, [above, below]: [char; 2]| {
        format!("{:.5} {}", degrees.abs(), if degrees < 0.0 { below } else { above })
    };
    format!("{}  {}", side(place.lat, ['N', 'S']), side(place.lon, ['E', 'W']))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stems_keep_pass_and_product_and_at_most_13_letters() {
        assert_eq!(file_stem("NORTH", 2, "POT"), "NORTH_2_POT");
        assert_eq!(file_stem("NORTHX", 12, "POTA"), "NORTH_12_POTA");
        assert_eq!(file_stem("NÖRD 7", 1, "L"), "NRD7_1_L");
        for stem in [file_stem("ABCDEF", 1, "WXYZ"), file_stem("A", 99, "WXYZ"), file_stem("ABCDEF", 999, "WXYZ")] {
            assert!(stem.len() <= 13, "{stem}");
        }
    }

    #[test]
    fn the_stick_is_drawn_folder_by_folder() {
        let paths = ["TASKDATA/TASKDATA.XML", "TASKDATA/GRD00001.bin", "N_1_POT.shx", "N_1_POT.shp"].map(str::to_owned);
        let drawn = "    the stick\n    |-- TASKDATA\n    |   |-- GRD00001.bin\n    |   |-- TASKDATA.XML\n    |-- N_1_POT.shp .shx\n";
        assert_eq!(tree(&paths), drawn);
    }
}
