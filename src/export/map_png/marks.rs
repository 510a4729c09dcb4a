//! What stands on the ground: samples, the words of zones, and beside it the scale and the north line.

use tiny_skia::{FillRule, Mask, Transform};

use super::breaks::with_decimals;
use super::canvas::{Canvas, Frame, Spot, rings_path};
use super::ground::View;
use super::palette::{INK, PAPER};
use super::text::{Lettering, Letters};
use super::{MapPicture, SampleMark, SampleRing, ZoneRings};
use crate::cell_grid::Site;
use crate::units::UnitSystem;

/// Words of zones, the scale and the letter N.
pub(in crate::export) const WORDS: Letters = Letters { size_px: 28.0, weight_px: 0.9 };
/// Radius of a sample's ring where samples lie far apart, pixels.
const RING_PX: f32 = 7.5;
/// How far a bar through a ring stands out on either side, pixels.
pub(in crate::export) const BAR_PX: f32 = 6.0;
/// Half the length of a plus or minus sign, pixels.
const SIGN_PX: f32 = 7.0;
/// Width of ring lines and of the paper on either side of them, pixels.
const RING_LINE_PX: f32 = 2.0;
const HALO_PX: f32 = 1.5;
/// Longest zone words in one line, and longest line of more than one, pixels.
const ONE_LINE_PX: f32 = 260.0;
const MORE_LINES_PX: f32 = 230.0;
/// Longest scale, pixels.
const SCALE_PX: f64 = 260.0;

/// Draws every sample on the map's frame. Rings shrink where samples lie so close that they would touch.
pub(in crate::export) fn samples(canvas: &mut Canvas, lettering: &Lettering, view: &View, samples: &[SampleRing]) {
    let radius = ring_px(view, samples.len());
    let line = RING_LINE_PX / 2.0;
    // Plain rings first, so that the marks that ask for a look lie on top.
    let plain = |sample: &&SampleRing| sample.mark == SampleMark::Plain;
    // A place far outside the field would land on the words round the map.
    let on_map = view.frame.grown(RING_PX + 4.0);
    for sample in samples.iter().filter(plain).chain(samples.iter().filter(|sample| !plain(sample))) {
        let at = view.spot(sample.at);
        if !on_map.holds(at) {
            continue;
        }
        let ring = move |x: f32, y: f32| -((x * x + y * y).sqrt() - radius).abs();
        let bar = move |x: f32, y: f32| -y.abs().max((x.abs() - radius - BAR_PX).max(0.0));
        let upright = move |x: f32, y: f32| bar(y, x);
        // Signs stand close together: shorter than what marks a place.
        let stroke = |x: f32, y: f32| -y.abs().max((x.abs() - SIGN_PX).max(0.0));
        let mut lay = |shape: &dyn Fn(f32, f32) -> f32| {
            for (half, color) in [(line + HALO_PX, PAPER), (line, INK)] {
                canvas.stamp(at, radius + 12.0, color, |x, y| shape(x, y) + half);
            }
        };
        match sample.mark {
            SampleMark::Plain => lay(&ring),
            SampleMark::LookAt => lay(&|x, y| ring(x, y).max(bar(x, y))),
            SampleMark::Less => lay(&stroke),
            SampleMark::More => lay(&|x, y| stroke(x, y).max(stroke(y, x))),
            SampleMark::OneMore => lay(&|x, y| bar(x, y).max(upright(x, y))),
            SampleMark::Check(letter) => {
                let side = WORDS.line_px();
                plate(canvas, Frame::around(at, side, side));
                lettering.write_centered(canvas, &letter.to_string(), WORDS, at, INK);
            }
        }
    }
}

/// Radius of the rings of `n` samples, to the middle of their line, pixels.
pub(in crate::export) fn ring_px(view: &View, n_samples: usize) -> f32 {
    let apart_px = (view.frame.width * view.frame.height / n_samples.max(1) as f32).sqrt();
    (apart_px * 0.2).clamp(2.5, RING_PX)
}

/// Paper with an ink edge, for words over ground.
fn plate(canvas: &mut Canvas, frame: Frame) {
    let (left, top) = (frame.left.round(), frame.top.round());
    let frame = Frame { left, top, width: frame.width.round(), height: frame.height.round() };
    canvas.fill_frame(frame, INK);
    canvas.fill_frame(frame.grown(-1.5), PAPER);
}

