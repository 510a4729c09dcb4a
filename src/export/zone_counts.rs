//! Map 8: the field cut into one zone, two zones and so on, side by side, each with what it changes in words.

use tiny_skia::{FillRule, Mask, Transform};

use super::map_png::canvas::{Canvas, Frame, Spot};
use super::map_png::ground::{View, bounds_m, nearest_counting_cell, path_of};
use super::map_png::text::{Lettering, Letters};
use super::map_png::{INK, MARGIN_PX, NORTH_HEIGHT_PX, NORTH_PX, PAPER, Palette, Rgb, WIDTH_PX, marks};
use super::page_words::PageWords;
use crate::cell_grid::{CellGrid, CellMask, Site};
use crate::units::UnitSystem;

const TITLE: &str = "Map 8. How many kinds of ground?";
const HEADING: Letters = Letters { size_px: 29.0, weight_px: 0.9 };
const WORDS: Letters = Letters { size_px: 23.0, weight_px: 0.4 };
/// Fields side by side, and paper between two of them, pixels.
const N_COLUMNS: usize = 3;
const COLUMN_GAP_PX: f32 = 30.0;
const ROW_GAP_PX: f32 = 32.0;
/// Width of a field with its words, and most height of a field, pixels.
const SLOT_PX: f32 = (WIDTH_PX as f32 - 2.0 * MARGIN_PX - (N_COLUMNS as f32 - 1.0) * COLUMN_GAP_PX) / N_COLUMNS as f32;
const MOST_FIELD_PX: f32 = 340.0;
/// From the heading to the field and from the field to its words, pixels.
const GAP_PX: f32 = 14.0;
const OUTLINE_PX: f32 = 2.0;
/// Width of the rule under the heading of a marked panel, pixels.
const RULE_PX: f32 = 3.0;
/// Most lines of one sentence.
const MOST_LINES: usize = 9;

/// The field cut into one number of zones.
#[derive(Debug, Clone)]
pub struct ZonePanel<'a> {
    /// Zones, 1 to 6.
    pub count: usize,
    /// Zone of each cell, south row first: 0 none, 1 holds least.
    pub labels: &'a [u16],
    /// What this number of zones changes, a sentence each.
    pub words: Vec<String>,
    /// Why it is picked, "suggested" or "chosen"; `None`: it is not.
    pub mark: Option<String>,
}

/// What the picture shows.
#[derive(Debug, Clone)]
pub struct ZoneCountPicture<'a> {
    /// Which field and what it rests on.
    pub field_line: &'a str,
    /// One panel a number of zones, in the order shown; the same cells have a zone in each.
    pub panels: &'a [ZonePanel<'a>],
    /// Where the cells lie.
    pub grid: &'a CellGrid,
    /// Rings of the field's boundary, local meters.
    pub outline: &'a [Vec<Site>],
    /// Sentences at the foot.
    pub caption: &'a [String],
    /// Units of the scale.
    pub units: UnitSystem,
}

