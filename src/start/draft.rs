//! The draft as a whole: what goes in, what comes out, in the order of the form.

use super::lines::Lines;
use super::sections;
use crate::boundary::FieldBoundary;
use crate::columns::ColumnReading;
use crate::diagnostic::{Code, Diagnostic, Place};
use crate::samples::{NameMatch, NumberForm, SampleTable};
use crate::sheet::SheetForm;

/// Columns listed when nothing is understood.
const MOST_NOTES: usize = 30;

/// Where the samples were found to lie.
#[derive(Debug, Clone, PartialEq)]
pub enum PlacesFound {
    /// Two columns of degrees.
    Degrees {
        /// Column with the longitude.
        lon: String,
        /// Column with the latitude.
        lat: String,
    },
    /// Two columns of meters or feet.
    Metric {
        /// Column with the easting.
        east: String,
        /// Column with the northing.
        north: String,
        /// The CRS, and why; `None` = the user must say.
        crs: Option<(String, String)>,
    },
    /// Points of a file, joined one to one.
    Points {
        /// File as the field file names it.
        file: String,
        /// Attribute with the names.
        attribute: String,
        /// How names are compared.
        matching: NameMatch,
        /// Whether the file holds polygons, one a composite sample.
        polygons: bool,
    },
    /// Not found; the reason.
    Unknown(String),
}

/// What a draft is made from.
#[derive(Debug, Clone, Copy)]
pub struct Sources<'a> {
    /// The sheet as the field file is to name it.
    pub lab_file: &'a str,
    /// How the sheet is read.
    pub form: &'a SheetForm,
    /// Why it is read so.
    pub form_reasons: &'a [String],
    /// The sheet.
    pub table: &'a SampleTable,
    /// Its columns, understood.
    pub columns: &'a [ColumnReading],
    /// How it prints numbers.
    pub numbers: &'a NumberForm,
    /// The outline as the field file is to name it.
    pub outline_file: &'a str,
    /// A CRS to state for the outline, where its file has none, and why; `"?"` is never written here.
    pub outline_crs: Option<&'a str>,
    /// Whether a walked line is to be closed.
    pub outline_line_closed: bool,
    /// The outline.
    pub boundary: &'a FieldBoundary,
    /// Where the samples lie.
    pub places: &'a PlacesFound,
}

/// An answer the user must give.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenAnswer {
    /// Line of the draft, from 1.
    pub line: usize,
    /// Dotted key.
    pub key: String,
    /// What it is needed for, or an example.
    pub needed: String,
}

/// A column that is not used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftAside {
    /// Its header.
    pub column: String,
    /// Why.
    pub why: String,
}

/// A field file, drafted.
///
/// # Guarantees
/// `text` reads back as a field file; every line of `open` holds a `"?"` and no other line does; nothing that matters
/// (extractant, buffer, depth, crop, yield, CRS) is answered but by what the sheet or the outline states.
#[derive(Debug, Clone, PartialEq)]
pub struct Drafted {
    /// The file.
    pub text: String,
    /// Answers still to be given, in file order.
    pub open: Vec<OpenAnswer>,
    /// What was understood, one phrase a column: "`K ppm` k in ppm".
    pub understood: Vec<String>,
    /// Columns not used.
    pub left_aside: Vec<LeftAside>,
    /// Whether zones can be drawn from what the sheet prints.
    pub can_zone: bool,
}

/// A sheet without a single column of results.
pub static NO_RESULTS_ON_SHEET: Code = Code {
    name: "no-results-on-sheet",
    checks: "that a sheet to draft a field file from has a column this program knows as a result of a soil test",
    why: "a draft without any would say that the sheet was understood",
    example: "the sheet holds the columns `Order`, `Date` and `Price`",
    mend: "name the sheet that holds the results, or write the element and the unit into each header: `K ppm`",
};

/// Drafts the field file.
///
/// # Errors
/// No column of the sheet is a result this program knows.
pub fn draft(sources: &Sources<'_>) -> Result<Drafted, Vec<Diagnostic>> {
    let mut lines = Lines::default();
    lines.line(
        "",
        "holdground field file: one field, one season. The unit ends the key name. \"?\" = still to be answered.",
    );
    lines.line("", "\"unknown\" is an honest answer too: what depends on it is left out, and the report says so.");
    lines.line("form = 1", "form of this file");
    sections::field(&mut lines, sources);
    let read = sections::samples(&mut lines, sources);
    if !read.has_analytes() {
        let message = "no column of the sheet is a result of a soil test this program knows";
        let fault = Diagnostic::error(&NO_RESULTS_ON_SHEET, message).at(Place::File(sources.table.file.clone()));
        let asides = read.left_aside.iter().take(MOST_NOTES).map(|aside| format!("`{}`: {}", aside.column, aside.why));
        let fault = asides.fold(fault, Diagnostic::with_note);
        return Err(vec![fault.with_help("write the element and the unit into each header, for example `K ppm`")]);
    }
    let variables = read.zone_variables();
    sections::surface_and_zones(&mut lines, &variables);
    let can_zone = !variables.is_empty();
    sections::rates(&mut lines, &read);
    let (text, open) = lines.finish();
    Ok(Drafted { text, open, understood: read.understood, left_aside: read.left_aside, can_zone })
}
