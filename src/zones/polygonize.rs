//! Exact outlines of the zones of a label raster, on the corners of its cells.
//!
//! In: one label a cell. Out: for each zone its patches as rings of corner indices, so that nothing is rounded. Smoothing,
//! clipping to the field's boundary and places in meters come later.
//!
//! ```text
//! +---+---+---+---+    Cells join across sides, not across corners: the two cells of zone 1, which meet only in the
//!   2   2   2   2      corner x, are two patches.
//! +   +---o---+---+
//!   2 | 1 | 3   3      Neighbors keep the same vertices on both sides of a border: at o three labels meet, so zone 2
//! +---+---x---+   +    keeps the vertex although its own border runs straight on.
//!   2   2 | 1 | 3
//! +---+---+---+---+
//! ```

use crate::cell_grid::CellGrid;

/// A corner of the cell lattice: column `0..=n_cols`, row `0..=n_rows` (see [`CellGrid::corner`]).
pub type Corner = (usize, usize);

/// All patches of one zone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ZonePolygons {
    /// The label, from 1.
    pub zone: u16,
    /// Largest first; of one size, the one with the first cell in row-major order.
    pub patches: Vec<PatchPolygon>,
}

/// One patch of cells joined across their sides.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PatchPolygon {
    /// Closed ring (first = last), counter-clockwise, never touching itself.
    pub exterior: Vec<Corner>,
    /// Closed rings, clockwise, none touching itself; two rings may touch in a point.
    pub interiors: Vec<Vec<Corner>>,
    /// Number of cells.
    pub n_cells: usize,
}

/// East, north, west, south: turning left is the next one.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Heading {
    East,
    North,
    West,
    South,
}

impl Heading {
    fn left(self) -> Self {
        match self {
            Heading::East => Heading::North,
            Heading::North => Heading::West,
            Heading::West => Heading::South,
            Heading::South => Heading::East,
        }
    }

    fn right(self) -> Self {
        self.left().left().left()
    }
}

/// Outlines every zone of a label raster exactly.
///
/// # Shape
/// `labels[row * n_cols + col]`, row 0 in the south; 0 is outside, 1 and up are zones. The result holds the zones that
/// have cells, in ascending order. Rings are corner indices, from the south-west corner of the raster.
///
/// # Guarantees
/// - the area of a zone's polygons is its number of cells
/// - the polygons fill the labeled cells: no gap, no overlap
/// - every polygon is valid (OGC Simple Features), one for each 4-connected patch
/// - a border between two patches is the same segments on both sides, in opposite directions; vertices are the turns of
///   the border and the corners where three or more labels meet
/// - exteriors run counter-clockwise, interiors clockwise
/// - the same raster gives the same rings, each starting at its first eastward side in row-major order
///
/// # Panics
/// If there is not one label a cell, or there are 2^32 cells or more.
///
/// # Limits and cost
/// Borders are stairs of whole cells. Time and memory grow in proportion to the cells.
pub fn polygonize(grid: &CellGrid, labels: &[u16]) -> Vec<ZonePolygons> {
    assert_eq!(labels.len(), grid.n_cells(), "one label a cell");
    assert!(u32::try_from(labels.len()).is_ok(), "fewer than 2^32 cells");
    let PatchRaster { stride, patch_at, mut patches } = PatchRaster::of(grid, labels);

    // Every ring has a side that runs east, with the patch to its north. The first such side of a patch lies on its
    // exterior, since no cell of it lies farther south; its other rings are holes.
    let mut is_traced = vec![false; patch_at.len()];
    for row in 1..=grid.n_rows {
        for at in row * stride + 1..=row * stride + grid.n_cols {
            let patch = patch_at[at];
            if patch == OUTSIDE || patch_at[at - stride] == patch || is_traced[at] {
                continue;
            }
            let ring = trace_ring(&patch_at, stride, at, &mut is_traced);
            let polygon = &mut patches[patch as usize - 1].1;
            if polygon.exterior.is_empty() {
                polygon.exterior = ring;
            } else {
                polygon.interiors.push(ring);
            }
        }
    }

    // Stable: patches of one zone and size stay in the order of their first cells.
    patches.sort_by_key(|(zone, polygon)| (*zone, std::cmp::Reverse(polygon.n_cells)));
    let mut zones: Vec<ZonePolygons> = Vec::new();
    for (zone, polygon) in patches {
        match zones.last_mut() {
            Some(last) if last.zone == zone => last.patches.push(polygon),
            _ => zones.push(ZonePolygons { zone, patches: vec![polygon] }),
        }
    }
    zones
}

