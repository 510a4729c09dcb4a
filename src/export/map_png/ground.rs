//! The ground itself: which color each pixel inside the field's outline has, slant lines and sand over it.

use tiny_skia::{FillRule, Mask, Path, PathBuilder, Transform};

use super::breaks::class_of;
use super::canvas::{Canvas, Frame, Spot, rings_path};
use super::palette::{INK, PAPER, Rgb};
use super::{MapPicture, Shade};
use crate::cell_grid::{CellGrid, CellMask, Site};

/// From one slant line to the next along a row, pixels.
const SLANT_PERIOD_PX: usize = 15;
/// Half the width of a slant line, pixels.
const SLANT_HALF_PX: f32 = 0.9;
/// From one grain of sand to the next where it lies densest, pixels.
const SAND_STEP_PX: f32 = 12.0;
/// Radius of a grain, pixels.
const SAND_RADIUS_PX: f32 = 1.6;
/// Radius round a sample that stays free of sand, pixels.
const SAMPLE_CLEAR_PX: f32 = 12.0;
/// Width of zone edges and of the edge of kept-off ground, pixels.
const EDGE_PX: f32 = 1.5;
/// Width of the field's outline, pixels.
const OUTLINE_PX: f32 = 2.5;

/// Where local meters fall on the sheet: north up, one scale both ways.
pub(in crate::export) struct View {
    west_m: f64,
    north_m: f64,
    /// Pixels of one meter.
    pub(in crate::export) px_per_m: f64,
    /// What the field covers on the sheet.
    pub(in crate::export) frame: Frame,
}

impl View {
    /// The largest view of `[west, east, south, north]` in `room`, centered between left and right, at the top.
    pub(in crate::export) fn fit(bounds_m: [f64; 4], room: Frame) -> View {
        let [west_m, east_m, south_m, north_m] = bounds_m;
        // A field without extent still gets a scale.
        let (width_m, height_m) = ((east_m - west_m).max(1e-3), (north_m - south_m).max(1e-3));
        let px_per_m = (f64::from(room.width) / width_m).min(f64::from(room.height) / height_m);
        let (width, height) = ((width_m * px_per_m) as f32, ((height_m * px_per_m) as f32).max(1.0));
        let left = (room.left + (room.width - width) / 2.0).round();
        View { west_m, north_m, px_per_m, frame: Frame { left, top: room.top, width, height } }
    }

    pub(in crate::export) fn spot(&self, site: Site) -> Spot {
        Spot {
            x: self.frame.left + ((site.east_m - self.west_m) * self.px_per_m) as f32,
            y: self.frame.top + ((self.north_m - site.north_m) * self.px_per_m) as f32,
        }
    }

    pub(in crate::export) fn spots(&self, ring: &[Site]) -> Vec<Spot> {
        ring.iter().map(|&site| self.spot(site)).collect()
    }

    pub(in crate::export) fn east_m(&self, x: f32) -> f64 {
        self.west_m + f64::from(x - self.frame.left) / self.px_per_m
    }

    pub(in crate::export) fn north_m(&self, y: f32) -> f64 {
        self.north_m - f64::from(y - self.frame.top) / self.px_per_m
    }
}

/// `[west, east, south, north]` of the outline.
pub(in crate::export) fn bounds_m(outline: &[Vec<Site>]) -> [f64; 4] {
    outline.iter().flatten().fold([f64::INFINITY, f64::NEG_INFINITY, f64::INFINITY, f64::NEG_INFINITY], |b, site| {
        [b[0].min(site.east_m), b[1].max(site.east_m), b[2].min(site.north_m), b[3].max(site.north_m)]
    })
}

/// Class of each cell, south row first; 0 where a cell does not count.
pub(super) fn classes_of_cells(picture: &MapPicture) -> Vec<u8> {
    let mut classes = vec![0; picture.mask.grid().n_cells()];
    for cell in picture.mask.cells() {
        classes[cell] = match picture.shade {
            Shade::Surface { values, breaks, .. } => class_of(values[cell], breaks) as u8,
            Shade::Classes { classes, .. } => classes[cell],
        };
    }
    classes
}

