//! Fields whose answer is known by arithmetic, and promises for any field.

use proptest::prelude::*;

use super::{Course, GroundDriven, RateChange, drive, longest_side_deg, swaths};
use crate::cell_grid::Site;

const LENGTH_M: f64 = 1000.0;
const SWATH_M: f64 = 20.0;
const SPEED_M_S: f64 = 5.0;

fn site(east_m: f64, north_m: f64) -> Site {
    Site { east_m, north_m }
}

/// A closed rectangle from the origin.
fn rectangle(east_m: f64, north_m: f64) -> Vec<Vec<Site>> {
    vec![vec![site(0.0, 0.0), site(east_m, 0.0), site(east_m, north_m), site(0.0, north_m), site(0.0, 0.0)]]
}

fn eastwards(change_s: f64, delay_s: f64) -> Course {
    let change = RateChange { change_s, delay_s, look_ahead_s: 0.0 };
    Course { heading_deg: 90.0, swath_m: SWATH_M, speed_m_s: SPEED_M_S, change }
}

/// Drives 1000 m by 200 m, ten swaths, with a ground at each place that a rule gives.
fn driven(rates: &[f64], course: &Course, ground: impl Fn(Site) -> usize) -> Vec<GroundDriven> {
    let inside = |at: Site| (0.0..LENGTH_M).contains(&at.east_m) && (0.0..200.0).contains(&at.north_m);
    drive(&rectangle(LENGTH_M, 200.0), rates, &|at| inside(at).then(|| ground(at)), course)
}

fn off_m2(driven: &[GroundDriven]) -> f64 {
    driven.iter().map(|ground| ground.driven_m2 * (1.0 - ground.within_share.unwrap_or(1.0))).sum()
}

/// A change is 95 % done after `change_s`: 1 - e^-3 = 0.950 [A].
#[test]
fn a_new_rate_is_reached_to_95_percent_after_the_distance_of_the_change() {
    let change = RateChange { change_s: 4.0, delay_s: 0.0, look_ahead_s: 0.0 };
    let (mut rate, mut travelled_m) = (100.0, 0.0);
    while rate < 195.0 {
        rate = change.after(rate, 200.0, 0.01);
        travelled_m += 0.01 * SPEED_M_S;
    }
    // 4 s at 5 m/s.
    assert!((travelled_m - 20.0).abs() < 0.1, "{travelled_m}");
    // The mean over a step is the integral: fine steps give the same.
    let fine: f64 = (0..1000).map(|n| change.after(100.0, 200.0, (n as f64 + 0.5) * 0.0005)).sum::<f64>() / 1000.0;
    assert!((change.mean(100.0, 200.0, 0.5) - fine).abs() < 1e-5);
    assert_eq!(RateChange { change_s: 0.0, ..change }.after(100.0, 200.0, 0.1), 200.0);
}

#[test]
fn one_rate_is_met_everywhere() {
    let driven = driven(&[150.0], &eastwards(5.0, 2.0), |_| 0);
    assert!((driven[0].driven_m2 - 200_000.0).abs() < 1e-6);
    assert_eq!(driven[0].within_share, Some(1.0));
    assert!((driven[0].mean_applied.unwrap() - 150.0).abs() < 1e-9);
}

/// Half 100, half 200, the border across the driving direction [A]: going out, 200 - 100 e^(-t/tau) reaches 180 at
/// t = tau ln 5; coming back, 100 + 100 e^(-t/tau) falls to 110 at t = tau ln 10. tau = 6 s / 3 = 2 s at 5 m/s.
#[test]
fn a_border_across_leaves_strips_of_the_width_worked_out_by_hand() {
    for delay_s in [0.0, 1.0] {
        let half = |at: Site| usize::from(at.east_m >= 500.0);
        let driven = driven(&[100.0, 200.0], &eastwards(6.0, delay_s), half);
        let (out_m, back_m) = ((2.0 * 5.0_f64.ln() + delay_s) * SPEED_M_S, (2.0 * 10.0_f64.ln() + delay_s) * SPEED_M_S);
        let off = |ground: &GroundDriven| 1.0 - ground.within_share.unwrap();
        // Five of ten swaths go each way; one step of 2 m a swath is left to rounding.
        assert!((off(&driven[1]) - 0.5 * out_m / 500.0).abs() < 2.0 / 1000.0, "{} {out_m}", off(&driven[1]));
        assert!((off(&driven[0]) - 0.5 * back_m / 500.0).abs() < 2.0 / 1000.0, "{} {back_m}", off(&driven[0]));
        // Short of product going out: the integral of 100 e^(-t/tau) is 100 tau, and 100 a second of delay.
        let short = 100.0 * (2.0 + delay_s) * SPEED_M_S * 0.5 / 500.0;
        assert!((200.0 - driven[1].mean_applied.unwrap() - short).abs() < 0.25, "{:?}", driven[1]);
        assert!((driven[0].mean_applied.unwrap() - 100.0 - short).abs() < 0.25, "{:?}", driven[0]);
    }
}

