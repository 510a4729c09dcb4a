use super::*;
use proptest::prelude::*;

const PLANTING: NitrogenPass = NitrogenPass { stage: NitrogenStage::Planting, is_open: true };
const STANDING: NitrogenPass = NitrogenPass { stage: NitrogenStage::Standing, is_open: true };
const FALL: NitrogenPass = NitrogenPass { stage: NitrogenStage::Fall, is_open: true };

fn split(name: &str, n_lb_ac: f64, passes: &[NitrogenPass]) -> Vec<f64> {
    set(name).unwrap().split(n_lb_ac, passes).0.iter().map(|share| share.n_lb_ac).collect()
}

#[track_caller]
fn close(found: &[f64], expected: &[f64]) {
    assert_eq!(found.len(), expected.len());
    for (found, expected) in found.iter().zip(expected) {
        assert!((found - expected).abs() < 0.01, "{found} is not {expected}");
    }
}

#[test]
fn one_third_before_and_two_thirds_after_on_illinois_sand_without_irrigation() {
    // agronomy section 6 [R], Illinois: not irrigated 1/3 preplant, 2/3 sidedress. Field notes 3: 140 lb are 47 + 93,
    // 170 lb are 57 + 113.
    close(&split("illinois-dryland-sand", 140.0, &[FALL, PLANTING, STANDING]), &[0.0, 46.67, 93.33]);
    close(&split("illinois-dryland-sand", 170.0, &[PLANTING, STANDING]), &[56.67, 113.33]);
}

#[test]
fn thirty_to_forty_at_planting_and_a_third_in_the_water_on_irrigated_illinois_sand() {
    // agronomy section 6 [R], Illinois, irrigated: 30 to 40 lb at planting, 1/3 by irrigation, the rest sidedress.
    let set = "illinois-irrigated-sand";
    close(&split(set, 180.0, &[PLANTING, STANDING, STANDING]), &[35.0, 85.0, 60.0]);
    // With one pass in the standing crop both parts come in it.
    close(&split(set, 180.0, &[PLANTING, STANDING]), &[35.0, 145.0]);
}

#[test]
fn georgia_asks_for_three_to_five_dressings_within_its_ranges() {
    // agronomy section 6 [R], Georgia: 25 to 30 % at planting; then 40 to 60 lb first, 30 to 60 lb each; 3 to 5 in all.
    let set = set("georgia-irrigated-sand").unwrap();
    let (shares, told) = set.split(200.0, &[PLANTING, STANDING, STANDING, STANDING]);
    close(&shares.iter().map(|share| share.n_lb_ac).collect::<Vec<_>>(), &[55.0, 48.33, 48.33, 48.33]);
    assert!(shares[1..].iter().all(|share| share.most_lb_ac == Some(60.0)));
    assert_eq!(told.len(), 1, "{told:?}");
    let (_, told) = set.split(200.0, &[PLANTING, STANDING]);
    assert!(told.iter().any(|told| told.contains("3 to 5 dressings, this year has 2")), "{told:?}");
    let (_, told) = set.split(100.0, &[PLANTING, STANDING, STANDING, STANDING, STANDING]);
    assert!(told.iter().any(|told| told.contains("leave one out")), "{told:?}");
    // Without irrigation: 20 to 50 lb first, then the rest.
    close(&split("georgia-dryland", 130.0, &[PLANTING, STANDING]), &[35.0, 95.0]);
    close(&split("georgia-dryland", 20.0, &[PLANTING, STANDING]), &[20.0, 0.0]);
}

#[test]
fn less_than_half_at_planting_on_coarse_minnesota_ground() {
    // agronomy section 6 [R], Minnesota: less than half before or at planting.
    let found = split("minnesota-coarse", 150.0, &[PLANTING, STANDING]);
    assert!(found[0] < 75.0 && found[0] > 0.0);
    close(&[found[0] + found[1]], &[150.0]);
}

