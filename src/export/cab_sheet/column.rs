//! Words set one under the other in a column of a sheet.

use crate::export::figure::{Anchor, Lettered, PLAIN};
use crate::export::page::lettering::Lettering;

/// From one base line to the next, letter sizes.
const LEADING: f64 = 1.24;

/// A column being filled; lengths in points.
pub(super) struct Column<'a> {
    pub(super) lettering: &'a Lettering,
    pub(super) left: f64,
    pub(super) room: f64,
    /// Where the next line begins.
    pub(super) top: f64,
    pub(super) svg: String,
}

impl<'a> Column<'a> {
    pub(super) fn new(lettering: &'a Lettering, [left, top, room]: [f64; 3]) -> Self {
        Column { lettering, left, room, top, svg: String::new() }
    }

    pub(super) fn gap(&mut self, height: f64) {
        self.top += height;
    }

    /// Words broken into lines.
    pub(super) fn words(&mut self, words: &str, size: f64, bold: bool) {
        let style = Lettered { size, bold, ..PLAIN };
        for line in self.lettering.lines(words, bold, self.room / size) {
            self.svg += &style.svg(self.left, self.top + size, &line);
            self.top += size * LEADING;
        }
    }

    /// A name in bold, and words from the same line on, each line set in from the left by `indent`.
    pub(super) fn named(&mut self, name: &str, words: &[String], size: f64, indent: f64) {
        self.svg += &Lettered { size, ..PLAIN.bold() }.svg(self.left, self.top + size, name);
        let mut inner = Column::new(self.lettering, [self.left + indent, self.top, self.room - indent]);
        for line in words {
            inner.words(line, size, false);
        }
        self.top = inner.top.max(self.top + size * LEADING);
        self.svg += &inner.svg;
    }

    /// One line: the first cell from the left, the others ending at shares of the room.
    pub(super) fn cells(&mut self, cells: &[(f64, &str)], size: f64, bold: bool) {
        for (index, (share, words)) in cells.iter().enumerate() {
            let anchor = if index == 0 { Anchor::Start } else { Anchor::End };
            let style = Lettered { size, bold, anchor, ..PLAIN };
            self.svg += &style.svg(self.left + share * self.room, self.top + size, words);
        }
        self.top += size * LEADING;
    }
}
