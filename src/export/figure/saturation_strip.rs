//! How cations share the exchange places of each zone: a strip from 0 to 100 %, brackets for chosen targets.

use super::{Anchor, Figure, PLAIN, WIDTH, line, rect};
use crate::export::in_units::InUnits;
use crate::export::map_png::Palette;
use crate::export::page::lettering::Lettering;

const STRIP: f64 = 20.0;
const HEAD: f64 = 15.0;
const GAP: f64 = 10.0;
const BRACKET: f64 = 14.0;
const KEY: f64 = 32.0;

/// One zone's strip.
pub(in crate::export) struct Strip {
    pub(in crate::export) words: InUnits,
    /// (name, share in percent, place among the cloth colors), in the order drawn; what is left to 100 is drawn last.
    pub(in crate::export) parts: Vec<(&'static str, f64, usize)>,
    /// Target shares in the same order from the left, percent: (name, from, to) along the strip; empty: none chosen.
    pub(in crate::export) targets: Vec<(&'static str, f64, f64)>,
}

/// Draws the strips, one under the other, with a key.
pub(in crate::export) fn saturation_strips(strips: &[Strip], told: InUnits, lettering: &Lettering) -> Figure {
    let colors = Palette::Cloth.steps(Palette::Cloth.most_classes());
    let height_of = |strip: &Strip| HEAD + STRIP + GAP + if strip.targets.is_empty() { 0.0 } else { BRACKET };
    let mut figure = Figure::new(KEY + strips.iter().map(height_of).sum::<f64>(), told);
    let mut x = 0.0;
    let mut known: Vec<(&str, usize)> = Vec::new();
    for part in strips.iter().flat_map(|strip| &strip.parts) {
        if !known.iter().any(|(name, _)| *name == part.0) {
            known.push((part.0, part.2));
        }
    }
    let mut y = 12.0;
    for (name, color) in known {
        let width = 20.0 + PLAIN.width(lettering, name);
        if x + width > WIDTH {
            (x, y) = (0.0, y + 15.0);
        }
        figure.draw(rect([x, y - 9.0, 11.0, 11.0], colors[color], 0.8) + &PLAIN.svg(x + 14.0, y, name));
        x += width + 8.0;
    }
    let mut top = KEY;
    for strip in strips {
        figure.draw_in(strip.words.map(|words| PLAIN.bold().svg(0.0, top + 10.0, words)));
        let mut left = 0.0;
        for (name, percent, color) in &strip.parts {
            let width = WIDTH * percent.max(0.0) / 100.0;
            figure.draw(rect([left, top + HEAD, width, STRIP], colors[*color], 0.8));
            let figure_words = format!("{percent:.0}");
            let style = PLAIN.colored(colors[*color].text()).at(Anchor::Middle);
            let named = format!("{name} {figure_words}");
            let shown = [named, figure_words].into_iter().find(|words| style.width(lettering, words) + 4.0 < width);
            if let Some(words) = shown {
                figure.draw(style.svg(left + width / 2.0, top + HEAD + 14.0, &words));
            }
            left += width;
        }
        for (name, from, to) in &strip.targets {
            let [from, to] = [from, to].map(|percent| WIDTH * percent / 100.0);
            let y = top + HEAD + STRIP + 3.0;
            figure.draw(
                line([from, y], [to, y], 1.4)
                    + &line([from, y - 3.0], [from, y], 1.4)
                    + &line([to, y - 3.0], [to, y], 1.4),
            );
            if PLAIN.width(lettering, name) < to - from {
                figure.draw(PLAIN.at(Anchor::Middle).svg((from + to) / 2.0, y + 11.0, name));
            }
        }
        top += height_of(strip);
    }
    figure
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::UnitSystem;

    #[test]
    fn a_strip_is_as_long_as_its_shares() {
        let strip = Strip {
            words: InUnits::same("Zone 1"),
            parts: vec![("Ca", 50.0, 0), ("Mg", 25.0, 1), ("K", 25.0, 5)],
            targets: vec![("Ca", 0.0, 60.0)],
        };
        let figure = saturation_strips(&[strip], InUnits::same(""), &Lettering::new());
        let svg = figure.svg_in(UnitSystem::Us);
        assert!(svg.contains("width=\"180.0\"") && svg.matches("width=\"90.0\"").count() == 2);
        assert!(svg.contains("Ca 50") && svg.contains("x2=\"216.0\""));
    }
}