#[test]
fn a_part_without_a_pass_comes_later_and_never_earlier() {
    let closed = NitrogenPass { is_open: false, ..PLANTING };
    close(&split("illinois-dryland-sand", 90.0, &[closed, STANDING, STANDING]), &[0.0, 45.0, 45.0]);
    close(&split("illinois-dryland-sand", 90.0, &[PLANTING]), &[30.0]);
    close(&split("illinois-dryland-sand", 90.0, &[]), &[]);
}

#[test]
fn own_shares_are_one_a_pass_and_make_one() {
    assert_eq!(shares_fault(&[0.4, 0.6], 2), None);
    assert!(shares_fault(&[0.4, 0.6], 3).unwrap().contains("2 shares of nitrogen, but 3 passes"));
    assert!(shares_fault(&[0.4, 0.5], 2).unwrap().contains("found 0.90"));
    assert!(shares_fault(&[1.4, -0.4], 2).is_some());
}

#[test]
fn every_set_says_where_it_comes_from() {
    assert_eq!(sets().len(), 5);
    let names: Vec<&str> = sets().iter().map(|set| set.name.as_str()).collect();
    assert!(names.is_sorted());
    for set in sets() {
        assert!(set.citation.contains(&set.region) && ["R", "R2", "M"].contains(&set.tag.as_str()));
        assert_eq!(set.class, HoldingClass::Little);
        assert!(
            set.portions.iter().all(|portion| portion.stage != NitrogenStage::Fall),
            "none brings nitrogen in the fall"
        );
        assert!(set.portions.iter().any(|portion| matches!(portion.amount, PortionAmount::Rest { .. })));
    }
}

#[test]
fn a_set_that_is_not_understood_is_told() {
    let good = include_str!("../nitrogen_sets/illinois-dryland-sand.toml");
    assert!(reader::read("x", good).is_ok());
    for (from, to, what) in [
        ("stage = \"planting\"", "stage = \"fall\"", "stage `fall` is not known"),
        ("rest = true", "rest = false", "neither"),
        ("share = [1, 3]", "share = [1]", "two numbers"),
        ("share = [1, 3]", "share = { least = 0.1, most = 0.2, taken = 0.3 }", "does not lie between"),
        ("class = \"little\"", "class = \"heavy\"", "`heavy`"),
        ("citation", "source", "`citation` is not a text"),
    ] {
        let error = reader::read("x", &good.replace(from, to)).unwrap_err();
        assert!(error.contains(what), "{error}");
    }
}

proptest! {
    #[test]
    fn no_set_brings_more_than_the_total_or_less_to_any_pass_as_it_grows(
        n in 0.0..300.0_f64, more in 0.0..50.0_f64, stages in prop::collection::vec((0..3_u8, any::<bool>()), 0..7),
    ) {
        let stage = |kind| match kind { 0 => FALL, 1 => PLANTING, _ => STANDING };
        let mut passes: Vec<NitrogenPass> =
            stages.iter().map(|&(kind, is_open)| NitrogenPass { is_open, ..stage(kind) }).collect();
        passes.sort_by_key(|pass| pass.stage as usize);
        let has_standing = passes.iter().any(|pass| pass.is_open && pass.stage == NitrogenStage::Standing);
        for set in sets() {
            let (low, high) = (set.split(n, &passes).0, set.split(n + more, &passes).0);
            let sum: f64 = low.iter().map(|share| share.n_lb_ac).sum();
            prop_assert!(sum <= n + 1e-9);
            prop_assert!(!has_standing || (sum - n).abs() < 1e-9, "{} places {sum} of {n}", set.name);
            for ((low, high), pass) in low.iter().zip(&high).zip(&passes) {
                prop_assert!(low.n_lb_ac >= 0.0 && low.n_lb_ac <= high.n_lb_ac + 1e-9);
                prop_assert!(low.n_lb_ac == 0.0 || (pass.is_open && pass.stage != NitrogenStage::Fall));
            }
        }
    }
}
