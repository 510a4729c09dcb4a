//! The log against the plan, cell by cell.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::LogPoint;
use super::driven::Driven;
use crate::audit::plane::Plane;
use crate::audit::rate_map::RateMap;
use crate::audit::rate_unit::named_factors;
use crate::crs::LonLat;

/// Most side of a cell, meters, and its share of the least width spread: a swath must not be made wider by its cells.
const MOST_CELL_M: f64 = 2.0;
const CELL_OF_WIDTH: f64 = 0.1;
/// Most cells of a field's rectangle; a large field gets larger cells.
const MOST_CELLS: f64 = 1_000_000.0;
/// How far from the planned rate still counts as kept, of that rate (Colaco, Rosa and Molin count logged points more than
/// 10 % off \[R]).
pub const WITHIN_SHARE: f64 = 0.10;
/// How deep in a second pass ground must lie to count as covered twice, meters: receivers miss by less (heuristic).
const TWICE_DEPTH_M: f64 = 1.0;
/// How near a mean factor must be to a mistaken unit's to be named.
const SAME_FACTOR: f64 = 0.02;

/// A planned layer as maps.
pub struct AppliedMap<'a> {
    /// Rates in the plan's unit.
    pub rates: RateMap<'a>,
    /// Zone numbers, where the layer has them.
    pub zones: Option<RateMap<'a>>,
}

/// What a log comes to; ground is that with a planned rate above 0.
#[derive(Debug, Clone)]
pub struct Held {
    /// Cell by cell, for a picture.
    pub cells: HeldCells,
    /// Ground to treat, m2.
    pub treated_m2: f64,
    /// Share of it within half a width of the way driven.
    pub covered_share: f64,
    /// Share of it that got its rate within 10 %.
    pub ground_within_share: f64,
    /// Share of logged points on it with the planned rate within 10 %; `None` without such a point.
    pub points_within_share: Option<f64>,
    /// Points on it, and points elsewhere.
    pub n_points: [usize; 2],
    /// Ground no pass covers, m2.
    pub skipped_m2: f64,
    /// Ground well within two passes, m2.
    pub twice_m2: f64,
    /// Planned rate times ground, rate units times m2.
    pub planned_m2: f64,
    /// Logged rate times ground, a second pass counted again.
    pub applied_m2: f64,
    /// One a zone; one for all where the layer names none.
    pub zones: Vec<ZoneHeld>,
    /// A mistaken unit that would explain the rates, in words.
    pub mistake: Option<String>,
}

/// A zone of the plan against the log.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ZoneHeld {
    /// Number; 0 where the layer names none.
    pub zone: usize,
    /// Its ground, m2.
    pub m2: f64,
    /// Ground some pass covers, m2.
    pub covered_m2: f64,
    /// Mean planned rate times ground.
    pub planned_m2: f64,
    /// Logged rate times ground.
    pub applied_m2: f64,
    /// Ground within 10 %, m2.
    pub within_m2: f64,
    /// Ground covered twice, m2.
    pub twice_m2: f64,
}

/// The ground in cells, south row first.
#[derive(Debug, Clone)]
pub struct HeldCells {
    /// Where east and north are meters.
    pub plane: Plane,
    /// South-west corner, meters east and north.
    pub corner_m: (f64, f64),
    /// Side of a cell, meters.
    pub cell_m: f64,
    /// Columns and rows.
    pub size: (usize, usize),
    /// Planned rate of each cell, 0 on ground that gets nothing; `None` outside the layer.
    pub planned: Vec<Option<f64>>,
    /// Logged rate of each cell, passes added, in the plan's unit; 0 where none came.
    pub applied: Vec<f64>,
}

/// One cell with ground of the layer.
struct Cell {
    index: usize,
    zone: usize,
    planned: f64,
    /// Rate of the nearest pass.
    rate: Option<f64>,
    /// Rates of the passes that covered it again.
    again: f64,
    is_twice: bool,
}

