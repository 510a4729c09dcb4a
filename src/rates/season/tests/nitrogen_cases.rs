//! Nitrogen, worked out by hand.

use super::*;

#[test]
fn carried_nitrogen_beyond_the_need_is_told_and_none_is_bought() {
    let season = Season { nitrogen: NitrogenPlan::NO_RULE, ..demo() };
    let placed = season.place(&zone(ground(1, 15.0), &[(Supply::P2o5, 1, 104.0), (Supply::N, 1, 10.0)]));
    // 200 lb MAP bring 22 lb N.
    assert_eq!((rate(&placed, 1, "MAP"), placed.spreads.len()), (200.0, 1));
    close(placed.surplus[0].lb_ac, 12.0, 1e-9);
    assert_eq!(placed.surplus_text(&placed.surplus[0]), "MAP in `Before corn` brings 12 lb N/ac more than is needed");
}

#[test]
fn carried_nitrogen_beyond_its_part_is_taken_off_later_passes() {
    // 90 lb N: 30 before, 60 after; 400 lb MAP bring 44.
    let placed = demo().place(&zone(ground(1, 5.0), &[(Supply::P2o5, 1, 208.0), (Supply::N, 1, 90.0)]));
    assert_eq!((rate(&placed, 1, "MAP"), rate(&placed, 1, "UREA")), (400.0, 0.0));
    // 46 lb N are 15.4 gal of UAN at 2.99 lb.
    assert_eq!(rate(&placed, 2, "UAN"), 15.5);
    assert!(placed.left_over.is_empty() && placed.surplus.is_empty());
}

#[test]
fn nitrogen_under_the_machines_least_before_planting_comes_later() {
    // 45 lb N: 15 lb before planting are 32.6 lb urea, under 50: all comes at V6, 15.06 gal.
    let placed = demo().place(&zone(ground(1, 5.0), &[(Supply::N, 1, 45.0)]));
    assert_eq!((rate(&placed, 1, "UREA"), rate(&placed, 2, "UAN")), (0.0, 15.0));
    assert!(placed.left_over.is_empty(), "{:?}", placed.left_over);
    assert_eq!(placed.why(1, &|_, _| None), "nothing: 33 lb/ac is under the machine's least of 50");
}

#[test]
fn nitrogen_under_the_least_of_the_last_pass_takes_the_part_before_along() {
    let mut season = demo();
    season.nitrogen.on_little = NitrogenRule::Shares(vec![0.75, 0.25]);
    // 32 lb N: 24 before planting are 52 lb urea, but 8 at V6 are 2.7 gal, under 5: all comes at V6, 10.7 gal.
    let placed = season.place(&zone(ground(1, 5.0), &[(Supply::N, 1, 32.0)]));
    assert_eq!((rate(&placed, 1, "UREA"), rate(&placed, 2, "UAN")), (0.0, 10.5));
    assert!(placed.left_over.is_empty());
}

#[test]
fn nitrogen_and_sulfur_are_never_brought_a_year_early() {
    let mut season = demo();
    season.products.push(product("AMS", &[(Supply::N, 21.0), (Supply::S, 24.0)], Form::Dry { lb_ft3: None }));
    season.pass("Before corn").products.push("AMS".into());
    for (supply, name) in [(Supply::N, "N"), (Supply::S, "S")] {
        let placed = season.place(&zone(ground(1, 25.0), &[(supply, 2, 40.0)]));
        assert!(placed.spreads.is_empty());
        let why = &placed.left_over[0].why;
        assert!(why.contains(&format!("{name} moves with water")), "{why}");
    }
}

#[test]
fn sulfur_is_bought_before_the_nitrogen_it_carries() {
    // agronomy check 78 A(R/M): 15 lb S as ammonium sulfate are 62.5 lb with 13.1 lb N. Of 50 lb N 36.8 are left: 80 lb.
    let mut season = Season { nitrogen: NitrogenPlan::NO_RULE, ..demo() };
    season.products.push(product("AMS", &[(Supply::N, 21.0), (Supply::S, 24.0)], Form::Dry { lb_ft3: None }));
    season.pass("Before corn").products.push("AMS".into());
    let placed = season.place(&zone(ground(1, 15.0), &[(Supply::S, 1, 15.0), (Supply::N, 1, 50.0)]));
    assert_eq!((rate(&placed, 1, "AMS"), rate(&placed, 1, "UREA")), (63.0, 80.0));
}

#[test]
fn phosphate_is_not_over_fed_to_bring_nitrogen() {
    let mut season = Season { nitrogen: NitrogenPlan::NO_RULE, ..demo() };
    season.pass("Before corn").products = vec!["MAP".into()];
    season.pass("Corn V6").products.clear();
    let placed = season.place(&zone(ground(1, 15.0), &[(Supply::N, 1, 140.0)]));
    assert!(placed.spreads.is_empty());
    assert_eq!(placed.left_over[0].why, "no pass up to year 1 brings N");
}

