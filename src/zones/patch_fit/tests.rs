//! Fitted rasters by hand, by rules, and beside the plainest way of doing the same.

use std::collections::BTreeMap;

use proptest::prelude::*;

use super::*;
use crate::zones::patches::tests::raster;

const NONE: PatchLimits = PatchLimits { smallest_m2: 0.0, narrowest_m: 0.0, shortest_m: 0.0 };

/// The fitted raster as a picture, north row first.
fn picture(grid: &CellGrid, labels: &[u16]) -> Vec<String> {
    let row = |row: &[u16]| row.iter().map(|&l| if l == 0 { ".".to_owned() } else { l.to_string() }).collect();
    labels.chunks(grid.n_cols).rev().map(row).collect()
}

fn fit(rows: &[&str], limits: PatchLimits) -> (Vec<String>, FittedLabels) {
    let (grid, labels) = raster(rows);
    let fitted = fit_patches(&grid, &labels, &limits);
    (picture(&grid, &fitted.labels), fitted)
}

#[test]
fn a_small_patch_goes_where_its_border_is_longest() {
    // The lone 2 has 3 sides to zone 1 and 1 to zone 3; the lone 3 in the corner has 1 to each and takes the lower.
    let rows = ["1111122", "1111122", "1121122", "3333322", "2222213"];
    let (after, fitted) = fit(&rows, PatchLimits { smallest_m2: 2.0, ..NONE });
    assert_eq!(after, ["1111122", "1111122", "1111122", "3333322", "2222222"]);
    // The 1 in the south row goes first (of one size the lower zone): 2 sides to zone 2, 1 to zone 3. Then the 3 has 2
    // to zone 2. In all 3 patches of 1 cell.
    assert_eq!(fitted.moves, [PatchMoves { lack: Lack::Area, n_patches: 3, n_cells: 3 }]);
    assert_eq!((fitted.n_changed, fitted.n_without_neighbor), (3, 0));
    assert!((fitted.changed_share - 3.0 / 35.0).abs() < 1e-12 && fitted.vanished.is_empty());
}

#[test]
fn a_narrow_strip_joins_and_its_zone_vanishes() {
    // Zone 3 is 5 cells long and 1 wide: 5 sides to zone 1, 5 to zone 2 in the south, 1 to zone 2 in the east.
    let rows = ["1111122", "1111122", "3333322", "2222222", "2222222"];
    let (after, fitted) = fit(&rows, PatchLimits { narrowest_m: 2.0, ..NONE });
    assert_eq!(after, ["1111122", "1111122", "2222222", "2222222", "2222222"]);
    assert_eq!(fitted.moves, [PatchMoves { lack: Lack::Width, n_patches: 1, n_cells: 5 }]);
    assert_eq!(fitted.vanished, [3]);
    // Zone 1 is 2 wide, as wide as the limit; a hair more and it goes too.
    let (after, _) = fit(&rows, PatchLimits { narrowest_m: 2.001, ..NONE });
    assert_eq!(after, ["2222222"; 5]);
}

#[test]
fn a_short_patch_joins_a_neighbor() {
    // Zone 3: 3 by 2 cells, so sqrt(13) = 3.606 m from corner to corner.
    let rows = ["1111111", "1333111", "1333111", "1111111", "2222222"];
    assert_eq!(fit(&rows, PatchLimits { shortest_m: 3.605, ..NONE }).1.n_changed, 0);
    let (after, fitted) = fit(&rows, PatchLimits { shortest_m: 3.606, ..NONE });
    assert_eq!(after, ["1111111", "1111111", "1111111", "1111111", "2222222"]);
    assert_eq!(fitted.moves, [PatchMoves { lack: Lack::Length, n_patches: 1, n_cells: 6 }]);
}

#[test]
fn small_patches_that_touch_go_one_by_one() {
    // 3 and 4 have 2 cells each, the lower zone goes first: 1 side to zone 2, 1 to zone 4, 4 to zone 1. Then 4 has 1
    // side to zone 2 and 5 to zone 1; then 2 has zone 1 all round.
    let rows = ["1111111", "1223311", "1224111", "1114111", "1111111"];
    let (after, fitted) = fit(&rows, PatchLimits { smallest_m2: 5.0, ..NONE });
    assert_eq!(after, ["1111111"; 5]);
    assert_eq!(fitted.moves, [PatchMoves { lack: Lack::Area, n_patches: 3, n_cells: 8 }]);
    // 3 has 2 cells and only zone 2 beside it, which has 4: together they are large enough and stay.
    let rows = ["2233.11", "22..111", "1111111", "1111111", "1111111"];
    let (after, fitted) = fit(&rows, PatchLimits { smallest_m2: 5.0, ..NONE });
    assert_eq!(after, ["2222.11", "22..111", "1111111", "1111111", "1111111"]);
    assert_eq!((fitted.n_changed, fitted.vanished), (2, vec![3]));
}

