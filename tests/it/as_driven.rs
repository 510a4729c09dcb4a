//! The demo as its machine drives it: totals against the plan, and what each key of `[machine]` changes.

use holdground::drive::AsDriven;
use holdground::pipeline::Outcome;

use crate::fixture::run_edited;

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
