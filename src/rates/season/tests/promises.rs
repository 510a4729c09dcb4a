//! Promises kept for any season: drawn at random.

use super::*;
use crate::rates::nitrogen_split::sets;
use proptest::prelude::*;

/// Steps that may be lost where a product drops under the machine's least and another takes its part, lb/ac of supply.
fn rounding_lb_ac(season: &Season, placement: &SeasonPlacement, supply: Supply) -> f64 {
    let step = |spread: &Spread| {
        let product = season.products.iter().find(|product| product.short == spread.product).unwrap();
        let step = season.machine.limits(product.rate_unit()).unwrap().step;
        product.supply_lb_ac(supply, product.lb_ac_of_rate(step))
    };
    placement.spreads.iter().map(step).sum()
}

fn any_rule() -> impl Strategy<Value = NitrogenRule> {
    (0..7_usize, 0.0..1.0_f64).prop_map(|(pick, share)| match pick {
        0 => NitrogenRule::AsCapacityAllows,
        1 => NitrogenRule::Shares(vec![share, 1.0 - share]),
        _ => NitrogenRule::Set(&sets()[pick - 2]),
    })
}

fn any_pass() -> impl Strategy<Value = Pass> {
    let products =
        prop::collection::vec(prop::sample::select(vec!["POT", "MAP", "UREA", "UAN", "LIM", "AMS", "KMS"]), 0..5);
    let holds = prop::sample::select(vec![
        None,
        None,
        None,
        Some(vec![HoldingClass::Little]),
        Some(vec![HoldingClass::Some, HoldingClass::Much]),
    ]);
    let placement = prop::sample::select(Placement::ALL.to_vec());
    (1..3_usize, products, holds, placement, 2.0..9.0_f64, any::<bool>(), any::<bool>()).prop_map(
        |(year, mut products, holds, placement, reaches_in, standing_crop, fall)| {
            products.sort_unstable();
            products.dedup();
            Pass {
                holds,
                placement,
                reaches_in,
                standing_crop,
                fall: fall && !standing_crop,
                ..pass("P", year, &products)
            }
        },
    )
}

fn any_limits(most: f64) -> impl Strategy<Value = RateLimits> {
    (0.0..0.3_f64, 0.3..1.0_f64, 0.001..0.05_f64, any::<bool>()).prop_map(move |(least, top, step, to_least)| {
        RateLimits {
            least: least * most,
            most: top * most,
            step: step * most,
            below_least: if to_least { BelowLeast::Least } else { BelowLeast::Zero },
        }
    })
}

prop_compose! {
    fn any_season()(
        passes in prop::collection::vec(any_pass(), 1..7),
        lb_ac in any_limits(500.0), short_ton_ac in any_limits(4.0), gal_ac in any_limits(80.0),
        flow in prop::option::of(300.0..3000.0_f64),
        rise in prop::option::of(0.2..4.0_f64), ceiling in prop::option::of(40.0..300.0_f64),
        lime in prop::option::of(0.5..3.0_f64), fall_n in any::<bool>(), is_latest in any::<bool>(),
        on_little in any_rule(), elsewhere in any_rule(),
    ) -> Season {
        let mut season = demo();
        let dry = Form::Dry { lb_ft3: None };
        season.products.push(product("AMS", &[(Supply::N, 21.0), (Supply::S, 24.0)], dry));
        season.products.push(product("KMS", &[(Supply::K2o, 22.0), (Supply::S, 22.0)], dry));
        season.passes = passes;
        season.passes.sort_by_key(|pass| pass.year);
        season.machine = Machine {
            lb_ac: Some(lb_ac), short_ton_ac: Some(short_ton_ac), gal_ac: Some(gal_ac), flow_lb_min: flow,
            ..season.machine
        };
        season.hold.k_rise_percent_of_cec = rise;
        season.hold.k2o_most_lb_ac = ceiling;
        season.hold.lime_tilled_short_ton_ac = lime;
        season.hold.fall_n_on_little = fall_n;
        season.order = if is_latest { PlacingOrder::Latest } else { PlacingOrder::Earliest };
        season.nitrogen = NitrogenPlan { on_little, elsewhere };
        season
    }
}

prop_compose! {
    fn any_zone()(
        cec in prop::option::of(2.0..35.0_f64), overread in any::<bool>(),
        needs in prop::collection::vec((prop::sample::select(Supply::ALL.to_vec()), 1..3_usize, 0.0..220.0_f64), 0..8),
        credits in prop::collection::vec((prop::sample::select(Supply::ALL.to_vec()), 1..3_usize, 0.0..60.0_f64), 0..3),
    ) -> ZoneToFeed {
        // Lime is needed in thousands of pounds.
        let scale = |supply, lb_ac: f64| if supply == Supply::Lime { lb_ac * 25.0 } else { lb_ac };
        let needs = needs.into_iter().map(|(supply, year, lb_ac)| YearNeed { year, supply, lb_ac: scale(supply, lb_ac) });
        let credit = |(supply, year, lb_ac)| Credit { supply, year, lb_ac, source: "manure".into() };
        ZoneToFeed {
            ground: GroundToFeed { zone: 1, cec_meq_100g: cec, holding: None, cec_is_overread: overread },
            needs: needs.collect(),
            credits: credits.into_iter().map(credit).collect(),
        }
    }
}

