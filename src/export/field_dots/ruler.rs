//! One ruler: a line with round ticks, a dot a field above it, and words for its marks below.

use super::lanes::{Flag, heap, lanes};
use crate::export::map_png::canvas::{Canvas, Frame, Spot};
use crate::export::map_png::text::{Lettering, Letters};
use crate::export::map_png::{INK, PAPER, Rgb, WIDTH_PX};

/// Paper at the left and the right, pixels.
pub(super) const MARGIN_PX: f32 = 48.0;
pub(super) const HEADING: Letters = Letters { size_px: 29.0, weight_px: 0.9 };
const NAMES: Letters = Letters { size_px: 25.0, weight_px: 0.5 };
const MARKED_NAMES: Letters = Letters { size_px: 25.0, weight_px: 1.0 };
const NUMBERS: Letters = Letters { size_px: 23.0, weight_px: 0.4 };
/// Lines from a named dot down to the ruler.
const HAIR: Rgb = Rgb::hex(0xb9b4ae);
const DOT_PX: f32 = 7.0;
const LANE_PX: f32 = 32.0;
/// Widest name, pixels; a longer one is cut.
const WIDEST_NAME_PX: f32 = 380.0;
/// Most dots one above another before dots get smaller, then stand for several fields each.
const MOST_HEAPED: usize = 26;

/// A field on a ruler.
#[derive(Debug, Clone)]
pub(super) struct Dot {
    pub(super) value: f64,
    /// Open ring: fallow.
    pub(super) is_open: bool,
    /// Name, cut where too long; empty: a dot in the heap.
    pub(super) name: String,
    /// What follows the name, never cut: figure and marks.
    pub(super) after: String,
    /// Its words are heavier.
    pub(super) is_marked: bool,
}

/// A mark below the ruler.
#[derive(Debug, Clone)]
pub(super) enum Mark {
    /// A tick with words.
    Tick(f64, String),
    /// A bracket between two values with words.
    Bracket([f64; 2], String),
    /// Words between two values, with ticks at both.
    Span([f64; 2], String),
}

/// What one ruler shows.
#[derive(Debug, Clone)]
pub(super) struct Ruler {
    pub(super) heading: String,
    /// Least and most the ruler shows at least.
    pub(super) range: [f64; 2],
    /// The ruler never runs beyond this.
    pub(super) end: f64,
    /// Dots, ascending.
    pub(super) dots: Vec<Dot>,
    /// Marks, each row of them on a line of its own.
    pub(super) marks: Vec<Vec<Mark>>,
}

/// A ruler with every place found.
pub(super) struct Placed<'a> {
    ruler: &'a Ruler,
    px_per_unit: f64,
    /// Name, words and lane of named dots, by position in `dots`.
    flags: Vec<(usize, String, usize)>,
    /// Place, level and openness of heaped dots.
    heaped: Vec<(f32, usize, bool)>,
    heap_dot_px: f32,
    /// Fields one dot of the heap stands for.
    pub(super) fields_a_dot: usize,
    above_px: f32,
}

impl<'a> Placed<'a> {
    pub(super) fn of(ruler: &'a Ruler, lettering: &Lettering) -> Self {
        let room_px = f64::from(WIDTH_PX as f32 - 2.0 * MARGIN_PX);
        let [low, high] = ruler.range;
        let words: Vec<(usize, String, f32)> = ruler
            .dots
            .iter()
            .enumerate()
            .filter(|(_, dot)| !dot.after.is_empty())
            .map(|(index, dot)| {
                let name = lettering.cut(dot.name.trim(), NAMES, WIDEST_NAME_PX);
                let words = format!("{name}: {}", dot.after);
                let letters = letters_of(dot);
                let width_px = lettering.width_px(&words, letters) + 2.0 * DOT_PX + 4.0;
                (index, words, width_px)
            })
            .collect();
        // Names run to the right, so the ruler is only as long as the last of them lets it be.
        let widest = words.iter().map(|(index, _, width_px)| {
            let along = ruler.dots[*index].value - low;
            if along > 0.0 { (room_px - f64::from(*width_px)).max(1.0) / along } else { f64::INFINITY }
        });
        let px_per_unit = widest.fold((room_px - 2.0 * f64::from(DOT_PX)) / (high - low).max(1e-9), f64::min);
        let x = |value: f64| MARGIN_PX + ((value - low) * px_per_unit) as f32;

        let unnamed: Vec<&Dot> = ruler.dots.iter().filter(|dot| dot.after.is_empty()).collect();
        let (heaped, heap_dot_px, fields_a_dot) = heaped(&unnamed, x);
        let floor_px = |from: f32, to: f32| {
            let below = heaped
                .iter()
                .filter(|(x, _, _)| (from - DOT_PX - heap_dot_px..=to).contains(x))
                .map(|(_, level, _)| level + 1);
            below.max().map_or(0.0, |levels| levels as f32 * (2.0 * heap_dot_px + 1.0))
        };
        let flags: Vec<Flag> = words
            .iter()
            .map(|(index, _, reach_px)| Flag { x: x(ruler.dots[*index].value), reach_px: *reach_px })
            .collect();
        let lanes = lanes(&flags, LANE_PX, floor_px);
        let top_lane = lanes.iter().max().map_or(0.0, |lane| (*lane as f32 + 1.0) * LANE_PX);
        let heap_px = floor_px(f32::MIN, f32::MAX);
        let flags = words.into_iter().zip(lanes).map(|((index, words, _), lane)| (index, words, lane)).collect();
        Placed { ruler, px_per_unit, flags, heaped, heap_dot_px, fields_a_dot, above_px: top_lane.max(heap_px) + 10.0 }
    }

