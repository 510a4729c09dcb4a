//! Measured against mapped: a ring a sample, each hidden in turn; on the slanting line the map is right.

use super::{Anchor, Figure, PLAIN, WIDTH, line, ring};
use crate::export::in_units::InUnits;
use crate::export::page::lettering::Lettering;

const LEFT: f64 = 40.0;
const SIDE: f64 = 230.0;
const TOP: f64 = 8.0;

/// Draws the square. `pairs`: (measured, mapped, whether to look at it).
pub(in crate::export) fn scatter(
    pairs: &[(f64, f64, bool)],
    (quantity, decimals): (&str, usize),
    told: InUnits,
    lettering: &Lettering,
) -> Figure {
    let all = || pairs.iter().flat_map(|(measured, mapped, _)| [*measured, *mapped]);
    let (least, most) = (all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max));
    let room = (most - least).max(1e-9) * 0.04;
    let (from, to) = (least - room, most + room);
    let place = |value: f64| SIDE * (value - from) / (to - from);
    let [x, y] = [|v: f64| LEFT + v, |v: f64| TOP + SIDE - v];
    let mut figure = Figure::new(TOP + SIDE + 36.0, told);
    figure.draw(line([x(0.0), y(0.0)], [x(SIDE), y(0.0)], 1.0) + &line([x(0.0), y(0.0)], [x(0.0), y(SIDE)], 1.0));
    figure.draw(line([x(0.0), y(0.0)], [x(SIDE), y(SIDE)], 0.8));
    for tick in ticks(from, to) {
        let at = place(tick);
        let words = crate::units::thousands(tick, decimals);
        figure.draw(line([x(at), y(0.0)], [x(at), y(-4.0)], 1.0) + &line([x(0.0), y(at)], [x(-4.0), y(at)], 1.0));
        figure.draw(PLAIN.at(Anchor::Middle).svg(x(at), y(-16.0), &words));
        figure.draw(PLAIN.at(Anchor::End).svg(x(-7.0), y(at - 4.0), &words));
    }
    let rings = pairs.iter().map(|(measured, mapped, look)| ring(x(place(*measured)), y(place(*mapped)), 2.6, *look));
    figure.draw(rings.collect::<String>());
    figure.draw(PLAIN.svg(x(0.0), y(-31.0), &format!("measured: {quantity}")));
    for (index, words) in lettering.lines("mapped, with that sample hidden", false, 7.0).iter().enumerate() {
        figure.draw(PLAIN.svg(x(SIDE) + 6.0, y(SIDE) + 10.0 + 14.0 * index as f64, words));
    }
    debug_assert!(x(SIDE) + 80.0 <= WIDTH);
    figure
}

/// Four to eight round numbers.
fn ticks(from: f64, to: f64) -> Vec<f64> {
    let power = 10_f64.powf(((to - from) / 4.0).log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].map(|step| step * power);
    let step = steps.into_iter().find(|step| (to - from) / step <= 8.0).unwrap_or(steps[3]);
    let first = (from / step).ceil() as i64;
    (first..).map(|n| n as f64 * step).take_while(|tick| *tick <= to).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::UnitSystem;

    #[test]
    fn a_right_map_lies_on_the_line() {
        let figure =
            scatter(&[(5.0, 5.0, false), (25.0, 25.0, true)], ("CEC", 0), InUnits::same(""), &Lettering::new());
        let svg = figure.svg_in(UnitSystem::Us);
        for circle in svg.split("<circle ").skip(1) {
            let number =
                |name: &str| -> f64 { circle.split(name).nth(1).unwrap().split('"').next().unwrap().parse().unwrap() };
            assert!((number("cx=\"") - LEFT - (TOP + SIDE - number("cy=\""))).abs() < 0.2);
        }
        assert_eq!(ticks(4.2, 25.8), [5.0, 10.0, 15.0, 20.0, 25.0]);
    }
}
