//! Choosing a method and its setting, and what leave-one-out says of it. Values themselves: `contracts` and
//! `reference_values`.

use holdground::cell_grid::{CellGrid, CellMask, Site};
use holdground::surface::leave_one_out::{LeaveOneOut, MapError, choose_setting, leave_one_out, tuned_setting};
use holdground::surface::mesh_setting::{MeshSetting, Power};
use holdground::surface::method::Method;
use holdground::surface::method_table::method_table;

use crate::mesh::{Draws, laid, net, scattered, site};

fn rmse(method: Method, sites: &[Site], soil: fn(Site) -> f64) -> f64 {
    let mesh = laid(sites);
    let values: Vec<f64> = mesh.sites().iter().map(|s| soil(*s)).collect();
    let left = method.leave_one_out(&mesh, &[&values]);
    MapError::of(&values, &left.hidden, &left.predictions[0]).expect("predictions").error_rmse
}

#[test]
fn sixty_settings_are_tried_plainest_first() {
    let settings = MeshSetting::all_plainest_first();
    assert_eq!(settings.len(), 60);
    assert_eq!(settings[0], MeshSetting::PLAIN);
    assert!(settings.windows(2).all(|pair| pair[0].rings <= pair[1].rings));
    assert!(settings.iter().enumerate().all(|(i, a)| !settings[..i].contains(a)), "none twice");
}

#[test]
fn below_ten_sites_nothing_is_tuned() {
    for (n_sites, may_be_tuned) in [(9, false), (10, true)] {
        let mesh = laid(&scattered(n_sites, 3));
        // On a steep slope a trend is far better than none.
        let values: Vec<f64> = mesh.sites().iter().map(|s| s.east_m).collect();
        assert_eq!(tuned_setting(&mesh, &[&values]) != MeshSetting::PLAIN, may_be_tuned, "{n_sites}");
    }
}

#[test]
fn a_slope_asks_for_trend() {
    let mesh = laid(&scattered(60, 8));
    let slope: Vec<f64> = mesh.sites().iter().map(|s| 0.1 * s.east_m + 0.05 * s.north_m).collect();
    assert!(tuned_setting(&mesh, &[&slope]).trend_share > 0.0);
    let chosen = Method::Mesh(None).settled(&mesh, &[&slope]);
    assert_eq!(chosen, Method::Mesh(Some(tuned_setting(&mesh, &[&slope]))));
    let plain = Method::Mesh(Some(MeshSetting::PLAIN));
    let of = |method: Method| rmse(method, mesh.sites(), |s| 0.1 * s.east_m + 0.05 * s.north_m);
    assert!(of(chosen) < 0.8 * of(plain), "{} and {}", of(chosen), of(plain));
}

#[test]
fn the_plainest_within_one_standard_error_is_chosen() {
    // Ten samples, each missed by 1 with the second setting (standard error of its score 0.17 by hand, see below).
    let settings = MeshSetting::all_plainest_first()[..3].to_vec();
    let values: Vec<f64> = (0..10).map(|i| if i % 2 == 0 { 10.0 } else { -10.0 }).collect();
    // Misses of the best setting: five of 1, five of 2: squares 1 and 4, mean 2.5, standard deviation 1.5811,
    // standard error of the mean 0.5, of its root 0.5 / (2 sqrt 2.5) = 0.1581.
    let predicted = |miss: fn(usize) -> f64| vec![(0..10).map(|i| values[i] + miss(i)).collect::<Vec<f64>>()];
    let best = predicted(|i| if i < 5 { 1.0 } else { 2.0 });
    let left = |first: f64| {
        let rmse_best = 2.5f64.sqrt();
        let near = vec![values.iter().map(|z| z + rmse_best + first).collect()];
        let predictions = vec![near, best.clone(), predicted(|_| 9.0)];
        LeaveOneOut { settings: settings.clone(), hidden: (0..10).collect(), predictions }
    };
    assert_eq!(choose_setting(&left(0.157), &[&values]).0, 0, "plainer and within one standard error");
    assert_eq!(choose_setting(&left(0.160), &[&values]).0, 1, "beyond it");
}

#[test]
fn one_setting_serves_a_group_and_alike_samples_choose_the_plainest() {
    let mesh = laid(&scattered(40, 4));
    let alike = vec![3.0; 40];
    assert_eq!(tuned_setting(&mesh, &[&alike]), MeshSetting::PLAIN);
    let slope: Vec<f64> = mesh.sites().iter().map(|s| s.east_m).collect();
    // A variable that does not vary has no say in the group's choice.
    assert_eq!(tuned_setting(&mesh, &[&slope, &alike]), tuned_setting(&mesh, &[&slope]));
}

