//! The machine driven over the field: what each piece of ground gets.

use super::RateChange;
use super::swaths::{Run, Swath, Turned, swaths};
use crate::cell_grid::Site;

/// How far from the ordered rate still counts as kept, of that rate (the margin as-applied logs are judged by: Colaco,
/// Rosa and Molin count points more than 10 % off \[R]).
pub const WITHIN_SHARE: f64 = 0.10;
/// Longest step along a swath, and widest gap of the lines across it, meters.
const STEP_M: f64 = 2.0;
/// Longest step in time, seconds.
const STEP_S: f64 = 0.5;

/// How the machine drives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Course {
    /// Direction of the swaths, degrees clockwise from the north of the work plane.
    pub heading_deg: f64,
    /// Working width, meters.
    pub swath_m: f64,
    /// Working speed, meters a second.
    pub speed_m_s: f64,
    /// How rates change.
    pub change: RateChange,
}

/// What a piece of ground got.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct GroundDriven {
    /// How much of it was driven, m2 on the work plane.
    pub driven_m2: f64,
    /// Mean rate put down; `None` where none of it was driven.
    pub mean_applied: Option<f64>,
    /// Share of it within 10 % of its ordered rate; where 0 is ordered, within 10 % of the least rate above 0 that is
    /// ordered anywhere.
    pub within_share: Option<f64>,
}

/// Drives a field of closed rings (local meters) and tells what each piece of ground got, one entry an ordered rate.
///
/// `ground_at` gives the place of a ground in `rates` (any unit, all the same), `None` outside. One rate goes over the
/// whole swath: that of the ground under its middle, where that is outside of the ground nearest the middle.
///
/// # Guarantees
/// A mean lies between the least and the most of `rates`. Where the order never changes along a run, it is met.
pub fn drive(
    rings: &[Vec<Site>],
    rates: &[f64],
    ground_at: &dyn Fn(Site) -> Option<usize>,
    course: &Course,
) -> Vec<GroundDriven> {
    let least = rates.iter().copied().filter(|rate| *rate > 0.0).fold(f64::INFINITY, f64::min);
    let off_at: Vec<f64> =
        rates.iter().map(|rate| WITHIN_SHARE * if *rate > 0.0 { *rate } else { least } * (1.0 + 1e-9)).collect();
    let mut got = vec![Got::default(); rates.len()];
    for swath in swaths(rings, course.heading_deg, course.swath_m, STEP_M) {
        for run in &swath.runs {
            drive_run(&swath, *run, (rates, &off_at), ground_at, course, &mut got);
        }
    }
    got.into_iter().map(Got::driven).collect()
}

#[derive(Debug, Clone, Copy, Default)]
struct Got {
    m2: f64,
    applied_m2: f64,
    within_m2: f64,
}

impl Got {
    fn driven(self) -> GroundDriven {
        let is_driven = self.m2 > 0.0;
        GroundDriven {
            driven_m2: self.m2,
            mean_applied: is_driven.then(|| self.applied_m2 / self.m2),
            within_share: is_driven.then(|| self.within_m2 / self.m2),
        }
    }
}

fn drive_run(
    swath: &Swath,
    run: Run,
    (rates, off_at): (&[f64], &[f64]),
    ground_at: &dyn Fn(Site) -> Option<usize>,
    course: &Course,
    got: &mut [Got],
) {
    let length_m = run.to_m - run.from_m;
    let n_steps = (length_m / STEP_M.min(STEP_S * course.speed_m_s)).ceil().max(1.0) as usize;
    let step_m = length_m / n_steps as f64;
    let turned = Turned::new(course.heading_deg);
    let across = |step: usize| {
        let driven_m = (step as f64 + 0.5) * step_m;
        let along_m = if swath.is_back { run.to_m - driven_m } else { run.from_m + driven_m };
        swath.lines_m.iter().map(|right_m| ground_at(turned.site((along_m, *right_m)))).collect::<Vec<_>>()
    };
    let rows: Vec<Vec<Option<usize>>> = (0..n_steps).map(across).collect();
    let orders = orders(&rows, rates);
    let step_s = step_m / course.speed_m_s;
    let ahead_m = course.change.ahead_m(course.speed_m_s);
    // Beyond the ends of a run its first and its last order stand.
    let order_at = |step: usize| {
        let at_m = ((step as f64 + 0.5) * step_m + ahead_m).clamp(0.0, length_m);
        orders[((at_m / step_m) as usize).min(n_steps - 1)]
    };
    let cell_m2 = step_m * course.swath_m / swath.lines_m.len() as f64;
    let mut rate = order_at(0);
    for (step, row) in rows.iter().enumerate() {
        let order = order_at(step);
        let (middle, mean) = (course.change.after(rate, order, 0.5 * step_s), course.change.mean(rate, order, step_s));
        for ground in row.iter().flatten() {
            let got = &mut got[*ground];
            got.m2 += cell_m2;
            got.applied_m2 += cell_m2 * mean;
            if (middle - rates[*ground]).abs() <= off_at[*ground] {
                got.within_m2 += cell_m2;
            }
        }
        rate = course.change.after(rate, order, step_s);
    }
}

/// The order of each step: of the ground nearest the middle, else the last one given, before the first one the first.
fn orders(rows: &[Vec<Option<usize>>], rates: &[f64]) -> Vec<f64> {
    let nearest = |row: &Vec<Option<usize>>| {
        let middle = row.len() / 2;
        (0..=middle).find_map(|off| row[middle - off].or(row[middle + off])).map(|ground| rates[ground])
    };
    let given: Vec<Option<f64>> = rows.iter().map(nearest).collect();
    let mut last = given.iter().flatten().next().copied().unwrap_or(0.0);
    let hold = |order: Option<f64>| {
        last = order.unwrap_or(last);
        last
    };
    given.into_iter().map(hold).collect()
}
