//! Known mistakes that turn a planned map into another one.

use super::super::RateLayer;
use super::super::rate_unit::named_factors;
use super::super::task_layers::shown_rate;
use super::{Contents, Pair};
use crate::crs::LonLat;
use crate::diagnostic::{Code, Diagnostic, Place};

/// The map lies turned or mirrored.
pub static RATES_TURNED: Code = Code {
    name: "rates-turned-or-mirrored",
    checks: "with `--against`, where rates differ: whether the map turned by quarters or mirrored would be the planned one",
    why: "a grid with its rows upside down or its rows and columns exchanged loads without a word",
    example: "the rows of the grid were written from the north",
    mend: "write rows from south to north, columns from west to east, and columns and rows in the attributes meant for them",
};
/// The map lies beside its place.
pub static RATES_SHIFTED: Code = Code {
    name: "rates-shifted",
    checks: "with `--against`, where rates differ: whether the map moved as a whole would be the planned one",
    why: "half a cell of shift is enough to treat a headland like the field",
    example: "cell centers were taken for corners: everything lies half a cell to the north-east",
    mend: "state the outer corner of the first cell, and coordinates on WGS 84",
};
/// All rates are off by one factor.
pub static RATES_BY_A_FACTOR: Code = Code {
    name: "rates-off-by-a-factor",
    checks: "with `--against`, where rates differ: whether all rates are the planned ones times one number, and which mistake makes that number",
    why: "numbers of one unit under the name of another spread too much or too little everywhere",
    example: "all rates are 0.6 of the planned: nutrient in the place of product",
    mend: "state the unit the numbers are in, and rates of product, not of nutrient",
};

/// A reading of a mistaken map is taken for its cause where it agrees at this share of places.
const AGREES: f64 = 0.9;
/// And leaves at most this part of the places unlike that were so before: cells at borders always are.
const LEFT_UNLIKE: f64 = 0.6;
/// How far places may fall short of all for one factor: rounded rates, and cells at borders.
const FACTOR_ROOM: f64 = 0.05;
/// Every so many places a mistake is tried.
const STEP: usize = 10;
/// How far ratios of one factor may be apart.
const SAME_RATIO: f64 = 0.005;

/// The mistakes that explain how a layer differs.
pub(super) fn tell(pair: &Pair<'_>, layer: &RateLayer, contents: &Contents, place: &Place) -> Vec<Diagnostic> {
    let now = pair.agreement(STEP, &|at| pair.got_at(at));
    if let Some(finding) = factor(pair, layer, contents) {
        return vec![finding.at(place.clone())];
    }
    let explains = |share: f64| share >= AGREES && 1.0 - share <= LEFT_UNLIKE * (1.0 - now);
    if let Some((share, way)) = turned(pair).filter(|(share, _)| explains(*share)) {
        let message = format!("`{}` {way} would be the planned map at {:.0} % of places", layer.name, 100.0 * share);
        let help = "have the file written again with its rows and columns in order; do not turn the field instead";
        return vec![Diagnostic::error(&RATES_TURNED, message).at(place.clone()).with_help(help)];
    }
    shift(pair, layer, now)
        .map(|message| Diagnostic::error(&RATES_SHIFTED, message).at(place.clone()))
        .into_iter()
        .collect()
}

/// A shift that explains how a layer differs, in words; `now` is the share of places that agree as it stands.
pub(super) fn shift(pair: &Pair<'_>, layer: &RateLayer, now: f64) -> Option<String> {
    let explains = |share: f64| share >= AGREES && 1.0 - share <= LEFT_UNLIKE * (1.0 - now);
    shifted(pair).filter(|(share, _)| explains(*share)).map(|(share, (east, north))| {
        let side = |m: f64, plus: &str, minus: &str| format!("{:.1} m {}", m.abs(), if m < 0.0 { minus } else { plus });
        format!(
            "`{}` lies {} and {} of the planned map, which it otherwise is at {:.0} % of places",
            layer.name,
            side(east, "east", "west"),
            side(north, "north", "south"),
            100.0 * share
        )
    })
}