/// Patch number of cells that belong to no zone.
const OUTSIDE: u32 = 0;

/// The cells by patch, with a rim of outside cells so that no border case needs a test.
struct PatchRaster {
    /// Cells a row, rim included.
    stride: usize,
    /// Patch number of each cell, from 1 in the order of first cells.
    patch_at: Vec<u32>,
    /// Label and, without rings yet, polygon of patch 1, 2, ...
    patches: Vec<(u16, PatchPolygon)>,
}

/// Equal labels side by side in one row.
struct Run {
    row: usize,
    cols: std::ops::Range<usize>,
    label: u16,
}

impl PatchRaster {
    fn of(grid: &CellGrid, labels: &[u16]) -> Self {
        let stride = grid.n_cols + 2;
        let mut runs: Vec<Run> = Vec::new();
        let mut parents: Vec<u32> = Vec::new(); // of each run; a root is the first run of its patch
        let mut south = 0..0; // runs of the row before
        for (row, labels) in labels.chunks_exact(grid.n_cols.max(1)).enumerate() {
            let first_run = runs.len();
            let mut col = 0;
            for equal in labels.chunk_by(|a, b| a == b) {
                let cols = col..col + equal.len();
                col = cols.end;
                if equal[0] == 0 {
                    continue;
                }
                let run = runs.len() as u32;
                parents.push(run);
                // Runs that end west of this one cannot touch it or any later one.
                while south.start < south.end && runs[south.start].cols.end <= cols.start {
                    south.start += 1;
                }
                for below in south.clone().take_while(|&below| runs[below].cols.start < cols.end) {
                    if runs[below].label == equal[0] {
                        join(&mut parents, below as u32, run);
                    }
                }
                runs.push(Run { row, cols, label: equal[0] });
            }
            south = first_run..runs.len();
        }

        let mut patch_at = vec![OUTSIDE; stride * (grid.n_rows + 2)];
        let mut patch_of_run: Vec<u32> = Vec::with_capacity(runs.len());
        let mut patches: Vec<(u16, PatchPolygon)> = Vec::new();
        for (index, run) in runs.iter().enumerate() {
            let first = root(&mut parents, index as u32) as usize;
            if first == index {
                let polygon = PatchPolygon { exterior: Vec::new(), interiors: Vec::new(), n_cells: 0 };
                patches.push((run.label, polygon));
                patch_of_run.push(patches.len() as u32);
            } else {
                patch_of_run.push(patch_of_run[first]);
            }
            let patch = patch_of_run[index];
            patches[patch as usize - 1].1.n_cells += run.cols.len();
            let west = (run.row + 1) * stride + 1;
            patch_at[west + run.cols.start..west + run.cols.end].fill(patch);
        }
        PatchRaster { stride, patch_at, patches }
    }
}

/// The first run of the patch a run belongs to; halves the way there for the next who asks.
fn root(parents: &mut [u32], mut run: u32) -> u32 {
    while parents[run as usize] != run {
        parents[run as usize] = parents[parents[run as usize] as usize];
        run = parents[run as usize];
    }
    run
}

fn join(parents: &mut [u32], a: u32, b: u32) {
    let (a, b) = (root(parents, a), root(parents, b));
    parents[a.max(b) as usize] = a.min(b);
}

/// Follows a border with the patch on the left, from the south-west corner of cell `start` eastward until it closes.
///
/// Where the patch meets itself across a corner the way turns right, around the cells beyond: those on the two sides of
/// such a corner are cut off from each other by the patch, so each has its own ring and no ring touches itself.
fn trace_ring(patch_at: &[u32], stride: usize, start: usize, is_traced: &mut [bool]) -> Vec<Corner> {
    let patch = patch_at[start];
    // A corner goes by the cell to its north-east.
    let mut corner = start;
    let mut heading = Heading::East;
    let mut ring = vec![corner_indices(start, stride)];
    loop {
        if heading == Heading::East {
            is_traced[corner] = true;
        }
        corner = match heading {
            Heading::East => corner + 1,
            Heading::North => corner + stride,
            Heading::West => corner - 1,
            Heading::South => corner - stride,
        };
        let (south_west, south_east) = (corner - stride - 1, corner - stride);
        let (north_west, north_east) = (corner - 1, corner);
        let (ahead_left, ahead_right, behind_right) = match heading {
            Heading::East => (north_east, south_east, south_west),
            Heading::North => (north_west, north_east, south_east),
            Heading::West => (south_west, north_west, north_east),
            Heading::South => (south_east, south_west, north_west),
        };
        let is_vertex = if patch_at[ahead_right] == patch {
            heading = heading.right();
            true
        } else if patch_at[ahead_left] == patch {
            patch_at[ahead_right] != patch_at[behind_right]
        } else {
            heading = heading.left();
            true
        };
        if is_vertex {
            ring.push(corner_indices(corner, stride));
        }
        // The start is a turn of the border, passed eastward only once.
        if corner == start && heading == Heading::East {
            return ring;
        }
    }
}

