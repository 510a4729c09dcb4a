//! Cases worked out by hand.

use super::*;

fn k2o(season: &Season, cec: f64, years: &[f64]) -> SeasonPlacement {
    let needs: Vec<_> = years.iter().enumerate().map(|(year, lb_ac)| (Supply::K2o, year + 1, *lb_ac)).collect();
    season.place(&zone(ground(1, cec), &needs))
}

#[test]
fn a_pass_of_a_later_year_never_serves_an_earlier_one() {
    let mut season = demo();
    season.passes.retain(|pass| pass.name == "After corn");
    let placed = k2o(&season, 5.0, &[80.0]);
    assert!(placed.spreads.is_empty());
    assert_eq!(placed.left_over[0].why, "no pass up to year 1 brings K2O");
    assert_eq!(
        placed.left_over[0].proposal.as_deref(),
        Some("a further pass of year 1 with POT would place it: 133 lb/ac of POT")
    );
}

#[test]
fn the_years_own_pass_comes_first_or_the_earliest_as_the_user_orders() {
    let mut season = demo();
    season.pass("After corn").holds = None;
    let latest = k2o(&season, 15.0, &[60.0, 90.0]);
    assert_eq!((rate(&latest, 1, "POT"), rate(&latest, 3, "POT")), (100.0, 150.0));
    season.order = PlacingOrder::Earliest;
    let earliest = k2o(&season, 15.0, &[60.0, 90.0]);
    assert_eq!((rate(&earliest, 1, "POT"), rate(&earliest, 3, "POT")), (250.0, 0.0));
    // What the ceiling of 200 lb K2O keeps back goes to the year's own pass: 333 lb bring 199.8, 50.2 are left.
    let full = k2o(&season, 15.0, &[150.0, 100.0]);
    assert_eq!((rate(&full, 1, "POT"), rate(&full, 3, "POT")), (333.0, 84.0));
    assert!(full.left_over.is_empty(), "{:?}", full.left_over);
}

#[test]
fn potash_goes_into_the_soil_before_it_goes_onto_a_standing_crop() {
    let mut season = demo();
    season.pass("Corn V6").products.push("POT".into());
    let placed = k2o(&season, 5.0, &[80.0]);
    assert_eq!((rate(&placed, 1, "POT"), rate(&placed, 2, "POT")), (133.0, 0.0));
    // 2 % of CEC 5 are 94 lb in 2,000,000 lb and 42.3 lb in the 900,000 lb a pass reaching 3 in feeds: 70 lb POT.
    let placed = k2o(&season, 5.0, &[130.0]);
    assert_eq!((rate(&placed, 1, "POT"), rate(&placed, 2, "POT")), (156.0, 61.0));
    let placed = k2o(&season, 5.0, &[180.0]);
    assert_eq!((rate(&placed, 1, "POT"), rate(&placed, 2, "POT")), (156.0, 70.0));
    close(placed.left_over_lb_ac(Supply::K2o), 180.0 - 226.0 * 0.6, 1e-6);
}

#[test]
fn credits_come_off_first_and_what_is_too_much_is_told() {
    let mut zone = zone(ground(1, 15.0), &[(Supply::N, 1, 150.0), (Supply::P2o5, 1, 20.0)]);
    let credit = |supply, lb_ac, source: &str| Credit { supply, year: 1, lb_ac, source: source.into() };
    zone.credits = vec![
        credit(Supply::N, 30.0, "soybean before"),
        credit(Supply::N, 20.0, "nitrate in the irrigation water"),
        credit(Supply::P2o5, 35.0, "manure"),
    ];
    let season = Season { nitrogen: NitrogenPlan::NO_RULE, ..demo() };
    let placed = season.place(&zone);
    // 100 lb N as urea: 217 lb.
    assert_eq!(rate(&placed, 1, "UREA"), 217.0);
    assert_eq!(placed.spreads.len(), 1);
    assert_eq!(
        placed.surplus_text(&placed.surplus[0]),
        "manure credits 15 lb P2O5/ac more than year 1 needs: not carried over"
    );
    assert_eq!(
        placed.why_spread(&placed.spreads[0], &|_, _| None),
        "needs 150 lb N, 30 credited (soybean before), 20 credited (nitrate in the irrigation water), 100 of it here"
    );
}

