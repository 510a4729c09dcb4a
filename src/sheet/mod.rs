//! A lab's sheet in any common form, turned into text cells with their places. Knows nothing of analytes.
//!
//! ```text
//! bytes ─► FileKind ─► text ─────► records ─┐
//!                      workbook ─► records ─┼─► assemble (header, samples) ─► SampleTable
//!                      modus ───────────────┘
//! ```
//! [`SampleTable::read`] does as its [`SheetForm`] says. [`detect()`] finds the form of an untidy sheet, says why, and
//! reads it with that form: the field file then states the form, and nothing is guessed in a run.

mod assemble;
mod blank;
mod cfb_stream;
mod detect;
mod file_kind;
mod form;
mod header_search;
mod modus;
mod modus_columns;
mod records;
mod sample_end;
mod table;
mod text;
mod workbook;
mod workbook_bounds;
mod xml_tree;

#[cfg(test)]
mod damage_tests;
#[cfg(test)]
mod tests;

pub use blank::blank_table;
pub use detect::{Detected, detect};
pub use file_kind::NOT_A_SHEET;
pub use form::{DecimalMark, SamplesIn, SheetForm, TextEncoding};
pub use modus_columns::TWO_RESULTS;
pub use table::{NO_SUCH_COLUMN, Row, SampleTable, UNREADABLE_SHEET};
pub use workbook::WHICH_SHEET;

use crate::diagnostic::{Code, Diagnostic, Place};
use file_kind::FileKind;

/// Every kind of message about the form of a sheet.
pub static CODES: &[&Code] = &[&UNREADABLE_SHEET, &NOT_A_SHEET, &WHICH_SHEET, &TWO_RESULTS, &NO_SUCH_COLUMN];

/// Most cells of a sheet; more is refused before memory runs short.
const MOST_CELLS: usize = 2_000_000;

/// A sheet that cannot be read, as a whole.
fn unreadable(file: &str, message: impl Into<String>, help: &str) -> Vec<Diagnostic> {
    vec![Diagnostic::error(&UNREADABLE_SHEET, message).at(Place::File(file.to_owned())).with_help(help)]
}

/// A sheet of more cells than are taken.
fn too_large(file: &str) -> Vec<Diagnostic> {
    unreadable(file, "the sheet has more than 2 million cells", "name a sheet that holds this field's samples only")
}

/// A cell without blanks at its ends, those that do not break lines or have no width included.
fn trimmed(cell: &str) -> &str {
    cell.trim_matches(|c: char| c.is_whitespace() || c == '\u{feff}' || c == '\u{200b}')
}
