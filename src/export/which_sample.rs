//! Map 6: every sample's ring with its name on the lab's sheet, on bare paper.

use super::label_places::{First, Place, Wish, label_places};
use super::map_png::canvas::{Canvas, Frame, Spot};
use super::map_png::ground::{View, borders_path, bounds_m, path_of};
use super::map_png::marks::{Stencil, edge};
use super::map_png::text::{Lettering, Letters};
use super::map_png::{
    INK, LEAST_MAP_PX, MARGIN_PX, MOST_HEIGHT_PX, NORTH_HEIGHT_PX, NORTH_PX, PAPER, SampleMark, SampleRing, WIDTH_PX,
    marks,
};
use super::page_words::PageWords;
use super::sample_names::SampleNames;
use crate::cell_grid::Site;
use crate::units::UnitSystem;

const TITLE: &str = "Map 6. Which sample is which?";
/// Sizes of the names, pixels: the largest at which every name finds a place, else the last.
const SIZES_PX: [f32; 4] = [26.0, 23.0, 20.0, 18.0];
/// Height of a name's box, in shares of the letter size: capitals, figures and what hangs below the line.
const BOX_HEIGHT: f32 = 0.95;
const WEIGHT_PX: f32 = 0.0;
/// Ring line and the paper round it, pixels.
const RING_EDGE_PX: f32 = 2.0;
const OUTLINE_PX: f32 = 2.0;
const BORDER_PX: f32 = 1.0;
/// What a name costs that stands across a border or the outline, in steps of [`label_places`]: rather another place round
/// its ring than a border, rather off its ring with a line than the outline.
const ACROSS_BORDER_COST: f32 = 8.0;
const ACROSS_OUTLINE_COST: f32 = 24.0;
/// Least from a name to a line it does not stand across, pixels.
const LINE_GAP_PX: f32 = 3.0;
/// How far names may stand above and below the field, pixels: just clear of the outline of a thin one.
const OUTSIDE_PX: f32 = 40.0;
/// Paper at the edge of the sheet that names keep off, pixels.
const EDGE_PX: f32 = 12.0;

/// What the map shows.
pub(super) struct WhichSample<'a> {
    /// Which field and what it rests on.
    pub(super) field_line: &'a str,
    /// Rings of the field's boundary, local meters.
    pub(super) outline: &'a [Vec<Site>],
    /// Borders between zones as pieces of line, local meters; may be empty.
    pub(super) borders: &'a [[Site; 2]],
    /// Samples, one a place.
    pub(super) samples: &'a [SampleRing],
    /// Their names.
    pub(super) names: &'a SampleNames,
    /// What a ring with a bar through it means.
    pub(super) look_at: &'a str,
    /// Units of the scale.
    pub(super) units: UnitSystem,
}

/// Draws the map: PNG bytes; the same samples give the same bytes.
pub(super) fn which_sample_png(map: &WhichSample) -> Vec<u8> {
    let lettering = Lettering::new();
    // The sentence on names left out is only known once the map is laid out; room for it is kept.
    let words = |n_left_out| PageWords::wrap(&lettering, TITLE, map.field_line, &caption(map, n_left_out), NORTH_PX);
    let most = words(map.samples.len());
    let top = most.drawing_top_px().max(marks::WORDS.line_px() + NORTH_HEIGHT_PX) + OUTSIDE_PX - 20.0;
    let scale_px = marks::WORDS.line_px() + OUTSIDE_PX + 16.0;
    let room = Frame {
        left: MARGIN_PX,
        top,
        width: WIDTH_PX as f32 - 2.0 * MARGIN_PX,
        height: (MOST_HEIGHT_PX - top - scale_px - most.foot_px()).max(LEAST_MAP_PX),
    };
    let view = View::fit(bounds_m(map.outline), room);
    let scale_top = view.frame.bottom() + OUTSIDE_PX;
    let caption_top = scale_top + scale_px - OUTSIDE_PX;
    let mut canvas = Canvas::blank(WIDTH_PX, (caption_top + most.foot_px()).ceil() as u32);

    if let Some(borders) = borders_path(&view, map.borders) {
        canvas.stroke(&borders, INK, BORDER_PX);
    }
    if let Some(outline) = path_of(&view, map.outline.iter()) {
        canvas.stroke(&outline, INK, OUTLINE_PX);
    }
    let placed = place(map, &lettering, &view, &canvas);
    for (_, place) in &placed.names {
        if let Some([from, to]) = place.line {
            canvas.line(from, to, INK, BORDER_PX);
        }
    }
    for (name, place) in &placed.names {
        canvas.fill_frame(place.frame, PAPER);
        lettering.write_centered(&mut canvas, name, placed.letters, place.frame.center(), INK);
    }
    marks::samples(&mut canvas, &lettering, &view, map.samples);
    marks::north(&mut canvas, &lettering, PageWords::north());
    marks::scale(&mut canvas, &lettering, &view, map.units, Spot { x: MARGIN_PX, y: scale_top });
    let words = words(placed.n_left_out);
    words.draw(&mut canvas, &lettering, caption_top);
    canvas.grey_png_above((caption_top + words.foot_px()).ceil() as u32)
}

