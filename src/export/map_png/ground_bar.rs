//! The ground bar: one bar under the map, each segment as long as its class's share of the ground, with its words on it.
//! Key, histogram and area table at once.

use super::breaks::{class_words, with_decimals};
use super::canvas::{Canvas, Frame, Spot};
use super::ground::sand;
use super::palette::{INK, Rgb};
use super::text::{Lettering, Letters};
use super::{MapPicture, Shade};

const WORDS: Letters = Letters { size_px: 28.0, weight_px: 0.6 };
const PAD_X_PX: f32 = 9.0;
const PAD_Y_PX: f32 = 11.0;
const EDGE_PX: f32 = 1.5;
/// Height of the strip of sand under a segment's words, pixels.
const SAND_PX: f32 = 24.0;
/// Most lines of words inside a segment.
const MOST_LINES: usize = 3;
/// From the bar to the first row of words under it, pixels.
const DROP_PX: f32 = 18.0;
/// Least distance between the lines from words under the bar up to it, pixels.
const LINES_APART_PX: f32 = 14.0;
/// From words beside their line to the line, pixels.
const BESIDE_PX: f32 = 8.0;
/// Longest words under the bar, as a share of the bar.
const LONGEST_BELOW: f32 = 0.7;

/// One class on the bar.
#[derive(Debug)]
struct Segment {
    left: f32,
    width: f32,
    color: Rgb,
    /// Density of the sand on the class's ground, 0 to 1.
    sand: f64,
    words: Words,
}

impl Segment {
    /// Height of its strip of sand, pixels.
    fn sand_px(&self) -> f32 {
        if self.sand > 0.0 { SAND_PX } else { 0.0 }
    }
}

/// Where a segment's words stand.
#[derive(Debug)]
enum Words {
    Inside(Vec<String>),
    /// On paper under the bar, with a line up to the segment.
    Below(String),
}

/// Words on paper under the bar.
#[derive(Debug, Clone, Copy)]
struct Placed {
    row: usize,
    left: f32,
    width: f32,
    /// Middle of the segment.
    segment_x: f32,
    /// Where the line up to the segment stands; it bends where segments are too thin for a line each.
    line_x: f32,
}

impl Placed {
    /// These words with their line `shift` pixels from their left end, kept between the ends of the bar.
    fn shifted(self, shift: f32, ends: (f32, f32)) -> Placed {
        Placed { left: (self.line_x - shift).clamp(ends.0, (ends.1 - self.width).max(ends.0)), ..self }
    }

    /// Whether words cover each other, or the line to the one runs through the words of the other.
    fn clashes(self, other: Placed) -> bool {
        const GAP_PX: f32 = 14.0;
        let covers = |words: Placed, x: f32| (words.left - 5.0..=words.left + words.width + 5.0).contains(&x);
        match self.row.cmp(&other.row) {
            std::cmp::Ordering::Equal => {
                self.left < other.left + other.width + GAP_PX && other.left < self.left + self.width + GAP_PX
            }
            std::cmp::Ordering::Less => covers(self, other.line_x),
            std::cmp::Ordering::Greater => covers(other, self.line_x),
        }
    }
}

/// The bar, laid out before the picture's height is known.
#[derive(Debug)]
pub(super) struct GroundBar {
    left: f32,
    width: f32,
    bar_height: f32,
    segments: Vec<Segment>,
    /// One for each [`Words::Below`], in order.
    below: Vec<Placed>,
}

impl GroundBar {
    /// Lays out the bar between `left` and `left + width`. `classes` has one class a cell of the mask's grid.
    pub(super) fn plan(
        picture: &MapPicture,
        classes: &[u8],
        colors: &[Rgb],
        lettering: &Lettering,
        left: f32,
        width: f32,
    ) -> GroundBar {
        let mut n_cells = vec![0usize; colors.len()];
        let mut sand = vec![0.0; colors.len()];
        for cell in picture.mask.cells() {
            n_cells[usize::from(classes[cell])] += 1;
            sand[usize::from(classes[cell])] += picture.sand.map_or(0.0, |density| density[cell]);
        }
        let n_all = picture.mask.n_inside();
        let mut segments = Vec::new();
        let mut at = left;
        for (class, &n) in n_cells.iter().enumerate().filter(|&(_, &n)| n > 0) {
            let share = n as f64 / n_all as f64;
            let segment_width = (f64::from(width) * share) as f32;
            let words = class_name(picture, class, share);
            let words = match pack(lettering, &words, segment_width - 2.0 * PAD_X_PX) {
                Some(lines) => Words::Inside(lines),
                None => Words::Below(lettering.cut(&words, WORDS, width * LONGEST_BELOW)),
            };
            let sand = sand[class] / n as f64;
            segments.push(Segment { left: at, width: segment_width, color: colors[class], sand, words });
            at += segment_width;
        }
        let n_lines = |segment: &Segment| match &segment.words {
            Words::Inside(lines) => lines.len(),
            Words::Below(_) => 1,
        };
        let inner = |segment: &Segment| n_lines(segment) as f32 * WORDS.line_px() + segment.sand_px();
        let bar_height = segments.iter().map(inner).fold(WORDS.line_px(), f32::max) + 2.0 * PAD_Y_PX;
        let below = place_below(&segments, lettering, left, width);
        GroundBar { left, width, bar_height, segments, below }
    }