/// Draws the picture: PNG bytes, 1080 pixels wide; the same panels give the same bytes.
///
/// # Panics
/// If there is no panel or no outline, a panel has no label for a cell or a label above its count, or its count is not 1
/// to 6.
pub fn zone_counts_png(picture: &ZoneCountPicture) -> Vec<u8> {
    check(picture);
    let lettering = Lettering::new();
    let page = PageWords::wrap(&lettering, TITLE, picture.field_line, picture.caption, NORTH_PX);
    let room = Frame { left: 0.0, top: 0.0, width: SLOT_PX, height: MOST_FIELD_PX };
    let bounds = bounds_m(picture.outline);
    let field = Field::of(picture, &View::fit(bounds, room));
    let field_px = View::fit(bounds, room).frame.height.ceil();
    let words: Vec<Vec<String>> = picture
        .panels
        .iter()
        .map(|panel| panel.words.iter().flat_map(|text| lettering.wrap(text, WORDS, SLOT_PX, MOST_LINES)).collect())
        .collect();

    let head_px = HEADING.line_px() + RULE_PX + GAP_PX;
    let mut bottom = page.drawing_top_px().max(PageWords::north().y + NORTH_HEIGHT_PX + 8.0).round();
    let mut row_tops = Vec::new();
    for row in words.chunks(N_COLUMNS) {
        row_tops.push(bottom);
        let most_lines = row.iter().map(Vec::len).max().unwrap_or(0);
        bottom += head_px + field_px + GAP_PX + most_lines as f32 * WORDS.line_px() + ROW_GAP_PX;
    }
    let scale_top = bottom - ROW_GAP_PX / 2.0;
    let caption_top = scale_top + marks::WORDS.line_px() + GAP_PX;
    let mut canvas = Canvas::blank(WIDTH_PX, (caption_top + page.foot_px()).ceil() as u32);
    for (index, (panel, words)) in picture.panels.iter().zip(&words).enumerate() {
        let left = MARGIN_PX + (index % N_COLUMNS) as f32 * (SLOT_PX + COLUMN_GAP_PX);
        let top = row_tops[index / N_COLUMNS];
        heading(&mut canvas, &lettering, panel, Spot { x: left, y: top });
        let view = View::fit(bounds, Frame { left, top: top + head_px, ..room });
        field.draw(&mut canvas, panel, (view.frame.left as u32, view.frame.top as u32));
        if let Some(outline) = path_of(&view, picture.outline.iter()) {
            canvas.stroke(&outline, INK, OUTLINE_PX);
        }
        let words_top = top + head_px + field_px + GAP_PX;
        for (index, line) in words.iter().enumerate() {
            let at = Spot { x: left, y: words_top + index as f32 * WORDS.line_px() };
            lettering.write(&mut canvas, line, WORDS, at, INK);
        }
    }
    marks::north(&mut canvas, &lettering, PageWords::north());
    let view = View::fit(bounds, room);
    marks::scale(&mut canvas, &lettering, &view, picture.units, Spot { x: MARGIN_PX, y: scale_top });
    page.draw(&mut canvas, &lettering, caption_top);
    canvas.png()
}

/// The caller's side of the bargain.
fn check(picture: &ZoneCountPicture) {
    assert!(!picture.panels.is_empty(), "a panel");
    assert!(picture.outline.iter().any(|ring| !ring.is_empty()), "an outline");
    for panel in picture.panels {
        assert!((1..=Palette::Ground.most_classes()).contains(&panel.count), "1 to 6 zones");
        assert_eq!(panel.labels.len(), picture.grid.n_cells(), "one label a cell");
        assert!(panel.labels.iter().all(|label| usize::from(*label) <= panel.count), "no label above the count");
    }
}

/// "3 zones" and, where it is picked, why, over a rule.
fn heading(canvas: &mut Canvas, lettering: &Lettering, panel: &ZonePanel, at: Spot) {
    let zones = if panel.count == 1 { "1 zone".to_owned() } else { format!("{} zones", panel.count) };
    let words = panel.mark.as_ref().map_or_else(|| zones.clone(), |mark| format!("{zones}: {}", mark.trim()));
    lettering.write(canvas, &lettering.cut(&words, HEADING, SLOT_PX), HEADING, at, INK);
    if panel.mark.is_some() {
        let rule = Frame { left: at.x, top: at.y + HEADING.line_px(), width: SLOT_PX, height: RULE_PX };
        canvas.fill_frame(rule, INK);
    }
}

/// The field in pixels, the same for every panel.
struct Field {
    n_cols: usize,
    /// How much of each pixel lies inside the outline, 0 to 255, north row first.
    cover: Vec<u8>,
    /// The cell each pixel is drawn like.
    cells: Vec<usize>,
}