fn caption(map: &WhichSample, n_left_out: usize) -> Vec<String> {
    let mut caption = vec!["Rings: samples, each with its name on the lab\u{2019}s sheet.".to_owned()];
    caption.extend(map.names.start_words());
    if map.samples.iter().any(|sample| sample.mark == SampleMark::LookAt) {
        caption.push(map.look_at.to_owned());
    }
    if !map.borders.is_empty() {
        caption.push("Thin lines: where zones meet.".to_owned());
    }
    if n_left_out > 0 {
        let names = if n_left_out == 1 { "1 name found" } else { &format!("{n_left_out} names found") };
        caption.push(format!("{names} no room here; tables/samples_checked.csv lists every sample with its place."));
    }
    caption
}

/// Names that found a place.
struct Placed<'a> {
    names: Vec<(&'a str, Place)>,
    letters: Letters,
    n_left_out: usize,
}

fn place<'a>(map: &'a WhichSample, lettering: &Lettering, view: &View, lines: &Canvas) -> Placed<'a> {
    // Names may stand outside the outline, but not in the words round the map.
    let room = Frame {
        left: EDGE_PX,
        top: view.frame.top - OUTSIDE_PX,
        width: WIDTH_PX as f32 - 2.0 * EDGE_PX,
        height: view.frame.height + 2.0 * OUTSIDE_PX,
    };
    let radius = marks::ring_px(view, map.samples.len()) + RING_EDGE_PX;
    let names: Vec<&str> = map.samples.iter().map(|sample| map.names.at(sample.at)).collect();
    let marked: Vec<Frame> = map
        .samples
        .iter()
        .map(|sample| {
            let out = if sample.mark == SampleMark::LookAt { marks::BAR_PX } else { 0.0 };
            Frame::around(view.spot(sample.at), 2.0 * (radius + out), 2.0 * radius)
        })
        .collect();
    let field = Stencil::of(view, map.outline);
    let across = |frame: Frame| {
        let frame = frame.grown(LINE_GAP_PX);
        let n_inside = edge(frame).filter(|spot| field.holds(*spot)).count();
        match lines.is_blank(frame) {
            true => 0.0,
            false if n_inside == edge(frame).count() => ACROSS_BORDER_COST,
            false => ACROSS_OUTLINE_COST,
        }
    };
    let mut best: Option<Placed> = None;
    for (size_px, first) in SIZES_PX.into_iter().flat_map(|size_px| [(size_px, First::Beside), (size_px, First::Above)])
    {
        let letters = Letters { size_px, weight_px: WEIGHT_PX };
        let wish = |(name, mark): (&&str, &Frame)| Wish {
            mark: *mark,
            size_px: [lettering.width_px(name, letters) + 2.0, size_px * BOX_HEIGHT],
        };
        let wishes: Vec<Wish> = names.iter().zip(&marked).map(wish).collect();
        let places = label_places(&wishes, &[], room, first, across);
        let n_left_out = places.iter().filter(|place| place.is_none()).count();
        if best.as_ref().is_none_or(|best| n_left_out < best.n_left_out) {
            let found = names.iter().zip(places).filter_map(|(name, place)| Some((*name, place?))).collect();
            best = Some(Placed { names: found, letters, n_left_out });
        }
        if n_left_out == 0 {
            break;
        }
    }
    best.expect("at least one size of letters")
}

#[cfg(test)]
mod tests {
    use super::*;