/// One factor between all rates, with the mistake that makes it.
fn factor(pair: &Pair<'_>, layer: &RateLayer, contents: &Contents) -> Option<Diagnostic> {
    let ratio = |at: &LonLat| {
        let (got, planned) = (pair.got_at(*at)?, pair.planned.rate_at(*at)?);
        (got > 0.0 && planned > 0.0).then(|| (got / planned, planned))
    };
    let mut ratios: Vec<(f64, f64)> = pair.places.iter().filter_map(ratio).collect();
    ratios.sort_by(|a, b| a.0.total_cmp(&b.0));
    let middle = ratios.get(ratios.len() / 2)?.0;
    let near = |value: f64, to: f64| (value / to - 1.0).abs() <= SAME_RATIO;
    // Rounded rates make rough ratios: half a unit in the last of three digits.
    let n_same = ratios.iter().filter(|(ratio, _)| near(*ratio, middle)).count();
    let with_factor = |at: LonLat| pair.got_at(at).map(|rate| rate / middle);
    let fits =
        n_same as f64 >= AGREES * ratios.len() as f64 && pair.agreement(STEP, &with_factor) >= AGREES - FACTOR_ROOM;
    if !fits || near(middle, 1.0) {
        return None;
    }
    let of_nutrient = contents.iter().flat_map(|(product, nutrient, percent)| {
        let share = percent / 100.0;
        [
            (share, format!("pounds of {nutrient} in the place of {product}, which holds {percent} %")),
            (1.0 / share, format!("{product} reckoned twice from {nutrient}, of which it holds {percent} %")),
        ]
    });
    let known: Vec<String> = named_factors()
        .into_iter()
        .chain(of_nutrient)
        .filter(|(value, _)| near(middle, *value))
        .map(|(_, why)| why)
        .collect();
    let message = format!("every rate of `{}` is {} times the planned one", layer.name, shown_factor(middle));
    let finding = Diagnostic::error(&RATES_BY_A_FACTOR, message);
    Some(match known.as_slice() {
        [] => finding,
        some => finding.with_note(format!("this is what comes of {}", some.join("; or of "))),
    })
}

fn shown_factor(factor: f64) -> String {
    if factor >= 10.0 { shown_rate(factor) } else { format!("{factor:.4}") }
}

/// The best of the seven turned or mirrored readings by the bounds of each map, and of columns and rows exchanged.
fn turned(pair: &Pair<'_>) -> Option<(f64, &'static str)> {
    type Turn = fn(f64, f64) -> (f64, f64);
    let ways: [(&str, Turn); 7] = [
        ("with its rows from north to south", |u, v| (u, 1.0 - v)),
        ("with its columns from east to west", |u, v| (1.0 - u, v)),
        ("turned by half", |u, v| (1.0 - u, 1.0 - v)),
        ("with rows and columns exchanged", |u, v| (v, u)),
        ("turned by a quarter to the left", |u, v| (v, 1.0 - u)),
        ("turned by a quarter to the right", |u, v| (1.0 - v, u)),
        ("with rows and columns exchanged and turned by half", |u, v| (1.0 - v, 1.0 - u)),
    ];
    let ([west, south, east, north], of) = (pair.got.bounds, pair.planned.bounds);
    let reading = |turn: Turn| {
        let read = |at: LonLat| {
            // Mirrored about the middle of the file's own ground, which may be wider than the planned.
            let (u, v) = turn((at.0 - west) / (east - west), (at.1 - south) / (north - south));
            pair.got_at((west + u * (east - west), south + v * (north - south)))
        };
        let by_plan = |at: LonLat| {
            let (u, v) = turn((at.0 - of[0]) / (of[2] - of[0]), (at.1 - of[1]) / (of[3] - of[1]));
            pair.got_at((west + u * (east - west), south + v * (north - south)))
        };
        pair.agreement(STEP, &read).max(pair.agreement(STEP, &by_plan))
    };
    let in_unit = |rate: f64| rate * pair.to_planned_unit;
    let transposed = pair.agreement(STEP, &|at| pair.got.rate_if_transposed(at).map(in_unit));
    let counts = pair.agreement(STEP, &|at| pair.got.rate_if_counts_exchanged(at).map(in_unit));
    ways.into_iter()
        .map(|(words, turn)| (reading(turn), words))
        .chain([
            (transposed, "with rows and columns exchanged, cell by cell,"),
            (counts, "with its numbers of columns and rows exchanged"),
        ])
        .max_by(|a, b| a.0.total_cmp(&b.0))
}

/// The best of shifts by bounds and by cells, meters east and north of the plan.
fn shifted(pair: &Pair<'_>) -> Option<(f64, (f64, f64))> {
    let meters =
        |bounds: [f64; 4]| (pair.plane.meters((bounds[0], bounds[1])), pair.plane.meters((bounds[2], bounds[3])));
    let (got, planned) = (meters(pair.got.bounds), meters(pair.planned.bounds));
    let mut shifts =
        vec![(got.0.0 - planned.0.0, got.0.1 - planned.0.1), (got.1.0 - planned.1.0, got.1.1 - planned.1.1)];
    shifts.push(((shifts[0].0 + shifts[1].0) / 2.0, (shifts[0].1 + shifts[1].1) / 2.0));
    let cell_m = pair.got.cell_m().map_or(10.0, |across| across / std::f64::consts::SQRT_2);
    for step in [-2.0, -1.0, -0.5, 0.0, 0.5, 1.0, 2.0] {
        shifts.extend([-2.0, -1.0, -0.5, 0.0, 0.5, 1.0, 2.0].map(|other| (step * cell_m, other * cell_m)));
    }
    let reading = |(east, north): (f64, f64)| {
        pair.agreement(STEP, &|at| {
            let (x, y) = pair.plane.meters(at);
            pair.got_at(pair.plane.lon_lat((x + east, y + north)))
        })
    };
    shifts
        .into_iter()
        .filter(|(east, north)| east.hypot(*north) > 0.2)
        .map(|shift| (reading(shift), shift))
        .max_by(|a, b| a.0.total_cmp(&b.0))
}