impl Field {
    /// `view` is that of one panel.
    fn of(picture: &ZoneCountPicture, view: &View) -> Field {
        let nothing = Field { n_cols: 1, cover: Vec::new(), cells: Vec::new() };
        let left = view.frame.left;
        let n_cols = view.frame.width.ceil() as usize + 1;
        let n_rows = view.frame.height.ceil() as usize + 1;
        let Some(outline) = path_of(view, picture.outline.iter()) else { return nothing };
        let Some(mut cover) = Mask::new(n_cols as u32, n_rows as u32) else { return nothing };
        let to_corner = Transform::from_translate(-left, -view.frame.top);
        cover.fill_path(&outline, FillRule::EvenOdd, true, to_corner);

        let grid = picture.grid;
        let cell_across = |cells: f64, n: usize| cells.floor().clamp(0.0, (n - 1) as f64) as usize;
        let cols: Vec<usize> = (0..n_cols)
            .map(|x| cell_across((view.east_m(left + x as f32 + 0.5) - grid.west_m) / grid.cell_m, grid.n_cols))
            .collect();
        let rows: Vec<usize> = (0..n_rows)
            .map(|y| {
                cell_across((view.north_m(view.frame.top + y as f32 + 0.5) - grid.south_m) / grid.cell_m, grid.n_rows)
            })
            .collect();
        let cells: Vec<usize> = rows.iter().flat_map(|row| cols.iter().map(|col| grid.index(*col, *row))).collect();
        // Pixels between the outermost cells and the outline look like the nearest pixel with a zone.
        let pixels = CellGrid { west_m: 0.0, south_m: 0.0, cell_m: 1.0, n_cols, n_rows };
        let has_zone = cells.iter().map(|cell| picture.panels[0].labels[*cell] > 0).collect();
        let Some(shown) = nearest_counting_cell(&CellMask::new(pixels, has_zone)) else { return nothing };
        let cells = shown.iter().map(|pixel| cells[*pixel as usize]).collect();
        Field { n_cols, cover: cover.data().to_vec(), cells }
    }

    /// Fills the zones and inks their borders; `corner` is the field's upper left pixel on the sheet.
    fn draw(&self, canvas: &mut Canvas, panel: &ZonePanel, corner: (u32, u32)) {
        let colors = Palette::Ground.steps(panel.count);
        let zone = |pixel: usize| self.cells.get(pixel).map(|cell| panel.labels[*cell]);
        for (pixel, cover) in self.cover.iter().enumerate().filter(|(_, cover)| **cover > 0) {
            let own = zone(pixel);
            let beside = [pixel + 1, pixel + self.n_cols, pixel + self.n_cols + 1];
            let at_border = beside.iter().any(|other| zone(*other).is_some_and(|other| Some(other) != own));
            let color = if at_border { INK } else { own.map_or(PAPER, |own| color_of(colors, own)) };
            let color = if *cover == 255 { color } else { PAPER.under(color, f32::from(*cover) / 255.0) };
            let (col, row) = ((pixel % self.n_cols) as u32, (pixel / self.n_cols) as u32);
            canvas.put(corner.0 + col, corner.1 + row, color);
        }
    }
}