/// A look-ahead as long as the dead time takes it away.
#[test]
fn a_look_ahead_makes_up_for_the_dead_time() {
    let half = |at: Site| usize::from(at.east_m >= 500.0);
    let mut ahead = eastwards(3.0, 2.0);
    ahead.change.look_ahead_s = 2.0;
    assert_eq!(driven(&[100.0, 200.0], &ahead, half), driven(&[100.0, 200.0], &eastwards(3.0, 0.0), half));
}

#[test]
fn a_border_along_a_swath_s_edge_leaves_nothing_off_and_within_a_swath_half_of_it() {
    let along = |edge_m: f64| move |at: Site| usize::from(at.north_m >= edge_m);
    let on_edge = driven(&[100.0, 200.0], &eastwards(6.0, 1.0), along(100.0));
    assert!(on_edge.iter().all(|ground| ground.within_share == Some(1.0)));
    // Half a swath beyond the edge: the machine puts one rate over the whole 20 m, so 10 m of 1000 are off.
    let within = driven(&[100.0, 200.0], &eastwards(6.0, 1.0), along(110.0));
    assert!((off_m2(&within) - 10.0 * LENGTH_M).abs() < 2.0 * LENGTH_M, "{}", off_m2(&within));
}

/// 0 ordered on a half: within is under 10 % of the least rate, 10 of 100, so 100 e^(-t/tau) = 10 at tau ln 10 [A].
#[test]
fn where_0_is_ordered_the_least_rate_says_what_is_near() {
    let half = |at: Site| usize::from(at.east_m >= 500.0);
    let driven = driven(&[0.0, 100.0], &eastwards(6.0, 0.0), half);
    let back_m = 2.0 * 10.0_f64.ln() * SPEED_M_S;
    assert!((1.0 - driven[0].within_share.unwrap() - 0.5 * back_m / 500.0).abs() < 2.0 / 1000.0, "{driven:?}");
}

#[test]
fn swaths_cover_the_field_once_and_turn_back() {
    let field = rectangle(100.0, 90.0);
    let swaths = swaths(&field, 90.0, 20.0, 2.0);
    // Five swaths for 90 m: the first along the left side of the heading, which is the north.
    assert_eq!(swaths.len(), 5);
    assert!(swaths.iter().enumerate().all(|(n, swath)| swath.is_back == (n % 2 == 1) && swath.lines_m.len() % 2 == 1));
    assert!((swaths[0].right_m + 80.0).abs() < 1e-9, "{}", swaths[0].right_m);
    // A hole wider than the swath parts a swath in two runs.
    let hole = vec![site(40.0, 20.0), site(60.0, 20.0), site(60.0, 80.0), site(40.0, 80.0), site(40.0, 20.0)];
    let runs = super::swaths(&[field[0].clone(), hole], 90.0, 20.0, 2.0).iter().map(|swath| swath.runs.len()).max();
    assert_eq!(runs, Some(2));
}

#[test]
fn the_heading_is_that_of_the_longest_straight_side() {
    assert_eq!(longest_side_deg(&rectangle(300.0, 100.0)), Some(90.0));
    assert_eq!(longest_side_deg(&rectangle(100.0, 300.0)), Some(0.0));
    assert_eq!(longest_side_deg(&[]), None);
    // The north side walked with many vertices is longer than the longest edge, on the east.
    let mut ring: Vec<Site> = (0..=30).map(|n| site(300.0 - 10.0 * f64::from(n), 100.0)).collect();
    ring.extend([site(0.0, 0.0), site(20.0, -3.0), site(300.0, 0.0), site(300.0, 100.0)]);
    let deg = longest_side_deg(&[ring]).unwrap();
    assert!((deg - 90.0).abs() < 1.0, "{deg}");
}

