//! One bar under a map: the length of a segment is its share of the ground; key, histogram and table of areas at once.

use super::{Anchor, Figure, PLAIN, WIDTH, line, rect};
use crate::export::in_units::InUnits;
use crate::export::map_png::Rgb;
use crate::export::page::lettering::Lettering;

const HEIGHT: f64 = 40.0;
const LINE: f64 = 14.5;
/// Least width of a segment, so that none vanishes.
const LEAST: f64 = 2.0;

/// A segment.
pub(in crate::export) struct Segment {
    pub(in crate::export) area_m2: f64,
    pub(in crate::export) fill: Rgb,
    /// At most two lines: what it is, and its area.
    pub(in crate::export) words: [InUnits; 2],
}

/// Draws the bar; words that find no room in their segment stand below, joined by a line.
pub(in crate::export) fn share_bar(segments: &[Segment], told: InUnits, lettering: &Lettering) -> Figure {
    let segments: Vec<&Segment> = segments.iter().filter(|segment| segment.area_m2 > 0.0).collect();
    let whole: f64 = segments.iter().map(|segment| segment.area_m2).sum();
    let widths: Vec<f64> = segments.iter().map(|segment| (WIDTH * segment.area_m2 / whole).max(LEAST)).collect();
    let shrink = WIDTH / widths.iter().sum::<f64>();
    let fits = |segment: &Segment, width: f64| {
        segment.words.iter().all(|words| {
            [crate::units::UnitSystem::Us, crate::units::UnitSystem::Si]
                .into_iter()
                .all(|units| PLAIN.bold().width(lettering, words.within(units)) + 8.0 <= width)
        })
    };
    let n_below = segments.iter().zip(&widths).filter(|(segment, width)| !fits(segment, **width * shrink)).count();
    let mut figure = Figure::new(HEIGHT + 4.0 + n_below as f64 * LINE, told);
    let (mut left, mut below) = (0.0, 0);
    for (segment, width) in segments.iter().zip(&widths) {
        let width = width * shrink;
        figure.draw(rect([left, 1.0, width, HEIGHT - 2.0], segment.fill, 1.0));
        if fits(segment, width) {
            let color = segment.fill.text();
            for (index, words) in segment.words.iter().enumerate() {
                let style = if index == 0 { PLAIN.bold() } else { PLAIN };
                let y = 17.0 + index as f64 * LINE;
                figure.draw_in(words.map(|words| style.colored(color).svg(left + 5.0, y, words)));
            }
        } else {
            let y = HEIGHT + 13.0 + below as f64 * LINE;
            let at = left + width / 2.0;
            figure.draw(line([at, HEIGHT - 1.0], [at, y - 4.0], 0.8));
            let anchor = if at > WIDTH / 2.0 { Anchor::End } else { Anchor::Start };
            let x = if anchor == Anchor::End { at - 4.0 } else { at + 4.0 };
            let told = InUnits::of(|units| {
                let [one, two] = [0, 1].map(|index| segment.words[index].within(units));
                format!("{one}  {two}").trim().replace("  ", "\u{2002}")
            });
            figure.draw_in(told.map(|words| PLAIN.at(anchor).svg(x, y, words)));
            below += 1;
        }
        left += width;
    }
    figure
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::UnitSystem;

    fn segment(area_m2: f64) -> Segment {
        let words = [InUnits::same("1  CEC 6.4"), InUnits::same("26.7 ac")];
        Segment { area_m2, fill: Rgb::hex(0xf7f1d3), words }
    }

    #[test]
    fn lengths_are_shares_and_no_words_are_lost() {
        let bar = share_bar(
            &[segment(30.0), segment(1.0), segment(69.0), segment(0.0)],
            InUnits::same(""),
            &Lettering::new(),
        );
        let svg = bar.svg_in(UnitSystem::Us);
        let widths: Vec<f64> = svg
            .split("<rect ")
            .skip(1)
            .map(|rect| rect.split("width=\"").nth(1).unwrap().split('"').next().unwrap().parse().unwrap())
            .collect();
        assert_eq!(widths.len(), 3);
        assert!((widths[0] / widths[2] - 30.0 / 69.0).abs() < 0.01, "{widths:?}");
        assert_eq!(svg.matches("26.7 ac").count(), 3);
        assert!(bar.height > HEIGHT + 4.0, "the narrow one is told below");
    }
}