fn color_of(colors: &[Rgb], zone: u16) -> Rgb {
    usize::from(zone).checked_sub(1).map_or(PAPER, |class| colors[class])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A field of 10 m cells cut into upright strips.
    struct Strips {
        grid: CellGrid,
        outline: Vec<Vec<Site>>,
        labels: Vec<Vec<u16>>,
    }

    impl Strips {
        fn new(n_cols: usize, n_rows: usize) -> Strips {
            let grid = CellGrid { west_m: 500.0, south_m: -20.0, cell_m: 10.0, n_cols, n_rows };
            let corners = [(0, 0), (n_cols, 0), (n_cols, n_rows), (0, n_rows)].map(|(col, row)| grid.corner(col, row));
            let strip = |count: usize, cell: usize| (cell % n_cols * count / n_cols) as u16 + 1;
            let labels = (1..=6).map(|count| (0..grid.n_cells()).map(|cell| strip(count, cell)).collect()).collect();
            Strips { grid, outline: vec![corners.to_vec()], labels }
        }

        fn panels(&self, words: &str) -> Vec<ZonePanel<'_>> {
            self.labels
                .iter()
                .enumerate()
                .map(|(index, labels)| ZonePanel {
                    count: index + 1,
                    labels,
                    words: vec![words.to_owned()],
                    mark: (index == 2).then(|| "suggested".to_owned()),
                })
                .collect()
        }

        fn png(&self, panels: &[ZonePanel]) -> image::RgbImage {
            image::load_from_memory(&self.bytes(panels)).expect("a png").into_rgb8()
        }

        fn bytes(&self, panels: &[ZonePanel]) -> Vec<u8> {
            zone_counts_png(&ZoneCountPicture {
                field_line: "North field (invented)   64 samples, 0 to 7 in",
                panels,
                grid: &self.grid,
                outline: &self.outline,
                caption: &["Pale ground holds least.".to_owned()],
                units: UnitSystem::Us,
            })
        }
    }

    const WORDS_OF_ONE: &str =
        "3 zones take out 86 % of the spread in CEC; against 2 zones no rate moves more than 10 lb/ac.";

    #[test]
    fn each_field_has_the_colors_of_its_count_in_the_order_of_its_zones() {
        let strips = Strips::new(60, 60);
        let png = strips.png(&strips.panels(WORDS_OF_ONE));
        // Along a row through the fields of the upper panels: paper, then the steps of 1, of 2 and of 3 zones.
        let steps: Vec<Rgb> = (1..=3).flat_map(|count| Palette::Ground.steps(count)).copied().collect();
        let along = |y: u32| {
            let mut seen: Vec<Rgb> =
                (0..png.width()).map(|x| png.get_pixel(x, y).0).map(|[r, g, b]| Rgb(r, g, b)).collect();
            seen.retain(|color| steps.contains(color));
            seen.dedup();
            seen
        };
        let mut expected = steps.clone();
        // Pale one beside pale one of the next panel: paper and ink between them are not counted.
        expected.dedup();
        assert_eq!(along(400), expected);
    }

    #[test]
    fn the_same_panels_give_the_same_bytes_and_sizes_stay_small() {
        for (n_cols, n_rows) in [(60, 60), (300, 12), (12, 300), (1, 1)] {
            let strips = Strips::new(n_cols, n_rows);
            let panels = if n_cols == 1 { strips.panels("")[..1].to_vec() } else { strips.panels(WORDS_OF_ONE) };
            let bytes = strips.bytes(&panels);
            assert_eq!(bytes, strips.bytes(&panels));
            let png = strips.png(&panels);
            assert!(png.width() == WIDTH_PX && png.height() <= 1600, "{n_cols} by {n_rows}: {} high", png.height());
            assert!(bytes.len() < 400_000, "{} bytes", bytes.len());
        }
    }

    #[test]
    fn fewer_panels_make_a_lower_picture_and_hostile_words_no_panic() {
        let strips = Strips::new(40, 30);
        let panels = strips.panels(WORDS_OF_ONE);
        assert!(strips.png(&panels[..3]).height() < strips.png(&panels).height());
        for words in ["W".repeat(300), "\u{1f33e}\u{202e}\u{5e9} ".repeat(40), String::new()] {
            assert!(strips.bytes(&strips.panels(&words)).len() > 1000);
        }
        let none = vec![0; strips.grid.n_cells()];
        let empty = [ZonePanel { count: 1, labels: &none, words: Vec::new(), mark: None }];
        assert!(strips.bytes(&empty).len() > 1000);
    }

    #[test]
    #[should_panic(expected = "no label above the count")]
    fn a_label_above_the_count_is_refused() {
        let strips = Strips::new(6, 6);
        let panels = [ZonePanel { count: 2, labels: &strips.labels[2], words: Vec::new(), mark: None }];
        strips.bytes(&panels);
    }
}