/// The words of one zone on their plate.
struct Plate {
    lines: Vec<String>,
    frame: Frame,
    /// Where the zone lies, if the plate had to stand elsewhere.
    line_to: Option<Spot>,
}

/// What plates should not hide.
struct Obstacles {
    /// Places with the radius of their mark and what hiding them counts.
    marks: Vec<(Spot, f32, f32)>,
    /// Kept-off ground.
    keep_off: Stencil,
}

impl Obstacles {
    fn of(view: &View, picture: &MapPicture) -> Obstacles {
        let mark = |sample: &SampleRing| match sample.mark {
            SampleMark::Plain => (view.spot(sample.at), RING_PX, 1.0),
            SampleMark::LookAt | SampleMark::OneMore => (view.spot(sample.at), RING_PX + 6.0, 3.0),
            SampleMark::Less | SampleMark::More => (view.spot(sample.at), SIGN_PX + 2.0, 1.0),
            SampleMark::Check(_) => (view.spot(sample.at), WORDS.line_px() / 2.0 + 4.0, 10.0),
        };
        Obstacles { marks: picture.samples.iter().map(mark).collect(), keep_off: Stencil::of(view, picture.keep_off) }
    }

    /// How much a plate would hide; one sample counts 1.
    fn hidden(&self, frame: Frame) -> f32 {
        let marks = self.marks.iter().filter(|(spot, radius, _)| frame.grown(*radius).holds(*spot));
        let kept_off = edge(frame).any(|spot| self.keep_off.holds(spot));
        marks.map(|(_, _, counts)| counts).sum::<f32>() + if kept_off { 3.0 } else { 0.0 }
    }
}

/// Writes each zone's number and words where they fit inside the zone; else the number alone; else the number beside it
/// with a line to the zone. `room` is where plates may stand.
pub(super) fn zone_words(canvas: &mut Canvas, lettering: &Lettering, view: &View, picture: &MapPicture, room: Frame) {
    let obstacles = Obstacles::of(view, picture);
    let mut plates: Vec<Plate> = Vec::new();
    let mut too_small = Vec::new();
    for zone in picture.zones {
        let inside = Stencil::of(view, &zone.rings);
        let asked = view.spot(zone.label_at);
        match inside_zone(lettering, zone, &inside, asked, &obstacles, &plates) {
            Some(plate) => plates.push(plate),
            None => too_small.push((zone, inside, asked)),
        }
    }
    for (zone, inside, asked) in too_small {
        let lines = vec![zone.zone.to_string()];
        let (width, height) = plate_size(lettering, &lines);
        let frame = beside_zone((width, height), &inside, asked, &obstacles, &plates, room);
        plates.extend(frame.map(|frame| Plate { lines, frame, line_to: Some(asked) }));
    }
    for words in &plates {
        if let Some(spot) = words.line_to {
            canvas.line(words.frame.center(), spot, PAPER, 5.0);
            canvas.line(words.frame.center(), spot, INK, RING_LINE_PX);
            canvas.disc(spot, 4.5, INK);
        }
    }
    for words in &plates {
        plate(canvas, words.frame);
        let center = words.frame.center();
        for (index, line) in words.lines.iter().enumerate() {
            let shift = (index as f32 + 0.5 - words.lines.len() as f32 / 2.0) * WORDS.line_px();
            lettering.write_centered(canvas, line, WORDS, Spot { x: center.x, y: center.y + shift }, INK);
        }
    }
}

/// Number and words in one, two or three lines, then the number alone; only the three lines may be cut.
fn wordings(lettering: &Lettering, zone: &ZoneRings) -> Vec<Vec<String>> {
    let number = zone.zone.to_string();
    let full = format!("{number}  {}", zone.words.trim());
    let full = full.trim_end();
    let mut wordings = Vec::new();
    if lettering.width_px(full, WORDS) <= ONE_LINE_PX {
        wordings.push(vec![full.to_owned()]);
    }
    let uncut = |lines: &Vec<String>| !lines.iter().any(|line| line.ends_with('\u{2026}'));
    wordings.extend(Some(lettering.wrap(full, WORDS, MORE_LINES_PX, 2)).filter(uncut));
    wordings.push(lettering.wrap(full, WORDS, MORE_LINES_PX, 3));
    wordings.push(vec![number]);
    wordings
}

fn plate_size(lettering: &Lettering, lines: &[String]) -> (f32, f32) {
    let width = lines.iter().map(|line| lettering.width_px(line, WORDS)).fold(0.0, f32::max);
    (width + 20.0, lines.len() as f32 * WORDS.line_px() + 6.0)
}

