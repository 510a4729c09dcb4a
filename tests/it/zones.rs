//! Zones: numbering, areas, and whether the samples support them.

use holdground::pipeline::GroundReadings;
use holdground::soil_surface::Variable;
use holdground::zones::{CovariateReading, ZoneInputs, ZoneMap, ZoneMethod, ZoneQuantity, ZoneSettings};

use crate::fixture::{folder, run_edited, run_folder, run_with_ground};

#[test]
fn zones_are_numbered_by_what_they_hold_and_share_the_field_without_rest() {
    for count in 1..=6 {
        let outcome = run_edited("one_pass", |text| {
            text.replace("count = 3", &format!("count = {count}"))
                .replace("goal_bu_ac = [150, 205, 180]", "goal_bu_ac = 180")
        });
        let zones = outcome.zones.unwrap();
        assert_eq!(zones.zones().len(), count);
        let cec: Vec<f64> = zones.zones().iter().map(|zone| zone.mean(Variable::Cec).unwrap()).collect();
        assert!(cec.is_sorted(), "{cec:?}");
        let n_cells: usize = zones.zones().iter().map(|zone| zone.n_cells).sum();
        assert_eq!(n_cells, outcome.surfaces.mask().n_inside());
        assert!(zones.zones().iter().all(|zone| zone.n_cells > 0));
        let labeled = zones.labels().iter().filter(|&&label| label > 0).count();
        assert_eq!(labeled, outcome.surfaces.mask().n_inside());
    }
}

#[test]
fn the_demo_is_worth_three_or_four_zones() {
    let outcome = run_edited("one_pass", |text| {
        text.replace("count = 3", "count = \"suggest\"").replace("[150, 205, 180]", "180")
    });
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
    let fuzzy = ZoneMethod::FuzzyCMeans { fuzziness: 2.0 };
    let mut n_fooled = [0; 2];
    // Efficiencies of 2, 3 and 4 zones, summed over the seeds.
    let mut sums = [[0.0; 3]; 2];
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
        let field = with_zones(&read("../one_pass/field.toml").replace("../demo/", ""), "");
        std::fs::write(place.path().join("field.toml"), field).unwrap();
        let outcome = run_folder(place.path(), |text| text, |place| place);
        for (index, method) in [ZoneMethod::KMeans, fuzzy.clone()].into_iter().enumerate() {
            let from = ZoneSettings::DEFAULT_FROM.map(ZoneQuantity::Soil).to_vec();
            let settings = ZoneSettings { from, method, count: None, line: 1 };
            let mut as_drawn = |_: usize, labels: &[u16]| labels.to_vec();
            let drawn = ZoneMap::draw(&outcome.surfaces, &ZoneInputs::default(), &settings, &mut as_drawn).unwrap();
            let verdict = drawn.value.verdict();
            n_fooled[index] += usize::from(verdict.worth_zoning());
            for (sum, count) in sums[index].iter_mut().zip(2..) {
                *sum += verdict.row(count).unwrap().efficiency.unwrap();
            }
        }
    }
    assert_eq!(n_fooled, [0; 2], "of 20 seeds of noise, by k-means and by fuzzy c-means");
    // Zones of noise tell hidden samples worse than one rate, and more of them worse still: means over the seeds were
    // -0.015, -0.023 and -0.035 for 2, 3 and 4 zones by k-means, -0.012, -0.036 and -0.038 by fuzzy c-means.
    for sums in sums {
        let means = sums.map(|sum| sum / 20.0);
        assert!(means.iter().all(|mean| (-0.2..0.0).contains(mean)), "{means:?}");
        assert!(means.is_sorted_by(|fewer, more| fewer > more), "{means:?}");
    }
}

/// Named polygons in degrees over the demo: west and east of a meridian.
fn halves(border: f64) -> GroundReadings {
    let half = |name: &str, west: f64, east: f64| {
        let ring = geo::LineString::from(vec![(west, 40.99), (east, 40.99), (east, 41.02), (west, 41.02)]);
        (name.to_owned(), geo::MultiPolygon::new(vec![geo::Polygon::new(ring, Vec::new())]))
    };
    let polygons = vec![half("west", -93.6, border), half("east", border, -93.4)];
    GroundReadings { covariates: Vec::new(), polygons: Some(polygons) }
}

fn with_zones(text: &str, zones: &str) -> String {
    let (before, rest) = text.split_once("[zones]").unwrap();
    let (_, after) = rest.split_once("[need]").unwrap();
    format!("{before}{zones}\n[need]{after}").replace("[150, 205, 180]", "180")
}

#[test]
fn drawn_zones_come_through_the_whole_line() {
    let zones = "[zones]\nmethod = \"polygons\"\npolygons = { file = \"zones.geojson\", name = \"ZONE\" }";
    let outcome = run_with_ground("one_pass", |text| with_zones(&text, zones), halves(-93.5006)).unwrap();
    let map = outcome.zones.as_ref().unwrap();
    assert_eq!(map.zones().len(), 2);
    assert!(outcome.plan.has_rates());
    let named: Vec<&str> = map.zones().iter().filter_map(|zone| zone.name.as_deref()).collect();
    assert!(named.contains(&"west") && named.contains(&"east"), "{named:?}");
    // Beside the field: refused, with how to mend it; not read at all: refused.
    let mut elsewhere = halves(-93.5006);
    elsewhere.polygons.as_mut().unwrap().truncate(1);
    elsewhere.polygons.as_mut().unwrap()[0] = halves(-93.59).polygons.unwrap().swap_remove(0);
    for ground in [elsewhere, GroundReadings::default()] {
        let Err(faults) = run_with_ground("one_pass", |text| with_zones(&text, zones), ground) else { panic!("drawn") };
        assert_eq!((faults.len(), faults[0].code.name), (1, "no-zones"), "{faults:#?}");
    }
}

#[test]
fn a_covariate_comes_through_the_whole_line() {
    let zones = "[zones]\nfrom = [\"cec\", \"elevation\"]\ncount = 3\n[covariates]\nelevation = { file = \"dem.tif\", unit = \"m\" }";
    // Pixels of about 10 m that rise to the north.
    let pixel = |i: i32| (-93.51 + 1.2e-4 * f64::from(i % 125), 40.996 + 9e-5 * f64::from(i / 125));
    let places = (0..22_000).map(pixel).map(|(lon, lat)| (lon, lat, 300.0 + 5_000.0 * (lat - 40.996)));
    let reading =
        CovariateReading { name: "elevation".to_owned(), unit: Some("m".to_owned()), places: places.collect() };
    let ground = GroundReadings { covariates: vec![reading], polygons: None };
    let outcome = run_with_ground("one_pass", |text| with_zones(&text, zones), ground).unwrap();
    let map = outcome.zones.as_ref().unwrap();
    assert_eq!(map.zones().len(), 3);
    let means: Vec<f64> = map.zones().iter().filter_map(|zone| zone.covariate_mean("elevation")).collect();
    assert!(means.len() == 3 && means.iter().all(|mean| (300.0..400.0).contains(mean)), "{means:?}");
    let Err(faults) = run_with_ground("one_pass", |text| with_zones(&text, zones), GroundReadings::default()) else {
        panic!("drawn without the covariate")
    };
    assert!(faults[0].message.contains("elevation"), "{faults:#?}");
}