#[test]
fn methods_are_named_as_in_a_field_file_and_told_apart_in_words() {
    let distance = |nearest| Method::Distance { power: Power::P1_5, nearest };
    for (method, name, words) in [
        (Method::Mesh(None), "mesh", "mesh"),
        (Method::Mesh(Some(MeshSetting::PLAIN)), "mesh", "mesh, 1 ring, power 2"),
        (Method::Mean, "mean", "mean"),
        (Method::Nearest, "nearest", "nearest"),
        (Method::Triangle, "triangle", "triangle"),
        (Method::NaturalNeighbor, "natural-neighbor", "natural-neighbor"),
        (distance(None), "distance", "distance, power 1.5, all samples"),
        (distance(Some(7)), "distance", "distance, power 1.5, 7 nearest"),
    ] {
        assert_eq!((method.name(), method.to_string().as_str()), (name, words));
    }
}

#[test]
fn every_method_marks_the_cells_beyond_the_outermost_samples() {
    let mesh = laid(&net(4, 4, 100.0, 100.0));
    let values: Vec<f64> = mesh.sites().iter().map(|s| s.north_m).collect();
    let grid = CellGrid { west_m: -100.0, south_m: -100.0, cell_m: 20.0, n_cols: 25, n_rows: 25 };
    for method in [
        Method::Mesh(Some(MeshSetting::PLAIN)),
        Method::Mean,
        Method::Nearest,
        Method::Triangle,
        Method::NaturalNeighbor,
        Method::Distance { power: Power::P2, nearest: Some(3) },
    ] {
        let raster = method.raster(&mesh, &[&values], &CellMask::all(grid));
        let has_value_beyond = !matches!(method, Method::Triangle | Method::NaturalNeighbor);
        for cell in 0..grid.n_cells() {
            let at = grid.center(cell % 25, cell / 25);
            let is_inside = [at.east_m, at.north_m].iter().all(|m| (0.0..=300.0).contains(m));
            assert_eq!(raster.extrapolated[cell], !is_inside, "{method} {at:?}");
            assert_eq!(raster.values[0][cell].is_nan(), !is_inside && !has_value_beyond, "{method} {at:?}");
        }
    }
}

#[test]
fn triangle_reproduces_a_plane_and_nearest_a_step() {
    assert!(rmse(Method::Triangle, &scattered(50, 2), |s| 3.0 * s.east_m - s.north_m) < 1e-9);
    assert!(rmse(Method::NaturalNeighbor, &scattered(50, 2), |s| 3.0 * s.east_m - s.north_m) < 1e-6);
    let mesh = laid(&net(4, 2, 100.0, 100.0));
    let step: Vec<f64> = mesh.sites().iter().map(|s| f64::from(u8::from(s.east_m > 150.0))).collect();
    let at = |east_m| Method::Nearest.value_at(&mesh, &[&step], site(east_m, 20.0)).expect("a value")[0];
    assert_eq!([at(149.0), at(151.0)], [0.0, 1.0]);
}

#[test]
fn a_sample_without_which_the_net_is_a_line_is_not_predicted() {
    let mut sites: Vec<Site> = (0..6).map(|i| site(100.0 * f64::from(i), 0.0)).collect();
    sites.push(site(250.0, 80.0));
    let mesh = laid(&sites);
    let lone = mesh.sites().iter().position(|s| s.north_m > 0.0).expect("the site off the line");
    let values: Vec<f64> = mesh.sites().iter().map(|s| s.east_m + s.north_m).collect();
    let left = leave_one_out(&mesh, &[&values], vec![MeshSetting::PLAIN]);
    let missing: Vec<usize> = (0..7).filter(|&i| left.predictions[0][0][i].is_nan()).collect();
    assert_eq!(missing, [lone]);
    let error = MapError::of(&values, &left.hidden, &left.predictions[0][0]).expect("the others");
    assert_eq!(error.n, 6);
}

#[test]
fn the_table_of_noise_shows_no_map_better_than_the_mean() {
    // Noise from a fixed seed: no method may look useful by much, and the mean is at 0 by definition.
    let mesh = laid(&scattered(120, 77));
    let mut draws = Draws(78);
    let noise: Vec<f64> = mesh.sites().iter().map(|_| draws.between(0.0, 1.0)).collect();
    for line in method_table(&mesh, &noise) {
        let percent = line.error.and_then(|e| e.prediction_efficiency_percent()).expect("noise varies");
        assert!(percent < 5.0, "{}: {percent} %", line.name);
    }
}

#[test]
fn above_5000_samples_every_nth_is_hidden() {
    let mesh = laid(&scattered(7_000, 5));
    let values: Vec<f64> = mesh.sites().iter().map(|s| s.east_m).collect();
    let left = Method::Nearest.leave_one_out(&mesh, &[&values]);
    assert_eq!((left.hidden.len(), &left.hidden[..3]), (3_500, &[0, 2, 4][..]));
}
