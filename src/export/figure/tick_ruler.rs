//! Rulers of what the lab measured: a short tick a sample, a numbered dot a zone's mean, long ticks for critical levels.

use super::{Anchor, Figure, Lettered, PLAIN, WIDTH, line};
use crate::export::in_units::InUnits;
use crate::export::map_png::{INK, PAPER};
use crate::units::thousands;

const ROW: f64 = 58.0;
const AXIS: f64 = 32.0;
/// Distance from which two dots do not touch.
const DOT: f64 = 12.0;

/// One quantity.
pub(in crate::export) struct TickRow {
    /// "K, ppm"
    pub(in crate::export) name: String,
    pub(in crate::export) decimals: usize,
    /// One a sample.
    pub(in crate::export) values: Vec<f64>,
    /// Zones and their means.
    pub(in crate::export) means: Vec<(usize, f64)>,
    /// Critical levels of the guide.
    pub(in crate::export) levels: Vec<f64>,
}

/// Draws a ruler a row, each from its least to its most.
pub(in crate::export) fn tick_rulers(rows: &[TickRow], told: InUnits) -> Figure {
    let mut figure = Figure::new(ROW * rows.len() as f64 + 4.0, told);
    for (index, row) in rows.iter().enumerate() {
        let y = ROW * index as f64 + AXIS;
        let all = || row.values.iter().chain(row.means.iter().map(|(_, mean)| mean)).chain(&row.levels);
        let (least, most) =
            (all().fold(f64::INFINITY, |a, b| a.min(*b)), all().fold(f64::NEG_INFINITY, |a, b| a.max(*b)));
        if !least.is_finite() {
            continue;
        }
        let place = |value: f64| match most > least {
            true => 8.0 + (WIDTH - 16.0) * (value - least) / (most - least),
            false => WIDTH / 2.0,
        };
        let mut svg = PLAIN.bold().svg(0.0, y - 20.0, &row.name);
        svg += &line([place(least).min(8.0), y], [WIDTH - 8.0, y], 1.0);
        let ends = if most > least {
            vec![(least, Anchor::Start), (most, Anchor::End)]
        } else {
            vec![(least, Anchor::Middle)]
        };
        for (value, anchor) in ends {
            let x = match anchor {
                Anchor::Start => 0.0,
                Anchor::Middle => place(value),
                Anchor::End => WIDTH,
            };
            svg += &PLAIN.at(anchor).svg(x, y + 20.0, &thousands(value, row.decimals));
        }
        for value in &row.values {
            svg += &line([place(*value), y - 5.0], [place(*value), y + 5.0], 0.9);
        }
        for level in &row.levels {
            svg += &line([place(*level), y - 13.0], [place(*level), y + 10.0], 2.2);
        }
        let mut taken: Vec<f64> = Vec::new();
        for (zone, mean) in &row.means {
            // Dots that would touch stand side by side.
            let mut x = place(*mean);
            while taken.iter().any(|other| (other - x).abs() < DOT) {
                x += 1.0;
            }
            taken.push(x);
            svg += &format!("<circle cx=\"{x:.1}\" cy=\"{:.1}\" r=\"5.8\" fill=\"{}\"/>", y - 9.0, super::css(INK));
            let number = Lettered { size: 9.5, bold: true, color: PAPER, anchor: Anchor::Middle };
            svg += &number.svg(x, y - 5.7, &zone.to_string());
        }
        figure.draw(svg);
    }
    figure
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::UnitSystem;

    #[test]
    fn every_sample_has_a_tick_and_every_zone_a_dot_of_its_own() {
        let row = TickRow {
            name: "K, ppm".into(),
            decimals: 0,
            values: vec![70.0, 90.0, 90.0, 380.0],
            means: vec![(1, 75.0), (2, 76.0)],
            levels: vec![91.0],
        };
        let even = TickRow { name: "pH".into(), decimals: 1, values: vec![6.0; 3], means: vec![], levels: vec![] };
        let svg = tick_rulers(&[row, even], InUnits::same("")).svg_in(UnitSystem::Us);
        assert_eq!(svg.matches("stroke-width=\"0.9\"").count(), 7);
        let dots: Vec<f64> =
            svg.split("<circle cx=\"").skip(1).map(|rest| rest.split('"').next().unwrap().parse().unwrap()).collect();
        assert!(dots.len() == 2 && (dots[1] - dots[0]).abs() >= DOT - 0.2, "{dots:?}");
        assert!(!svg.contains("NaN") && !svg.contains("inf"));
    }
}
