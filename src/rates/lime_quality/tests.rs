//! Lime labels against the published rows.

use super::*;
use proptest::prelude::*;

fn new_york(passing: [f64; 3], cce: f64) -> Result<LimeLabel, Vec<String>> {
    let [coarse, middle, fine] = passing;
    LimeLabel::from_keys("new-york", &[(20, coarse), (60, middle), (100, fine)], &[("cce_percent", cce)])
}

#[test]
fn row_49_ohio_enp_divides_a_rate_of_2000_lb() {
    // Ohio State [R2]: 2 t with ENP 1000 are 4 t, with 1500 2.7 t; 3 t with 2000 are 3 t, with 1000 6 t.
    for (short_ton, enp, product) in [(2.0, 1000.0, 4.0), (2.0, 1500.0, 2.7), (3.0, 2000.0, 3.0), (3.0, 1000.0, 6.0)] {
        let quality = LimeLabel::OhioEnp(enp).quality();
        let share = quality.share_for(LimeBasis::OhioEnp2000, None).unwrap().share;
        assert!((short_ton / share - product).abs() < 0.04, "{enp}");
    }
}

#[test]
fn row_50_new_york_env() {
    // Cornell PO 41, A(R): 95, 70 and 50 % through 20, 60 and 100 mesh, CCE 92: fineness 76.0, ENV 69.9.
    assert!((fineness_percent([95.0, 70.0, 50.0], &NEW_YORK_SIEVES) - 76.0).abs() < 0.1);
    let quality = new_york([95.0, 70.0, 50.0], 92.0).unwrap().quality();
    assert!((100.0 * quality.share_of_full - 69.9).abs() < 0.1);
    assert_eq!(quality.text, "New York ENV 69.9 %");
}

#[test]
fn row_51_missouri_enm_and_its_least_quality() {
    // Univ. of Missouri, A(R): 95, 65 and 50 % through 8, 40 and 60 mesh, CCE 90: fineness 66.5, ENM 478.8 lb.
    assert!((fineness_percent([95.0, 65.0, 50.0], &MISSOURI_SIEVES) - 66.5).abs() < 0.05);
    let label = |through_8: f64, cce: f64| {
        let passing = [(8, through_8), (40, 65.0), (60, 50.0)];
        LimeLabel::from_keys("missouri", &passing, &[("cce_percent", cce)]).unwrap().quality()
    };
    let quality = label(95.0, 90.0);
    assert!((800.0 * quality.share_of_full - 478.8).abs() < 0.5);
    assert!(quality.warnings.is_empty());
    assert_eq!(label(89.0, 64.0).warnings.len(), 2, "[R]: at least 90 % through 8 mesh and CCE 65");
    assert_eq!(label(90.0, 65.0).warnings.len(), 0);
}

#[test]
fn row_52_minnesota_enp() {
    // Minnesota Dept. of Agriculture, A(R): fineness 0.80, TNP 0.90, dry 0.97: 1396.8 lb a short ton.
    let figures = [("fineness_index", 0.80), ("tnp_percent", 90.0), ("dry_percent", 97.0)];
    let quality = LimeLabel::from_keys("minnesota", &[], &figures).unwrap().quality();
    assert!((2000.0 * quality.share_of_full - 1396.8).abs() < 0.5);
}

#[test]
fn row_53_magnesium_carbonate() {
    // Virginia Tech SPES-201 [R]: 1 lb MgCO3 is 1.187 lb CaCO3.
    assert!((CACO3_PER_MGCO3 - 1.187).abs() < 0.001);
    // Pure dolomite is 54.3 % CaCO3 and 45.7 % MgCO3 by formula [A]: CCE 108.5.
    assert!((cce_of_carbonates_percent(54.3, 45.7) - 108.5).abs() < 0.1);
    let figures = [("caco3_percent", 54.3), ("mgco3_percent", 45.7)];
    let LimeLabel::Cce(cce) = LimeLabel::from_keys("cce", &[], &figures).unwrap() else { panic!("cce") };
    assert!((cce - 108.5).abs() < 0.1);
}