/// Paints the ground inside the outline with its marks and edges; samples and words come later.
pub(super) fn paint(canvas: &mut Canvas, picture: &MapPicture, view: &View, colors: &[Rgb], size_px: (u32, u32)) {
    let Some(shown) = nearest_counting_cell(picture.mask) else { return };
    let Some(outline) = path_of(view, picture.outline.iter()) else { return };
    let Some(mut clip) = Mask::new(size_px.0, size_px.1) else { return };
    clip.fill_path(&outline, FillRule::EvenOdd, true, Transform::identity());

    let pixels = Pixels::over(view, picture.mask.grid(), size_px);
    let mut classes = match picture.shade {
        Shade::Surface { values, breaks, .. } => pixels.surface_classes(&shown, values, breaks),
        Shade::Classes { classes, .. } => pixels.cell_classes(&shown, classes),
    };
    for zone in picture.zones {
        let (Some(class), Some(path)) = (zone.class, path_of(view, zone.rings.iter())) else { continue };
        pixels.fill_class(&mut classes, class, &path, size_px);
    }
    let slants = slant_table(colors);
    for (x, y, index) in pixels.each() {
        let cover = clip.data()[y as usize * size_px.0 as usize + x as usize];
        if cover == 0 {
            continue;
        }
        let class = usize::from(classes[index]);
        let beyond = picture.beyond.is_some_and(|beyond| beyond[shown[pixels.cell(x, y)] as usize]);
        let color = if beyond { slants[class][(x + y) as usize % SLANT_PERIOD_PX] } else { colors[class] };
        canvas.put(x, y, if cover == 255 { color } else { PAPER.under(color, f32::from(cover) / 255.0) });
    }
    if let Some(density) = picture.sand {
        let sandy = clear_of_samples(clip.clone(), picture, view);
        sand(canvas, view.frame, |spot| {
            let (x, y) = (spot.x as u32, spot.y as u32);
            let index = pixels.index(x, y)?;
            let inside = sandy.data()[y as usize * size_px.0 as usize + x as usize] == 255;
            let density = density[shown[pixels.cell(x, y)] as usize];
            inside.then(|| (density, colors[usize::from(classes[index])].text()))
        });
    }
    edges(canvas, picture, view, &outline, &clip);
}

/// Takes a disc round each sample out of a clip, so that no grain of sand lies in an open ring.
fn clear_of_samples(mut clip: Mask, picture: &MapPicture, view: &View) -> Mask {
    let (width, height) = (clip.width() as i32, clip.height() as i32);
    let reach = SAMPLE_CLEAR_PX.ceil() as i32;
    for sample in picture.samples {
        let at = view.spot(sample.at);
        for y in at.y as i32 - reach..=at.y as i32 + reach {
            for x in at.x as i32 - reach..=at.x as i32 + reach {
                let (dx, dy) = (x as f32 + 0.5 - at.x, y as f32 + 0.5 - at.y);
                let near = dx * dx + dy * dy <= SAMPLE_CLEAR_PX * SAMPLE_CLEAR_PX;
                if near && (0..width).contains(&x) && (0..height).contains(&y) {
                    clip.data_mut()[(y * width + x) as usize] = 0;
                }
            }
        }
    }
    clip
}

/// Bare paper for kept-off ground, then every edge once.
fn edges(canvas: &mut Canvas, picture: &MapPicture, view: &View, outline: &Path, clip: &Mask) {
    if let Some(borders) = borders_path(view, picture.borders) {
        canvas.stroke_within(&borders, INK, EDGE_PX, clip);
    }
    if let Some(kept_off) = path_of(view, picture.keep_off.iter()) {
        canvas.fill_rings_within(&kept_off, PAPER, clip);
        canvas.stroke_within(&kept_off, INK, EDGE_PX, clip);
    }
    canvas.stroke(outline, INK, OUTLINE_PX);
}

/// Pieces of line as one shape on the sheet.
pub(in crate::export) fn borders_path(view: &View, borders: &[[Site; 2]]) -> Option<Path> {
    let mut path = PathBuilder::new();
    for [from, to] in borders {
        let (from, to) = (view.spot(*from), view.spot(*to));
        path.move_to(from.x, from.y);
        path.line_to(to.x, to.y);
    }
    path.finish()
}

