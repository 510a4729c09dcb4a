//! One captioned map as a PNG picture, in the manner of printed matter: title, field, north line, the ground in a few
//! colors, scale, and under it the ground bar that is key, histogram and area table at once.
//!
//! Everything drawn is given; nothing here decides a rate. Same picture, same bytes.

mod breaks;
pub(super) mod canvas;
pub(super) mod ground;
mod ground_bar;
pub(super) mod marks;
mod palette;
pub(super) mod text;

pub use breaks::round_breaks;
pub use palette::{INK, PAPER, Palette, Rgb};

use crate::cell_grid::{CellMask, Site};
use crate::units::{M2_PER_ACRE, UnitSystem};
use canvas::{Canvas, Frame, Spot};
use ground::View;
use ground_bar::GroundBar;
use text::{Lettering, Letters};

/// Width of every picture, pixels.
pub const WIDTH_PX: u32 = 1080;
/// Most height of a picture, pixels, unless long captions need more.
pub(super) const MOST_HEIGHT_PX: f32 = 1500.0;
/// Least room for a map, pixels, however much text there is.
pub(super) const LEAST_MAP_PX: f32 = 320.0;
pub(super) const MARGIN_PX: f32 = 48.0;
/// Paper kept free at the right of the title for the north line, pixels.
pub(super) const NORTH_PX: f32 = 60.0;
/// Height of the north line with its letter, pixels.
pub(super) const NORTH_HEIGHT_PX: f32 = 84.0;

pub(super) const TITLE: Letters = Letters { size_px: 42.0, weight_px: 1.3 };
pub(super) const WORDS: Letters = Letters { size_px: 29.0, weight_px: 0.5 };
const QUANTITY: Letters = Letters { size_px: 29.0, weight_px: 0.9 };
/// Most lines of the title and of the field line.
pub(super) const MOST_HEAD_LINES: usize = 2;
/// Most lines one caption is wrapped to.
pub(super) const MOST_CAPTION_LINES: usize = 4;

/// What one picture shows. Everything it draws is given; it computes nothing that decides a rate.
#[derive(Debug, Clone)]
pub struct MapPicture<'a> {
    /// The question the map answers: "Map 1. Where does the ground hold least?"
    pub title: &'a str,
    /// Which field and what it rests on: "North field (invented)   64 samples, 0 to 7 in".
    pub field_line: &'a str,
    /// What the ground bar shows, with its unit: "CEC, meq/100 g".
    pub quantity: &'a str,
    /// Which cells count; the ground bar shares out these.
    pub mask: &'a CellMask,
    /// What is shown.
    pub shade: Shade<'a>,
    /// Rings of the field's boundary, outer rings and holes alike, local meters.
    pub outline: &'a [Vec<Site>],
    /// Zones whose words are drawn, and whose rings are filled; may be empty.
    pub zones: &'a [ZoneRings],
    /// Borders between zones as pieces of line, local meters; drawn inside the outline only; may be empty.
    pub borders: &'a [[Site; 2]],
    /// Rings of kept-off ground, local meters: bare paper with an ink edge; may be empty.
    pub keep_off: &'a [Vec<Site>],
    /// Samples and other places to mark; may be empty. Places off the map are passed over.
    pub samples: &'a [SampleRing],
    /// One flag a cell: beyond the outermost samples, drawn with slant lines. The caption should say so in words.
    pub beyond: Option<&'a [bool]>,
    /// One density a cell, 0 (none) to 1 (dense): dots like sand, for ground that holds little.
    pub sand: Option<&'a [f64]>,
    /// Sentences under the bar, wrapped as needed.
    pub caption: &'a [String],
    /// Units of the scale and of areas.
    pub units: UnitSystem,
    /// Area the ground bar stands for, m2.
    pub area_m2: f64,
}

/// What the ground's colors stand for. One entry a cell of the mask's grid, south row first.
#[derive(Debug, Clone, Copy)]
pub enum Shade<'a> {
    /// A quantity, shown in steps.
    Surface {
        /// Value of each cell; must be finite where the mask counts the cell.
        values: &'a [f64],
        /// Ascending class breaks ([`round_breaks`]); a value on a break belongs above it.
        breaks: &'a [f64],
        /// Colors.
        palette: Palette,
    },
    /// One class a cell, 0 first.
    Classes {
        /// Class of each cell.
        classes: &'a [u8],
        /// Words of each class on the bar, parts set apart by two blanks: "1  CEC 5.1  32 ac".
        names: &'a [String],
        /// Colors.
        palette: Palette,
    },
}

