//! A layer of rates held against what was planned: the same rate at every place, the same total.
//!
//! Rates are compared at seeded random places inside the planned ground. Cells of a grid cannot follow a border: a place
//! whose cell differs is let pass where the planned map has the cell's rate within one way across a cell. Where a layer
//! differs, known mistakes are tried: turned or mirrored rows, a shift, numbers in another unit.

mod mistakes;

use super::facts::LayerFacts;
use super::facts_text::{grouped, latitude, longitude};
use super::plane::Plane;
use super::rate_map::RateMap;
use super::rate_unit;
use super::task_layers::shown_rate;
use super::{Ground, Prescription, RateLayer};
use crate::crs::LonLat;
use crate::diagnostic::{Code, Diagnostic, Place};

pub use mistakes::{RATES_BY_A_FACTOR, RATES_SHIFTED, RATES_TURNED};

/// Rates are not those of the plan.
pub static RATES_DIFFER: Code = Code {
    name: "rates-differ-from-plan",
    checks: "with `--against`: at 10,000 seeded places of the planned ground, that the file orders the planned rate; for grids, but for places within one cell of a border",
    why: "a file that loads can still order other rates than were planned",
    example: "zone 1 was edited by hand from 135 to 153 lb/ac after the run",
    mend: "copy the files of the result folder again, or run again if the plan changed",
};
/// The total is not that of the plan.
pub static TOTAL_DIFFERS: Code = Code {
    name: "total-differs-from-plan",
    checks: "with `--against`: that rate times ground adds up to the planned total within 0.1 %, for grids with room for cells at borders",
    why: "the total is what is ordered, loaded and paid",
    example: "9,066 lb planned, 8,120 lb in the file: a zone is missing",
    mend: "compare the list of rates and their ground with the plan's table",
};
/// A layer that fits nothing planned.
pub static LAYER_WITHOUT_PLAN: Code = Code {
    name: "layer-without-plan",
    checks: "with `--against`: that each layer of rates belongs to a planned pass: the same product where both name one, on the same ground",
    why: "what nobody planned must not be spread by mistake",
    example: "last year's file still lies on the stick",
    mend: "take the file off the stick, or name the result folder it belongs to",
};
/// A planned pass that is not there.
pub static PLAN_WITHOUT_LAYER: Code = Code {
    name: "plan-without-layer",
    checks: "with `--against` and a folder, a zip or a task set: that each planned pass is in it",
    why: "a pass that is not on the stick is not spread",
    example: "the lime of fall was not copied",
    mend: "copy all of the result folder's files for the cab",
};

/// Places compared.
pub const N_PLACES: usize = 10_000;
/// Seed of the places.
const SEED: u64 = 20_260_302;
/// Rates this near are the same: half of the last digit of a rate with two decimals, and the rounding of counts.
const SAME_ABSOLUTE: f64 = 0.0051;
/// And this share of the planned rate.
const SAME_SHARE: f64 = 0.0005;
/// How far totals may be apart.
const TOTAL_SHARE: f64 = 0.001;

/// What a comparison found.
#[derive(Debug, Default)]
pub struct Comparison {
    /// In words, for the facts.
    pub words: Vec<String>,
    /// What is wrong.
    pub findings: Vec<Diagnostic>,
}

/// A layer with the prescription it belongs to.
#[derive(Clone, Copy)]
pub struct OfPrescription<'a> {
    /// The whole.
    pub prescription: &'a Prescription,
    /// One of its layers.
    pub layer: &'a RateLayer,
}

/// Nutrients of planned products, percent by mass: product, nutrient, percent.
pub type Contents = Vec<(String, String, f64)>;

/// Two maps with the numbers of the first turned into the plan's unit.
struct Pair<'a> {
    got: RateMap<'a>,
    planned: RateMap<'a>,
    to_planned_unit: f64,
    places: Vec<LonLat>,
    plane: Plane,
}

impl Pair<'_> {
    fn got_at(&self, place: LonLat) -> Option<f64> {
        self.got.rate_at(place).map(|rate| rate * self.to_planned_unit)
    }

    /// Share of places at which a reading of the file gives the planned rate.
    fn agreement(&self, step: usize, reading: &dyn Fn(LonLat) -> Option<f64>) -> f64 {
        let places: Vec<&LonLat> = self.places.iter().step_by(step).collect();
        let n = places.iter().filter(|place| same(reading(***place), self.planned.rate_at(***place))).count();
        n as f64 / places.len().max(1) as f64
    }
}