    /// Height of the bar and the words under it, pixels.
    pub(super) fn height(&self) -> f32 {
        let n_rows = self.below.iter().map(|placed| placed.row + 1).max().unwrap_or(0);
        let drop = if n_rows > 0 { DROP_PX } else { 0.0 };
        self.bar_height + drop + n_rows as f32 * WORDS.line_px()
    }

    /// Draws the bar with its top at `top`.
    pub(super) fn draw(&self, canvas: &mut Canvas, lettering: &Lettering, top: f32) {
        let bottom = top + self.bar_height;
        let mut below = self.below.iter();
        for segment in &self.segments {
            let frame = Frame { left: segment.left, top, width: segment.width, height: self.bar_height };
            canvas.fill_frame(frame, segment.color);
            let text = segment.color.text();
            let strip = Frame { top: bottom - SAND_PX - 3.0, height: SAND_PX, ..frame };
            sand(canvas, strip, |spot| strip.grown(-4.0).holds(spot).then_some((segment.sand, text)));
            match &segment.words {
                Words::Inside(lines) => {
                    let middle = frame.center().y - segment.sand_px() / 2.0;
                    for (index, line) in lines.iter().enumerate() {
                        let y = middle + (index as f32 + 0.5 - lines.len() as f32 / 2.0) * WORDS.line_px();
                        lettering.write_centered(canvas, line, WORDS, Spot { x: frame.center().x, y }, text);
                    }
                }
                Words::Below(line) => {
                    let Some(placed) = below.next() else { continue };
                    let y = bottom + DROP_PX + placed.row as f32 * WORDS.line_px();
                    let bend = Spot { x: placed.line_x, y: bottom + DROP_PX - 4.0 };
                    canvas.line(Spot { x: placed.segment_x, y: bottom }, bend, INK, EDGE_PX);
                    let beside = bend.x < placed.left || bend.x > placed.left + placed.width;
                    let end = if beside { y + 0.8 * WORDS.line_px() } else { y + 2.0 };
                    canvas.line(bend, Spot { y: end, ..bend }, INK, EDGE_PX);
                    lettering.write(canvas, line, WORDS, Spot { x: placed.left, y }, INK);
                }
            }
        }
        for segment in self.segments.iter().skip(1) {
            let x = segment.left;
            canvas.line(Spot { x, y: top }, Spot { x, y: bottom }, INK, EDGE_PX);
        }
        let (left, right) = (self.left, self.left + self.width);
        for (from, to) in [((left, top), (right, top)), ((left, bottom), (right, bottom))] {
            canvas.line(Spot { x: from.0 - 0.75, y: from.1 }, Spot { x: to.0 + 0.75, y: to.1 }, INK, EDGE_PX);
        }
        for x in [left, right] {
            canvas.line(Spot { x, y: top }, Spot { x, y: bottom }, INK, EDGE_PX);
        }
    }
}

/// The words of a class; for a surface the range of values and the area.
fn class_name(picture: &MapPicture, class: usize, share: f64) -> String {
    match picture.shade {
        Shade::Classes { names, .. } => names[class].clone(),
        Shade::Surface { values, breaks, .. } => {
            let on_map = || picture.mask.cells().map(|cell| values[cell]);
            let range = (on_map().fold(f64::INFINITY, f64::min), on_map().fold(f64::NEG_INFINITY, f64::max));
            let area = super::area_words(picture.units, picture.area_m2 * share);
            format!("{}  {area}", class_words(breaks, class, range))
        }
    }
}

/// The words in at most [`MOST_LINES`] lines of `room_px`, broken only where two blanks stand. `None`: they do not fit.
fn pack(lettering: &Lettering, words: &str, room_px: f32) -> Option<Vec<String>> {
    let mut lines: Vec<String> = Vec::new();
    for part in words.split("  ").map(str::trim).filter(|part| !part.is_empty()) {
        let longer = lines.last().map(|line| format!("{line}  {part}"));
        match longer {
            Some(longer) if lettering.width_px(&longer, WORDS) <= room_px => {
                lines.pop();
                lines.push(longer);
            }
            _ => lines.push(part.to_owned()),
        }
    }
    let fits = lines.iter().all(|line| lettering.width_px(line, WORDS) <= room_px);
    (fits && lines.len() <= MOST_LINES).then_some(lines)
}

