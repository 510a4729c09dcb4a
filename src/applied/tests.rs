//! Logs made from a plan whose answer is known by arithmetic.

use geo::{MultiPolygon, polygon};

use super::{AppliedMap, Held, LogColumns, LogPoint, Width, hold_against, read_log};
use crate::audit::plane::Plane;
use crate::audit::rate_map::RateMap;
use crate::audit::shape::{Shape, ShapeSet};
use crate::audit::{Ground, Prescription, RateLayer};
use crate::diagnostic::Place;

const ORIGIN: (f64, f64) = (-93.5, 41.5);
const SWATH_M: f64 = 20.0;
/// 800 m east to west, 400 m south to north: twenty swaths; the west half gets 100, the east half 200.
const SIZE_M: (f64, f64) = (800.0, 400.0);
const RATES: [f64; 2] = [100.0, 200.0];

fn plan() -> Prescription {
    let plane = Plane::at(ORIGIN);
    let half = |west: f64, east: f64| {
        let at = |east: f64, north: f64| geo::Coord::from(plane.lon_lat((east, north)));
        let ring = polygon![at(west, 0.0), at(east, 0.0), at(east, SIZE_M.1), at(west, SIZE_M.1)];
        Shape { place: Place::File("plan".into()), polygons: MultiPolygon::new(vec![ring]), invalid: None }
    };
    let shapes = vec![half(0.0, SIZE_M.0 / 2.0), half(SIZE_M.0 / 2.0, SIZE_M.0)];
    Prescription { shape_sets: vec![ShapeSet::new("plan", "plan", shapes)], ..Prescription::default() }
}

fn layer(rates: [f64; 2]) -> RateLayer {
    RateLayer {
        name: "plan".into(),
        from: "RATE".into(),
        product: None,
        unit: Some("lb/ac".into()),
        ground: Ground::Shapes { set: 0, rates: rates.map(Some).to_vec() },
        outline: None,
        orders: Vec::new(),
    }
}

/// A point every 4 m along the swaths named, back and forth, at the planned rate times a factor.
fn log(swaths: impl Iterator<Item = usize>, factor: f64) -> Vec<LogPoint> {
    let plane = Plane::at(ORIGIN);
    let of_swath = |swath: usize| {
        (0..200).map(move |step| {
            let step = if swath % 2 == 1 { 199 - step } else { step };
            let east = (step as f64 + 0.5) * 4.0;
            let rate = if east < SIZE_M.0 / 2.0 { RATES[0] } else { RATES[1] };
            let place = plane.lon_lat((east, (swath as f64 + 0.5) * SWATH_M));
            LogPoint { place, rate: rate * factor, width_m: SWATH_M }
        })
    };
    swaths.flat_map(of_swath).collect()
}

fn held(points: &[LogPoint], factor: f64) -> Held {
    let plan = plan();
    let (rates, zones) = (layer(RATES), layer([1.0, 2.0]));
    let maps = AppliedMap { rates: RateMap::new(&plan, &rates).unwrap(), zones: RateMap::new(&plan, &zones) };
    hold_against(points, &maps, factor).unwrap()
}

#[test]
fn a_log_made_of_the_plan_meets_it() {
    let held = held(&log(0..20, 1.0), 1.0);
    assert!((held.treated_m2 / (SIZE_M.0 * SIZE_M.1) - 1.0).abs() < 0.02, "{}", held.treated_m2);
    assert!(held.covered_share > 0.99 && held.ground_within_share > 0.98, "{held:?}");
    assert_eq!((held.points_within_share, held.n_points), (Some(1.0), [4000, 0]));
    assert!((held.applied_m2 / held.planned_m2 - 1.0).abs() < 0.02, "{held:?}");
    assert!(held.twice_m2 < 0.01 * held.treated_m2 && held.mistake.is_none(), "{held:?}");
    let means: Vec<f64> = held.zones.iter().map(|zone| zone.applied_m2 / zone.m2).collect();
    assert!((means[0] - 100.0).abs() < 3.0 && (means[1] - 200.0).abs() < 6.0, "{means:?}");
}