/// Share of places at which two layers agree, from a few hundred: to find which plan a layer belongs to.
pub fn likeness(got: OfPrescription<'_>, planned: OfPrescription<'_>) -> f64 {
    pair(got, planned, N_PLACES / 20).map_or(0.0, |pair| pair.agreement(1, &|place| pair.got_at(place)))
}

/// Holds a layer against the planned one.
///
/// `by_centers`: a cell must order what is planned at its center, as cells written from this very plan do, to 2 cm; else a
/// cell by a border may order any rate within its reach, and a shift of all cells is looked for.
pub fn compare(
    got: OfPrescription<'_>,
    planned: OfPrescription<'_>,
    contents: &Contents,
    by_centers: bool,
) -> Comparison {
    let place = Place::File(got.prescription.name.clone());
    let Some(pair) = pair(got, planned, N_PLACES) else {
        let message = format!("`{}` has no ground that could be compared with the plan", got.layer.name);
        return Comparison { words: Vec::new(), findings: vec![Diagnostic::error(&RATES_DIFFER, message).at(place)] };
    };
    let mut result = Comparison::default();
    let (mut near_border, mut beyond) = (0, Vec::new());
    // What cells at borders order too much or too little, and what is planned in all, summed over the places.
    let (mut border_gap, mut border_gap_squares, mut planned_sum) = (0.0, 0.0, 0.0);
    for at in &pair.places {
        let (rate, plan) = (pair.got_at(*at), pair.planned.rate_at(*at));
        planned_sum += plan.unwrap_or(0.0);
        if same(rate, plan) {
            continue;
        }
        let may_differ = match by_centers {
            true => is_of_center(&pair, *at, rate),
            false => pair.got.cell_m().is_some_and(|reach_m| is_by_border(&pair, *at, rate, reach_m)),
        };
        match may_differ {
            true => {
                near_border += 1;
                let gap = (rate.unwrap_or(0.0) - plan.unwrap_or(0.0)).abs();
                border_gap += gap;
                border_gap_squares += gap * gap;
            }
            false => beyond.push((*at, rate, plan)),
        }
    }
    let n = pair.places.len();
    let percent = |count: usize| format!("{:.1} %", 100.0 * count as f64 / n as f64);
    let mut words = format!(
        "plan     {}: {} of {} places have the planned rate",
        planned.layer.name,
        grouped((n - near_border - beyond.len()) as f64),
        grouped(n as f64)
    );
    if let Some(cell_m) = pair.got.cell_m() {
        words += &format!("; {} differ within a cell ({cell_m:.1} m) of a border", percent(near_border));
    }
    result.words.push(words);
    if let Some((at, rate, plan)) = beyond.first() {
        let unit = planned.layer.unit.as_deref().unwrap_or("");
        let message = format!(
            "`{}` orders another rate than planned at {} of {} places",
            got.layer.name,
            percent(beyond.len()),
            grouped(n as f64)
        );
        let example = format!(
            "at {}, {}: {} {unit}, planned {} {unit}",
            latitude(at.1),
            longitude(at.0),
            rate.map_or("no rate".to_owned(), shown_rate),
            plan.map_or("none".to_owned(), shown_rate)
        );
        let fault = Diagnostic::error(&RATES_DIFFER, message).at(place.clone()).with_note(example);
        result.findings.push(fault.with_help("compare unit, zones and field with the plan; copy the files again"));
        result.findings.extend(mistakes::tell(&pair, got.layer, contents, &place));
    } else if near_border > 0
        && !by_centers
        && let Some(message) = mistakes::shift(&pair, got.layer, pair.agreement(1, &|at| pair.got_at(at)))
    {
        result.findings.push(Diagnostic::warning(&RATES_SHIFTED, message).at(place.clone()));
    }
    // The places tell the gap no better than chance lets them: three standard errors of its sum are room too.
    let border_room = border_gap + 3.0 * border_gap_squares.sqrt();
    let border_share = if planned_sum > 0.0 { border_room / planned_sum } else { 0.0 };
    compare_totals(got, planned, border_share, &place, &mut result);
    result
}

