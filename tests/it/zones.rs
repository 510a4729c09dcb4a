//! Zones: numbering, areas, and whether the samples support them.

use holdground::soil_surface::Variable;

use crate::fixture::{folder, run_edited, run_folder};

#[test]
fn zones_are_numbered_by_what_they_hold_and_share_the_field_without_rest() {
    for count in 1..=6 {
        let outcome = run_edited("demo", |text| {
            text.replace("count = 3", &format!("count = {count}"))
                .replace("goal_bu_ac = [150, 205, 180]", "goal_bu_ac = 180")
        });
        let zones = outcome.zones.unwrap();
        assert_eq!(zones.zones().len(), count);
        let cec: Vec<f64> = zones.zones().iter().map(|zone| zone.mean(Variable::Cec).unwrap()).collect();
        assert!(cec.is_sorted(), "{cec:?}");
        let share: f64 = zones.zones().iter().map(|zone| zone.share).sum();
        assert!((share - 1.0).abs() < 1e-12);
        assert!(zones.zones().iter().all(|zone| zone.n_cells > 0));
        let labeled = zones.labels().iter().filter(|&&label| label > 0).count();
        assert_eq!(labeled, outcome.surfaces.mask().n_inside());
    }
}

#[test]
fn the_demo_is_worth_three_or_four_zones() {
    let outcome =
        run_edited("demo", |text| text.replace("count = 3", "count = \"suggest\"").replace("[150, 205, 180]", "180"));
    let verdict = outcome.zones.unwrap().verdict().clone();
    assert!(verdict.worth_zoning() && (3..=4).contains(&verdict.suggested), "{verdict:#?}");
}

#[test]
fn the_even_field_is_one_rate() {
    let outcome = run_edited("even", |text| text.replace("count = 2", "count = \"suggest\""));
    let zones = outcome.zones.unwrap();
    assert_eq!(zones.zones().len(), 1, "{:#?}", zones.verdict());
    // Asked for two all the same, the count is kept and the user is told.
    let outcome = run_edited("even", |text| text);
    assert_eq!(outcome.zones.unwrap().zones().len(), 2);
    assert!(outcome.warnings.iter().any(|warning| warning.code.name == "not-worth-zoning"));
}

#[test]
fn samples_dealt_out_anew_over_the_places_are_never_worth_zoning() {
    // Noise with the demo's own spread: rows keep their places, readings are dealt out by a seeded shuffle.
    let read = |file: &str| std::fs::read_to_string(folder("demo").join(file)).unwrap();
    let sheet = read("lab.csv");
    let header = sheet.lines().next().unwrap();
    let rows: Vec<Vec<&str>> = sheet.lines().skip(1).map(|line| line.split(',').collect()).collect();
    let mut n_fooled = 0;
    for seed in 1..=20_u64 {
        let mut deal: Vec<usize> = (0..rows.len()).collect();
        let mut state = seed;
        for last in (1..deal.len()).rev() {
            // SplitMix64 (Steele, Lea and Flood 2014).
            state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
            let mut mixed = (state ^ (state >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
            mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
            deal.swap(last, ((mixed ^ (mixed >> 31)) % (last as u64 + 1)) as usize);
        }
        let place = tempfile::tempdir().unwrap();
        let mut text = format!("{header}\n");
        for (row, &from) in rows.iter().zip(&deal) {
            text += &[&row[..4], &rows[from][4..]].concat().join(",");
            text.push('\n');
        }
        std::fs::write(place.path().join("lab.csv"), text).unwrap();
        std::fs::write(place.path().join("outline.geojson"), read("outline.geojson")).unwrap();
        let field = read("field.toml").replace("count = 3", "count = \"suggest\"").replace("[150, 205, 180]", "180");
        std::fs::write(place.path().join("field.toml"), field).unwrap();
        let outcome = run_folder(place.path(), |text| text, |place| place);
        n_fooled += usize::from(outcome.zones.unwrap().verdict().worth_zoning());
    }
    assert_eq!(n_fooled, 0, "of 20 seeds of noise");
}