/// Holds points against a planned layer; `factor` turns the log's rates into the plan's unit.
///
/// `None` where no cell of the layer has a rate above 0.
pub fn hold_against(points: &[LogPoint], plan: &AppliedMap<'_>, factor: f64) -> Option<Held> {
    let [west, south, east, north] = plan.rates.bounds;
    let plane = Plane::at(((west + east) / 2.0, (south + north) / 2.0));
    let (low, high) = (plane.meters((west, south)), plane.meters((east, north)));
    let driven = Driven::of(points, &plane, factor);
    let least_m = points.iter().map(|point| point.width_m).fold(f64::INFINITY, f64::min);
    let coarse_m = ((high.0 - low.0) * (high.1 - low.1) / MOST_CELLS).sqrt();
    let cell_m = (CELL_OF_WIDTH * least_m).min(MOST_CELL_M).max(coarse_m);
    let count = |from: f64, to: f64| ((to - from) / cell_m).ceil().max(1.0) as usize;
    let (n_cols, n_rows) = (count(low.0, high.0), count(low.1, high.1));
    let along = |from: f64, n: usize| from + (n as f64 + 0.5) * cell_m;
    // In this plane longitude follows from east alone, latitude from north alone.
    let lons: Vec<f64> = (0..n_cols).map(|col| plane.lon_lat((along(low.0, col), 0.0)).0).collect();
    let of_row = |row: usize| {
        let north = along(low.1, row);
        let lat = plane.lon_lat((0.0, north)).1;
        let of_col = |col: usize| {
            let place = (lons[col], lat);
            let planned = plan.rates.rate_at(place)?;
            let near = driven.passes_over((along(low.0, col), north));
            let is_deep = |over: &&super::driven::Over| over.depth_m >= TWICE_DEPTH_M;
            let again: f64 = near.iter().skip(1).filter(is_deep).map(|over| over.rate).sum();
            let first = near.first();
            let is_twice = first.as_ref().is_some_and(is_deep) && near.iter().skip(1).any(|over| is_deep(&over));
            Some(Cell {
                index: row * n_cols + col,
                zone: zone_at(plan, place),
                planned,
                rate: first.map(|over| over.rate),
                again: if is_twice { again } else { 0.0 },
                is_twice,
            })
        };
        (0..n_cols).filter_map(of_col).collect::<Vec<Cell>>()
    };
    // Rows side by side, summed in order: the same numbers with any number of threads.
    let rows: Vec<Vec<Cell>> = (0..n_rows).into_par_iter().map(of_row).collect();
    let mut cells = HeldCells {
        plane,
        corner_m: low,
        cell_m,
        size: (n_cols, n_rows),
        planned: vec![None; n_cols * n_rows],
        applied: vec![0.0; n_cols * n_rows],
    };
    let mut zones: BTreeMap<usize, ZoneHeld> = BTreeMap::new();
    let cell_m2 = cell_m * cell_m;
    for cell in rows.into_iter().flatten() {
        let applied = cell.rate.unwrap_or(0.0) + cell.again;
        (cells.planned[cell.index], cells.applied[cell.index]) = (Some(cell.planned), applied);
        if cell.planned <= 0.0 {
            continue;
        }
        let zone = zones.entry(cell.zone).or_insert(ZoneHeld { zone: cell.zone, ..ZoneHeld::default() });
        zone.m2 += cell_m2;
        zone.planned_m2 += cell_m2 * cell.planned;
        let Some(rate) = cell.rate else { continue };
        zone.covered_m2 += cell_m2;
        zone.within_m2 += if is_within(rate, cell.planned) { cell_m2 } else { 0.0 };
        zone.twice_m2 += if cell.is_twice { cell_m2 } else { 0.0 };
        zone.applied_m2 += cell_m2 * applied;
    }
    let on_plan: Vec<(f64, f64)> = points
        .iter()
        .filter_map(|point| Some((point.rate * factor, plan.rates.rate_at(point.place).filter(|rate| *rate > 0.0)?)))
        .collect();
    let sum = |of: fn(&ZoneHeld) -> f64| zones.values().map(of).sum::<f64>();
    let treated_m2 = sum(|zone| zone.m2);
    if treated_m2 == 0.0 {
        return None;
    }
    let n_within = on_plan.iter().filter(|(rate, planned)| is_within(*rate, *planned)).count();
    Some(Held {
        cells,
        treated_m2,
        covered_share: sum(|zone| zone.covered_m2) / treated_m2,
        ground_within_share: sum(|zone| zone.within_m2) / treated_m2,
        points_within_share: (!on_plan.is_empty()).then(|| n_within as f64 / on_plan.len() as f64),
        n_points: [on_plan.len(), points.len() - on_plan.len()],
        skipped_m2: treated_m2 - sum(|zone| zone.covered_m2),
        twice_m2: sum(|zone| zone.twice_m2),
        planned_m2: sum(|zone| zone.planned_m2),
        applied_m2: sum(|zone| zone.applied_m2),
        mistake: mistake(&on_plan),
        zones: zones.into_values().collect(),
    })
}

fn is_within(rate: f64, planned: f64) -> bool {
    (rate - planned).abs() <= WITHIN_SHARE * planned * (1.0 + 1e-9)
}

fn zone_at(plan: &AppliedMap<'_>, place: LonLat) -> usize {
    plan.zones.as_ref().and_then(|zones| zones.rate_at(place)).map_or(0, |zone| zone.max(0.0) as usize)
}

/// A mistaken unit whose factor is that of the middle point.
fn mistake(on_plan: &[(f64, f64)]) -> Option<String> {
    let mut ratios: Vec<f64> = on_plan.iter().filter(|(rate, _)| *rate > 0.0).map(|(rate, plan)| rate / plan).collect();
    ratios.sort_by(f64::total_cmp);
    let middle = *ratios.get(ratios.len() / 2)?;
    if (middle - 1.0).abs() <= WITHIN_SHARE {
        return None;
    }
    let near = |(factor, _): &(f64, String)| (middle / factor - 1.0).abs() <= SAME_FACTOR;
    named_factors().into_iter().find(near).map(|(factor, words)| format!("{words} would multiply rates by {factor:.3}"))
}