/// Finds places for the words under the bar in as few rows as go without clashes.
fn place_below(segments: &[Segment], lettering: &Lettering, left: f32, width: f32) -> Vec<Placed> {
    let right = left + width;
    let mut waiting: Vec<Placed> = Vec::new();
    for segment in segments {
        let Words::Below(words) = &segment.words else { continue };
        let segment_x = segment.left + segment.width / 2.0;
        let line_x = waiting.last().map_or(segment_x, |last| segment_x.max(last.line_x + LINES_APART_PX));
        waiting.push(Placed { row: 0, left, width: lettering.width_px(words, WORDS), segment_x, line_x });
    }
    // Pushed apart to the right; what went over the end goes back.
    let mut most = right;
    for words in waiting.iter_mut().rev() {
        words.line_x = words.line_x.min(most);
        most = words.line_x - LINES_APART_PX;
    }
    let mut placed = Vec::new();
    for n_rows in 1..=waiting.len() {
        if place_rest(&waiting, n_rows, (left, right), &mut placed) {
            return placed;
        }
    }
    // Hardly ever: a row for each, whatever crosses.
    waiting
        .iter()
        .enumerate()
        .map(|(row, words)| Placed { row, ..words.shifted(words.width / 2.0, (left, right)) })
        .collect()
}

/// Tries rows and sides for the next words, then for the rest; takes back what leads nowhere. At most 6 classes wait.
fn place_rest(waiting: &[Placed], n_rows: usize, ends: (f32, f32), placed: &mut Vec<Placed>) -> bool {
    let Some(words) = waiting.get(placed.len()) else { return true };
    for row in 0..n_rows {
        // To the right of their line, to the left of it, centered under it.
        for shift in [-BESIDE_PX, words.width + BESIDE_PX, words.width / 2.0] {
            let next = Placed { row, ..words.shifted(shift, ends) };
            if placed.iter().any(|&before| next.clashes(before)) {
                continue;
            }
            placed.push(next);
            if place_rest(waiting, n_rows, ends, placed) {
                return true;
            }
            placed.pop();
        }
    }
    false
}

/// "length = share of 160 ac", the line that says how to read the bar.
pub(super) fn reading(picture: &MapPicture) -> String {
    format!("length = share of {}", super::area_words(picture.units, picture.area_m2))
}

/// An area with one decimal below ten.
pub(super) fn area_words(area: f64, unit: &str) -> String {
    format!("{} {unit}", with_decimals(area, if area < 9.95 { 1 } else { 0 }))
}

#[cfg(test)]
mod tests {
    use super::super::tests::{Demo, zones_of};
    use super::*;

    fn plan(classes: Vec<u8>, names: &[&str]) -> GroundBar {
        let demo = Demo::square(20, classes);
        let names: Vec<String> = names.iter().map(|&name| name.to_owned()).collect();
        let picture = demo.picture(zones_of(&demo, &names));
        let colors = super::super::Palette::Ground.steps(names.len());
        GroundBar::plan(&picture, &demo.classes, colors, &Lettering::new(), 48.0, 984.0)
    }

    #[test]
    fn segments_are_as_long_as_their_share_of_the_ground() {
        let classes = (0..400)
            .map(|cell| {
                if cell < 100 {
                    0
                } else if cell < 104 {
                    1
                } else {
                    2
                }
            })
            .collect();
        let bar = plan(classes, &["1  CEC 5.1  32 ac", "2  CEC 9  1.3 ac", "3  CEC 20  96 ac"]);
        let widths: Vec<f32> = bar.segments.iter().map(|segment| segment.width).collect();
        for (width, n) in widths.iter().zip([100.0, 4.0, 296.0]) {
            assert!((width - 984.0 * n / 400.0).abs() < 0.01, "{widths:?}");
        }
        assert!((bar.segments[2].left + widths[2] - (48.0 + 984.0)).abs() < 0.01);
        assert!(matches!(bar.segments[1].words, Words::Below(_)) && bar.below.len() == 1);
    }

    #[test]
    fn a_class_without_ground_has_no_segment() {
        let bar = plan(vec![1; 400], &["1  none", "2  all of it", "3  none"]);
        assert_eq!(bar.segments.len(), 1);
        assert!((bar.segments[0].width - 984.0).abs() < 0.01);
    }

    #[test]
    fn words_under_the_bar_never_clash() {
        let classes: Vec<u8> = (0..400).map(|cell: usize| cell.min(5) as u8).collect();
        let names: Vec<String> = (1..=6).map(|zone| format!("{zone}  CEC {zone}.4  0.4 ac")).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let bar = plan(classes, &names);
        assert_eq!(bar.below.len(), 5);
        for (index, one) in bar.below.iter().enumerate() {
            assert!(one.left >= 48.0 && one.left + one.width <= 48.0 + 984.0 + 0.5);
            assert!(bar.below[..index].iter().all(|other| !one.clashes(*other)), "{:?}", bar.below);
        }
    }
}
