//! The ground the machine went over, from the points it logged.
//!
//! A point stands for the ground from half a step before it to half a step after it along the way driven, and half a
//! width to either side. Points one after another on one way are a pass.

use std::collections::BTreeMap;

use super::LogPoint;
use crate::audit::plane::Plane;

/// Turn between points, and from the start of a pass on, that begins another pass, degrees (heuristics).
const TURN_DEG: f64 = 45.0;
const PASS_TURN_DEG: f64 = 90.0;
/// Gap that begins another pass, in median gaps (heuristic).
const GAP: f64 = 4.0;

/// Meters east and north.
type Meters = (f64, f64);

#[derive(Clone, Copy)]
struct Placed {
    at: Meters,
    rate: f64,
    half_m: f64,
    pass: usize,
}

/// Ground of one piece of a pass.
enum Piece {
    /// Between two points, from `from_m` to `to_m` along `along` from the first.
    Strip { ends: [Placed; 2], along: Meters, from_m: f64, to_m: f64 },
    /// Outside of a bend at a point, between the ways into it and out of it.
    Bend { at: Placed, into: Meters, out: Meters },
    /// A point alone: nobody knows which way it went.
    Disc { at: Placed },
}

/// A pass over a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Over {
    pass: usize,
    away_m: f64,
    /// How deep within the pass's width, meters.
    pub(super) depth_m: f64,
    /// Rate of the nearest point.
    pub(super) rate: f64,
}

/// All that was driven, by place.
pub(super) struct Driven {
    pieces: Vec<Piece>,
    buckets: BTreeMap<(i64, i64), Vec<usize>>,
    bucket_m: f64,
}

impl Driven {
    /// Points in the order logged; `factor` turns their rates into the plan's unit.
    pub(super) fn of(points: &[LogPoint], plane: &Plane, factor: f64) -> Self {
        let (passes, usual_m) = passes(points, plane, factor);
        let mut pieces = Vec::new();
        passes.iter().for_each(|pass| add_pieces(pass, usual_m, &mut pieces));
        let bucket_m = points.iter().map(|point| point.width_m).fold(1.0, f64::max);
        let mut buckets: BTreeMap<(i64, i64), Vec<usize>> = BTreeMap::new();
        for (index, piece) in pieces.iter().enumerate() {
            let (low, high) = piece.reach();
            let (first, last) = (bucket(low, bucket_m), bucket(high, bucket_m));
            for key in (first.0..=last.0).flat_map(|east| (first.1..=last.1).map(move |north| (east, north))) {
                buckets.entry(key).or_default().push(index);
            }
        }
        Driven { pieces, buckets, bucket_m }
    }

    /// Passes over a place, the nearest first.
    pub(super) fn passes_over(&self, at: Meters) -> Vec<Over> {
        let mut passes: Vec<Over> = Vec::new();
        for index in self.buckets.get(&bucket(at, self.bucket_m)).into_iter().flatten() {
            let Some(over) = self.pieces[*index].over(at) else { continue };
            match passes.iter_mut().find(|other| other.pass == over.pass) {
                Some(other) if over.away_m < other.away_m => *other = over,
                Some(_) => (),
                None => passes.push(over),
            }
        }
        passes.sort_by(|a, b| a.away_m.total_cmp(&b.away_m).then(a.pass.cmp(&b.pass)));
        passes
    }
}

impl Piece {
    /// The piece over a place; `None` beside it.
    fn over(&self, place: Meters) -> Option<Over> {
        let (at, away_m) = match self {
            Piece::Strip { ends, along, from_m, to_m } => {
                let from_first = minus(place, ends[0].at);
                let far_m = dot(from_first, *along);
                if !(*from_m..=*to_m).contains(&far_m) {
                    return None;
                }
                let length_m = dot(minus(ends[1].at, ends[0].at), *along);
                let nearer = &ends[usize::from(far_m > length_m / 2.0)];
                (nearer, (from_first.0 * along.1 - from_first.1 * along.0).abs())
            }
            Piece::Bend { at, into, out } => {
                let from = minus(place, at.at);
                if dot(from, *into) < 0.0 || dot(from, *out) > 0.0 {
                    return None;
                }
                (at, from.0.hypot(from.1))
            }
            Piece::Disc { at } => (at, (place.0 - at.at.0).hypot(place.1 - at.at.1)),
        };
        let over = Over { pass: at.pass, away_m, depth_m: at.half_m - away_m, rate: at.rate };
        (away_m <= at.half_m).then_some(over)
    }

