//! One square: a ring a sample, both axes alike, the line on which the map is right, and names of what it misses most.

use crate::export::field_dots::ruler::round_step;
use crate::export::label_places::{First, Place, Wish, label_places};
use crate::export::map_png::canvas::{Canvas, Frame, Spot};
use crate::export::map_png::text::{Lettering, Letters};
use crate::export::map_png::{INK, PAPER};
use crate::export::sample_names::SampleNames;
use crate::soil_surface::Quality;
use crate::units::thousands;

/// Room above the square for the word "mapped", and below it for numbers and the word "measured", pixels.
pub(super) const ABOVE_PX: f32 = 34.0;
pub(super) const BELOW_PX: f32 = 66.0;

const NUMBERS: Letters = Letters { size_px: 21.0, weight_px: 0.0 };
const NAMES: Letters = Letters { size_px: 20.0, weight_px: 0.0 };
const EDGE_PX: f32 = 1.5;
const TICK_PX: f32 = 6.0;
/// From a tick to its number, pixels.
const NUMBER_GAP_PX: f32 = 5.0;
/// Widest name of a sample, pixels.
const NAME_PX: f32 = 130.0;
/// Most samples named, those missed most.
const MOST_NAMED: usize = 20;
/// Most steps of an axis.
const MOST_STEPS: f64 = 6.0;
/// Room of one figure of a number along an axis, as a share of the axis.
const FIGURE_SHARE: f64 = 0.055;
/// What an axis shows beyond the outermost values, as a share of their spread.
const BEYOND: f64 = 0.05;
/// Share of an axis at the corner that has no number.
const CORNER: f64 = 0.03;
/// Radius of a ring where there are few samples and where there are thousands, pixels.
const RING_PX: f32 = 4.5;
const LEAST_RING_PX: f32 = 1.8;
/// Half a ring's line, pixels.
const LINE_PX: f32 = 0.8;
/// What a name costs that stands across the slanting line, in steps of [`label_places`].
const ACROSS_LINE_COST: f32 = 8.0;
/// What the slanting line means.
const RIGHT: &str = "map = lab";

/// What a square shows, without its place on the sheet.
pub(super) struct Square {
    axis: Axis,
    /// Measured and mapped, those missed most first.
    points: Vec<[f64; 2]>,
    /// Names of the first points.
    names: Vec<String>,
    /// Samples missed as much that are past the most named.
    n_unnamed: usize,
}

impl Square {
    /// Samples missed by more than `named_above` carry their names.
    pub(super) fn of(quality: &Quality, named_above: f64, names: &SampleNames, lettering: &Lettering) -> Square {
        let all = quality.sites.iter().zip(quality.measured.iter().zip(&quality.predicted));
        let mut points: Vec<_> = all
            .map(|(site, (measured, mapped))| (*site, [*measured, *mapped]))
            .filter(|(_, [measured, mapped])| measured.is_finite() && mapped.is_finite())
            .collect();
        let miss = |[measured, mapped]: [f64; 2]| (measured - mapped).abs();
        // Stable: samples missed alike stay in the order of their places.
        points.sort_by(|(_, a), (_, b)| miss(*b).total_cmp(&miss(*a)));
        let n_missed = points.iter().take_while(|(_, point)| miss(*point) > named_above).count();
        let named = points.iter().take(n_missed.min(MOST_NAMED));
        let names: Vec<String> = named.map(|(site, _)| lettering.cut(names.at(*site), NAMES, NAME_PX)).collect();
        let points: Vec<[f64; 2]> = points.into_iter().map(|(_, point)| point).collect();
        Square { axis: Axis::of(&points), n_unnamed: n_missed - names.len(), points, names }
    }

    /// Room for the numbers at the left, pixels.
    pub(super) fn numbers_px(&self, lettering: &Lettering) -> f32 {
        let widths = self.axis.ticks().into_iter().map(|(_, words)| lettering.width_px(&words, NUMBERS));
        widths.fold(0.0, f32::max).min(110.0) + TICK_PX + NUMBER_GAP_PX
    }

    /// Finds places for the names in a frame of the sheet.
    pub(super) fn place(&self, frame: Frame, lettering: &Lettering) -> Placed<'_> {
        let crowd = (100.0 / self.points.len().max(1) as f32).sqrt();
        let radius = (RING_PX * crowd).clamp(LEAST_RING_PX, RING_PX);
        let spots: Vec<Spot> = self.points.iter().map(|point| self.axis.spot(frame, *point)).collect();
        let rings: Vec<Frame> =
            spots.iter().map(|spot| Frame::around(*spot, 2.0 * (radius + 1.0), 2.0 * (radius + 1.0))).collect();
        let line_words = place_right(frame, &rings, lettering);
        let wish = |(name, ring): (&String, &Frame)| Wish {
            mark: *ring,
            size_px: [lettering.width_px(name, NAMES) + 1.0, NAMES.size_px * 0.9],
        };
        let wishes: Vec<Wish> = self.names.iter().zip(&rings).map(wish).collect();
        let others: Vec<Frame> = rings[wishes.len()..].iter().copied().chain(line_words).collect();
        // The line runs through a name whose upper left corner lies above it and whose lower right one below.
        let across_line = |name: Frame| {
            let below = |x: f32, y: f32| x - frame.left > frame.bottom() - y;
            if below(name.right(), name.bottom()) && !below(name.left, name.top) { ACROSS_LINE_COST } else { 0.0 }
        };
        let places = label_places(&wishes, &others, frame.grown(-3.0), First::Beside, across_line);
        let n_left_out = places.iter().filter(|place| place.is_none()).count() + self.n_unnamed;
        Placed { square: self, frame, spots, radius, line_words, names: places, n_left_out }
    }
}

