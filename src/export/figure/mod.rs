//! Figures of a page as vector drawings: one SVG, told in both systems of units, for HTML, PDF and picture alike.
//!
//! Everything drawn is given; nothing here decides a rate.

pub(super) mod dot_ruler;
pub(super) mod field_map;
pub(super) mod saturation_strip;
pub(super) mod scatter;
pub(super) mod share_bar;
pub(super) mod tick_ruler;

use std::fmt::Write as _;

use super::in_units::InUnits;
use super::map_png::{INK, PAPER, Rgb};
use super::page::lettering::Lettering;
use crate::units::UnitSystem;

/// Width of every figure, units of its own: 360 fill a telephone, so 11 are legible there.
pub(super) const WIDTH: f64 = 360.0;
/// Size of words in figures.
pub(super) const WORDS: f64 = 11.5;

/// A drawing.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Figure {
    /// Height, in the units of [`WIDTH`].
    pub(super) height: f64,
    /// What it shows, for whoever does not see it.
    pub(super) told: InUnits,
    /// SVG elements, in the order drawn.
    parts: Vec<InUnits>,
}

impl Figure {
    pub(super) fn new(height: f64, told: InUnits) -> Self {
        Figure { height, told, parts: Vec::new() }
    }

    /// Adds elements that are the same in both systems.
    pub(super) fn draw(&mut self, svg: impl Into<String>) {
        self.parts.push(InUnits::same(svg));
    }

    /// Adds elements that differ by system.
    pub(super) fn draw_in(&mut self, svg: InUnits) {
        self.parts.push(svg);
    }

    /// The elements in one system of units.
    pub(super) fn svg_in(&self, units: UnitSystem) -> String {
        self.parts.iter().map(|part| part.within(units)).collect()
    }

    /// The elements in both, those of one system in a group of class `us` or `si`.
    pub(super) fn svg_in_both(&self) -> String {
        let mut svg = String::new();
        for part in &self.parts {
            match part.is_same() {
                true => svg.push_str(part.within(UnitSystem::Us)),
                false => {
                    let (us, si) = (part.within(UnitSystem::Us), part.within(UnitSystem::Si));
                    let _ = write!(svg, "<g class=\"us\">{us}</g><g class=\"si\">{si}</g>");
                }
            }
        }
        svg
    }
}

/// Where a text is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// A text of a figure.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lettered {
    pub(super) size: f64,
    pub(super) bold: bool,
    pub(super) color: Rgb,
    pub(super) anchor: Anchor,
}

/// Words in ink, from their left end.
pub(super) const PLAIN: Lettered = Lettered { size: WORDS, bold: false, color: INK, anchor: Anchor::Start };

impl Lettered {
    pub(super) fn bold(self) -> Self {
        Lettered { bold: true, ..self }
    }

    pub(super) fn at(self, anchor: Anchor) -> Self {
        Lettered { anchor, ..self }
    }

    pub(super) fn colored(self, color: Rgb) -> Self {
        Lettered { color, ..self }
    }

    /// Width of words set so.
    pub(super) fn width(self, lettering: &Lettering, words: &str) -> f64 {
        lettering.width(words, self.bold) * self.size
    }

    /// The element, with its base line at `y`.
    pub(super) fn svg(self, x: f64, y: f64, words: &str) -> String {
        let anchor = match self.anchor {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
            Anchor::End => " text-anchor=\"end\"",
        };
        let weight = if self.bold { " font-weight=\"bold\"" } else { "" };
        format!(
            "<text x=\"{x:.1}\" y=\"{y:.1}\" font-size=\"{:.1}\"{weight}{anchor} fill=\"{}\">{}</text>",
            self.size,
            css(self.color),
            escaped(words)
        )
    }
}

/// `#rrggbb`
pub(super) fn css(color: Rgb) -> String {
    color.css()
}

/// A rectangle, with an ink edge of `edge` where that is above 0.
pub(super) fn rect([x, y, width, height]: [f64; 4], fill: Rgb, edge: f64) -> String {
    let stroke = match edge > 0.0 {
        true => format!(" stroke=\"{}\" stroke-width=\"{edge}\"", css(INK)),
        false => String::new(),
    };
    format!(
        "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{width:.1}\" height=\"{height:.1}\" fill=\"{}\"{stroke}/>",
        css(fill)
    )
}

/// A line in ink.
pub(super) fn line(from: [f64; 2], to: [f64; 2], width: f64) -> String {
    let [[x1, y1], [x2, y2]] = [from, to];
    format!(
        "<line x1=\"{x1:.1}\" y1=\"{y1:.1}\" x2=\"{x2:.1}\" y2=\"{y2:.1}\" stroke=\"{}\" stroke-width=\"{width}\"/>",
        css(INK)
    )
}

/// A sample: an open ring on whatever lies under it; with a bar through it where it is to be looked at.
pub(super) fn ring(x: f64, y: f64, radius: f64, is_barred: bool) -> String {
    let mut svg = String::new();
    for (color, width) in [(PAPER, 3.0), (INK, 1.1)] {
        let _ = write!(
            svg,
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{radius:.1}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{width}\"/>",
            css(color)
        );
    }
    if is_barred {
        svg += &line([x - 1.9 * radius, y], [x + 1.9 * radius, y], 1.4);
    }
    svg
}

/// Text without the marks that turn the order of the letters after them (Unicode Standard Annex 9, section 2): such a
/// mark in a name would print the rate behind it backward, 135 as 531. Letters written from right to left stay.
pub(super) fn unturned(text: &str) -> String {
    text.chars().filter(|letter| !matches!(letter, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')).collect()
}

/// Text made safe for XML: what would be markup is escaped, what XML 1.0 forbids is left out; without the marks that
/// [`unturned`] leaves out.
pub(super) fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in unturned(text).chars() {
        match letter {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\t' | '\n' | '\r' => safe.push(' '),
            letter if letter.is_control() || matches!(letter, '\u{fffe}' | '\u{ffff}') => {}
            letter => safe.push(letter),
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn markup_in_names_stays_text() {
        assert_eq!(escaped("<a href=\"x\">&\u{0}\u{1b}b\n"), "&lt;a href=&quot;x&quot;&gt;&amp;b ");
    }

    #[test]
    fn a_name_does_not_turn_the_figures_after_it() {
        // Hebrew, right-to-left override, isolate.
        assert_eq!(escaped("\u{5e9}\u{202e}\u{5d3} 135 \u{2067}lb"), "\u{5e9}\u{5d3} 135 lb");
    }

    #[test]
    fn only_what_differs_is_drawn_twice() {
        let mut figure = Figure::new(10.0, InUnits::same("nothing"));
        figure.draw("<g/>");
        figure.draw_in(InUnits::of(|units| if units == UnitSystem::Us { "<a/>".into() } else { "<b/>".into() }));
        assert_eq!(figure.svg_in_both(), "<g/><g class=\"us\"><a/></g><g class=\"si\"><b/></g>");
        assert_eq!(figure.svg_in(UnitSystem::Si), "<g/><b/>");
    }
}