#[test]
fn a_product_serves_a_second_supply_only_if_nothing_is_bought_for_it() {
    let dry = Form::Dry { lb_ft3: None };
    let mut season = demo();
    season.products.push(product("KMS", &[(Supply::K2o, 22.0), (Supply::S, 22.0)], dry));
    season.pass("Before corn").products = vec!["KMS".into()];
    // 15 lb S as potassium magnesium sulfate: 68.2 lb; 30 lb K2O as such are 136.4 lb and bring the sulfur along.
    let placed = season.place(&zone(ground(1, 15.0), &[(Supply::S, 1, 15.0)]));
    assert_eq!(rate(&placed, 1, "KMS"), 68.0);
    close(placed.surplus[0].lb_ac, 68.0 * 0.22, 1e-9);
    let placed = season.place(&zone(ground(1, 15.0), &[(Supply::S, 1, 15.0), (Supply::K2o, 1, 30.0)]));
    assert_eq!(rate(&placed, 1, "KMS"), 136.0);
    // More sulfur than comes along: topped up to 45 lb, 204.5 lb of product.
    let placed = season.place(&zone(ground(1, 15.0), &[(Supply::S, 1, 45.0), (Supply::K2o, 1, 30.0)]));
    close(rate(&placed, 1, "KMS"), 204.5, 0.5);
    // Where sulfate is at hand it brings the sulfur.
    season.products.push(product("SUL", &[(Supply::S, 90.0)], dry));
    season.pass("Before corn").products.push("SUL".into());
    let placed = season.place(&zone(ground(1, 15.0), &[(Supply::S, 1, 90.0)]));
    assert_eq!((rate(&placed, 1, "KMS"), rate(&placed, 1, "SUL")), (0.0, 100.0));
    // A topped-up product keeps the potash cap of the pass: 2 % of CEC 3 are 56.4 lb K2O, 256 lb.
    season.pass("Before corn").products.pop();
    let placed = season.place(&zone(ground(1, 3.0), &[(Supply::S, 1, 90.0), (Supply::K2o, 1, 30.0)]));
    assert_eq!(rate(&placed, 1, "KMS"), 256.0);
    close(placed.left_over_lb_ac(Supply::S), 90.0 - 256.0 * 0.22, 1e-6);
}

#[test]
fn flow_and_the_machines_most_limit_a_rate() {
    let mut season = demo();
    season.hold.k_rise_percent_of_cec = None;
    season.hold.k2o_most_lb_ac = None;
    // 400 lb/ac at most; 240 lb K2O there, 60 left.
    let placed = k2o(&season, 15.0, &[300.0]);
    assert_eq!(placed.spreads[0].limited_by.as_ref().unwrap().to_string(), "the machine spreads 400 lb/ac at most");
    close(placed.left_over_lb_ac(Supply::K2o), 60.0, 1e-6);
    // 436 lb/min over 60 ft at 12 mph keep up with 436 * 495 / 720 = 299.75 lb/ac.
    season.machine.flow_lb_min = Some(436.0);
    let placed = k2o(&season, 15.0, &[300.0]);
    assert_eq!(placed.spreads[0].rate, 299.0);
    assert_eq!(
        placed.spreads[0].limited_by.as_ref().unwrap().to_string(),
        "the machine puts out 436 lb/min at most: 300 lb/ac over 60 ft at 12 mph"
    );
}

#[test]
fn lime_over_the_cap_of_one_pass_is_left_with_a_proposal() {
    let placed = demo().place(&zone(ground(1, 5.0), &[(Supply::Lime, 1, 3_495.0)]));
    // 2.5 short tons of product, 2.0 in one pass.
    assert_eq!(rate(&placed, 0, "LIM"), 2.0);
    close(placed.left_over_lb_ac(Supply::Lime), 699.0, 1e-6);
    assert_eq!(
        placed.left_over[0].why,
        "`After soybean`: one pass may bring 2 short tons of lime worked in, as spread"
    );
    assert_eq!(
        placed.left_over[0].proposal.as_deref(),
        Some("a further pass of year 1 with LIM would place it: 0.50 short ton/ac of LIM")
    );
}

