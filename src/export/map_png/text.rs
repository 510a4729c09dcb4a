//! Words on the sheet: an open font, made a little heavier, wrapped and cut to the room there is.
//!
//! No shaping: letters stand in the order given, and scripts the two fonts lack show as open boxes. Names of fields come
//! from users, so every text must come out without a fault, however odd.

use ab_glyph::{Font, FontRef, GlyphId, OutlineCurve};
use epaint_default_fonts::{HACK_REGULAR, UBUNTU_LIGHT};
use tiny_skia::{Path, PathBuilder};

use super::canvas::{Canvas, Spot};
use super::palette::Rgb;

const ELLIPSIS: char = '\u{2026}';
/// Height of a box that stands for a letter no font has, in shares of the letter size.
const BOX_HEIGHT: f32 = 0.62;

/// Size and weight of a line of text.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::export) struct Letters {
    /// Letter size (em), pixels.
    pub(in crate::export) size_px: f32,
    /// Stroke laid round each letter, pixels: the font is a light one.
    pub(in crate::export) weight_px: f32,
}

impl Letters {
    /// From one base line to the next, pixels.
    pub(in crate::export) fn line_px(self) -> f32 {
        (self.size_px * 1.3).round()
    }

    /// From the top of a line box of [`Letters::line_px`] to the base line, pixels.
    fn base_px(self) -> f32 {
        self.size_px * 0.98
    }
}

/// The fonts, read once a picture.
pub(in crate::export) struct Lettering {
    fonts: [FontRef<'static>; 2],
}

impl Lettering {
    pub(in crate::export) fn new() -> Lettering {
        let read = |bytes| FontRef::try_from_slice(bytes).expect("a bundled font");
        Lettering { fonts: [read(UBUNTU_LIGHT), read(HACK_REGULAR)] }
    }

    /// First font that has the letter. `None`: no font has it.
    fn find(&self, letter: char) -> Option<(usize, GlyphId)> {
        let found = |(index, font): (usize, &FontRef<'static>)| {
            let glyph = font.glyph_id(letter);
            (glyph.0 != 0).then_some((index, glyph))
        };
        self.fonts.iter().enumerate().find_map(found)
    }

    /// Width of a line, pixels.
    pub(in crate::export) fn width_px(&self, text: &str, letters: Letters) -> f32 {
        self.walk(text, letters, |_, _, _| ())
    }

    /// Calls `visit` with each letter's glyph, its left end and the pixels of a font unit; gives the line's width.
    fn walk(&self, text: &str, letters: Letters, mut visit: impl FnMut(Option<(usize, GlyphId)>, f32, f32)) -> f32 {
        let mut x = 0.0;
        let mut last: Option<(usize, GlyphId)> = None;
        for letter in text.chars().filter_map(printed) {
            let glyph = self.find(letter);
            match glyph {
                Some((index, id)) => {
                    let font = &self.fonts[index];
                    let unit_px = letters.size_px / font.units_per_em().unwrap_or(1000.0);
                    if let Some((_, before)) = last.filter(|&(font_before, _)| font_before == index) {
                        x += font.kern_unscaled(before, id) * unit_px;
                    }
                    visit(glyph, x, unit_px);
                    x += font.h_advance_unscaled(id) * unit_px;
                }
                None => {
                    visit(None, x, 1.0);
                    x += letters.size_px * 0.6;
                }
            }
            last = glyph;
        }
        x
    }

    /// The line as one shape. `base` is the left end of the base line.
    fn path(&self, text: &str, letters: Letters, base: Spot) -> Option<Path> {
        let mut path = PathBuilder::new();
        self.walk(text, letters, |glyph, x, unit_px| match glyph {
            Some((index, id)) => {
                let curves = self.fonts[index].outline(id).map(|outline| outline.curves).unwrap_or_default();
                let place = |p: ab_glyph::Point| (base.x + x + p.x * unit_px, base.y - p.y * unit_px);
                trace(&mut path, &curves, place);
            }
            None => {
                let (left, size) = (base.x + x + letters.size_px * 0.06, letters.size_px);
                // Outer and inner ring run opposite ways, so that the winding rule leaves the middle open.
                for (inset, ways) in [(0.0, [0, 1, 2, 3]), (size * 0.06, [0, 3, 2, 1])] {
                    let (right, top) = (left + size * 0.48 - inset, base.y - size * BOX_HEIGHT + inset);
                    let (left, bottom) = (left + inset, base.y - inset);
                    let corners = [(left, top), (right, top), (right, bottom), (left, bottom)];
                    path.move_to(corners[ways[0]].0, corners[ways[0]].1);
                    for way in &ways[1..] {
                        path.line_to(corners[*way].0, corners[*way].1);
                    }
                    path.close();
                }
            }
        });
        path.finish()
    }

    /// Writes one line with its line box's top left at `at`.
    pub(in crate::export) fn write(&self, canvas: &mut Canvas, text: &str, letters: Letters, at: Spot, color: Rgb) {
        // Whole pixels up and down keep stems of all lines alike.
        let base = Spot { x: at.x, y: (at.y + letters.base_px()).round() };
        if let Some(path) = self.path(text, letters, base) {
            canvas.fill_letters(&path, color);
            if letters.weight_px > 0.0 {
                canvas.stroke(&path, color, letters.weight_px);
            }
        }
    }

    /// Writes one line centered on `center`.
    pub(in crate::export) fn write_centered(
        &self,
        canvas: &mut Canvas,
        text: &str,
        letters: Letters,
        center: Spot,
        color: Rgb,
    ) {
        let left = center.x - self.width_px(text, letters) / 2.0;
        self.write(canvas, text, letters, Spot { x: left, y: center.y - letters.line_px() / 2.0 }, color);
    }

