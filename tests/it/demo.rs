//! The invented fields against their own truth: how far the maps and zones are off, as figures.

use holdground::cell_grid::Site;
use holdground::pipeline::Outcome;
use holdground::rates::Supply;
use holdground::rates::need::GroundNeed;
use holdground::soil_surface::Variable;

use crate::fixture::{folder, run_edited};

struct Truth {
    site: Site,
    body: String,
    cec_meq_100g: f64,
}

fn truth(outcome: &Outcome) -> Vec<Truth> {
    let text = std::fs::read_to_string(folder("demo").join("truth.csv")).unwrap();
    let rows = text.lines().skip(1).map(|line| {
        let cells: Vec<&str> = line.split(',').collect();
        let place = (cells[0].parse().unwrap(), cells[1].parse().unwrap());
        let site = outcome.inputs.boundary.work_crs().to_local(place).unwrap();
        Truth { site, body: cells[2].to_owned(), cec_meq_100g: cells[3].parse().unwrap() }
    });
    rows.collect()
}

#[test]
fn mapped_cec_and_zones_against_the_truth() {
    let outcome = run_edited("demo", |text| text);
    let grid = *outcome.surfaces.mask().grid();
    let cec = outcome.surfaces.values(Variable::Cec).unwrap();
    let zones = outcome.zones.as_ref().unwrap();
    let (mut n, mut square, mut square_mean, mut agree) = (0.0, 0.0, 0.0, 0.0);
    let truth = truth(&outcome);
    let sample_cec: Vec<f64> = outcome.samples.samples.iter().map(|s| s.exchange.unwrap().cec_meq_100g()).collect();
    let sample_mean = sample_cec.iter().sum::<f64>() / sample_cec.len() as f64;
    for place in &truth {
        let (col, row) = grid.cell_at(place.site).unwrap();
        let cell = grid.index(col, row);
        if !outcome.surfaces.mask().inside()[cell] {
            continue;
        }
        n += 1.0;
        square += (cec[cell] - place.cec_meq_100g).powi(2);
        square_mean += (sample_mean - place.cec_meq_100g).powi(2);
        let body = ["", "ridge", "flat", "corner"][usize::from(zones.labels()[cell])];
        agree += f64::from(u8::from(body == place.body));
    }
    let (rmse, mean_rmse, agreement) = ((square / n).sqrt(), f64::sqrt(square_mean / n), agree / n);
    // Reached: CEC missed by 1.82 where the sample mean misses by 5.93, 92.3 % of the places in the right zone. The gates
    // leave room for another net of the same field, not for a worse method.
    assert!(n > 1500.0);
    assert!(rmse < 2.0, "CEC missed by {rmse:.2} meq/100 g");
    assert!((5.5..6.5).contains(&mean_rmse), "{mean_rmse:.2}");
    assert!(agreement > 0.90, "{:.1} % of the places in the right zone", 100.0 * agreement);
}

#[test]
fn zones_of_the_demo_hold_what_their_soils_hold() {
    // Means of the three soils of the invented truth, borders mixed in: ridge 5.5, flat 14.7, corner 23.5 meq/100 g.
    let outcome = run_edited("demo", |text| text);
    let truth = truth(&outcome);
    for (zone, body) in outcome.zones.as_ref().unwrap().zones().iter().zip(["ridge", "flat", "corner"]) {
        let of_body: Vec<f64> = truth.iter().filter(|t| t.body == body).map(|t| t.cec_meq_100g).collect();
        let mean = of_body.iter().sum::<f64>() / of_body.len() as f64;
        let mapped = zone.mean(Variable::Cec).unwrap();
        // The map smooths the ridge's borders: 16 % over. The two larger soils are within 5 %.
        let gate = if body == "ridge" { 0.20 } else { 0.06 };
        assert!((mapped / mean - 1.0).abs() < gate, "{body}: mapped {mapped:.2}, true {mean:.2}");
    }
}

#[test]
fn potash_need_of_the_demo_is_the_guide_s_for_the_zone_means() {
    // By hand, Tri-State 1995 [R2]: zone 1, K 75 ppm and CEC 6.4: level 75 + 2.5*6.4 = 91; (91-75)*(1+0.05*6.4) = 21;
    // removal 150*0.27 = 40.5; +20: 82 lb K2O. The program carries more figures than the two printed ones used here.
    let outcome = run_edited("one_pass", |text| text);
    let needs: Vec<&GroundNeed> = outcome.plan.needs().collect();
    assert!((needs[0].lb_ac() - 82.0).abs() < 2.0, "{}", needs[0].why());
    let rate = &outcome.plan.passes[0].rates[0];
    // 81.3 / 0.60 = 135.5 lb, to the nearest step of 5.
    assert_eq!(rate.product_lb_ac, 135.0);
    assert!((rate.total_lb - rate.area_ac * 135.0).abs() < 1e-9);
    assert_eq!(needs[2].lb_ac(), 0.0, "the corner is more than 50 ppm above its level");
}

#[test]
fn sodium_missing_at_one_sample_moves_no_cec() {
    // One blank Na: sodium is not mapped then, but the CEC of the other samples keeps it.
    let folder = folder("demo");
    let read = |file: &str| std::fs::read_to_string(folder.join(file)).unwrap();
    let place = tempfile::tempdir().unwrap();
    let mut lines: Vec<String> = read("lab.csv").lines().map(str::to_owned).collect();
    let mut cells: Vec<String> = lines[5].split(',').map(str::to_owned).collect();
    cells[11].clear();
    lines[5] = cells.join(",");
    std::fs::write(place.path().join("lab.csv"), lines.join("\n")).unwrap();
    for file in ["outline.geojson", "field.toml"] {
        std::fs::write(place.path().join(file), read(file)).unwrap();
    }
    let blank = crate::fixture::run_folder(place.path(), |text| text, |place| place);
    let whole = run_edited("demo", |text| text);
    let cec = |outcome: &Outcome| -> Vec<f64> {
        outcome.zones.as_ref().unwrap().zones().iter().map(|zone| zone.mean(Variable::Cec).unwrap()).collect()
    };
    for (blank, whole) in cec(&blank).into_iter().zip(cec(&whole)) {
        assert!((blank - whole).abs() < 0.02, "{blank} {whole}");
    }
}

#[test]
fn without_the_depth_there_are_zones_and_no_rates() {
    let outcome = run_edited("one_pass", |text| text.replace("depth_in = [0, 7]", "depth_in = \"unknown\""));
    assert_eq!(outcome.zones.unwrap().zones().len(), 3);
    assert!(outcome.plan.grounds.is_empty() && !outcome.plan.has_rates());
    assert!(outcome.warnings.iter().any(|warning| warning.code.name == "guide-needs-an-answer"));
}

#[test]
fn a_need_under_the_machine_s_least_is_left_over_and_told() {
    let outcome = run_edited("one_pass", |text| text.replace("least = 50", "least = 100"));
    assert_eq!(outcome.plan.passes[0].rates[1].rate, 0.0);
    let fed = &outcome.plan.grounds[0].fed[1];
    let left = fed.season.as_ref().unwrap().left_over_lb_ac(Supply::K2o);
    assert!((left - fed.needs[0].lb_ac()).abs() < 1e-9 && left > 0.0);
    assert!(outcome.warnings.iter().any(|warning| warning.code.name == "left-over"));
}