/// A place for the words on the slanting line beside it: the first one free of rings from the upper end down.
fn place_right(frame: Frame, rings: &[Frame], lettering: &Lettering) -> Option<Frame> {
    const N_PLACES: usize = 24;
    let (width, height) = (lettering.width_px(RIGHT, NUMBERS), NUMBERS.size_px);
    let places = (1..N_PLACES).flat_map(|step| {
        let share = step as f32 / N_PLACES as f32;
        let (x, y) = (frame.right() - share * frame.width, frame.top + share * frame.height);
        let above = Frame { left: x - width - 5.0, top: y - height - 5.0, width, height };
        let below = Frame { left: x + 5.0, top: y + 5.0, ..above };
        [above, below]
    });
    let inside = |place: &Frame| {
        let inner = frame.grown(-4.0);
        inner.holds(Spot { x: place.left, y: place.top }) && inner.holds(Spot { x: place.right(), y: place.bottom() })
    };
    let free = |place: &Frame| rings.iter().all(|ring| !ring.meets(place.grown(4.0)));
    places.filter(inside).find(free)
}

/// A square on the sheet.
pub(super) struct Placed<'a> {
    square: &'a Square,
    frame: Frame,
    spots: Vec<Spot>,
    radius: f32,
    line_words: Option<Frame>,
    names: Vec<Option<Place>>,
    /// Samples to be named for which there is no room.
    pub(super) n_left_out: usize,
}

impl Placed<'_> {
    /// Names that found a place.
    pub(super) fn n_named(&self) -> usize {
        self.names.iter().flatten().count()
    }

    pub(super) fn draw(&self, canvas: &mut Canvas, lettering: &Lettering) {
        let frame = self.frame;
        let (lower_left, upper_right) =
            (Spot { x: frame.left, y: frame.bottom() }, Spot { x: frame.right(), y: frame.top });
        self.axes(canvas, lettering);
        canvas.line(lower_left, upper_right, INK, 1.0);
        let radius = self.radius;
        for spot in &self.spots {
            canvas.stamp(*spot, radius + 2.0, INK, |x, y| LINE_PX - (x.hypot(y) - radius).abs());
        }
        if let Some(words) = self.line_words {
            lettering.write_centered(canvas, RIGHT, NUMBERS, words.center(), INK);
        }
        for (name, place) in self.square.names.iter().zip(&self.names) {
            let Some(Place { frame, line }) = place else { continue };
            if let Some([from, to]) = line {
                canvas.line(*from, *to, INK, 1.0);
            }
            canvas.fill_frame(*frame, PAPER);
            lettering.write_centered(canvas, name, NAMES, frame.center(), INK);
        }
    }

    fn axes(&self, canvas: &mut Canvas, lettering: &Lettering) {
        let frame = self.frame;
        canvas.fill_frame(frame.grown(EDGE_PX / 2.0), INK);
        canvas.fill_frame(frame.grown(-EDGE_PX / 2.0), PAPER);
        let half = NUMBERS.line_px() / 2.0;
        for (value, words) in self.square.axis.ticks() {
            let at = self.square.axis.spot(frame, [value, value]);
            let foot = Spot { x: at.x, y: frame.bottom() };
            let tick = Frame { left: foot.x - EDGE_PX / 2.0, top: foot.y, width: EDGE_PX, height: TICK_PX };
            canvas.fill_frame(tick, INK);
            let below = Spot { x: at.x, y: foot.y + TICK_PX + half };
            lettering.write_centered(canvas, &words, NUMBERS, below, INK);
            let side = Spot { x: frame.left, y: at.y };
            let tick = Frame { left: side.x - TICK_PX, top: side.y - EDGE_PX / 2.0, width: TICK_PX, height: EDGE_PX };
            canvas.fill_frame(tick, INK);
            let right = side.x - TICK_PX - NUMBER_GAP_PX;
            let left = right - lettering.width_px(&words, NUMBERS);
            lettering.write(canvas, &words, NUMBERS, Spot { x: left, y: at.y - half }, INK);
        }
        let mapped = Spot { x: frame.left, y: frame.top - NUMBERS.line_px() - 3.0 };
        lettering.write(canvas, "mapped", NUMBERS, mapped, INK);
        let measured = Spot { x: frame.center().x, y: frame.bottom() + TICK_PX + 3.0 * half };
        lettering.write_centered(canvas, "measured", NUMBERS, measured, INK);
    }
}