/// The plate inside the zone near the place asked for, hiding little. `None`: not even the number fits.
fn inside_zone(
    lettering: &Lettering,
    zone: &ZoneRings,
    inside: &Stencil,
    asked: Spot,
    obstacles: &Obstacles,
    plates: &[Plate],
) -> Option<Plate> {
    const STEP_PX: f32 = 12.0;
    const N_STEPS: i32 = 14;
    const HIDDEN_COSTS_PX: f32 = 70.0;
    for lines in wordings(lettering, zone) {
        let (width, height) = plate_size(lettering, &lines);
        let mut best: Option<(f32, Frame)> = None;
        for step in 0..(2 * N_STEPS + 1).pow(2) {
            let (col, row) = (step % (2 * N_STEPS + 1) - N_STEPS, step / (2 * N_STEPS + 1) - N_STEPS);
            let (dx, dy) = (col as f32 * STEP_PX, row as f32 * STEP_PX);
            let frame = Frame::around(Spot { x: asked.x + dx, y: asked.y + dy }, width, height);
            let better = |cost: f32| best.is_none_or(|(least, _)| cost < least);
            if !better(dx.hypot(dy)) {
                continue;
            }
            let cost = dx.hypot(dy) + HIDDEN_COSTS_PX * obstacles.hidden(frame);
            let free = || plates.iter().all(|plate| !plate.frame.meets(frame));
            if better(cost) && free() && edge(frame.grown(4.0)).all(|spot| inside.holds(spot)) {
                best = Some((cost, frame));
            }
        }
        if let Some((_, frame)) = best {
            return Some(Plate { lines, frame, line_to: None });
        }
    }
    None
}

/// A place for a plate near the zone, on paper or other ground. `None`: no room at all.
fn beside_zone(
    (width, height): (f32, f32),
    inside: &Stencil,
    asked: Spot,
    obstacles: &Obstacles,
    plates: &[Plate],
    room: Frame,
) -> Option<Frame> {
    const N_WAYS: usize = 16;
    let mut best: Option<(f32, Frame)> = None;
    for step in 0..20 * N_WAYS {
        let away = 50.0 + (step / N_WAYS) as f32 * 20.0;
        let (sin, cos) = ((step % N_WAYS) as f32 / N_WAYS as f32 * std::f32::consts::TAU).sin_cos();
        let frame = Frame::around(Spot { x: asked.x + away * cos, y: asked.y + away * sin }, width, height);
        let in_room = room.holds(Spot { x: frame.left, y: frame.top })
            && room.holds(Spot { x: frame.right(), y: frame.bottom() });
        let n_over_zone = edge(frame).filter(|&spot| inside.holds(spot)).count();
        let cost = away + 40.0 * obstacles.hidden(frame) + 4.0 * n_over_zone as f32;
        if in_room
            && best.is_none_or(|(least, _)| cost < least)
            && plates.iter().all(|plate| !plate.frame.meets(frame.grown(4.0)))
        {
            best = Some((cost, frame));
        }
    }
    best.map(|(_, frame)| frame)
}

/// Places along the edge of a frame, close enough together to see whether it lies inside rings.
pub(in crate::export) fn edge(frame: Frame) -> impl Iterator<Item = Spot> {
    const N_LOOKS: usize = 8;
    (0..=N_LOOKS).flat_map(move |look| {
        let share = look as f32 / N_LOOKS as f32;
        let (x, y) = (frame.left + share * frame.width, frame.top + share * frame.height);
        [(x, frame.top), (x, frame.bottom()), (frame.left, y), (frame.right(), y)].map(|(x, y)| Spot { x, y })
    })
}

/// Where rings lie on the sheet, in blocks of a few pixels: asked for thousands of places, of rings with thousands of
/// corners.
pub(in crate::export) struct Stencil {
    inside: Option<Mask>,
}

impl Stencil {
    const BLOCK_PX: f32 = 4.0;

    pub(in crate::export) fn of(view: &View, rings: &[Vec<Site>]) -> Stencil {
        let blocks = |px: f32| (px / Self::BLOCK_PX).ceil().max(1.0) as u32;
        let path = rings_path(rings.iter().map(|ring| view.spots(ring)));
        let mask = Mask::new(blocks(view.frame.right()), blocks(view.frame.bottom()));
        let inside = path.zip(mask).map(|(path, mut mask)| {
            let shrink = Transform::from_scale(1.0 / Self::BLOCK_PX, 1.0 / Self::BLOCK_PX);
            mask.fill_path(&path, FillRule::EvenOdd, false, shrink);
            mask
        });
        Stencil { inside }
    }

