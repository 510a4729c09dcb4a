//! The invented fields against their own truth: how far the maps and zones are off, as figures.

use holdground::cell_grid::Site;
use holdground::soil_surface::Variable;
use holdground::pipeline::Outcome;

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
    println!("truth at {n} places: CEC missed by {rmse:.2}, sample mean by {mean_rmse:.2}, zones right at {agreement:.3}");
    assert!(n > 1500.0);
}
