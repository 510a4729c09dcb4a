//! A page of printed matter as a list of blocks: written once, set as HTML, as PDF and as a tall picture.
//!
//! ```text
//!            ┌─► html.rs      one file, complete without script
//! Page ──────┤
//!            └─► layout.rs ─► rows ─► pdf.rs, picture.rs
//! ```

mod html;
mod layout;
pub(super) mod lettering;
mod pdf;
mod picture;
mod table_rows;

pub(super) use html::html;
pub(super) use layout::{Paper, Sheet, paginate};
pub(super) use pdf::pdf;
pub(super) use picture::picture;

use super::figure::Figure;
use super::in_units::InUnits;
use crate::units::UnitSystem;

/// Everything on a page, in reading order.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Page {
    /// Title of the document.
    pub(super) title: String,
    /// Units shown first, and alone on paper.
    pub(super) units: UnitSystem,
    pub(super) blocks: Vec<Block>,
}

/// One part of a page.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Block {
    /// The field, and a line on what the page rests on.
    Head { field: String, line: InUnits },
    /// What matters, before anything else.
    InShort(Vec<InUnits>),
    /// A question, numbered, with its id for links.
    Question { id: String, words: String },
    /// A smaller heading.
    Heading(InUnits),
    /// A paragraph.
    Words(InUnits),
    /// A paragraph that says how sure the one before is.
    Sure(InUnits),
    /// Drawings with one caption.
    Figure { caption: InUnits, drawings: Vec<Figure> },
    /// Lines that each begin with a name in bold.
    Lines(Vec<Line>),
    /// Figures in columns.
    Table(Table),
    /// Small print.
    Foot(InUnits),
}

/// A line of [`Block::Lines`].
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Line {
    /// Its id, where a map links to it.
    pub(super) id: Option<String>,
    pub(super) name: InUnits,
    pub(super) words: InUnits,
}

/// A table; the first column has words, the others figures.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Table {
    pub(super) caption: InUnits,
    pub(super) head: Vec<InUnits>,
    pub(super) rows: Vec<Vec<InUnits>>,
    /// Whether the last row is a sum.
    pub(super) has_sum: bool,
}