/// Rings as one shape on the sheet.
pub(in crate::export) fn path_of<'a>(view: &View, rings: impl Iterator<Item = &'a Vec<Site>>) -> Option<Path> {
    rings_path(rings.map(|ring| view.spots(ring)))
}

/// For each cell of the rectangle the cell it is drawn like: itself if it counts, else the nearest (by steps) that does.
/// The outline runs through cells whose centers lie outside; they need a color up to the line. `None`: no cell counts.
pub(in crate::export) fn nearest_counting_cell(mask: &CellMask) -> Option<Vec<u32>> {
    const UNREACHED: u32 = u32::MAX;
    let grid = mask.grid();
    let mut shown = vec![UNREACHED; grid.n_cells()];
    let mut queue: Vec<usize> = mask.cells().collect();
    for &cell in &queue {
        shown[cell] = cell as u32;
    }
    let mut next = 0;
    while next < queue.len() {
        let cell = queue[next];
        next += 1;
        let (col, row) = (cell % grid.n_cols, cell / grid.n_cols);
        let beside = [
            (col > 0).then(|| cell - 1),
            (col + 1 < grid.n_cols).then(|| cell + 1),
            (row > 0).then(|| cell - grid.n_cols),
            (row + 1 < grid.n_rows).then(|| cell + grid.n_cols),
        ];
        for neighbor in beside.into_iter().flatten() {
            if shown[neighbor] == UNREACHED {
                shown[neighbor] = shown[cell];
                queue.push(neighbor);
            }
        }
    }
    (!queue.is_empty()).then_some(shown)
}

/// One pixel line across one line of cells: the cell it lies in, and the two cell centers it lies between.
#[derive(Clone, Copy)]
struct Across {
    cell: usize,
    before: usize,
    after: usize,
    /// Share of `after`, 0 to 1.
    toward_after: f64,
}

impl Across {
    /// `cells` is the distance from the first cell's edge in cells; beyond the raster the end cell goes on.
    fn at(cells: f64, n: usize) -> Across {
        let last = (n - 1) as f64;
        let between = (cells - 0.5).clamp(0.0, last);
        let before = between.floor();
        Across {
            cell: cells.floor().clamp(0.0, last) as usize,
            before: before as usize,
            after: (before + 1.0).min(last) as usize,
            toward_after: between - before,
        }
    }
}

/// The pixels of the sheet that the field covers, with the cells under them.
struct Pixels {
    left: u32,
    top: u32,
    cols: Vec<Across>,
    rows: Vec<Across>,
    n_grid_cols: usize,
}

impl Pixels {
    fn over(view: &View, grid: &CellGrid, size_px: (u32, u32)) -> Pixels {
        let (left, top) = (view.frame.left.floor().max(0.0) as u32, view.frame.top.floor().max(0.0) as u32);
        let right = (view.frame.right().ceil().max(0.0) as u32 + 1).min(size_px.0);
        let bottom = (view.frame.bottom().ceil().max(0.0) as u32 + 1).min(size_px.1);
        let east = |x: u32| (view.east_m(x as f32 + 0.5) - grid.west_m) / grid.cell_m;
        let north = |y: u32| (view.north_m(y as f32 + 0.5) - grid.south_m) / grid.cell_m;
        Pixels {
            left,
            top,
            cols: (left..right).map(|x| Across::at(east(x), grid.n_cols)).collect(),
            rows: (top..bottom).map(|y| Across::at(north(y), grid.n_rows)).collect(),
            n_grid_cols: grid.n_cols,
        }
    }

