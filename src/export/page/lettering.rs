//! The fonts of printed pages and pictures: Libertinus Serif, then fonts that have what it lacks; widths of words.

use std::cell::RefCell;
use std::collections::HashMap;
use std::sync::{Arc, LazyLock};

use epaint_default_fonts::NOTO_EMOJI_REGULAR;
use resvg::usvg::fontdb::{Database, Source};
use rustybuzz::{Face, UnicodeBuffer};

/// Family of all words.
pub(in crate::export) const FAMILY: &str = "Libertinus Serif";
/// Width taken for a letter the family lacks, em: an emoji of the bundled font has 1.27 (read from it), so that it
/// keeps clear of the words after it.
const UNKNOWN_EM: f64 = 1.28;

/// All fonts a page may need; from the program itself, never from the machine, so that the same input gives the same
/// bytes.
pub(in crate::export) static FONTS: LazyLock<Arc<Database>> = LazyLock::new(|| {
    let mut fonts = Database::new();
    for bytes in typst_assets::fonts() {
        fonts.load_font_source(Source::Binary(Arc::new(bytes)));
    }
    fonts.load_font_source(Source::Binary(Arc::new(NOTO_EMOJI_REGULAR)));
    fonts.set_serif_family(FAMILY);
    fonts.set_sans_serif_family(FAMILY);
    Arc::new(fonts)
});

/// Widths of words, remembered.
pub(in crate::export) struct Lettering {
    /// Regular and bold, with their units an em.
    faces: [(Face<'static>, f64); 2],
    known: RefCell<HashMap<(String, bool), f64>>,
}

impl Lettering {
    pub(in crate::export) fn new() -> Self {
        let face = |bold: bool| {
            let of_family = |bytes: &'static [u8]| {
                let face = Face::from_slice(bytes, 0)?;
                let is_family =
                    face.names().into_iter().any(|name| name.to_string().is_some_and(|name| name == FAMILY));
                let weight = if bold { 700 } else { 400 };
                (is_family && face.weight().to_number() == weight && !face.is_italic()).then_some(face)
            };
            let face = typst_assets::fonts().find_map(of_family).expect("a bundled font");
            let units = f64::from(face.units_per_em());
            (face, units)
        };
        Lettering { faces: [face(false), face(true)], known: RefCell::default() }
    }

    /// Width of words on one line, em.
    pub(in crate::export) fn width(&self, words: &str, bold: bool) -> f64 {
        if let Some(width) = self.known.borrow().get(&(words.to_owned(), bold)) {
            return *width;
        }
        let (face, units) = &self.faces[usize::from(bold)];
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(words);
        let glyphs = rustybuzz::shape(face, &[], buffer);
        let width = glyphs
            .glyph_infos()
            .iter()
            .zip(glyphs.glyph_positions())
            .map(|(info, place)| if info.glyph_id == 0 { UNKNOWN_EM } else { f64::from(place.x_advance) / units })
            .sum();
        self.known.borrow_mut().insert((words.to_owned(), bold), width);
        width
    }

    /// Words broken into lines of at most `room` em; a word longer than a line is cut to pieces, nothing is left out.
    pub(in crate::export) fn lines(&self, words: &str, bold: bool, room: f64) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        let mut line = String::new();
        for word in words.split_whitespace() {
            for piece in self.pieces(word, bold, room) {
                let longer = if line.is_empty() { piece.clone() } else { format!("{line} {piece}") };
                if line.is_empty() || self.width(&longer, bold) <= room {
                    line = longer;
                } else {
                    lines.push(std::mem::replace(&mut line, piece));
                }
            }
        }
        if !line.is_empty() {
            lines.push(line);
        }
        lines
    }

    fn pieces(&self, word: &str, bold: bool, room: f64) -> Vec<String> {
        if self.width(word, bold) <= room {
            return vec![word.to_owned()];
        }
        let mut pieces = vec![String::new()];
        for letter in word.chars() {
            let last = pieces.last_mut().expect("never empty");
            let longer = format!("{last}{letter}");
            if !last.is_empty() && self.width(&longer, bold) > room {
                pieces.push(letter.to_string());
            } else {
                *last = longer;
            }
        }
        pieces
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_fit_and_lose_nothing() {
        let lettering = Lettering::new();
        let words = format!("Zone 1 takes its potash in two passes {} and no more", "x".repeat(200));
        let lines = lettering.lines(&words, false, 12.0);
        assert!(lines.iter().all(|line| lettering.width(line, false) <= 12.0), "{lines:?}");
        let letters = |text: &str| text.split_whitespace().collect::<String>();
        assert_eq!(letters(&lines.concat()), letters(&words));
        assert!(lettering.width("Zone 1", true) > lettering.width("Zone 1", false));
        assert!(lettering.lines("", false, 5.0).is_empty());
    }
}
