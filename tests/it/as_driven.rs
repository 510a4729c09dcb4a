//! The demo as its machine drives it: totals against the plan, and what each key of `[machine]` changes.

use geo::{LineString, MultiPolygon, Polygon};
use holdground::drive::AsDriven;
use holdground::pipeline::Outcome;
use holdground::setback::Setback;

use crate::fixture::{run_edited, run_with_keep_off};

fn driven(outcome: &Outcome) -> &AsDriven {
    outcome.as_driven.as_ref().expect("the demo states swath, speed and time of a change")
}

fn within(outcome: &Outcome) -> f64 {
    let passes = &driven(outcome).passes;
    passes.iter().filter_map(|pass| pass.within_share()).sum::<f64>() / passes.len() as f64
}

#[test]
fn the_demo_is_driven_as_its_machine_is_stated() {
    let outcome = run_edited("demo", |text| text);
    let driven = driven(&outcome);
    assert_eq!(driven.passes.len(), outcome.plan.passes.len());
    for (pass, plan) in driven.passes.iter().zip(&outcome.plan.passes) {
        assert!((pass.ordered_total() / plan.total() - 1.0).abs() < 1e-9, "{}", pass.product);
        // What is short on one side of a border is long on the other, whichever way it is driven.
        assert!((pass.applied_total() / pass.ordered_total() - 1.0).abs() < 0.02, "{pass:?}");
        let (least, most) = plan.rates.iter().fold((f64::MAX, 0.0_f64), |(l, m), r| (l.min(r.rate), m.max(r.rate)));
        let may_be = least - 1e-9..=most + 1e-9;
        assert!(pass.grounds.iter().all(|ground| ground.mean_applied.is_some_and(|mean| may_be.contains(&mean))));
        // Borders across a few hundred meters of ground: most of the field is met, not all of it.
        assert!((0.6..1.0).contains(&pass.within_share().unwrap()), "{pass:?}");
    }
    // A machine that changes slower, or later, meets less; one that is not stated is not driven.
    let slower = run_edited("demo", |text| text.replace("change_s = 3 ", "change_s = 9 "));
    let later = run_edited("demo", |text| text.replace("change_s = 3 ", "delay_s = 3\nchange_s = 3 "));
    assert!(within(&slower) < within(&outcome) && within(&later) < within(&outcome));
    assert!(run_edited("demo", |text| text.replace("change_s = 3 ", "# change_s ")).as_driven.is_none());
}

/// A square of about 101 m by 78 m to keep off, nearly all in zone 2. A rate that falls with a time constant of a third of
/// `change_s` lays down, past the border, as much as it would over that time at full rate: at 12 mph each second of time
/// constant is 5.36 m more of the 78 to 101 m across [A].
#[test]
fn what_lands_on_kept_off_ground_is_told() {
    let ring =
        [(-93.5010, 41.0005), (-93.4998, 41.0005), (-93.4998, 41.0012), (-93.5010, 41.0012), (-93.5010, 41.0005)];
    let area = MultiPolygon::new(vec![Polygon::new(LineString::from(ring.to_vec()), Vec::new())]);
    let keep_off = || vec![Setback { name: "square".to_owned(), area: area.clone(), products: Vec::new() }];
    let outcome = run_with_keep_off("demo", |text| text, keep_off());
    let slower = run_with_keep_off("demo", |text| text.replace("change_s = 3 ", "change_s = 6 "), keep_off());
    for (pass, slow) in driven(&outcome).passes.iter().zip(&driven(&slower).passes) {
        let kept_off: Vec<_> = pass.grounds.iter().filter(|ground| ground.is_kept_off).collect();
        assert!(!kept_off.is_empty() && kept_off.iter().all(|ground| ground.ordered == 0.0), "{pass:?}");
        assert!(pass.treated().all(|ground| !ground.is_kept_off));
        let area_ac: f64 = kept_off.iter().map(|ground| ground.area_ac).sum();
        assert!((area_ac / (101.0 * 77.8 / 4_046.856) - 1.0).abs() < 0.02, "{area_ac}");
        assert!(slow.kept_off_total() >= pass.kept_off_total(), "{slow:?}");
    }
    // Lime: 0.99 short ton/ac on zone 2, 1.08 on zone 1.
    let (lime, slow) = (&driven(&outcome).passes[0], &driven(&slower).passes[0]);
    let area_ac: f64 = lime.grounds.iter().filter(|ground| ground.is_kept_off).map(|ground| ground.area_ac).sum();
    let more = (slow.kept_off_total() - lime.kept_off_total()) / area_ac;
    assert!((0.8 * 0.99 * 5.36 / 101.0..1.2 * 1.08 * 5.36 / 77.8).contains(&more), "{more}");
}
