//! One picture of what a log puts on the ground against what was planned: only what is more than 10 % off is inked.

use geo::{MultiPolygon, unary_union};

use super::map_png::{self, MapPicture, Palette, SampleMark, SampleRing, Shade};
use crate::applied::{Held, HeldCells, WITHIN_SHARE};
use crate::cell_grid::{CellGrid, CellMask, Site};
use crate::units::{M2_PER_ACRE, UnitSystem, thousands};

/// From here on a rate is far off, as a share of the planned one (a step of the key, no source).
const FAR_SHARE: f64 = 0.5;
/// Class of ground that got its rate.
const KEPT: u8 = 2;
/// Signs along the longer side of the field at most, and the share of a sign's square that must be off.
const SIGNS_A_SIDE: f64 = 30.0;
const LEAST_SHARE_OFF: f64 = 0.12;

/// Words beside the map.
#[derive(Debug, Clone, Copy)]
pub struct DifferenceWords<'a> {
    /// What was planned: "NORTH_2_POT, lb/ac".
    pub layer: &'a str,
    /// Sentences under the bar.
    pub caption: &'a [String],
}

/// The picture: PNG bytes; `ground` is that of the planned layer, one entry a record, degrees.
///
/// `None` where the layer has no ground.
pub fn difference_png(held: &Held, ground: &[&MultiPolygon], words: DifferenceWords<'_>) -> Option<Vec<u8>> {
    let cells = &held.cells;
    let on_plane: Vec<MultiPolygon> = ground.iter().map(|polygons| cells.plane.polygons(polygons)).collect();
    let outline = rings(&unary_union(&on_plane));
    let classes = classes(cells);
    let grid = CellGrid {
        west_m: cells.corner_m.0,
        south_m: cells.corner_m.1,
        cell_m: cells.cell_m,
        n_cols: cells.size.0,
        n_rows: cells.size.1,
    };
    let mask = CellMask::new(grid, cells.planned.iter().map(Option::is_some).collect());
    if mask.n_inside() == 0 || outline.is_empty() {
        return None;
    }
    let cell_m2 = cells.cell_m * cells.cell_m;
    let m2 = |class: u8| mask.cells().filter(|cell| classes[*cell] == class).count() as f64 * cell_m2;
    let name = |(class, words): (u8, &str)| format!("{words}  {} ac", thousands(m2(class) / M2_PER_ACRE, 1));
    let names: Vec<String> = [
        (0, "- none, or less than half"),
        (1, "- 10 to 50 % less"),
        (2, "within 10 %"),
        (3, "+ 10 to 50 % more"),
        (4, "+ more than half again"),
    ]
    .map(name)
    .to_vec();
    let borders: Vec<[Site; 2]> = on_plane
        .iter()
        .flat_map(rings)
        .flat_map(|ring| ring.windows(2).map(|pair| [pair[0], pair[1]]).collect::<Vec<_>>())
        .collect();
    let signs = signs(&mask, &classes);
    let picture = MapPicture {
        title: "Where did the ground get another rate than planned?",
        field_line: words.layer,
        quantity: "Logged against planned",
        mask: &mask,
        shade: Shade::Classes { classes: &classes, names: &names, palette: Palette::Change },
        outline: &outline,
        zones: &[],
        borders: &borders,
        keep_off: &[],
        samples: &signs,
        beyond: None,
        sand: None,
        caption: words.caption,
        units: UnitSystem::Us,
        area_m2: mask.n_inside() as f64 * cell_m2,
    };
    Some(map_png::draw(&picture))
}

/// Class of each cell; [`KEPT`] too where the layer has no ground.
fn classes(cells: &HeldCells) -> Vec<u8> {
    let class = |(planned, applied): (&Option<f64>, &f64)| {
        let planned = planned.unwrap_or(0.0);
        // Ground that was to get nothing and got some has no share to go by.
        let off = if planned > 0.0 {
            applied / planned - 1.0
        } else if *applied > 0.0 {
            f64::INFINITY
        } else {
            0.0
        };
        match off.abs() {
            kept if kept <= WITHIN_SHARE * (1.0 + 1e-9) => KEPT,
            far if far > FAR_SHARE => {
                if off < 0.0 {
                    0
                } else {
                    4
                }
            }
            _ => {
                if off < 0.0 {
                    1
                } else {
                    3
                }
            }
        }
    };
    let on_layer = cells.planned.iter().zip(&cells.applied);
    on_layer.map(|cell| if cell.0.is_some() { class(cell) } else { KEPT }).collect()
}

/// A minus or a plus on ground that is off, by squares: where it lies thickest within each.
fn signs(mask: &CellMask, classes: &[u8]) -> Vec<SampleRing> {
    let grid = mask.grid();
    let side = ((grid.n_cols.max(grid.n_rows) as f64 / SIGNS_A_SIDE).ceil() as usize).max(1);
    let mut signs = Vec::new();
    for south in (0..grid.n_rows).step_by(side) {
        for west in (0..grid.n_cols).step_by(side) {
            let square = (south..(south + side).min(grid.n_rows))
                .flat_map(|row| (west..(west + side).min(grid.n_cols)).map(move |col| (col, row)));
            let on_map: Vec<(usize, usize)> =
                square.filter(|(col, row)| mask.inside()[grid.index(*col, *row)]).collect();
            let of_side = |is_less: bool| -> Vec<(usize, usize)> {
                let class = |(col, row): (usize, usize)| classes[grid.index(col, row)];
                on_map.iter().copied().filter(|at| class(*at) != KEPT && (class(*at) < KEPT) == is_less).collect()
            };
            let (less, more) = (of_side(true), of_side(false));
            let (off, mark) =
                if less.len() >= more.len() { (less, SampleMark::Less) } else { (more, SampleMark::More) };
            if off.is_empty() || (off.len() as f64) < LEAST_SHARE_OFF * on_map.len() as f64 {
                continue;
            }
            // The cell nearest to the middle of those that are off.
            let mean = |of: fn(&(usize, usize)) -> usize| off.iter().map(of).sum::<usize>() as f64 / off.len() as f64;
            let (col, row) = (mean(|at| at.0), mean(|at| at.1));
            let away = |at: &(usize, usize)| (at.0 as f64 - col).powi(2) + (at.1 as f64 - row).powi(2);
            let nearest = off.iter().min_by(|a, b| away(a).total_cmp(&away(b)));
            signs.extend(nearest.map(|at| SampleRing { at: grid.center(at.0, at.1), mark }));
        }
    }
    signs
}

fn rings(polygons: &MultiPolygon) -> Vec<Vec<Site>> {
    let ring = |ring: &geo::LineString| ring.coords().map(|at| Site { east_m: at.x, north_m: at.y }).collect();
    polygons
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()))
        .map(ring)
        .collect()
}