fn compare_totals(
    got: OfPrescription<'_>,
    planned: OfPrescription<'_>,
    border_share: f64,
    place: &Place,
    result: &mut Comparison,
) {
    let total = |of: OfPrescription<'_>| LayerFacts::of(of.prescription, of.layer);
    let (ours, plans) = (total(got), total(planned));
    let in_base = |facts: &LayerFacts| facts.unit.map(|unit| (facts.spread() * unit.in_base, unit));
    let (Some((ours, _)), Some((plan, unit))) = (in_base(&ours), in_base(&plans)) else { return };
    // A border along rows of cells lies off all to one side: what cells at borders order otherwise does not cancel out.
    let room = TOTAL_SHARE + border_share;
    let apart = if plan > 0.0 { ours / plan - 1.0 } else { ours };
    let shown = |spread: f64| grouped(spread / unit.in_base / unit.per_m2);
    let percent = 100.0 * room;
    result.words.push(format!(
        "         {} {} in all, planned {} ({:+.2} %, room {percent:.2} %)",
        shown(ours),
        unit.amount,
        shown(plan),
        100.0 * apart
    ));
    if apart.abs() > room {
        let message = format!(
            "`{}` orders {} {} in all, planned {}: {:+.1} %, at most {percent:.1} % is room",
            got.layer.name,
            shown(ours),
            unit.amount,
            shown(plan),
            100.0 * apart
        );
        result.findings.push(Diagnostic::error(&TOTAL_DIFFERS, message).at(place.clone()));
    }
}

/// Whether the planned map has the rate of a place's cell at the cell's center or elsewhere within reach; no rate counts
/// as 0.
fn is_by_border(pair: &Pair<'_>, at: LonLat, rate: Option<f64>, reach_m: f64) -> bool {
    // A strip of ground narrower than the steps below is met by the center of a cell that took its rate.
    if pair.got.cell_center(at).is_some_and(|center| same(rate, pair.planned.rate_at(center))) {
        return true;
    }
    let (east, north) = pair.plane.meters(at);
    (1..=8).any(|ring| {
        (0..16).any(|turn| {
            let (sine, cosine) = (std::f64::consts::TAU * f64::from(turn) / 16.0).sin_cos();
            let far = reach_m * f64::from(ring) / 8.0;
            let there = pair.plane.lon_lat((east + far * cosine, north + far * sine));
            same(rate, pair.planned.rate_at(there))
        })
    })
}

/// Whether the planned map has the rate of a place's cell at the cell's center, or 2e-7 degree (2 cm) from it: a center on
/// a border belongs to either side.
fn is_of_center(pair: &Pair<'_>, at: LonLat, rate: Option<f64>) -> bool {
    const NEAR_DEG: f64 = 2e-7;
    let Some((lon, lat)) = pair.got.cell_center(at) else { return false };
    [(0.0, 0.0), (NEAR_DEG, 0.0), (-NEAR_DEG, 0.0), (0.0, NEAR_DEG), (0.0, -NEAR_DEG)]
        .iter()
        .any(|(east, north)| same(rate, pair.planned.rate_at((lon + east, lat + north))))
}

/// Whether two rates are one; no rate is none to spread.
fn same(rate: Option<f64>, planned: Option<f64>) -> bool {
    let (rate, planned) = (rate.unwrap_or(0.0), planned.unwrap_or(0.0));
    (rate - planned).abs() <= SAME_ABSOLUTE + SAME_SHARE * planned.abs()
}

fn pair<'a>(got: OfPrescription<'a>, planned: OfPrescription<'a>, n: usize) -> Option<Pair<'a>> {
    let unit = |layer: &RateLayer| layer.unit.as_deref().and_then(rate_unit::named);
    let to_planned_unit = match (unit(got.layer), unit(planned.layer)) {
        (Some(ours), Some(plan)) if ours.counted == plan.counted => ours.in_base / plan.in_base,
        _ => 1.0,
    };
    let planned_map = RateMap::new(planned.prescription, planned.layer)?;
    let [west, south, east, north] = planned_map.bounds;
    let mut random = SplitMix64(SEED);
    let mut places = Vec::with_capacity(n);
    for _ in 0..200 * n {
        let at = (west + random.share() * (east - west), south + random.share() * (north - south));
        if planned_map.rate_at(at).is_some() {
            places.push(at);
        }
        if places.len() == n {
            break;
        }
    }
    if places.is_empty() {
        return None;
    }
    let plane = Plane::at(((west + east) / 2.0, (south + north) / 2.0));
    Some(Pair { got: RateMap::new(got.prescription, got.layer)?, planned: planned_map, to_planned_unit, places, plane })
}

/// Whether a layer is of cells.
pub fn is_grid(layer: &RateLayer) -> bool {
    matches!(layer.ground, Ground::Cells(_))
}

/// Steele, Lea and Flood 2014, Fast splittable pseudorandom number generators.
struct SplitMix64(u64);

impl SplitMix64 {
    /// A number from 0 to 1, 1 left out.
    fn share(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }
}