    fn x(&self, value: f64) -> f32 {
        MARGIN_PX + ((value - self.ruler.range[0]) * self.px_per_unit) as f32
    }

    pub(super) fn height_px(&self) -> f32 {
        let below = (1 + self.ruler.marks.len()) as f32 * NUMBERS.line_px() + 14.0;
        HEADING.line_px() + 10.0 + self.above_px + below
    }

    pub(super) fn draw(&self, canvas: &mut Canvas, lettering: &Lettering, top: f32) {
        lettering.write(canvas, &self.ruler.heading, HEADING, Spot { x: MARGIN_PX, y: top }, INK);
        let y = (top + HEADING.line_px() + 10.0 + self.above_px).round();
        let middle_of = |lane: usize| y - (lane as f32 + 0.5) * LANE_PX - 4.0;
        for (index, _, lane) in &self.flags {
            let x = self.x(self.ruler.dots[*index].value);
            canvas.line(Spot { x, y: middle_of(*lane) }, Spot { x, y }, HAIR, 1.0);
        }
        self.line(canvas, lettering, y);
        for (x, level, is_open) in &self.heaped {
            let up = (*level as f32 + 0.5) * (2.0 * self.heap_dot_px + 1.0) + 2.0;
            dot(canvas, Spot { x: *x, y: y - up }, self.heap_dot_px, *is_open);
        }
        for (index, words, lane) in &self.flags {
            let field = &self.ruler.dots[*index];
            let at = Spot { x: self.x(field.value), y: middle_of(*lane) };
            dot(canvas, at, DOT_PX, field.is_open);
            let left = at.x + DOT_PX + 7.0;
            let top = at.y - NAMES.line_px() / 2.0;
            lettering.write(canvas, words, letters_of(field), Spot { x: left, y: top }, INK);
        }
        let mut below = y + 8.0 + NUMBERS.line_px();
        for row in &self.ruler.marks {
            for mark in row {
                self.mark(canvas, lettering, mark, y, below);
            }
            below += NUMBERS.line_px();
        }
    }

    /// The ruler itself with ticks at round values.
    fn line(&self, canvas: &mut Canvas, lettering: &Lettering, y: f32) {
        let low = self.ruler.range[0];
        let room_px = f64::from(WIDTH_PX as f32 - 2.0 * MARGIN_PX);
        let last = (low + room_px / self.px_per_unit).min(self.ruler.end);
        canvas.line(Spot { x: MARGIN_PX, y }, Spot { x: self.x(last), y }, INK, 2.0);
        let step = round_step(72.0 / self.px_per_unit);
        let decimals = if step < 1.0 { (-step.log10().floor()) as usize } else { 0 };
        let mut n = (low / step).ceil();
        while n * step <= last + 1e-9 {
            let x = self.x(n * step);
            canvas.line(Spot { x, y }, Spot { x, y: y + 8.0 }, INK, 1.5);
            let words = format!("{:.decimals$}", n * step);
            let half = lettering.width_px(&words, NUMBERS) / 2.0;
            let at = Spot { x: x.clamp(half, WIDTH_PX as f32 - half), y: y + 8.0 + NUMBERS.line_px() / 2.0 };
            lettering.write_centered(canvas, &words, NUMBERS, at, INK);
            n += 1.0;
        }
    }