/// One zone to outline and name.
#[derive(Debug, Clone)]
pub struct ZoneRings {
    /// Number of the zone, from 1.
    pub zone: usize,
    /// Class whose color fills the rings, so that colors meet at the zone's outline and not at cell edges. `None`: the
    /// ground below stays as it is.
    pub class: Option<u8>,
    /// Outer rings and holes, local meters.
    pub rings: Vec<Vec<Site>>,
    /// Words on the map, "holds little"; may be empty.
    pub words: String,
    /// A place well inside the zone.
    pub label_at: Site,
}

/// One place to mark.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SampleRing {
    /// Where, local meters.
    pub at: Site,
    /// How.
    pub mark: SampleMark,
}

/// How a place is marked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SampleMark {
    /// A sample: open ring.
    Plain,
    /// A sample to look at: ring with a bar through it.
    LookAt,
    /// Where one more core would help: a plus.
    OneMore,
    /// A check place: its letter on paper.
    Check(char),
    /// Less than was to be there: a minus.
    Less,
    /// More than was to be there: a plus.
    More,
}

/// An area in words: "32 ac", "1.4 ha".
fn area_words(units: UnitSystem, area_m2: f64) -> String {
    match units {
        UnitSystem::Us => ground_bar::area_words(area_m2 / M2_PER_ACRE, "ac"),
        UnitSystem::Si => ground_bar::area_words(area_m2 / 10_000.0, "ha"),
    }
}

impl Shade<'_> {
    fn n_classes(&self) -> usize {
        match self {
            Shade::Surface { breaks, .. } => breaks.len() + 1,
            Shade::Classes { names, .. } => names.len(),
        }
    }

    fn palette(&self) -> Palette {
        match self {
            Shade::Surface { palette, .. } | Shade::Classes { palette, .. } => *palette,
        }
    }
}

/// Draws the picture: PNG bytes, [`WIDTH_PX`] wide, 8 bits a channel; the height follows the field's shape.
///
/// # Panics
/// If a list is not one entry a cell, a counted value is not finite, a class has no name, the outline is empty, or there are more classes than
/// the palette has colors ([`Palette::most_classes`]).
pub fn draw(picture: &MapPicture) -> Vec<u8> {
    check(picture);
    canvas_of(picture).png()
}

/// The caller's side of the bargain; each breach would otherwise give a wrong map that looks right.
fn check(picture: &MapPicture) {
    let n_cells = picture.mask.grid().n_cells();
    let n_classes = picture.shade.n_classes();
    match picture.shade {
        Shade::Surface { values, breaks, .. } => {
            assert_eq!(values.len(), n_cells, "one value a cell");
            assert!(picture.mask.cells().all(|cell| values[cell].is_finite()), "a finite value where a cell counts");
            assert!(breaks.windows(2).all(|pair| pair[0] < pair[1]), "ascending breaks");
        }
        Shade::Classes { classes, .. } => {
            assert_eq!(classes.len(), n_cells, "one class a cell");
            assert!(picture.mask.cells().all(|cell| usize::from(classes[cell]) < n_classes), "a name for each class");
        }
    }
    let filled = |zone: &ZoneRings| zone.class.is_none_or(|class| usize::from(class) < n_classes);
    assert!(picture.zones.iter().all(filled), "a name for each zone's class");
    assert!(picture.outline.iter().any(|ring| !ring.is_empty()), "an outline");
    assert!(picture.beyond.is_none_or(|flags| flags.len() == n_cells), "one flag a cell");
    assert!(picture.sand.is_none_or(|densities| densities.len() == n_cells), "one density a cell");
}

