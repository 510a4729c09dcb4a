//! A way to start: drafts a field file from a lab sheet and an outline, with what was understood and why.
//!
//! [`Sources`] (a sheet with its columns understood, an outline, perhaps points) -> [`Drafted`] (the text of a field file
//! and the answers still open). What the sheet prints is written down with its reason; what it does not print and matters
//! is `"?"`. Written is not hidden: the user reads the file before anything is made from it.

mod dates;
mod draft;
mod lines;
mod name_join;
mod place_trial;
mod sample_columns;
mod sections;
mod words;

pub use draft::{Drafted, LeftAside, NO_RESULTS_ON_SHEET, OpenAnswer, PlacesFound, Sources, draft};
pub use name_join::{Join, PointNames, join};
pub use place_trial::crs_by_trial;

use crate::diagnostic::Code;

/// Every kind of message of this module.
pub static CODES: &[&Code] = &[&NO_RESULTS_ON_SHEET];