/// Lattice indices of the south-west corner of a cell of the rimmed raster.
fn corner_indices(cell: usize, stride: usize) -> Corner {
    (cell % stride - 1, cell / stride - 1)
}

#[cfg(test)]
mod tests {
    use std::collections::{BTreeMap, BTreeSet};

    use geo::{Area, Contains, LineString, Point, Polygon, Validation};
    use proptest::prelude::*;

    use super::*;

    fn grid(n_cols: usize, n_rows: usize) -> CellGrid {
        CellGrid { west_m: 0.0, south_m: 0.0, cell_m: 1.0, n_cols, n_rows }
    }

    /// Rows as on a map, north first; `.` is outside.
    fn draw(north_first: &[&str]) -> (CellGrid, Vec<u16>) {
        let rows = north_first.iter().rev();
        let labels =
            rows.flat_map(|row| row.bytes().map(|label| if label == b'.' { 0 } else { u16::from(label - b'0') }));
        (grid(north_first[0].len(), north_first.len()), labels.collect())
    }

    fn to_geo(patch: &PatchPolygon) -> Polygon {
        let ring = |corners: &Vec<Corner>| -> LineString {
            corners.iter().map(|&(col, row)| (col as f64, row as f64)).collect()
        };
        Polygon::new(ring(&patch.exterior), patch.interiors.iter().map(ring).collect())
    }

    /// All corners a ring runs through, without the closing one.
    fn lattice_steps(ring: &[Corner]) -> Vec<Corner> {
        let toward = |from: usize, to: usize| from.saturating_add_signed((to as isize - from as isize).signum());
        let mut steps = Vec::new();
        for side in ring.windows(2) {
            let (mut at, to) = (side[0], side[1]);
            assert!((at.0 == to.0) != (at.1 == to.1), "sides follow the lattice");
            while at != to {
                steps.push(at);
                at = (toward(at.0, to.0), toward(at.1, to.1));
            }
        }
        steps
    }

    /// Sizes of the 4-connected patches of each zone, largest first, by flooding.
    fn flooded_sizes(grid: &CellGrid, labels: &[u16]) -> Vec<(u16, Vec<usize>)> {
        let mut left = labels.to_vec();
        let mut sizes: BTreeMap<u16, Vec<usize>> = BTreeMap::new();
        for first in 0..left.len() {
            let zone = left[first];
            if zone == 0 {
                continue;
            }
            let mut n_cells = 0;
            let mut open = vec![first];
            while let Some(cell) = open.pop() {
                if left[cell] != zone {
                    continue;
                }
                left[cell] = 0;
                n_cells += 1;
                let (col, row) = (cell % grid.n_cols, cell / grid.n_cols);
                open.extend((col > 0).then(|| cell - 1));
                open.extend((col + 1 < grid.n_cols).then(|| cell + 1));
                open.extend((row > 0).then(|| cell - grid.n_cols));
                open.extend((row + 1 < grid.n_rows).then(|| cell + grid.n_cols));
            }
            sizes.entry(zone).or_default().push(n_cells);
        }
        sizes.values_mut().for_each(|sizes| sizes.sort_unstable_by(|a, b| b.cmp(a)));
        sizes.into_iter().collect()
    }

