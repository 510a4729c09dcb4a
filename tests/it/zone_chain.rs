//! From zones to files through the program: what a person drew, covariates, the machine, keep-off ground, own need.

use std::path::Path;
use std::process::{Command, Output};

use geo::{Contains, Distance, Geodesic, GeodesicArea, MultiPolygon, Point};

use crate::check_close;
use crate::fixture::{folder, run_edited};
use holdground::rates::Supply;
use holdground::rates::need::GroundNeed;

/// Acre, international: 4046.8564224 m2.
const M2_PER_ACRE: f64 = 4_046.856_422_4;
/// The demo's area, ac (fixtures/demo/SOURCE.md).
const DEMO_AC: f64 = 160.5;

fn holdground(arguments: &[&str], folder: &Path) -> Output {
    Command::new(env!("CARGO_BIN_EXE_holdground"))
        .args(arguments)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .output()
        .unwrap()
}

/// The demo's samples and outline in a folder of their own, the field file of one pass edited.
fn demo_copy(edit: impl Fn(String) -> String) -> tempfile::TempDir {
    let place = tempfile::tempdir().unwrap();
    for file in ["lab.csv", "outline.geojson"] {
        std::fs::copy(folder("demo").join(file), place.path().join(file)).unwrap();
    }
    let text = std::fs::read_to_string(folder("one_pass").join("field.toml")).unwrap();
    std::fs::write(place.path().join("field.toml"), edit(text.replace("../demo/", ""))).unwrap();
    place
}