    fn mark(&self, canvas: &mut Canvas, lettering: &Lettering, mark: &Mark, ruler_y: f32, top: f32) {
        let middle = top + NUMBERS.line_px() / 2.0;
        let mut tick = |value: f64, to: f32| {
            let x = self.x(value);
            canvas.line(Spot { x, y: ruler_y - 9.0 }, Spot { x, y: ruler_y + 9.0 }, INK, 2.5);
            canvas.line(Spot { x, y: top + 3.0 }, Spot { x, y: to }, INK, 1.5);
        };
        match mark {
            Mark::Tick(value, words) => {
                tick(*value, top + NUMBERS.line_px() - 3.0);
                self.beside(canvas, lettering, words, self.x(*value), top);
            }
            Mark::Bracket([from, to], words) => {
                tick(*from, middle);
                tick(*to, middle);
                let (left, right) = (self.x(*from), self.x(*to));
                canvas.line(Spot { x: left, y: middle }, Spot { x: right, y: middle }, INK, 1.5);
                let gap_px = lettering.width_px(words, NUMBERS) + 16.0;
                if gap_px + 24.0 <= right - left {
                    let at = Spot { x: (left + right) / 2.0, y: middle };
                    canvas.fill_frame(Frame::around(at, gap_px, 8.0), PAPER);
                    lettering.write_centered(canvas, words, NUMBERS, at, INK);
                } else {
                    self.beside(canvas, lettering, words, right, top);
                }
            }
            Mark::Span([from, to], words) => {
                let edge = WIDTH_PX as f32 - MARGIN_PX;
                let (left, right) = (self.x(*from).max(MARGIN_PX), self.x(*to).min(edge));
                if *to < self.ruler.end && self.x(*to) < edge {
                    tick(*to, top + NUMBERS.line_px() - 3.0);
                }
                if lettering.width_px(words, NUMBERS) + 12.0 <= right - left {
                    let at = Spot { x: (left + right) / 2.0, y: middle };
                    lettering.write_centered(canvas, words, NUMBERS, at, INK);
                }
            }
        }
    }

    /// Words at the right of a place, or at the left where there is no room.
    fn beside(&self, canvas: &mut Canvas, lettering: &Lettering, words: &str, x: f32, top: f32) {
        let width_px = lettering.width_px(words, NUMBERS);
        let fits = x + 10.0 + width_px <= WIDTH_PX as f32 - 12.0;
        let left = if fits { x + 10.0 } else { (x - 10.0 - width_px).max(8.0) };
        lettering.write(canvas, words, NUMBERS, Spot { x: left, y: top }, INK);
    }
}

fn letters_of(dot: &Dot) -> Letters {
    if dot.is_marked { MARKED_NAMES } else { NAMES }
}

fn dot(canvas: &mut Canvas, at: Spot, radius_px: f32, is_open: bool) {
    canvas.disc(at, radius_px, INK);
    if is_open {
        canvas.disc(at, radius_px * 0.66, PAPER);
    }
}

/// Heaps dots on the ruler: smaller ones where the heap grows high, then one dot for several fields.
fn heaped(dots: &[&Dot], x: impl Fn(f64) -> f32) -> (Vec<(f32, usize, bool)>, f32, usize) {
    const SMALLEST_PX: f32 = 2.5;
    let mut radius_px = 6.0;
    let mut fields_a_dot = 1;
    loop {
        let groups: Vec<&[&Dot]> = dots.chunks(fields_a_dot).collect();
        // The middle one of a group says where its dot stands.
        let xs: Vec<f32> = groups.iter().map(|group| x(group[group.len() / 2].value)).collect();
        let levels = heap(&xs, 2.0 * radius_px + 1.0);
        if levels.iter().all(|level| *level < MOST_HEAPED) || fields_a_dot >= dots.len() {
            let is_open = groups.iter().map(|group| group.iter().all(|dot| dot.is_open));
            let placed = xs.iter().zip(levels).zip(is_open).map(|((x, level), is_open)| (*x, level, is_open));
            return (placed.collect(), radius_px, fields_a_dot);
        }
        if radius_px > SMALLEST_PX {
            radius_px = (radius_px - 1.0).max(SMALLEST_PX);
        } else {
            fields_a_dot = if fields_a_dot == 1 { 2 } else { fields_a_dot * 5 / 2 };
        }
    }
}

/// The least of 1, 2, 5 times a power of ten that is at least `least`.
pub(in crate::export) fn round_step(least: f64) -> f64 {
    let power = 10f64.powf(least.log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|lead| lead * power)
        .find(|step| *step >= least * (1.0 - 1e-9))
        .unwrap_or(power * 10.0)
}