    /// Every guarantee of [`polygonize`], in the order of its docstring.
    fn check_guarantees((grid, labels): &(CellGrid, Vec<u16>)) -> Vec<ZonePolygons> {
        let zones = polygonize(grid, labels);
        let patches = || zones.iter().flat_map(|zone| zone.patches.iter().map(move |patch| (zone.zone, patch)));
        let polygons: Vec<(u16, Polygon)> = patches().map(|(zone, patch)| (zone, to_geo(patch))).collect();
        let label_at = |col: isize, row: isize| {
            let inside = (0..grid.n_cols as isize).contains(&col) && (0..grid.n_rows as isize).contains(&row);
            if inside { labels[grid.index(col as usize, row as usize)] } else { 0 }
        };

        // Area, patch by patch.
        for ((_, patch), (_, polygon)) in patches().zip(&polygons) {
            assert_eq!(polygon.unsigned_area(), patch.n_cells as f64);
        }
        // No gap, no overlap.
        for (cell, &label) in labels.iter().enumerate() {
            let center = grid.center(cell % grid.n_cols, cell / grid.n_cols);
            let point = Point::new(center.east_m, center.north_m);
            let over: Vec<u16> =
                polygons.iter().filter(|(_, polygon)| polygon.contains(&point)).map(|(zone, _)| *zone).collect();
            assert_eq!(over, if label == 0 { vec![] } else { vec![label] });
        }
        // Valid, one for each patch, no ring touching itself.
        for (zone, polygon) in &polygons {
            assert!(polygon.is_valid(), "zone {zone}: {:?}", polygon.validation_errors());
        }
        let sizes = zones.iter().map(|zone| (zone.zone, zone.patches.iter().map(|patch| patch.n_cells).collect()));
        assert_eq!(sizes.collect::<Vec<_>>(), flooded_sizes(grid, labels), "zones ascend, largest patch first");
        let rings = || patches().flat_map(|(_, patch)| std::iter::once(&patch.exterior).chain(&patch.interiors));
        for ring in rings() {
            assert_eq!(ring.first(), ring.last());
            let steps = lattice_steps(ring);
            assert_eq!(steps.iter().collect::<BTreeSet<_>>().len(), steps.len(), "{ring:?}");
        }
        // Borders.
        let sides: Vec<(Corner, Corner)> =
            rings().flat_map(|ring| ring.windows(2).map(|side| (side[0], side[1]))).collect();
        let side_set: BTreeSet<(Corner, Corner)> = sides.iter().copied().collect();
        assert_eq!(side_set.len(), sides.len(), "no side twice in one direction");
        for &(from, to) in &sides {
            let has_neighbor = side_set.contains(&(to, from));
            let toward = |from: usize, to: usize| (to as isize - from as isize).signum();
            let (east, north) = (toward(from.0, to.0), toward(from.1, to.1));
            for (col, row) in lattice_steps(&[from, to]) {
                let right = label_at(col as isize + (east + north - 1) / 2, row as isize + (north - east - 1) / 2);
                assert_eq!(has_neighbor, right != 0);
            }
        }
        for ring in rings() {
            let n_sides = ring.len() - 1;
            for at in 0..n_sides {
                let ((before, here), after) = ((ring[(at + n_sides - 1) % n_sides], ring[at]), ring[at + 1]);
                let is_turn = (before.0 == here.0) != (here.0 == after.0);
                let (col, row) = (here.0 as isize, here.1 as isize);
                let around = [(col, row), (col - 1, row), (col, row - 1), (col - 1, row - 1)];
                let met: BTreeSet<u16> = around.iter().map(|&(col, row)| label_at(col, row)).collect();
                assert!(is_turn || met.len() >= 3, "{here:?} is not needed in {ring:?}");
            }
        }
        // Directions and starts.
        let side_area = |side: &[Corner]| (side[0].0 * side[1].1) as f64 - (side[1].0 * side[0].1) as f64;
        let area = |ring: &[Corner]| ring.windows(2).map(side_area).sum::<f64>() / 2.0;
        assert!(patches().all(|(_, patch)| area(&patch.exterior) > 0.0));
        assert!(patches().all(|(_, patch)| patch.interiors.iter().all(|ring| area(ring) < 0.0)));
        assert!(rings().all(|ring| ring[0].1 == ring[1].1 && ring[0].0 < ring[1].0), "first side runs east");
        let first_cell = |patch: &PatchPolygon| (patch.exterior[0].1, patch.exterior[0].0);
        let in_order =
            |pair: &[PatchPolygon]| pair[0].n_cells > pair[1].n_cells || first_cell(&pair[0]) < first_cell(&pair[1]);
        assert!(zones.iter().all(|zone| zone.patches.windows(2).all(in_order)), "of one size, first cell first");
        zones
    }