#[test]
fn ground_of_its_own_stays_and_is_counted() {
    let rows = ["11.2222", "11.2222", "...2222", "3..2222", "4..2222"];
    let (after, fitted) = fit(&rows, PatchLimits { smallest_m2: 5.0, narrowest_m: 2.0, shortest_m: 4.0 });
    // Of one size the lower zone goes first: 3 joins 4. What comes of it, and zone 1, lie alone.
    assert_eq!(after, ["11.2222", "11.2222", "...2222", "4..2222", "4..2222"]);
    assert_eq!((fitted.n_changed, fitted.n_without_neighbor), (1, 2));
}

#[test]
fn odd_input_has_an_answer() {
    let grid = CellGrid { west_m: 0.0, south_m: 0.0, cell_m: 5.0, n_cols: 0, n_rows: 0 };
    let all = PatchLimits { smallest_m2: f64::INFINITY, narrowest_m: f64::INFINITY, shortest_m: f64::INFINITY };
    assert_eq!(fit_patches(&grid, &[], &all).changed_share, 0.0);
    assert_eq!(fit(&["123", "..."], all).0, ["222", "..."]); // 1 joins 2, then 3 is the smallest
    let none = PatchLimits { smallest_m2: f64::NAN, narrowest_m: -1.0, shortest_m: f64::NEG_INFINITY };
    assert_eq!(fit(&["123", "..."], none).0, ["123", "..."]);
}

#[test]
fn a_limit_met_exactly_is_met_in_any_cell_size() {
    // 3 cells of 0.1 m: neither 0.3 / 0.1 nor 0.1 * 0.1 is exact in binary.
    let labels = [1, 1, 1, 2, 1, 1, 1, 2, 1, 1, 1, 2];
    let grid = CellGrid { west_m: 0.0, south_m: 0.0, cell_m: 0.1, n_cols: 4, n_rows: 3 };
    let limits = PatchLimits { smallest_m2: 0.03, narrowest_m: 0.1, shortest_m: 0.1 * 10.0_f64.sqrt() };
    assert_eq!(fit_patches(&grid, &labels, &limits).n_changed, 0);
    let wide = PatchLimits { narrowest_m: 0.3, ..NONE };
    assert_eq!(fit_patches(&grid, &labels, &wide).labels, [1; 12]);
}

/// Cells of each patch, ascending, by first cell.
fn patches_of(grid: &CellGrid, labels: &[u16]) -> Vec<Vec<usize>> {
    let mut seen = vec![false; labels.len()];
    let mut patches = Vec::new();
    for first in 0..labels.len() {
        if labels[first] == 0 || seen[first] {
            continue;
        }
        seen[first] = true;
        let mut cells = vec![first];
        let mut next = 0;
        while next < cells.len() {
            for beside in beside(grid, cells[next]) {
                if labels[beside] == labels[first] && !seen[beside] {
                    seen[beside] = true;
                    cells.push(beside);
                }
            }
            next += 1;
        }
        cells.sort_unstable();
        patches.push(cells);
    }
    patches
}

fn beside(grid: &CellGrid, cell: usize) -> Vec<usize> {
    let (col, row) = ((cell % grid.n_cols) as i64, (cell / grid.n_cols) as i64);
    [(col - 1, row), (col + 1, row), (col, row - 1), (col, row + 1)]
        .into_iter()
        .filter(|&(c, r)| c >= 0 && r >= 0 && c < grid.n_cols as i64 && r < grid.n_rows as i64)
        .map(|(c, r)| grid.index(c as usize, r as usize))
        .collect()
}