/// A field of stripes at any angle, with any rates; the inside of the rectangle is the field.
fn stripes(rates: &[f64], angle_deg: f64, width_m: f64) -> impl Fn(Site) -> usize {
    let (sin, cos) = angle_deg.to_radians().sin_cos();
    let n = rates.len();
    move |at| ((at.east_m * sin + at.north_m * cos) / width_m).floor().rem_euclid(n as f64) as usize
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn a_mean_lies_between_the_least_and_the_most_ordered(
        rates in prop::collection::vec(0.0..400.0_f64, 1..5), angle_deg in 0.0..180.0_f64,
        width_m in 15.0..200.0_f64, heading_deg in 0.0..360.0_f64, change_s in 0.0..8.0_f64, delay_s in 0.0..4.0_f64,
    ) {
        let course = Course { heading_deg, ..eastwards(change_s, delay_s) };
        let driven = driven(&rates, &course, stripes(&rates, angle_deg, width_m));
        let (least, most) = rates.iter().fold((f64::MAX, 0.0_f64), |(low, high), r| (low.min(*r), high.max(*r)));
        for ground in &driven {
            if let Some(mean) = ground.mean_applied {
                prop_assert!((least - 1e-9..=most + 1e-9).contains(&mean));
            }
        }
        let m2: f64 = driven.iter().map(|ground| ground.driven_m2).sum();
        // All ground is driven once, but for steps at the ends of runs.
        prop_assert!((m2 / 200_000.0 - 1.0).abs() < 0.03, "{m2}");
    }

    /// One border at a slant: of a later change more ground gets the wrong rate, never less. (With many borders a delay
    /// of a whole stripe can fall back into step.)
    #[test]
    fn more_delay_is_never_better(
        low in 20.0..200.0_f64, more in 10.0..200.0_f64, slant in -0.7..0.7_f64,
        change_s in 0.0..8.0_f64, delay_s in 0.0..3.0_f64, later_s in 0.5..3.0_f64,
    ) {
        let border = |at: Site| usize::from(at.east_m - 500.0 >= slant * (at.north_m - 100.0));
        let rates = [low, low + more];
        let off = |delay_s: f64| off_m2(&driven(&rates, &eastwards(change_s, delay_s), border));
        // A step of 2 m in each of ten swaths is left to rounding.
        prop_assert!(off(delay_s + later_s) >= off(delay_s) - 10.0 * SWATH_M * 2.0);
    }

    /// A field mirrored across the driving direction has the same shares: of nine swaths each keeps its direction.
    #[test]
    fn a_mirrored_field_has_the_same_shares(
        rates in prop::collection::vec(10.0..400.0_f64, 2..4), angle_deg in 0.0..180.0_f64,
        width_m in 30.0..200.0_f64, change_s in 0.0..8.0_f64, delay_s in 0.0..3.0_f64,
    ) {
        const NORTH_M: f64 = 9.0 * SWATH_M;
        let there = stripes(&rates, angle_deg, width_m);
        let mirrored = |at: Site| there(site(at.east_m, NORTH_M - at.north_m));
        let course = eastwards(change_s, delay_s);
        let inside = |at: Site| (0.0..LENGTH_M).contains(&at.east_m) && (0.0..NORTH_M).contains(&at.north_m);
        let field = rectangle(LENGTH_M, NORTH_M);
        let one = drive(&field, &rates, &|at| inside(at).then(|| there(at)), &course);
        let other = drive(&field, &rates, &|at| inside(at).then(|| mirrored(at)), &course);
        for (one, other) in one.iter().zip(&other) {
            let near = |a: Option<f64>, b: Option<f64>, within: f64| (a.unwrap_or(0.0) - b.unwrap_or(0.0)).abs() <= within;
            prop_assert!(near(one.within_share, other.within_share, 2e-3), "{one:?} {other:?}");
            prop_assert!(near(one.mean_applied, other.mean_applied, 0.5), "{one:?} {other:?}");
        }
    }
}
