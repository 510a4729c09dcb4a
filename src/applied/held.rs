//! The log against the plan, cell by cell.

use std::collections::BTreeMap;

use super::LogPoint;
use crate::audit::plane::Plane;
use crate::audit::rate_map::RateMap;
use crate::audit::rate_unit::named_factors;
use crate::crs::LonLat;

/// Side of a cell, meters.
const CELL_M: f64 = 5.0;
/// How far from the planned rate still counts as kept, of that rate (Colaco, Rosa and Molin count logged points more than
/// 10 % off \[R]).
const WITHIN_SHARE: f64 = 0.10;
/// How deep in a second pass ground must lie to count as covered twice, meters: receivers miss by less (heuristic).
const TWICE_DEPTH_M: f64 = 1.0;
/// Turn between points that begins another pass, degrees, and gap, in median gaps (heuristics).
const TURN_DEG: f64 = 45.0;
const GAP: f64 = 4.0;
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
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// Ground to treat, m2.
    pub treated_m2: f64,
    /// Share of it within half a width of a logged point.
    pub covered_share: f64,
    /// Share of it that got its rate within 10 %.
    pub ground_within_share: f64,
    /// Share of logged points on it with the planned rate within 10 %; `None` without such a point.
    pub points_within_share: Option<f64>,
    /// Points on it, and points elsewhere.
    pub n_points: [usize; 2],
    /// Ground no point covers, m2.
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
    /// Ground some point covers, m2.
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

struct Placed {
    east: f64,
    north: f64,
    rate: f64,
    half_m: f64,
    pass: usize,
}

/// Holds points against a planned layer; `factor` turns the log's rates into the plan's unit.
///
/// `None` where no cell of the layer has a rate above 0.
pub fn hold_against(points: &[LogPoint], plan: &AppliedMap<'_>, factor: f64) -> Option<Held> {
    let [west, south, east, north] = plan.rates.bounds;
    let plane = Plane::at(((west + east) / 2.0, (south + north) / 2.0));
    let (low, high) = (plane.meters((west, south)), plane.meters((east, north)));
    let placed = placed(points, &plane, factor);
    let reach_m = placed.iter().map(|point| point.half_m).fold(CELL_M, f64::max);
    let buckets = buckets(&placed, reach_m);
    let mut zones: BTreeMap<usize, ZoneHeld> = BTreeMap::new();
    let count = |from: f64, to: f64| ((to - from) / CELL_M).ceil().max(1.0) as usize;
    let cell_m2 = CELL_M * CELL_M;
    for row in 0..count(low.1, high.1) {
        for col in 0..count(low.0, high.0) {
            let at = (low.0 + (col as f64 + 0.5) * CELL_M, low.1 + (row as f64 + 0.5) * CELL_M);
            let place = plane.lon_lat(at);
            let Some(planned) = plan.rates.rate_at(place).filter(|rate| *rate > 0.0) else { continue };
            let number = zone_at(plan, place);
            let zone = zones.entry(number).or_insert(ZoneHeld { zone: number, ..ZoneHeld::default() });
            zone.m2 += cell_m2;
            zone.planned_m2 += cell_m2 * planned;
            let near = passes_over(at, &placed, &buckets, reach_m);
            let Some((_, first_m, rate)) = near.first().copied() else { continue };
            zone.covered_m2 += cell_m2;
            zone.within_m2 += if is_within(rate, planned) { cell_m2 } else { 0.0 };
            let is_deep = |(_, depth_m, _): &&(usize, f64, f64)| *depth_m >= TWICE_DEPTH_M;
            let again: Vec<f64> = near[1..].iter().filter(is_deep).map(|(_, _, rate)| *rate).collect();
            let is_twice = !again.is_empty() && first_m >= TWICE_DEPTH_M;
            zone.twice_m2 += if is_twice { cell_m2 } else { 0.0 };
            zone.applied_m2 += cell_m2 * (rate + if is_twice { again.iter().sum::<f64>() } else { 0.0 });
        }
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

/// Points on the plane, each with the number of its pass.
fn placed(points: &[LogPoint], plane: &Plane, factor: f64) -> Vec<Placed> {
    let meters: Vec<(f64, f64)> = points.iter().map(|point| plane.meters(point.place)).collect();
    let mut gaps: Vec<f64> =
        meters.windows(2).map(|pair| (pair[1].0 - pair[0].0).hypot(pair[1].1 - pair[0].1)).collect();
    let steps: Vec<f64> = gaps.clone();
    gaps.sort_by(f64::total_cmp);
    let usual_m = gaps.get(gaps.len() / 2).copied().unwrap_or(0.0);
    let (mut pass, mut heading): (usize, Option<f64>) = (0, None);
    let of = |(index, point): (usize, &LogPoint)| {
        if index > 0 {
            let (from, to) = (meters[index - 1], meters[index]);
            let deg = (to.0 - from.0).atan2(to.1 - from.1).to_degrees();
            let turn = heading.map_or(0.0, |old| ((deg - old + 540.0).rem_euclid(360.0) - 180.0).abs());
            if steps[index - 1] > GAP * usual_m || turn > TURN_DEG {
                pass += 1;
                heading = None;
            } else if steps[index - 1] > 0.0 {
                heading = Some(deg);
            }
        }
        let (east, north) = meters[index];
        Placed { east, north, rate: point.rate * factor, half_m: point.width_m / 2.0, pass }
    };
    points.iter().enumerate().map(of).collect()
}

type Buckets = BTreeMap<(i64, i64), Vec<usize>>;

fn buckets(placed: &[Placed], reach_m: f64) -> Buckets {
    let mut buckets = Buckets::new();
    for (index, point) in placed.iter().enumerate() {
        buckets.entry(bucket((point.east, point.north), reach_m)).or_default().push(index);
    }
    buckets
}

fn bucket((east, north): (f64, f64), reach_m: f64) -> (i64, i64) {
    ((east / reach_m).floor() as i64, (north / reach_m).floor() as i64)
}

/// Passes over a place: (pass, how deep in its width, rate of its nearest point), the nearest first.
fn passes_over(at: (f64, f64), placed: &[Placed], buckets: &Buckets, reach_m: f64) -> Vec<(usize, f64, f64)> {
    let (col, row) = bucket(at, reach_m);
    let mut nearest: BTreeMap<usize, (f64, f64, f64)> = BTreeMap::new();
    for key in (-1..=1).flat_map(|east| (-1..=1).map(move |north| (col + east, row + north))) {
        for index in buckets.get(&key).into_iter().flatten() {
            let point = &placed[*index];
            let away_m = (point.east - at.0).hypot(point.north - at.1);
            if away_m > point.half_m {
                continue;
            }
            let entry = nearest.entry(point.pass).or_insert((f64::INFINITY, 0.0, 0.0));
            if away_m < entry.0 {
                *entry = (away_m, point.half_m - away_m, point.rate);
            }
        }
    }
    let mut passes: Vec<(usize, f64, f64, f64)> =
        nearest.into_iter().map(|(pass, (away_m, depth_m, rate))| (pass, away_m, depth_m, rate)).collect();
    passes.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
    passes.into_iter().map(|(pass, _, depth_m, rate)| (pass, depth_m, rate)).collect()
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
