//! A dot on a ruler in the lab's unit, with what it is held against as a named tick.

use super::{Anchor, Figure, Lettered, PLAIN, WIDTH, line};
use crate::export::in_units::InUnits;
use crate::export::map_png::INK;
use crate::export::page::lettering::Lettering;

const ROW: f64 = 46.0;

/// One ruler.
pub(in crate::export) struct Ruler {
    /// What stands over it: "Zone 1: K 75 ppm".
    pub(in crate::export) words: InUnits,
    pub(in crate::export) value: f64,
    /// Give or take, on both sides; `None` = cannot be told.
    pub(in crate::export) error: Option<f64>,
    /// The tick and its words.
    pub(in crate::export) tick: (f64, String),
}

/// Draws the rulers from 0 to the same end, so that zones compare.
pub(in crate::export) fn dot_rulers(rulers: &[Ruler], told: InUnits, lettering: &Lettering) -> Figure {
    let ends = rulers.iter().map(|ruler| (ruler.value + ruler.error.unwrap_or(0.0)).max(ruler.tick.0));
    let end = ends.fold(0.0, f64::max) * 1.1;
    let place = |value: f64| 6.0 + (WIDTH - 12.0) * (value / end).clamp(0.0, 1.0);
    let mut figure = Figure::new(ROW * rulers.len() as f64 + 2.0, told);
    for (index, ruler) in rulers.iter().enumerate() {
        let top = ROW * index as f64;
        let y = top + 22.0;
        figure.draw_in(ruler.words.map(|words| PLAIN.bold().svg(0.0, top + 10.0, words)));
        figure.draw(
            line([place(0.0), y], [place(end), y], 1.0) + &line([place(0.0), y - 4.0], [place(0.0), y + 4.0], 1.0),
        );
        if let Some(error) = ruler.error {
            figure.draw(line([place(ruler.value - error), y], [place(ruler.value + error), y], 4.0));
        }
        let (tick, words) = &ruler.tick;
        figure.draw(line([place(*tick), y - 8.0], [place(*tick), y + 6.0], 1.6));
        let room = PLAIN.width(lettering, words) + 4.0;
        let anchor = if place(*tick) + room > WIDTH { Anchor::End } else { Anchor::Start };
        let shift = if anchor == Anchor::End { -1.0 } else { 1.0 };
        figure.draw(Lettered { anchor, ..PLAIN }.svg(place(*tick) + shift, y + 18.0, words));
        figure.draw(format!(
            "<circle cx=\"{:.1}\" cy=\"{y:.1}\" r=\"4.6\" fill=\"{}\"/>",
            place(ruler.value),
            super::css(INK)
        ));
    }
    figure
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::UnitSystem;

    #[test]
    fn a_dot_below_the_level_lies_left_of_its_tick() {
        let ruler = Ruler { words: InUnits::same("K"), value: 75.0, error: None, tick: (91.0, "level 91".into()) };
        let svg = dot_rulers(&[ruler], InUnits::same(""), &Lettering::new()).svg_in(UnitSystem::Us);
        let dot: f64 = svg.split("<circle cx=\"").nth(1).unwrap().split('"').next().unwrap().parse().unwrap();
        let end = WIDTH - 12.0;
        assert!((dot - (6.0 + end * 75.0 / 100.1)).abs() < 0.1, "{dot}");
        assert!(svg.contains("level 91"));
    }
}