#[test]
fn fall_nitrogen_is_refused_on_ground_that_holds_little_unless_overridden() {
    let mut season = Season { nitrogen: NitrogenPlan::NO_RULE, ..demo() };
    season.passes = vec![Pass { fall: true, ..pass("Fall", 1, &["UREA"]) }];
    let (light, heavy) =
        (zone(ground(1, 5.0), &[(Supply::N, 1, 92.0)]), zone(ground(2, 20.0), &[(Supply::N, 1, 92.0)]));
    let placed = season.place(&light);
    assert!(placed.spreads.is_empty());
    assert!(placed.left_over[0].why.contains("20 to 50 %"), "{}", placed.left_over[0].why);
    assert_eq!(rate(&season.place(&heavy), 0, "UREA"), 200.0);
    let faults = fall_nitrogen_faults(&season.rules(), &[light.clone(), heavy.clone()]);
    assert_eq!(faults.len(), 1);
    assert!(faults[0].message.contains("zone 1, which holds little: 20 to 50 %"), "{}", faults[0].message);
    assert!(fall_nitrogen_faults(&season.rules(), &[heavy]).is_empty());
    season.hold.fall_n_on_little = true;
    assert_eq!(rate(&season.place(&light), 0, "UREA"), 200.0);
    assert!(season.place(&light).notices.iter().any(|notice| notice.is_warning && notice.text.contains("in the fall")));
    assert!(fall_nitrogen_faults(&season.rules(), std::slice::from_ref(&light)).is_empty());
    season.hold.fall_n_on_little = false;
    season.passes[0].holds = Some(vec![HoldingClass::Some, HoldingClass::Much]);
    assert!(fall_nitrogen_faults(&season.rules(), &[light]).is_empty());
}

#[test]
fn nitrogen_of_other_ground_follows_the_users_shares() {
    let mut season = demo();
    season.nitrogen.elsewhere = NitrogenRule::Shares(vec![0.75, 0.25]);
    assert_eq!(n_share_passes(&season.rules(), 1), 2);
    let placed = season.place(&zone(ground(2, 20.0), &[(Supply::N, 1, 184.0)]));
    // 138 lb as urea: 300 lb; 46 lb as UAN: 15.4 gal.
    assert_eq!((rate(&placed, 1, "UREA"), rate(&placed, 2, "UAN")), (300.0, 15.5));
    // On the ridge the set holds: a third of 184 lb are 61.3, 133 lb urea.
    assert_eq!(rate(&season.place(&zone(ground(1, 5.0), &[(Supply::N, 1, 184.0)])), 1, "UREA"), 133.0);
}

#[test]
fn a_published_most_of_a_pass_is_kept_and_what_is_over_left() {
    let mut season = demo();
    season.nitrogen.on_little = NitrogenRule::Set(set("georgia-irrigated-sand").unwrap());
    let placed = season.place(&zone(ground(1, 5.0), &[(Supply::N, 1, 200.0)]));
    // 55 lb at planting; 145 are left, but one pass in the standing crop brings 60: 20 gal of 2.9876 lb.
    assert_eq!((rate(&placed, 1, "UREA"), rate(&placed, 2, "UAN")), (120.0, 20.0));
    close(placed.left_over_lb_ac(Supply::N), 145.0 - 20.0 * 10.67 * 0.28, 1e-6);
    assert!(placed.left_over[0].why.contains("one pass may bring 60 lb N by georgia-irrigated-sand"));
    assert!(placed.left_over[0].proposal.as_ref().unwrap().contains("in the standing crop with UREA"));
}

#[test]
fn sets_on_little_ground_say_what_cec_does_not_hold() {
    let placed = demo().place(&zone(ground(1, 5.0), &[(Supply::N, 1, 140.0)]));
    let texts: Vec<&str> = placed.notices.iter().map(|notice| notice.text.as_str()).collect();
    assert!(texts.iter().any(|text| text.contains("CEC does not hold nitrate or urea")), "{texts:?}");
    assert!(texts.contains(&"`Corn V6`: no nitrogen after pollination"), "{texts:?}");
    assert!(texts.contains(&"illinois-dryland-sand was made for corn in Illinois, not irrigated"), "{texts:?}");
}

#[test]
fn stages_of_the_demo_passes() {
    let stages: Vec<NitrogenStage> = demo().passes.iter().map(Pass::nitrogen_stage).collect();
    let (planting, standing) = (NitrogenStage::Planting, NitrogenStage::Standing);
    assert_eq!(stages, [planting, planting, standing, planting]);
}