    /// Every pixel: x, y and its place in a list of all of them.
    fn each(&self) -> impl Iterator<Item = (u32, u32, usize)> + '_ {
        let n = self.cols.len();
        (0..self.rows.len())
            .flat_map(move |row| (0..n).map(move |col| (self.left + col as u32, self.top + row as u32, row * n + col)))
    }

    fn index(&self, x: u32, y: u32) -> Option<usize> {
        let (col, row) = (x.checked_sub(self.left)? as usize, y.checked_sub(self.top)? as usize);
        (col < self.cols.len() && row < self.rows.len()).then(|| row * self.cols.len() + col)
    }

    fn cell(&self, x: u32, y: u32) -> usize {
        self.rows[(y - self.top) as usize].cell * self.n_grid_cols + self.cols[(x - self.left) as usize].cell
    }

    fn cell_classes(&self, shown: &[u32], classes: &[u8]) -> Vec<u8> {
        self.each().map(|(x, y, _)| classes[shown[self.cell(x, y)] as usize]).collect()
    }

    /// Classes of values taken straight between cell centers, so that class edges are lines and not stairs; at a cell
    /// center it is the cell's own class.
    fn surface_classes(&self, shown: &[u32], values: &[f64], breaks: &[f64]) -> Vec<u8> {
        let mut classes = Vec::with_capacity(self.rows.len() * self.cols.len());
        let mut line = vec![0.0; self.n_grid_cols];
        for row in &self.rows {
            let value = |row: usize, col: usize| values[shown[row * self.n_grid_cols + col] as usize];
            for (col, slot) in line.iter_mut().enumerate() {
                let (below, above) = (value(row.before, col), value(row.after, col));
                *slot = below + (above - below) * row.toward_after;
            }
            classes.extend(self.cols.iter().map(|col| {
                let (west, east) = (line[col.before], line[col.after]);
                class_of(west + (east - west) * col.toward_after, breaks) as u8
            }));
        }
        classes
    }

    /// Gives the pixels inside a zone's rings its class, so that colors meet at the outlines and not at cell edges.
    fn fill_class(&self, classes: &mut [u8], class: u8, path: &Path, size_px: (u32, u32)) {
        let Some(mut inside) = Mask::new(size_px.0, size_px.1) else { return };
        inside.fill_path(path, FillRule::EvenOdd, false, Transform::identity());
        for (x, y, index) in self.each() {
            if inside.data()[y as usize * size_px.0 as usize + x as usize] > 0 {
                classes[index] = class;
            }
        }
    }
}

/// Color of each class at each place across a slant line.
fn slant_table(colors: &[Rgb]) -> Vec<[Rgb; SLANT_PERIOD_PX]> {
    let slants = |color: &Rgb| {
        std::array::from_fn(|at| {
            let along_row = (at as f32).min((SLANT_PERIOD_PX - at) as f32);
            let cover = (SLANT_HALF_PX + 0.5 - along_row * std::f32::consts::FRAC_1_SQRT_2).clamp(0.0, 1.0);
            color.under(color.text(), cover)
        })
    };
    colors.iter().map(slants).collect()
}

/// Strews grains over a frame. `ground` gives a place's density, 0 to 1, and the grain's color; `None`: no ground.
pub(super) fn sand(canvas: &mut Canvas, frame: Frame, ground: impl Fn(Spot) -> Option<(f64, Rgb)>) {
    let (n_cols, n_rows) = ((frame.width / SAND_STEP_PX) as u32 + 1, (frame.height / SAND_STEP_PX) as u32 + 1);
    for row in 0..n_rows {
        for col in 0..n_cols {
            let chance = |salt: u32| scattered(col, row, salt);
            let spot = Spot {
                x: frame.left + (col as f32 + 0.5 + 0.7 * (chance(1) - 0.5)) * SAND_STEP_PX,
                y: frame.top + (row as f32 + 0.5 + 0.7 * (chance(2) - 0.5)) * SAND_STEP_PX,
            };
            if let Some((density, color)) = ground(spot)
                && f64::from(chance(3)) < density
            {
                canvas.disc(spot, SAND_RADIUS_PX, color);
            }
        }
    }
}

/// A fixed number in 0..1 for a place of the lattice: looks strewn, and is the same on every run.
fn scattered(col: u32, row: u32, salt: u32) -> f32 {
    let mut bits = col.wrapping_mul(0x9e37_79b1) ^ row.wrapping_mul(0x85eb_ca77) ^ salt.wrapping_mul(0xc2b2_ae3d);
    for _ in 0..2 {
        bits = (bits ^ (bits >> 15)).wrapping_mul(0x2c1b_3c6d);
        bits = (bits ^ (bits >> 12)).wrapping_mul(0x297a_2d39);
    }
    (bits >> 8) as f32 / (1 << 24) as f32
}