fn grown(zone: &ZoneToFeed, supply: Supply, year: usize, more: f64) -> ZoneToFeed {
    let mut zone = zone.clone();
    zone.needs.push(YearNeed { year, supply, lb_ac: more });
    zone
}

fn met(placement: &SeasonPlacement, supply: Supply) -> f64 {
    placement.ledger.iter().find(|line| line.supply == supply).map_or(0.0, |line| line.met_lb_ac)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    /// `place` proves caps, steps, signs and the account of every supply by itself, and panics where one does not hold.
    #[test]
    fn any_season_proves_itself_and_tells_what_it_leaves(season in any_season(), zone in any_zone()) {
        let placed = season.place(&zone);
        prop_assert_eq!(placed.prove(&season.rules(), &zone), Ok(()));
        for left in &placed.left_over {
            prop_assert!(left.lb_ac > 0.0 && !left.why.is_empty());
        }
        for spread in &placed.spreads {
            prop_assert!(!placed.why(spread.pass, &|_, _| None).is_empty());
            prop_assert!(spread.brings.iter().all(|(_, lb_ac)| *lb_ac > 0.0));
        }
        prop_assert!(placed.diagnostics().len() >= placed.left_over.len() + placed.surplus.len());
    }

    #[test]
    fn what_is_met_never_falls_as_the_need_grows(
        season in any_season(), zone in any_zone(), year in 1..3_usize, more in 0.0..60.0_f64,
    ) {
        for supply in Supply::ALL {
            let (low, high) = (season.place(&zone), season.place(&grown(&zone, supply, year, more)));
            let slack = rounding_lb_ac(&season, &low, supply) + 1e-3;
            // A rate raised to the machine's least brings more than was wanted, and a larger need may do without raising.
            let units = [season.machine.lb_ac, season.machine.short_ton_ac, season.machine.gal_ac];
            let raises = units.iter().flatten().any(|limits| limits.below_least == BelowLeast::Least);
            let met = [&low, &high].map(|placed| met(placed, supply));
            prop_assert!((raises && supply == Supply::N) || met[0] <= met[1] + slack, "{} met: {met:?}", supply.name());
            let delivered = [&low, &high].map(|placed| placed.delivered_lb_ac(supply));
            prop_assert!(raises || delivered[0] <= delivered[1] + slack, "{} delivered: {delivered:?}", supply.name());
        }
    }

    #[test]
    fn a_step_of_rounding_alone_is_not_left_over(need in 30.0..90.0_f64) {
        let placed = demo().place(&zone(ground(1, 15.0), &[(Supply::K2o, 1, need)]));
        prop_assert!(placed.left_over.is_empty());
        prop_assert!((placed.delivered_lb_ac(Supply::K2o) - need).abs() <= 0.3 + 1e-9);
    }

    #[test]
    fn delivered_potash_lime_and_phosphate_never_fall_in_the_demos_season(
        cec in 2.0..30.0_f64, first in 0.0..150.0_f64, second in 0.0..150.0_f64, more in 0.0..40.0_f64, year in 1..3_usize,
    ) {
        let season = demo();
        for supply in [Supply::Lime, Supply::K2o, Supply::P2o5] {
            let scale = if supply == Supply::Lime { 25.0 } else { 1.0 };
            let low = zone(ground(1, cec), &[(supply, 1, first * scale), (supply, 2, second * scale)]);
            let high = grown(&low, supply, year, more * scale);
            let (low, high) = (season.place(&low), season.place(&high));
            prop_assert!(low.delivered_lb_ac(supply) <= high.delivered_lb_ac(supply) + 1e-9);
        }
    }

    #[test]
    fn the_order_of_needs_and_other_zones_change_nothing(season in any_season(), zone in any_zone(), other in any_zone()) {
        let alone = season.place(&zone);
        let _ = season.place(&other);
        prop_assert_eq!(&alone, &season.place(&zone));
        let mut turned = zone.clone();
        turned.needs.reverse();
        let turned = season.place(&turned);
        prop_assert_eq!(alone.spreads.len(), turned.spreads.len());
        for (one, two) in alone.spreads.iter().zip(&turned.spreads) {
            prop_assert!((one.rate - two.rate).abs() < 1e-9);
        }
    }
}

#[test]
fn every_set_keeps_its_promises_on_the_ridge() {
    for set in sets() {
        let mut season = demo();
        season.nitrogen.on_little = NitrogenRule::Set(set);
        for step in 0..=60 {
            let n_lb_ac = f64::from(step) * 4.0;
            let zone = zone(ground(1, 5.0), &[(Supply::P2o5, 1, 46.0), (Supply::N, 1, n_lb_ac)]);
            let placed = season.place(&zone);
            let line = placed.ledger.iter().find(|line| line.supply == Supply::N).unwrap();
            assert!(line.delivered_lb_ac <= n_lb_ac + line.surplus_lb_ac + 2.0, "{}: {line:?}", set.name);
        }
    }
}