    #[test]
    fn a_hole_and_an_island_in_it() {
        let zones = check_guarantees(&draw(&[
            "1111111", //
            "1222221", //
            "1231221", //
            "1222221", //
            "1111111",
        ]));
        let [one, two, three] = &zones[..] else { panic!("three zones") };
        assert_eq!(one.patches.len(), 2);
        assert_eq!(one.patches[0].exterior, [(0, 0), (7, 0), (7, 5), (0, 5), (0, 0)]);
        assert_eq!(one.patches[0].interiors, [[(1, 4), (6, 4), (6, 1), (1, 1), (1, 4)]]);
        assert_eq!(one.patches[1].exterior, [(3, 2), (4, 2), (4, 3), (3, 3), (3, 2)]);
        // The hole of zone 2 holds cells of two zones: it keeps the corners where three labels meet.
        assert_eq!(two.patches[0].interiors, [[(2, 3), (3, 3), (4, 3), (4, 2), (3, 2), (2, 2), (2, 3)]]);
        assert_eq!((three.zone, three.patches[0].n_cells), (3, 1));
    }

    #[test]
    fn two_holes_touching_in_a_corner_are_two_rings() {
        let zones = check_guarantees(&draw(&[
            "1111111", //
            "11.1111", //
            "111.111", //
            "1111111", //
            "1111111",
        ]));
        let hole = |col, row| vec![(col, row + 1), (col + 1, row + 1), (col + 1, row), (col, row), (col, row + 1)];
        assert_eq!(zones[0].patches[0].interiors, [hole(3, 2), hole(2, 3)]);
        assert_eq!(zones[0].patches[0].n_cells, 33);
    }

    #[test]
    fn a_hole_touching_the_exterior_is_a_ring_of_its_own() {
        let zones = check_guarantees(&draw(&[
            "..11111", //
            "1.11111", //
            "11.1111", //
            "1111111", //
            ".......",
        ]));
        assert_eq!(zones[0].patches.len(), 1);
        assert_eq!(zones[0].patches[0].interiors, [[(2, 3), (3, 3), (3, 2), (2, 2), (2, 3)]]);
        assert!(zones[0].patches[0].exterior.contains(&(2, 3)));
    }

    #[test]
    fn cells_meeting_in_a_corner_are_two_patches() {
        let zones = check_guarantees(&draw(&[
            ".......", //
            ".111...", //
            "....2..", //
            ".....2.", //
            "2......",
        ]));
        assert_eq!(zones[0].patches[0].exterior, [(1, 3), (4, 3), (4, 4), (1, 4), (1, 3)]);
        let first_corners: Vec<Corner> = zones[1].patches.iter().map(|patch| patch.exterior[0]).collect();
        assert_eq!(first_corners, [(0, 0), (5, 1), (4, 2)]);
    }

    #[test]
    fn neighbors_keep_the_corners_where_three_labels_meet() {
        let zones = check_guarantees(&draw(&["222", "133"]));
        assert_eq!(zones[1].zone, 2);
        assert_eq!(zones[1].patches[0].exterior, [(0, 1), (1, 1), (3, 1), (3, 2), (0, 2), (0, 1)]);
    }

    #[test]
    fn checkerboards_and_rasters_without_zones() {
        for (n_cols, n_rows) in [(1, 1), (1, 8), (8, 1), (7, 5), (12, 12)] {
            for n_labels in [1, 2, 3] {
                for first in [0, 1] {
                    let cells = (0..n_cols * n_rows).map(|cell| first + (cell % n_cols + cell / n_cols) % n_labels);
                    check_guarantees(&(grid(n_cols, n_rows), cells.map(|label| label as u16).collect()));
                }
            }
        }
        assert_eq!(polygonize(&grid(7, 5), &[0; 35]), []);
        assert_eq!(polygonize(&grid(0, 0), &[]), []);
        assert_eq!(polygonize(&grid(1, 1), &[u16::MAX])[0].zone, u16::MAX);
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(600) })]

        #[test]
        fn random_rasters_keep_every_guarantee(
            raster in (1usize..14, 1usize..14, 1u16..6).prop_flat_map(|(n_cols, n_rows, highest)| {
                (Just(grid(n_cols, n_rows)), prop::collection::vec(0..=highest, n_cols * n_rows))
            })
        ) {
            check_guarantees(&raster);
        }
    }
}