#[test]
fn a_label_divides_only_its_own_recommendation() {
    // Field notes 25: Oregon score, 90 % neutralizing value, 100 % CCE and Ohio ENP are four bases.
    let labels = [
        (LimeLabel::NewYorkEnv(70.0), vec![LimeBasis::NewYorkEnv100]),
        (LimeLabel::MissouriEnm(480.0), vec![LimeBasis::MissouriEnm800]),
        (LimeLabel::MinnesotaEnp(1400.0), vec![LimeBasis::MinnesotaEnp2000]),
        (LimeLabel::OhioEnp(1400.0), vec![LimeBasis::OhioEnp2000]),
        (LimeLabel::OregonScore(70.0), vec![LimeBasis::OregonScore100]),
        (LimeLabel::Cce(95.0), vec![LimeBasis::Cce100, LimeBasis::AgLime90]),
    ];
    for (label, fits) in labels {
        for basis in LimeBasis::ALL {
            let quality = label.quality();
            assert_eq!(quality.share_for(basis, None).is_ok(), fits.contains(&basis), "{label:?} for {basis:?}");
            assert!(quality.share_for(basis, Some("  ")).is_ok() == fits.contains(&basis), "blank words are no word");
            let named = quality.share_for(basis, Some("both are near enough here")).unwrap();
            assert!(fits.contains(&basis) || named.sentence.contains("both are near enough here"));
        }
    }
}

#[test]
fn ag_lime_of_the_recommendation_s_own_quality_counts_whole() {
    // E-2567 [R]: rates are stated for 90 % neutralizing value.
    let share = |cce: f64| LimeLabel::Cce(cce).quality().share_for(LimeBasis::AgLime90, None).unwrap().share;
    assert_eq!(share(90.0), 1.0);
    assert_eq!(share(45.0), 0.5);
    // The invented demo: 0.65 short tons of 100-score lime are 0.93 of lime with ENV 69.92, counted as score.
    let quality = new_york([95.0, 70.0, 50.0], 92.0).unwrap().quality();
    let counted = quality.share_for(LimeBasis::OregonScore100, Some("ENV as score")).unwrap();
    assert!((0.65 / counted.share - 0.93).abs() < 0.005);
}

#[test]
fn figures_no_lime_has_are_refused_all_at_once() {
    let faults = new_york([60.0, 70.0, 120.0], 0.0).unwrap_err();
    assert_eq!(faults.len(), 4, "{faults:?}");
    assert!(faults.iter().any(|fault| fault.contains("70 % the finer 60 mesh")), "{faults:?}");
    assert!(new_york([0.0, 0.0, 0.0], 90.0).is_err(), "none of it would work");
    assert!(LimeLabel::from_keys("ohio", &[], &[("enp_lb_short_ton", f64::NAN)]).is_err());
}

#[test]
fn a_label_of_other_keys_is_told_what_the_scheme_takes() {
    let fault = |scheme: &str, passing: &[(u32, f64)], figures: &[(&str, f64)]| {
        LimeLabel::from_keys(scheme, passing, figures).unwrap_err().join("; ")
    };
    assert!(fault("indiana", &[], &[]).contains("`new-york`, `missouri`"));
    assert!(fault("ohio", &[], &[("cce_percent", 90.0)]).contains("takes `enp_lb_short_ton`; found `cce_percent`"));
    assert!(fault("cce", &[], &[]).contains("found nothing"));
    assert!(fault("new-york", &[(8, 95.0), (60, 70.0)], &[("cce_percent", 90.0)]).contains("sieves 8, 60"));
    assert!(fault("missouri", &[(8, 95.0)], &[("enm_lb_short_ton", 480.0)]).contains("`passing_percent`"));
}

proptest! {
    #[test]
    fn finer_lime_never_works_less(
        coarse in 1.0..100.0_f64, middle in 0.0..1.0_f64, fine in 0.0..1.0_f64, more in 0.0..1.0_f64, cce in 1.0..110.0_f64,
    ) {
        let passing = [coarse, coarse * middle, coarse * middle * fine];
        let finer = [coarse, passing[1], passing[2] + more * (passing[1] - passing[2])];
        let share = |passing: [f64; 3]| new_york(passing, cce).unwrap().quality().share_of_full;
        prop_assert!(share(passing) > 0.0 && share(passing) <= share(finer) + 1e-12);
        prop_assert!(share(finer) <= cce / 100.0 + 1e-12);
    }
}