/// 1 lb/ac = 1.1209 kg/ha (NIST Handbook 44): a log whose kg/ha are read as lb/ac is 12 % over everywhere.
#[test]
fn kg_ha_read_as_lb_ac_is_named() {
    let held_wrong = held(&log(0..20, 1.120_85), 1.0);
    assert_eq!((held_wrong.points_within_share, held_wrong.ground_within_share), (Some(0.0), 0.0));
    assert!(held_wrong.mistake.as_deref().unwrap().starts_with("kg/ha in the place of lb/ac"), "{held_wrong:?}");
    // With the unit stated it is the plan again.
    assert_eq!(held(&log(0..20, 1.120_85), 1.0 / 1.120_85).points_within_share, Some(1.0));
}

#[test]
fn a_missing_swath_is_ground_skipped_and_one_driven_again_is_covered_twice() {
    let swath_m2 = SWATH_M * SIZE_M.0;
    let skipped = held(&log((0..20).filter(|swath| *swath != 7), 1.0), 1.0);
    assert!((skipped.skipped_m2 / swath_m2 - 1.0).abs() < 0.03, "{} {swath_m2}", skipped.skipped_m2);
    let twice = held(&log((0..20).chain([7]), 1.0), 1.0);
    // 1 m at either side is let pass as the receiver's error: 18 of 20 m.
    assert!((twice.twice_m2 / swath_m2 - 0.9).abs() < 0.02, "{}", twice.twice_m2 / swath_m2);
    let more = twice.applied_m2 / twice.planned_m2 - 1.0;
    // 18 m of one swath of twenty of 20 m.
    assert!((more - 0.045).abs() < 0.002, "{more}");
}

/// A log that stops 40 m short of the far end of every swath leaves the strip of 40 m uncovered, not less.
#[test]
fn ground_beyond_the_last_point_of_a_pass_is_not_covered() {
    let plane = Plane::at(ORIGIN);
    let mut points = log(0..20, 1.0);
    points.retain(|point| plane.meters(point.place).0 < SIZE_M.0 - 40.0);
    let held = held(&points, 1.0);
    let share = held.skipped_m2 / (40.0 * SIZE_M.1);
    assert!((share - 1.0).abs() < 0.05, "{share}");
}

/// Round a quarter circle of 60 m radius with a width of 20 m: a ring from 50 to 70 m, pi/4 (70^2 - 50^2) m2.
#[test]
fn a_bend_has_no_gaps_on_its_outside() {
    let plane = Plane::at(ORIGIN);
    let around = |step: f64| {
        let turn = step / 24.0 * std::f64::consts::FRAC_PI_2;
        let place = plane.lon_lat((200.0 + 60.0 * turn.sin(), 200.0 + 60.0 * turn.cos()));
        LogPoint { place, rate: 100.0, width_m: SWATH_M }
    };
    // Half a step of 3.93 m stands out at either end.
    let points: Vec<LogPoint> = (0..24).map(|step| around(f64::from(step) + 0.5)).collect();
    let held = held(&points, 1.0);
    let m2 = held.treated_m2 - held.skipped_m2;
    let ring_m2 = std::f64::consts::FRAC_PI_4 * (70.0_f64.powi(2) - 50.0_f64.powi(2));
    assert!((m2 / ring_m2 - 1.0).abs() < 0.02, "{m2} {ring_m2}");
    assert_eq!(held.twice_m2, 0.0);
}

#[test]
fn a_log_tells_all_faults_with_their_lines() {
    let columns = LogColumns { lon: "lon".into(), lat: "lat".into(), rate: "rate".into(), width: Width::Feet(60.0) };
    let good = read_log("log.csv", b"time,Lat,lon,rate\n1,41.5,-93.5,100\n", &columns).unwrap();
    assert_eq!(good, [LogPoint { place: (-93.5, 41.5), rate: 100.0, width_m: 18.288 }]);
    let faults = read_log("log.csv", b"lon,lat,rate\n-93.5,41.5,--\n-93.5,91,5\n-93.5,41.5\n", &columns).unwrap_err();
    let lines: Vec<String> = faults.iter().map(|fault| fault.place.as_ref().unwrap().to_string()).collect();
    assert_eq!(faults.len(), 3, "{faults:?}");
    assert!(["2", "3", "4"].iter().zip(&lines).all(|(n, place)| place.contains(&format!("log.csv:{n}"))), "{lines:?}");
    let none = read_log("log.csv", b"x,y,flow\n1,2,3\n", &columns).unwrap_err();
    assert_eq!(none.len(), 3);
    assert!(read_log("log.csv", b"lon,lat,rate\n", &columns).is_err());
}