fn run_there(place: &Path) -> String {
    let output = holdground(&["run", "field.toml", "--out", "out"], place);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    format!("{}\n{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

/// Records of a GeoJSON file: attributes and ground.
fn records(path: &Path) -> Vec<(serde_json::Map<String, serde_json::Value>, MultiPolygon<f64>)> {
    let text = std::fs::read_to_string(path).unwrap().parse::<geojson::GeoJson>().unwrap();
    let features = geojson::FeatureCollection::try_from(text).unwrap().features;
    let record = |feature: geojson::Feature| {
        let ground = MultiPolygon::<f64>::try_from(feature.geometry.unwrap()).unwrap();
        (feature.properties.unwrap(), ground)
    };
    features.into_iter().map(record).collect()
}

fn area_ac(ground: &MultiPolygon<f64>) -> f64 {
    ground.geodesic_area_unsigned() / M2_PER_ACRE
}

#[test]
fn zones_a_person_drew_come_out_as_drawn() {
    let place = demo_copy(|text| {
        let polygons = "polygons = { file = \"drawn.geojson\", name = \"who\" }";
        text.replace("method = \"k-means\"", &format!("method = \"polygons\"\n{polygons}"))
            .replace("count = 3 ", "# ")
            .replace("[150, 205, 180]", "180")
    });
    // The field lies between 93.506 and 93.494 W; a border at 93.5 W parts it.
    let half = |name: &str, west: f64, east: f64| {
        format!(
            r#"{{"type":"Feature","properties":{{"who":"{name}"}},"geometry":{{"type":"Polygon","coordinates":[[[{west},40.99],[{east},40.99],[{east},41.01],[{west},41.01],[{west},40.99]]]}}}}"#
        )
    };
    let drawn = [half("creek", -93.5, -93.48), half("hill", -93.52, -93.5)].join(",");
    let text = format!(r#"{{"type":"FeatureCollection","features":[{drawn}]}}"#);
    std::fs::write(place.path().join("drawn.geojson"), text).unwrap();
    let told = run_there(place.path());
    let zones = records(&place.path().join("out/gis/zones.geojson"));
    assert_eq!(zones.len(), 2, "{told}");
    check_close(zones.iter().map(|(_, ground)| area_ac(ground)).sum(), DEMO_AC, 0.1);
    // The border stays within a cell (5 m, 0.00006 degree) of the line drawn.
    for (attributes, ground) in &zones {
        let is_west = attributes["CEC"].as_f64().unwrap() < 15.0;
        for polygon in ground {
            for at in polygon.exterior().0.iter() {
                assert!(if is_west { at.x < -93.499_9 } else { at.x > -93.500_1 }, "{at:?}");
            }
        }
    }
    assert!(std::fs::read_to_string(place.path().join("out/tables/zones.csv")).unwrap().contains("hill"));
    assert!(std::fs::read_to_string(place.path().join("out/run_record.json")).unwrap().contains("zone polygons"));
}

#[test]
fn zones_from_a_survey_follow_the_survey() {
    let place = demo_copy(|text| {
        let survey = "[covariates]\nslope = { file = \"survey.csv\", lon = \"x\", lat = \"y\", crs = \"EPSG:4326\", \
                      column = \"v\", unit = \"m\" }\n";
        text.replace("[zones]", &format!("{survey}[zones]"))
            .replace("from = [\"cec\", \"ca_saturation\", \"mg_saturation\"]", "from = [\"slope\"]")
            .replace("count = 3 ", "count = 2 ")
            .replace("[150, 205, 180]", "180")
    });
    // Low in the south, high in the north, with a step at 41 N: what it is measured with does not matter here.
    let mut survey = String::from("x,y,v\n");
    for row in 0..90 {
        for col in 0..70 {
            let (lon, lat) = (-93.507 + f64::from(col) * 0.000_2, 40.995 + f64::from(row) * 0.000_1);
            survey += &format!("{lon:.6},{lat:.6},{}\n", if lat > 41.0 { 300.0 } else { 290.0 });
        }
    }
    std::fs::write(place.path().join("survey.csv"), survey).unwrap();
    run_there(place.path());
    let zones = records(&place.path().join("out/gis/zones.geojson"));
    assert_eq!(zones.len(), 2);
    check_close(zones.iter().map(|(_, ground)| area_ac(ground)).sum(), DEMO_AC, 0.1);
    for (attributes, ground) in &zones {
        // Places well off the step lie in the zone of their value.
        let north = Point::new(-93.5, 41.002);
        let south = Point::new(-93.504, 40.998);
        assert_ne!(ground.contains(&north), ground.contains(&south), "{attributes:?}");
    }
}

#[test]
fn a_raster_tells_zones_too() {
    let place = demo_copy(|text| {
        text.replace("[zones]", "[covariates]\nelevation = { file = \"dem.asc\", crs = \"EPSG:4326\" }\n[zones]")
            .replace("from = [\"cec\", \"ca_saturation\", \"mg_saturation\"]", "from = [\"elevation\"]")
            .replace("count = 3 ", "count = 2 ")
            .replace("[150, 205, 180]", "180")
    });
    // An ASCII grid: rows from the north; 0.0005 degree a cell; its two northern thirds are high.
    let mut grid = String::from("ncols 40\nnrows 30\nxllcorner -93.51\nyllcorner 40.992\ncellsize 0.0005\n");
    for row in 0..30 {
        grid += &format!("{}\n", vec![if row < 14 { "310" } else { "295" }; 40].join(" "));
    }
    std::fs::write(place.path().join("dem.asc"), grid).unwrap();
    run_there(place.path());
    let zones = records(&place.path().join("out/gis/zones.geojson"));
    assert_eq!(zones.len(), 2);
    // The step lies 14 of 30 rows below 41.007 N, at 41.0 N.
    let (north, south) = (Point::new(-93.5, 41.002), Point::new(-93.504, 40.998));
    assert!(zones.iter().all(|(_, ground)| ground.contains(&north) != ground.contains(&south)));
}

#[test]
fn kept_off_ground_gets_nothing_and_keeps_its_distance() {
    let place = tempfile::tempdir().unwrap();
    let out = place.path().join("out");
    let output = holdground(&["run", "field.toml", "--out", out.to_str().unwrap()], &folder("keep_off"));
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let rates = records(&out.join("gis/THREE_1_POT.geojson"));
    check_close(rates.iter().map(|(_, ground)| area_ac(ground)).sum(), DEMO_AC, 0.1);
    let off = |attributes: &serde_json::Map<String, serde_json::Value>| {
        attributes["WHY"].as_str().unwrap().starts_with("kept off")
    };
    // fixtures/keep_off/well.geojson, 100 ft. Geodesic distances are those of Karney (2013), as `geo` carries them.
    let well = Point::new(-93.498_5, 41.003_0);
    let mut n_near = 0;
    for step in 0..2_000 {
        let turn = f64::from(step) * 0.61;
        let reach = f64::from(step % 100) / 100.0 * 60.0;
        let at = Point::new(well.x() + reach * turn.cos() / 84_000.0, well.y() + reach * turn.sin() / 111_000.0);
        let distance_m = Geodesic.distance(well, at);
        let over: Vec<_> = rates.iter().filter(|(_, ground)| ground.contains(&at)).collect();
        assert_eq!(over.len(), 1, "{at:?}");
        let (attributes, _) = over[0];
        if distance_m <= 30.48 {
            n_near += 1;
            assert!(off(attributes), "{distance_m} m from the well");
            assert_eq!(attributes["RATE"].as_f64(), Some(0.0));
            assert!(attributes["WHY"].as_str().unwrap().contains("old well, 100 ft"));
        } else if distance_m > 1.01 * 30.48 {
            assert!(!off(attributes), "{distance_m} m from the well");
        }
    }
    assert!(n_near > 800);
    // Totals are of the ground treated alone.
    let record: serde_json::Value =
        serde_json::from_slice(&std::fs::read(out.join("run_record.json")).unwrap()).unwrap();
    let total: f64 =
        rates.iter().map(|(attributes, ground)| attributes["RATE"].as_f64().unwrap() * area_ac(ground)).sum();
    check_close(record["passes"][0]["total_lb"].as_f64().unwrap(), total, 0.01);
    let kept_off_ac: f64 = rates.iter().filter(|(attributes, _)| off(attributes)).map(|(_, g)| area_ac(g)).sum();
    let summary = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(summary.contains(&format!("{kept_off_ac:.1} ac of it kept off")), "{summary}");
}

#[test]
fn patches_a_machine_cannot_follow_join_their_neighbors() {
    let edit = |limits: &'static str| {
        move |text: String| {
            text.replace("count = 3 ", &format!("{limits}\ncount = 6 ")).replace("[150, 205, 180]", "180")
        }
    };
    let smallest_m2 = |outcome: &holdground::pipeline::Outcome| {
        let lattice = *outcome.outlines.as_ref().unwrap().lattice();
        let patches = outcome.outlines.as_ref().unwrap().zones().iter().flat_map(|zone| &zone.polygons);
        patches
            .map(|patch| {
                let ring = |ring: &[holdground::coverage::Vertex]| {
                    geo::LineString(ring.iter().map(|v| lattice.lon_lat(*v).into()).collect())
                };
                let rings: Vec<_> = patch.rings().map(ring).collect();
                geo::Polygon::new(rings[0].clone(), rings[1..].to_vec()).geodesic_area_unsigned()
            })
            .fold(f64::INFINITY, f64::min)
    };
    let free = run_edited("one_pass", edit(""));
    assert!(free.fitted.as_ref().unwrap().n_changed == 0 && smallest_m2(&free) < 0.8 * M2_PER_ACRE);
    let fitted = run_edited("one_pass", edit("smallest_ac = 2"));
    assert!(fitted.fitted.as_ref().unwrap().n_changed > 0);
    // Borders are straightened by at most a cell, which moves a patch of 2 acres by less than a fifth.
    assert!(smallest_m2(&fitted) > 0.8 * 2.0 * M2_PER_ACRE, "{}", smallest_m2(&fitted) / M2_PER_ACRE);
    let words = holdground::export::summary(&fitted.report(), "out");
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("changed zone so that a machine can follow:"), "{words}");
    // A swath wider than the field leaves one zone, and this is told.
    let wide = run_edited("one_pass", |text| {
        text.replace("count = 3 ", "narrowest_swaths = 20\ncount = 3 ")
            .replace("[150, 205, 180]", "180")
            .replace("[machine]", "[machine]\nswath_ft = 200")
    });
    assert_eq!(wide.zones.as_ref().unwrap().zones().len(), 1);
    assert!(wide.warnings.iter().any(|warning| warning.code.name == "zone-too-small-for-machine"));
}

#[test]
fn rates_may_follow_classes_of_their_own_need() {
    let outcome =
        run_edited("one_pass", |text| text.replace("tri-state-1995\" }", "tri-state-1995\", own_classes = 4 }"));
    let ground = &outcome.plan.grounds[0];
    let needs: Vec<&GroundNeed> = ground.needs(Supply::K2o).collect();
    assert_eq!((needs.len(), ground.word()), (4, "class"));
    assert_eq!(needs[0].lb_ac(), 0.0, "ground that needs nothing is a class of its own");
    assert!(needs.windows(2).all(|pair| pair[0].lb_ac() < pair[1].lb_ac()));
    // The zones stay what they are; the outlines of the classes fill the same field.
    let classes = ground.own.as_ref().unwrap();
    let (zones, own) = (outcome.outlines.as_ref().unwrap(), &classes.outlines);
    assert_eq!(zones.zones().len(), 3);
    let area = |outlines: &holdground::coverage::ZoneOutlines| outlines.zones().iter().map(|z| z.area_m2).sum::<f64>();
    check_close(area(own) / area(zones), 1.0, 1e-6);
    // What the classes need is what the cells need: their mean over the field is that of the zones' cells.
    let labels = &classes.labels;
    let n = labels.iter().filter(|label| **label > 0).count() as f64;
    let by_class: f64 = needs
        .iter()
        .map(|need| need.lb_ac() * labels.iter().filter(|l| usize::from(**l) == need.zone).count() as f64)
        .sum();
    let by_zone = run_edited("one_pass", |text| text);
    let map = by_zone.zones.as_ref().unwrap();
    let of_cells: f64 = by_zone
        .plan
        .needs()
        .map(|need| need.mean_of_cells_lb_ac.unwrap() * map.zones()[need.zone - 1].n_cells as f64)
        .sum();
    check_close(by_class / n, of_cells / n, 1e-6);
}

#[test]
fn a_refused_guide_gives_no_money_either() {
    let outcome = run_edited("one_pass", |text| {
        text.replace("depth_in = [0, 7] ", "depth_in = \"unknown\" ").replace("count = 3 ", "count = \"suggest\" ")
    });
    assert!(!outcome.plan.has_rates());
    assert!(outcome.consequences.iter().all(|found| found.product_usd.is_none() && found.change.is_none()));
    let words = holdground::export::summary(&outcome.report(), "out");
    assert!(!words.contains("lb/ac") && !words.contains("would move"), "{words}");
}

#[test]
fn the_table_of_counts_agrees_with_the_pass() {
    // By cells, so within what straightening borders moves; on treated ground, so with keep-off, too.
    let place = tempfile::tempdir().unwrap();
    let out = place.path().join("out");
    let output = holdground(&["run", "field.toml", "--out", out.to_str().unwrap()], &folder("keep_off"));
    assert_eq!(output.status.code(), Some(0));
    let record: serde_json::Value =
        serde_json::from_slice(&std::fs::read(out.join("run_record.json")).unwrap()).unwrap();
    let counts = record["zones"]["by_consequence"].as_array().unwrap();
    let drawn = counts.iter().find(|count| count["zones"] == 3).unwrap();
    let share = drawn["product_usd"].as_f64().unwrap() / record["passes"][0]["product_usd"].as_f64().unwrap();
    assert!((share - 1.0).abs() < 0.01, "{share}");
    assert!(counts.iter().filter_map(|count| count["on_ac"].as_f64()).all(|ac| ac <= DEMO_AC));
    // Nothing is below zero by a sign alone.
    for file in ["run_record.json", "tables/rates.csv", "tables/zone_count.csv"] {
        let text = std::fs::read_to_string(out.join(file)).unwrap();
        assert!(!text.contains("-0.0,") && !text.contains("-0.00,"), "{file}");
    }
}

#[test]
fn zones_the_machine_merged_are_judged_merged() {
    let outcome = run_edited("one_pass", |text| {
        text.replace("count = 3 ", "smallest_ac = 25\ncount = 4 ").replace("[150, 205, 180]", "180")
    });
    let verdict = outcome.zones.as_ref().unwrap().verdict();
    let row = verdict.row(4).unwrap();
    assert_eq!((row.n_left, outcome.zones.as_ref().unwrap().zones().len()), (2, 2));
    // As two zones of the demo tell, not as four.
    let two = run_edited("one_pass", |text| text.replace("count = 3 ", "count = 2 ").replace("[150, 205, 180]", "180"));
    let of_two = two.zones.as_ref().unwrap().verdict().row(2).unwrap().efficiency.unwrap();
    check_close(row.efficiency.unwrap(), of_two, 0.1);
    assert!(verdict.suggested != 4 && verdict.suggested != 6);
}