#[test]
fn potash_under_the_least_of_its_own_pass_joins_an_earlier_one() {
    let mut season = demo();
    season.pass("After corn").holds = None;
    let placed = k2o(&season, 15.0, &[60.0, 24.0]);
    // Year 2 needs 40 lb POT, under 50: it comes with the 100 lb of year 1.
    assert_eq!((rate(&placed, 1, "POT"), rate(&placed, 3, "POT")), (140.0, 0.0));
    // On ground that holds little it is left over.
    let placed = k2o(&season, 5.0, &[60.0, 24.0]);
    assert_eq!((rate(&placed, 1, "POT"), placed.left_over_lb_ac(Supply::K2o)), (100.0, 24.0));
    assert!(placed.left_over[0].why.contains("`After corn`: 40 lb/ac of POT is under the machine's least of 50"));
    // `below_least = "least"` spreads the least, and says what is too much.
    season.machine.lb_ac.as_mut().unwrap().below_least = BelowLeast::Least;
    let placed = k2o(&season, 5.0, &[60.0, 24.0]);
    assert_eq!(rate(&placed, 3, "POT"), 50.0);
    close(placed.surplus[0].lb_ac, 6.0, 1e-9);
    assert_eq!(placed.surplus[0].cause, SurplusCause::RaisedToLeast);
}

#[test]
fn unknown_ground_is_told_and_passes_for_some_ground_leave_it_out() {
    let unknown = GroundToFeed { cec_meq_100g: None, ..ground(1, 0.0) };
    let placed = demo().place(&zone(unknown, &[(Supply::K2o, 1, 60.0), (Supply::K2o, 2, 240.0)]));
    assert_eq!((rate(&placed, 1, "POT"), rate(&placed, 3, "POT")), (333.0, 0.0));
    assert!(placed.left_over[0].why.contains("how much this ground holds is not known"), "{}", placed.left_over[0].why);
    let texts: Vec<&str> = placed.notices.iter().map(|notice| notice.text.as_str()).collect();
    assert!(
        texts.iter().any(|text| text.starts_with("the CEC is not known: only the ceiling of 200 lb K2O")),
        "{texts:?}"
    );
}

#[test]
fn much_potash_before_soybean_and_salt_beside_the_row_are_told() {
    let mut season = demo();
    season.pass("After corn").holds = None;
    season.pass("Before corn").placement = Placement::Band;
    let placed = k2o(&season, 20.0, &[110.0, 170.0]);
    let texts: Vec<&str> = placed.notices.iter().map(|notice| notice.text.as_str()).collect();
    assert!(
        texts.iter().any(|text| text.starts_with("`After corn` brings 170 lb K2O just before soybean")),
        "{texts:?}"
    );
    // Michigan State Univ. [R]: at most 100 lb K2O in a band beside the row of corn.
    assert!(texts.iter().any(|text| text.contains("110 lb K2O in a band beside the row of corn, published most 100")));
    assert!(k2o(&season, 20.0, &[90.0, 140.0]).notices.is_empty());
}

#[test]
fn a_proof_sees_a_broken_cap_and_a_broken_account() {
    let season = demo();
    let zone = zone(ground(1, 5.11), &[(Supply::K2o, 1, 88.0), (Supply::K2o, 2, 110.0)]);
    let good = season.place(&zone);
    assert_eq!(good.prove(&season.rules(), &zone), Ok(()));
    let broken = |change: &dyn Fn(&mut SeasonPlacement)| {
        let mut placement = good.clone();
        change(&mut placement);
        placement.prove(&season.rules(), &zone).unwrap_err()
    };
    let more = broken(&|placement| {
        let spread = &mut placement.spreads[1];
        (spread.rate, spread.wanted, spread.product_lb_ac, spread.brings) =
            (161.0, 161.0, 161.0, vec![(Supply::K2o, 96.6)]);
    });
    assert!(more.contains("one pass may bring 96 lb K2O"), "{more}");
    assert!(broken(&|placement| placement.spreads[0].rate += 0.5).contains("not on a step"));
    assert!(broken(&|placement| placement.ledger[0].left_over_lb_ac = 0.0).contains("198 lb K2O needed"));
    assert!(broken(&|placement| placement.spreads[0].product_lb_ac = 90.0).contains("lb/ac are not"));
    assert!(broken(&|placement| drop(placement.spreads.remove(0))).contains("are brought, but"));
    assert!(broken(&|placement| placement.spreads[1].meets[0].year = 1).contains("of year 1"));
}