    const SQUARE: [(f64, f64); 4] = [(0.0, 0.0), (800.0, 0.0), (800.0, 800.0), (0.0, 800.0)];

    fn ring(corners: &[(f64, f64)]) -> Vec<Site> {
        corners.iter().map(|&(east_m, north_m)| Site { east_m, north_m }).collect()
    }

    /// `n` by `n` samples on a net over the square, every seventh to be looked at.
    fn net(n: usize, name: impl Fn(usize) -> String) -> (Vec<SampleRing>, SampleNames) {
        let at = |index: usize| Site {
            east_m: 800.0 * ((index % n) as f64 + 0.5) / n as f64,
            north_m: 800.0 * ((index / n) as f64 + 0.5) / n as f64,
        };
        let mark = |index: usize| if index % 7 == 3 { SampleMark::LookAt } else { SampleMark::Plain };
        let names: Vec<String> = (0..n * n).map(name).collect();
        let rings = (0..n * n).map(|index| SampleRing { at: at(index), mark: mark(index) }).collect();
        let ids = (0..n * n).map(|index| (at(index), names[index].as_str())).collect();
        (rings, SampleNames::join(ids))
    }

    fn drawn(outline: &[Vec<Site>], (samples, names): &(Vec<SampleRing>, SampleNames), field_line: &str) -> Vec<u8> {
        let borders = [[Site { east_m: 0.0, north_m: 300.0 }, Site { east_m: 800.0, north_m: 420.0 }]];
        which_sample_png(&WhichSample {
            field_line,
            outline,
            borders: &borders,
            samples,
            names,
            look_at: "A ring with a bar through it: look at it.",
            units: UnitSystem::Us,
        })
    }

    fn left_out(net: &(Vec<SampleRing>, SampleNames)) -> (usize, f32) {
        let (outline, lettering) = ([ring(&SQUARE)], Lettering::new());
        let map = WhichSample {
            field_line: "",
            outline: &outline,
            borders: &[],
            samples: &net.0,
            names: &net.1,
            look_at: "",
            units: UnitSystem::Si,
        };
        let room = Frame { left: 48.0, top: 150.0, width: 984.0, height: 984.0 };
        let view = View::fit(bounds_m(&outline), room);
        let placed = place(&map, &lettering, &view, &Canvas::blank(WIDTH_PX, 1200));
        (placed.n_left_out, placed.letters.size_px)
    }

    #[test]
    fn names_of_64_and_of_289_samples_all_find_room_at_sizes_that_can_be_read() {
        let name = |index: usize| format!("{}-{:02}", char::from(b'A' + (index / 17) as u8), index % 17);
        assert_eq!(left_out(&net(8, name)), (0, SIZES_PX[0]));
        let (n_left_out, size_px) = left_out(&net(17, name));
        assert!(n_left_out == 0 && size_px >= 18.0, "{n_left_out} left out at {size_px}");
    }

    #[test]
    fn the_same_samples_give_the_same_bytes_of_the_width_of_every_map() {
        let (outline, net) = ([ring(&SQUARE)], net(8, |index| format!("A-{index}")));
        let bytes = drawn(&outline, &net, "North field (invented)   64 samples, 0 to 7 in");
        assert_eq!(bytes, drawn(&outline, &net, "North field (invented)   64 samples, 0 to 7 in"));
        let back = image::load_from_memory(&bytes).expect("a png").into_rgb8();
        assert_eq!(back.width(), WIDTH_PX);
        assert!(f64::from(back.height()) <= f64::from(MOST_HEIGHT_PX) + 1.0);
        assert!(bytes.len() < 400_000, "{} bytes", bytes.len());
    }

    #[test]
    fn hostile_names_and_shapes_do_not_panic() {
        for name in
            ["W".repeat(200), "\u{1f33e}\u{202e}\u{5e9}\u{5d3}".to_owned(), String::new(), "a\n\t\u{0}".to_owned()]
        {
            let net = net(3, |_| name.clone());
            assert!(drawn(&[ring(&SQUARE)], &net, &name).len() > 1000);
            let thread = [ring(&[(0.0, 400.0), (800.0, 400.0), (800.0, 400.0)])];
            assert!(drawn(&thread, &net, &name).len() > 1000);
        }
    }
}