    /// A rectangle no part of the piece lies beyond.
    fn reach(&self) -> (Meters, Meters) {
        let (points, beyond_m) = match self {
            Piece::Strip { ends, along, from_m, to_m } => {
                let length_m = dot(minus(ends[1].at, ends[0].at), *along);
                (ends.as_slice(), (to_m - length_m).max(-from_m))
            }
            Piece::Bend { at, .. } | Piece::Disc { at } => (std::slice::from_ref(at), 0.0),
        };
        let reach_m = beyond_m + points.iter().map(|point| point.half_m).fold(0.0, f64::max);
        let least = |of: fn(&Placed) -> f64| points.iter().map(of).fold(f64::INFINITY, f64::min) - reach_m;
        let most = |of: fn(&Placed) -> f64| points.iter().map(of).fold(f64::NEG_INFINITY, f64::max) + reach_m;
        ((least(|p| p.at.0), least(|p| p.at.1)), (most(|p| p.at.0), most(|p| p.at.1)))
    }
}

/// Points by pass, and the usual step between points, meters.
fn passes(points: &[LogPoint], plane: &Plane, factor: f64) -> (Vec<Vec<Placed>>, f64) {
    let meters: Vec<Meters> = points.iter().map(|point| plane.meters(point.place)).collect();
    let steps_m: Vec<f64> = meters.windows(2).map(|pair| length(minus(pair[1], pair[0]))).collect();
    let mut sorted: Vec<f64> = steps_m.iter().copied().filter(|step| *step > 0.0).collect();
    sorted.sort_by(f64::total_cmp);
    let usual_m = sorted.get(sorted.len() / 2).copied().unwrap_or(0.0);
    let mut passes: Vec<Vec<Placed>> = Vec::new();
    let (mut heading, mut first_heading): (Option<f64>, Option<f64>) = (None, None);
    for (index, point) in points.iter().enumerate() {
        let step_m = index.checked_sub(1).map(|before| steps_m[before]);
        let way = index.checked_sub(1).map(|before| minus(meters[index], meters[before]));
        let deg = way.filter(|_| step_m > Some(0.0)).map(|way| way.0.atan2(way.1).to_degrees());
        let turned = |from: Option<f64>, most: f64| {
            deg.zip(from).is_some_and(|(deg, from)| ((deg - from + 540.0).rem_euclid(360.0) - 180.0).abs() > most)
        };
        let is_new = step_m.is_none_or(|step_m| step_m > GAP * usual_m)
            || turned(heading, TURN_DEG)
            || turned(first_heading, PASS_TURN_DEG);
        if is_new {
            passes.push(Vec::new());
            (heading, first_heading) = (None, None);
        } else if deg.is_some() {
            heading = deg;
            first_heading = first_heading.or(deg);
        }
        let pass = passes.len() - 1;
        let placed = Placed { at: meters[index], rate: point.rate * factor, half_m: point.width_m / 2.0, pass };
        match passes[pass].last_mut() {
            // Standing still: what was logged last holds.
            Some(last) if last.at == placed.at => *last = placed,
            _ => passes[pass].push(placed),
        }
    }
    (passes, usual_m)
}

fn add_pieces(pass: &[Placed], usual_m: f64, pieces: &mut Vec<Piece>) {
    if let [only] = pass {
        pieces.push(Piece::Disc { at: *only });
    }
    let n_strips = pass.len().saturating_sub(1);
    let mut into = None;
    for (index, pair) in pass.windows(2).enumerate() {
        let way = minus(pair[1].at, pair[0].at);
        let length_m = length(way);
        let along = (way.0 / length_m, way.1 / length_m);
        let from_m = if index == 0 { -usual_m / 2.0 } else { 0.0 };
        let to_m = length_m + if index + 1 == n_strips { usual_m / 2.0 } else { 0.0 };
        if let Some(into) = into {
            pieces.push(Piece::Bend { at: pair[0], into, out: along });
        }
        pieces.push(Piece::Strip { ends: [pair[0], pair[1]], along, from_m, to_m });
        into = Some(along);
    }
}

fn bucket((east, north): Meters, bucket_m: f64) -> (i64, i64) {
    ((east / bucket_m).floor() as i64, (north / bucket_m).floor() as i64)
}

fn minus(a: Meters, b: Meters) -> Meters {
    (a.0 - b.0, a.1 - b.1)
}

fn dot(a: Meters, b: Meters) -> f64 {
    a.0 * b.0 + a.1 * b.1
}

fn length(way: Meters) -> f64 {
    way.0.hypot(way.1)
}