    /// The text cut with an ellipsis to fit `room_px`.
    pub(in crate::export) fn cut(&self, text: &str, letters: Letters, room_px: f32) -> String {
        if self.width_px(text, letters) <= room_px {
            return text.to_owned();
        }
        let room_px = room_px - self.width_px(&ELLIPSIS.to_string(), letters);
        let mut kept = String::new();
        let mut width = 0.0;
        for letter in text.chars() {
            // Kerning is left out here: it only ever makes lines a hair narrower or wider.
            width += self.width_px(letter.encode_utf8(&mut [0; 4]), letters);
            if width > room_px {
                break;
            }
            kept.push(letter);
        }
        kept.truncate(kept.trim_end().len());
        kept.push(ELLIPSIS);
        kept
    }

    /// The text broken at spaces into at most `most_lines` lines of `room_px`; what is too long ends in an ellipsis.
    pub(in crate::export) fn wrap(&self, text: &str, letters: Letters, room_px: f32, most_lines: usize) -> Vec<String> {
        let mut lines: Vec<String> = vec![String::new()];
        for word in text.split(char::is_whitespace) {
            let last = lines.len() - 1;
            let longer = format!("{}{}{word}", lines[last], if lines[last].is_empty() { "" } else { " " });
            let stays = lines.len() == most_lines || lines[last].is_empty();
            if stays || self.width_px(longer.trim_end(), letters) <= room_px {
                lines[last] = longer;
            } else {
                lines.push(word.to_owned());
            }
        }
        lines.iter().map(|line| self.cut(line.trim(), letters, room_px)).filter(|line| !line.is_empty()).collect()
    }
}

/// The letter to print: white space as a blank; marks without a width of their own (control letters, joiners, turns of
/// direction, variation selectors) not at all.
fn printed(letter: char) -> Option<char> {
    match letter {
        '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}' => None,
        '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{e0000}'..='\u{e0fff}' => None,
        _ if letter.is_whitespace() => Some(' '),
        _ if letter.is_control() => None,
        _ => Some(letter),
    }
}

/// Adds the closed contours of a glyph; a new one starts where a curve does not begin at the end of the last.
fn trace(path: &mut PathBuilder, curves: &[OutlineCurve], place: impl Fn(ab_glyph::Point) -> (f32, f32)) {
    let mut end = None;
    for curve in curves {
        let (from, to) = match *curve {
            OutlineCurve::Line(from, to) | OutlineCurve::Quad(from, _, to) | OutlineCurve::Cubic(from, _, _, to) => {
                (from, to)
            }
        };
        if end != Some(from) {
            if end.is_some() {
                path.close();
            }
            let (x, y) = place(from);
            path.move_to(x, y);
        }
        let (x, y) = place(to);
        match *curve {
            OutlineCurve::Line(..) => path.line_to(x, y),
            OutlineCurve::Quad(_, bend, _) => {
                let (bend_x, bend_y) = place(bend);
                path.quad_to(bend_x, bend_y, x, y);
            }
            OutlineCurve::Cubic(_, one, two, _) => {
                let ((one_x, one_y), (two_x, two_y)) = (place(one), place(two));
                path.cubic_to(one_x, one_y, two_x, two_y, x, y);
            }
        }
        end = Some(to);
    }
    if end.is_some() {
        path.close();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LETTERS: Letters = Letters { size_px: 30.0, weight_px: 0.6 };

    #[test]
    fn a_cut_text_fits_and_says_so() {
        let lettering = Lettering::new();
        let long = "Lower bottom by the old mill ".repeat(8);
        let cut = lettering.cut(&long, LETTERS, 300.0);
        assert!(lettering.width_px(&cut, LETTERS) <= 301.0);
        assert!(cut.ends_with(ELLIPSIS) && cut.starts_with("Lower bottom"));
        assert_eq!(lettering.cut("Lower", LETTERS, 300.0), "Lower");
    }

    #[test]
    fn wrapping_keeps_every_word_that_fits() {
        let lettering = Lettering::new();
        let text = "hide any sample and the map misses it by 2.6 as a rule";
        let lines = lettering.wrap(text, LETTERS, 330.0, 9);
        assert!(lines.len() > 1 && lines.iter().all(|line| lettering.width_px(line, LETTERS) <= 330.0));
        assert_eq!(lines.join(" "), text);
        let two = lettering.wrap(text, LETTERS, 330.0, 2);
        assert!(two.len() == 2 && two[1].ends_with(ELLIPSIS));
        assert!(lettering.wrap("", LETTERS, 330.0, 2).is_empty());
    }

    #[test]
    fn odd_letters_take_room_and_leave_ink() {
        let lettering = Lettering::new();
        for text in ["\u{1f33e}\u{1f33e}", "\u{5e9}\u{5d3}\u{5d4}", "\u{7530}", "\u{301}a\u{202e}b"] {
            let mut canvas = Canvas::blank(200, 50);
            lettering.write(&mut canvas, text, LETTERS, Spot { x: 4.0, y: 4.0 }, super::super::palette::INK);
            assert!(lettering.width_px(text, LETTERS) > 0.0);
            let inked = (0..200).any(|x| (0..50).any(|y| canvas.color_at(x, y).luminance() < 0.2));
            assert!(inked, "{text:?}");
        }
        assert!(lettering.width_px("\u{200b}\u{7}", LETTERS).abs() < f32::EPSILON);
    }
}