fn canvas_of(picture: &MapPicture) -> Canvas {
    let lettering = Lettering::new();
    let colors = picture.shade.palette().steps(picture.shade.n_classes());
    let room_px = WIDTH_PX as f32 - 2.0 * MARGIN_PX;

    let head_px = room_px - NORTH_PX;
    let title = lettering.wrap(picture.title, TITLE, head_px, MOST_HEAD_LINES);
    let field = lettering.wrap(picture.field_line, WORDS, head_px, MOST_HEAD_LINES);
    let caption: Vec<String> = picture
        .caption
        .iter()
        .flat_map(|sentence| lettering.wrap(sentence, WORDS, room_px, MOST_CAPTION_LINES))
        .collect();
    let classes = ground::classes_of_cells(picture);
    let bar = GroundBar::plan(picture, &classes, colors, &lettering, MARGIN_PX, room_px);

    // From top to bottom; the map takes what the words leave.
    let title_top = 36.0;
    let field_top = title_top + title.len() as f32 * TITLE.line_px() + 4.0;
    let head_bottom = (field_top + field.len() as f32 * WORDS.line_px()).max(title_top + NORTH_HEIGHT_PX);
    let map_top = head_bottom + 22.0;
    let scale_px = marks::WORDS.line_px() + 30.0;
    let quantity_px = QUANTITY.line_px() + 14.0;
    let caption_px = caption.len() as f32 * WORDS.line_px() + 8.0;
    let foot_px = scale_px + bar.height() + quantity_px + caption_px + 34.0;
    let most_map_px = (MOST_HEIGHT_PX - map_top - foot_px).max(LEAST_MAP_PX);
    let room = Frame { left: MARGIN_PX, top: map_top, width: room_px, height: most_map_px };
    let view = View::fit(ground::bounds_m(picture.outline), room);
    let scale_top = view.frame.bottom() + 16.0;
    let bar_top = (view.frame.bottom() + scale_px).round();
    let quantity_top = bar_top + bar.height() + 8.0;
    let caption_top = quantity_top + quantity_px;
    let size_px = (WIDTH_PX, (view.frame.bottom() + foot_px).ceil() as u32);

    let mut canvas = Canvas::blank(size_px.0, size_px.1);
    let mut write = |lines: &[String], letters: Letters, top: f32| {
        for (index, line) in lines.iter().enumerate() {
            let at = Spot { x: MARGIN_PX, y: top + index as f32 * letters.line_px() };
            lettering.write(&mut canvas, line, letters, at, INK);
        }
    };
    write(&title, TITLE, title_top);
    write(&field, WORDS, field_top);
    write(&caption, WORDS, caption_top);
    marks::north(&mut canvas, &lettering, Spot { x: WIDTH_PX as f32 - MARGIN_PX - 14.0, y: title_top + 2.0 });
    ground::paint(&mut canvas, picture, &view, colors, size_px);
    marks::samples(&mut canvas, &lettering, &view, picture.samples);
    let words_room =
        Frame { left: 16.0, top: map_top - 10.0, width: WIDTH_PX as f32 - 32.0, height: view.frame.height + 20.0 };
    marks::zone_words(&mut canvas, &lettering, &view, picture, words_room);
    marks::scale(&mut canvas, &lettering, &view, picture.units, Spot { x: MARGIN_PX, y: scale_top });
    bar.draw(&mut canvas, &lettering, bar_top);
    write_quantity(&mut canvas, &lettering, picture, quantity_top);
    canvas
}

/// The quantity at the left and how to read the bar at the right; the quantity goes first where room is short.
fn write_quantity(canvas: &mut Canvas, lettering: &Lettering, picture: &MapPicture, top: f32) {
    let room_px = WIDTH_PX as f32 - 2.0 * MARGIN_PX;
    let quantity = lettering.cut(picture.quantity, QUANTITY, room_px);
    lettering.write(canvas, &quantity, QUANTITY, Spot { x: MARGIN_PX, y: top }, INK);
    let reading = ground_bar::reading(picture);
    let reading_px = lettering.width_px(&reading, WORDS);
    if lettering.width_px(&quantity, QUANTITY) + 30.0 + reading_px <= room_px {
        let x = WIDTH_PX as f32 - MARGIN_PX - reading_px;
        lettering.write(canvas, &reading, WORDS, Spot { x, y: top }, INK);
    }
}

#[cfg(test)]
mod tests;