/// Width of a patch by trying every half cell against every foreign cell, with a rim round the raster.
fn width_cells(grid: &CellGrid, cells: &[usize]) -> f64 {
    let (n_cols, n_rows) = (grid.n_cols as i64, grid.n_rows as i64);
    let is_own = |col: i64, row: i64| {
        (0..n_cols).contains(&col) && (0..n_rows).contains(&row) && cells.contains(&((row * n_cols + col) as usize))
    };
    let foreign: Vec<(i64, i64)> = (-1..=n_rows)
        .flat_map(|row| (-1..=n_cols).map(move |col| (col, row)))
        .filter(|&(col, row)| !is_own(col, row))
        .collect();
    let mut widest = 0.0_f64;
    for y in 0..=2 * n_rows {
        for x in 0..=2 * n_cols {
            // In half cells from the south-west corner; cell (c, r) reaches from 2c to 2c + 2.
            let off = |at: i64, low: i64| (2 * low - at).max(at - 2 * low - 2).max(0) as f64;
            let nearest = foreign.iter().map(|&(c, r)| off(x, c).hypot(off(y, r))).fold(f64::INFINITY, f64::min);
            widest = widest.max(nearest);
        }
    }
    widest
}

fn lack_of(grid: &CellGrid, cells: &[usize], limits: &PatchLimits) -> Option<Lack> {
    if (cells.len() as f64) * grid.cell_area_m2() < limits.smallest_m2 * MARGIN {
        return Some(Lack::Area);
    }
    if limits.narrowest_m > 0.0 && width_cells(grid, cells) * grid.cell_m < limits.narrowest_m * MARGIN {
        return Some(Lack::Width);
    }
    let corners: Vec<(f64, f64)> = cells
        .iter()
        .map(|cell| ((cell % grid.n_cols) as f64, (cell / grid.n_cols) as f64))
        .flat_map(|(c, r)| [(c, r), (c + 1.0, r), (c, r + 1.0), (c + 1.0, r + 1.0)])
        .collect();
    let apart = |a: &(f64, f64)| corners.iter().map(|b| (a.0 - b.0).hypot(a.1 - b.1)).fold(0.0, f64::max);
    let longest = corners.iter().map(apart).fold(0.0, f64::max);
    (longest * grid.cell_m < limits.shortest_m * MARGIN).then_some(Lack::Length)
}

/// The same rules without any haste: after each move all patches are found and measured anew.
fn plainly_fitted(grid: &CellGrid, labels: &[u16], limits: &PatchLimits) -> (Vec<u16>, BTreeMap<Lack, usize>) {
    let mut labels = labels.to_vec();
    let mut moved = BTreeMap::new();
    loop {
        // By size, zone and first cell; then its cells, where it goes and why.
        let mut found = Vec::new();
        for cells in patches_of(grid, &labels) {
            let zone = labels[cells[0]];
            let mut sides: BTreeMap<u16, usize> = BTreeMap::new();
            for beside in cells.iter().flat_map(|&cell| beside(grid, cell)) {
                if labels[beside] != zone && labels[beside] != 0 {
                    *sides.entry(labels[beside]).or_default() += 1;
                }
            }
            let longest = sides.iter().max_by_key(|(zone, sides)| (**sides, Reverse(**zone)));
            if let (Some(lack), Some((&target, _))) = (lack_of(grid, &cells, limits), longest) {
                found.push(((cells.len(), zone, cells[0]), cells, target, lack));
            }
        }
        found.sort();
        let Some((_, cells, target, lack)) = found.into_iter().next() else { return (labels, moved) };
        cells.iter().for_each(|&cell| labels[cell] = target);
        *moved.entry(lack).or_default() += 1;
    }
}

/// Rasters of single cells and of blocks, with ground that has no zone, and limits about as large as their patches.
fn cases() -> impl Strategy<Value = (CellGrid, Vec<u16>, PatchLimits)> {
    let limits = (0.0..12.0_f64, 0.0..4.5_f64, 0.0..9.0_f64, 0u8..8);
    let sides = (1usize..9, 1usize..9, 1usize..4, 2u16..6, any::<bool>());
    (sides, limits).prop_flat_map(|((n_cols, n_rows, block, n_zones, has_gaps), (area, width, length, kinds))| {
        let first = if has_gaps { 0 } else { 1 };
        let labels = prop::collection::vec(first..n_zones, n_cols * n_rows);
        labels.prop_map(move |blocks| {
            let grid = CellGrid {
                west_m: -3.0,
                south_m: 8.0,
                cell_m: 2.5,
                n_cols: (n_cols * block).min(14),
                n_rows: (n_rows * block).min(14),
            };
            let label = |cell: usize| blocks[cell / grid.n_cols / block * n_cols + cell % grid.n_cols / block];
            let on = |bit: u8, limit: f64| if kinds & bit > 0 { limit } else { 0.0 };
            let limits = PatchLimits {
                smallest_m2: on(1, area * grid.cell_area_m2()),
                narrowest_m: on(2, width * grid.cell_m),
                shortest_m: on(4, length * grid.cell_m),
            };
            (grid, (0..grid.n_cells()).map(label).collect(), limits)
        })
    })
}