/// One scale for both axes.
struct Axis {
    from: f64,
    to: f64,
}

impl Axis {
    fn of(points: &[[f64; 2]]) -> Axis {
        let values = || points.iter().flatten();
        let (low, high) =
            (values().fold(f64::INFINITY, |a, b| a.min(*b)), values().fold(f64::NEG_INFINITY, |a, b| a.max(*b)));
        let spread = high - low;
        // Values all alike still get an axis.
        let beyond =
            if spread > 1e-9 * low.abs().max(high.abs()) { BEYOND * spread } else { (0.1 * high.abs()).max(0.5) };
        Axis { from: low - beyond, to: high + beyond }
    }

    fn spot(&self, frame: Frame, [measured, mapped]: [f64; 2]) -> Spot {
        let share = |value: f64| ((value - self.from) / (self.to - self.from)) as f32;
        Spot { x: frame.left + share(measured) * frame.width, y: frame.bottom() - share(mapped) * frame.height }
    }

    /// Round values with their words, as many as stand side by side; none in the corner, where the numbers of both axes
    /// would meet.
    fn ticks(&self) -> Vec<(f64, String)> {
        let span = self.to - self.from;
        let step = round_step(span / MOST_STEPS);
        let decimals = if step < 1.0 { (-step.log10().floor()).min(9.0) as usize } else { 0 };
        let first = ((self.from + CORNER * span) / step).ceil();
        let values = (0..=MOST_STEPS as usize).map(|n| (first + n as f64) * step).take_while(|value| *value <= self.to);
        let ticks: Vec<(f64, String)> = values.map(|value| (value, thousands(value, decimals))).collect();
        let longest = ticks.iter().map(|(_, words)| words.len()).max().unwrap_or(0) as f64;
        let every = (longest * FIGURE_SHARE / (step / span)).ceil().max(1.0) as usize;
        ticks.into_iter().step_by(every).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cell_grid::Site;
    use crate::soil_surface::Variable;

    fn square(measured: &[f64], predicted: &[f64], named_above: f64) -> Square {
        let site = |index: usize| Site { east_m: index as f64, north_m: 0.0 };
        let ids: Vec<String> = (0..measured.len()).map(|index| format!("S{index}")).collect();
        let names = SampleNames::join(ids.iter().enumerate().map(|(index, id)| (site(index), id.as_str())).collect());
        let quality = Quality {
            variable: Variable::Cec,
            method: String::new(),
            sites: (0..measured.len()).map(site).collect(),
            measured: measured.to_vec(),
            predicted: predicted.to_vec(),
            error: None,
            all_methods: Vec::new(),
        };
        Square::of(&quality, named_above, &names, &Lettering::new())
    }

    #[test]
    fn samples_missed_most_are_named_and_what_could_not_be_hidden_is_no_point() {
        let square = square(&[1.0, 2.0, 3.0, 4.0], &[1.5, 5.0, f64::NAN, 2.0], 1.0);
        assert_eq!(square.points, [[2.0, 5.0], [4.0, 2.0], [1.0, 1.5]]);
        assert_eq!(square.names, ["S1", "S3"]);
    }

    #[test]
    fn both_axes_have_one_scale_and_round_numbers() {
        let square = square(&[4.0, 26.0, 9.0], &[6.0, 20.0, 8.0], 99.0);
        let frame = Frame { left: 100.0, top: 50.0, width: 240.0, height: 240.0 };
        let ticks: Vec<String> = square.axis.ticks().into_iter().map(|(_, words)| words).collect();
        assert_eq!(ticks, ["5", "10", "15", "20", "25"]);
        for (value, _) in square.axis.ticks() {
            let at = square.axis.spot(frame, [value, value]);
            assert!((at.x - frame.left - (frame.bottom() - at.y)).abs() < 0.01, "on the slanting line");
        }
        let above = square.axis.spot(frame, [10.0, 20.0]);
        assert!(above.x - frame.left < frame.bottom() - above.y, "mapped above measured lies above the line");
    }

    #[test]
    fn every_axis_has_at_least_two_numbers_that_fit_side_by_side() {
        let lettering = Lettering::new();
        for (low, high) in
            [(5.7, 6.9), (60.0, 400.0), (0.011, 0.019), (1200.0, 3900.0), (7.0, 7.0), (-3.0, 12.0), (0.0, 0.0)]
        {
            let square = square(&[low, high], &[high, low], 1e9);
            let frame = Frame { left: 0.0, top: 0.0, width: 240.0, height: 240.0 };
            let ticks = square.axis.ticks();
            assert!(ticks.len() >= 2, "{low} to {high}");
            for pair in ticks.windows(2) {
                let [left, right] = [&pair[0], &pair[1]].map(|(value, words)| {
                    (square.axis.spot(frame, [*value, *value]).x, lettering.width_px(words, NUMBERS))
                });
                assert!(right.0 - left.0 > (left.1 + right.1) / 2.0 + 4.0, "{low} to {high}: {ticks:?}");
            }
        }
    }
}