    pub(in crate::export) fn holds(&self, spot: Spot) -> bool {
        let Some(inside) = &self.inside else { return false };
        let (col, row) = ((spot.x / Self::BLOCK_PX).floor(), (spot.y / Self::BLOCK_PX).floor());
        let on_sheet = col >= 0.0 && row >= 0.0 && col < inside.width() as f32 && row < inside.height() as f32;
        on_sheet && inside.data()[row as usize * inside.width() as usize + col as usize] > 0
    }
}

/// The longest 1-2-5 length of the unit that is at most `most_m` meters: length in the unit and in meters.
fn round_length(most_m: f64, unit_m: f64) -> (f64, f64) {
    let most = most_m / unit_m;
    let power = 10f64.powf(most.log10().floor());
    let lead = [5.0, 2.0, 1.0].into_iter().find(|lead| lead * power <= most).unwrap_or(1.0);
    (lead * power, lead * power * unit_m)
}

/// A line of round length with its words to the right; `top_left` is that of its line box.
pub(in crate::export) fn scale(
    canvas: &mut Canvas,
    lettering: &Lettering,
    view: &View,
    units: UnitSystem,
    top_left: Spot,
) {
    let (unit_m, unit) = match units {
        UnitSystem::Us => (0.3048, "ft"),
        UnitSystem::Si => (1.0, "m"),
    };
    let (length, length_m) = round_length(SCALE_PX / view.px_per_m, unit_m);
    let decimals = if length < 1.0 { 3 } else { 0 };
    let y = (top_left.y + WORDS.line_px() / 2.0).round();
    let (left, right) = (top_left.x, top_left.x + (length_m * view.px_per_m) as f32);
    canvas.line(Spot { x: left, y }, Spot { x: right, y }, INK, 2.0);
    for x in [left, right] {
        canvas.line(Spot { x, y: y - 8.0 }, Spot { x, y: y + 8.0 }, INK, 2.0);
    }
    let words = format!("{} {unit}", with_decimals(length, decimals));
    let at = Spot { x: right + 12.0, y: top_left.y };
    lettering.write(canvas, &words, Letters { weight_px: 0.5, ..WORDS }, at, INK);
}

/// The letter N over a thin upright line; `top` is the middle of its upper end.
pub(in crate::export) fn north(canvas: &mut Canvas, lettering: &Lettering, top: Spot) {
    let middle = WORDS.line_px() / 2.0;
    lettering.write_centered(canvas, "N", WORDS, Spot { x: top.x, y: top.y + middle }, INK);
    let from = Spot { x: top.x, y: top.y + 2.0 * middle + 2.0 };
    canvas.line(from, Spot { x: from.x, y: from.y + 44.0 }, INK, 2.0);
    canvas.line(Spot { x: from.x - 7.0, y: from.y }, Spot { x: from.x + 7.0, y: from.y }, INK, 2.0);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_scale_is_round_and_as_long_as_fits() {
        assert_eq!(round_length(150.0, 1.0), (100.0, 100.0));
        let (feet, length_m) = round_length(200.0, 0.3048);
        assert!((feet - 500.0).abs() < 1e-9 && (length_m - 152.4).abs() < 1e-9);
        assert_eq!(round_length(20.0, 1.0).0, 20.0);
    }

    #[test]
    fn a_place_in_a_hole_is_not_inside() {
        let room = Frame { left: 0.0, top: 0.0, width: 200.0, height: 200.0 };
        let view = View::fit([0.0, 100.0, 0.0, 100.0], room);
        let square = |low: f64, high: f64| {
            [(low, low), (high, low), (high, high), (low, high)]
                .map(|(east_m, north_m)| Site { east_m, north_m })
                .to_vec()
        };
        let stencil = Stencil::of(&view, &[square(0.0, 100.0), square(40.0, 60.0)]);
        assert!(stencil.holds(Spot { x: 40.0, y: 100.0 }));
        assert!(!stencil.holds(Spot { x: 100.0, y: 100.0 }), "in the hole");
        assert!(!stencil.holds(Spot { x: 240.0, y: 100.0 }) && !stencil.holds(Spot { x: -1.0, y: 9.0 }));
    }
}