/// A raster turned by a quarter, or mirrored.
fn turned(grid: &CellGrid, labels: &[u16], is_mirrored: bool) -> (CellGrid, Vec<u16>) {
    let (n_cols, n_rows) = (grid.n_cols, grid.n_rows);
    if is_mirrored {
        let mirrored = (0..labels.len()).map(|cell| labels[cell / n_cols * n_cols + n_cols - 1 - cell % n_cols]);
        return (*grid, mirrored.collect());
    }
    let after = CellGrid { n_cols: n_rows, n_rows: n_cols, ..*grid };
    (after, (0..labels.len()).map(|cell| labels[(n_rows - 1 - cell % n_rows) * n_cols + cell / n_rows]).collect())
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn fitted_rasters_keep_the_rules((grid, labels, limits) in cases()) {
        let fitted = fit_patches(&grid, &labels, &limits);
        let mut n_without = 0;
        for cells in patches_of(&grid, &fitted.labels) {
            let has_neighbor = cells
                .iter()
                .flat_map(|&cell| beside(&grid, cell))
                .any(|beside| ![0, fitted.labels[cells[0]]].contains(&fitted.labels[beside]));
            let lack = lack_of(&grid, &cells, &limits);
            prop_assert!(lack.is_none() || !has_neighbor, "{lack:?} at {}", cells[0]);
            n_without += usize::from(lack.is_some());
        }
        prop_assert_eq!(n_without, fitted.n_without_neighbor);
        prop_assert_eq!(fitted.labels.len(), labels.len());
        let is_zoned = |labels: &[u16]| labels.iter().map(|&label| label != 0).collect::<Vec<_>>();
        prop_assert_eq!(is_zoned(&fitted.labels), is_zoned(&labels));
        let has = |labels: &[u16], zone: u16| labels.contains(&zone);
        prop_assert!(fitted.labels.iter().all(|&label| has(&labels, label)));
        let gone: Vec<u16> = (1..9).filter(|&zone| has(&labels, zone) && !has(&fitted.labels, zone)).collect();
        prop_assert_eq!(&fitted.vanished, &gone);
        let n_changed = labels.iter().zip(&fitted.labels).filter(|(a, b)| a != b).count();
        prop_assert_eq!(fitted.n_changed, n_changed);
        prop_assert!(fitted.moves.iter().map(|moves| moves.n_cells).sum::<usize>() >= n_changed);
        let again = fit_patches(&grid, &fitted.labels, &limits);
        prop_assert_eq!((again.n_changed, again.labels), (0, fitted.labels));
        prop_assert_eq!(fit_patches(&grid, &labels, &NONE).labels, labels);
    }

    #[test]
    fn the_plainest_way_gives_the_same((grid, labels, limits) in cases()) {
        let fitted = fit_patches(&grid, &labels, &limits);
        let (plain, moved) = plainly_fitted(&grid, &labels, &limits);
        prop_assert_eq!(picture(&grid, &fitted.labels), picture(&grid, &plain));
        prop_assert_eq!(fitted.moves.iter().map(|m| (m.lack, m.n_patches)).collect::<BTreeMap<_, _>>(), moved);
    }

    /// Without exception, also where patches are of one size.
    #[test]
    fn a_turned_raster_gives_the_turned_result((grid, labels, limits) in cases(), is_mirrored in any::<bool>()) {
        let fitted = fit_patches(&grid, &labels, &limits);
        let (turned_grid, turned_labels) = turned(&grid, &labels, is_mirrored);
        let of_turned = fit_patches(&turned_grid, &turned_labels, &limits);
        prop_assert_eq!(of_turned.labels, turned(&grid, &fitted.labels, is_mirrored).1);
        prop_assert_eq!(of_turned.moves, fitted.moves);
    }
}
