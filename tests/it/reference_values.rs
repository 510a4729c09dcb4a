//! Values other programs and hand calculation give for the same samples.
//!
//! Every meuse number: meuse (R package sp, GPL), zinc, 155 samples, computed with reference implementations [project
//! reference table].

use holdground::cell_grid::Site;
use holdground::mesh::Mesh;
use holdground::surface::leave_one_out::MapError;
use holdground::surface::mesh_setting::{MeshSetting, Power};
use holdground::surface::method::Method;
use holdground::surface::method_table::{method_error, method_table};

use crate::mesh::site;
use crate::outside;

/// Share by which a value may differ from the table's.
const RELATIVE: f64 = 1e-6;
/// Half of the last digit of the table's leave-one-out figures with four decimals.
const LAST_OF_FOUR: f64 = 0.5e-4 + 1e-9;
const LAST_OF_SIX: f64 = 0.5e-6 + 1e-9;

const INSIDE: [Site; 5] = [
    Site { east_m: 179_500.0, north_m: 331_500.0 },
    Site { east_m: 180_000.0, north_m: 331_000.0 },
    Site { east_m: 180_500.0, north_m: 332_500.0 },
    Site { east_m: 181_000.0, north_m: 333_200.0 },
    Site { east_m: 179_000.0, north_m: 330_200.0 },
];
const BEYOND: [Site; 2] =
    [Site { east_m: 180_500.0, north_m: 330_000.0 }, Site { east_m: 178_400.0, north_m: 330_500.0 }];

fn meuse() -> Option<(Mesh, Vec<f64>)> {
    let mut rows = outside::meuse()?;
    rows.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mesh = Mesh::new(rows.iter().map(|row| site(row.0, row.1)).collect()).expect("a net");
    Some((mesh, rows.iter().map(|row| row.2).collect()))
}

fn mesh_method(rings: usize, power: Power, trend_share: f64) -> Method {
    Method::Mesh(Some(MeshSetting { power, rings, trend_share }))
}

fn distance(power: Power, nearest: Option<usize>) -> Method {
    Method::Distance { power, nearest }
}

fn check_values(method: Method, places: &[Site], expected: &[f64]) {
    let Some((mesh, zinc)) = meuse() else { return };
    assert_eq!(places.len(), expected.len());
    for (&at, expected) in places.iter().zip(expected) {
        let value = method.value_at(&mesh, &[&zinc], at).expect("a value")[0];
        assert!((value - expected).abs() <= RELATIVE * expected, "{method} at {at:?}: {value}, not {expected}");
    }
}

fn check_left_out(method: Method, expected_rmse: f64, n: usize, tolerance: f64) {
    let Some((mesh, zinc)) = meuse() else { return };
    let error = method_error(method, &mesh, &zinc).error.expect("predictions");
    assert_eq!(error.n, n, "{method}");
    assert!(
        (error.error_rmse - expected_rmse).abs() <= tolerance,
        "{method}: {} not {expected_rmse}",
        error.error_rmse
    );
}

#[test]
fn distance_with_all_samples_as_the_reference() {
    for (power, expected) in [
        (Power::P1, [451.599754184, 380.501587756, 577.263933763, 450.172365260, 426.797756260]),
        (Power::P2, [397.441054632, 241.786017757, 767.393449693, 400.651186036, 372.875660541]),
        (Power::P3, [359.979833488, 164.092418651, 841.070079524, 371.613954967, 345.121120039]),
    ] {
        check_values(distance(power, None), &INSIDE, &expected);
    }
}

#[test]
fn distance_with_the_12_nearest_as_the_reference() {
    let expected = [377.496357098, 179.255227355, 838.770913142, 392.346320224, 318.582094057];
    check_values(distance(Power::P2, Some(12)), &INSIDE, &expected);
}

#[test]
fn triangle_and_natural_neighbor_as_the_reference() {
    check_values(Method::Triangle, &INSIDE, &[226.168708, 154.601944, 869.413421, 392.305582, 321.599070]);
    check_values(Method::NaturalNeighbor, &INSIDE, &[327.705057, 157.187309, 882.960040, 391.464550, 318.163086]);
}

#[test]
fn mesh_inside_the_hull_as_the_reference() {
    for (rings, power, expected) in [
        (1, Power::P1, [351.040378729, 190.035125938, 828.993286835, 402.361219570, 340.408401462]),
        (1, Power::P2, [343.494994189, 160.770752580, 857.368790838, 380.960811903, 334.941842715]),
        (1, Power::P3, [333.326326249, 144.245491845, 856.979764374, 366.110939251, 335.367858706]),
        (2, Power::P2, [374.551959807, 187.808984533, 818.726737440, 397.013411211, 335.219382908]),
    ] {
        check_values(mesh_method(rings, power, 0.0), &INSIDE, &expected);
    }
}

#[test]
fn mesh_beyond_the_hull_as_the_reference() {
    check_values(mesh_method(1, Power::P2, 0.0), &BEYOND, &[545.807190903, 540.962072939]);
    check_values(mesh_method(2, Power::P2, 0.0), &BEYOND, &[483.709760186, 538.388332469]);
}

#[test]
fn only_the_triangle_methods_have_no_value_beyond_the_hull() {
    let Some((mesh, zinc)) = meuse() else { return };
    for at in BEYOND {
        for method in [Method::Triangle, Method::NaturalNeighbor] {
            assert_eq!(method.value_at(&mesh, &[&zinc], at), None, "{method} at {at:?}");
        }
        for method in [Method::Mean, Method::Nearest, distance(Power::P2, None), mesh_method(1, Power::P2, 0.0)] {
            assert!(method.value_at(&mesh, &[&zinc], at).is_some(), "{method} at {at:?}");
        }
    }
}

#[test]
fn leave_one_out_of_the_mesh_as_the_reference() {
    for (rings, power, trend_share, rmse) in [
        (1, Power::P1, 0.0, 234.4750),
        (1, Power::P1_5, 0.0, 233.6923),
        (1, Power::P2, 0.0, 235.7257),
        (1, Power::P3, 0.0, 244.4638),
        (1, Power::P4, 0.0, 253.7625),
        (2, Power::P2, 0.0, 250.9393),
        (3, Power::P2, 0.0, 263.0515),
        (1, Power::P1, 0.75, 226.4759),
        (1, Power::P2, 0.5, 230.7856),
    ] {
        check_left_out(mesh_method(rings, power, trend_share), rmse, 155, LAST_OF_FOUR);
    }
}

#[test]
fn leave_one_out_of_the_reference_methods_as_the_reference() {
    check_left_out(Method::Mean, 368.2637, 155, LAST_OF_FOUR);
    check_left_out(distance(Power::P1, None), 332.650404, 155, LAST_OF_SIX);
    check_left_out(distance(Power::P2, None), 278.273379, 155, LAST_OF_SIX);
    check_left_out(distance(Power::P3, None), 257.545975, 155, LAST_OF_SIX);
    check_left_out(distance(Power::P4, None), 260.423330, 155, LAST_OF_SIX);
    check_left_out(distance(Power::P2, Some(12)), 256.454036, 155, LAST_OF_SIX);
    // The other 12 samples are the hull's corners.
    check_left_out(Method::Triangle, 216.670082, 143, LAST_OF_SIX);
    check_left_out(Method::NaturalNeighbor, 215.792508, 143, LAST_OF_SIX);
}

#[test]
fn the_table_holds_every_method() {
    let Some((mesh, zinc)) = meuse() else { return };
    let table = method_table(&mesh, &zinc);
    let words: Vec<&str> = table.iter().filter_map(|line| line.name.split(',').next()).collect();
    assert_eq!(words, ["mesh", "mean", "nearest", "triangle", "natural-neighbor", "distance", "distance"]);
    let error = |line: usize| table[line].error.expect("predictions");
    assert_eq!(error(1).prediction_efficiency_percent(), Some(0.0), "the field mean against itself");
    // The plainest setting within one standard error of the best is no worse than that error allows.
    assert!(error(0).error_rmse < 245.0, "{}", table[0].name);
    assert!((error(6).error_rmse - 256.454036).abs() < LAST_OF_SIX);
}

/// agronomy handbook, row 68 (section 10): the formula by hand.
#[test]
fn distance_of_three_samples_by_hand() {
    let mesh = Mesh::new(vec![site(0.0, 0.0), site(100.0, 0.0), site(0.0, 100.0)]).expect("a net");
    // Sites are sorted by easting, then northing.
    let values = [100.0, 150.0, 200.0];
    for (power, expected) in [(Power::P1, 141.97), (Power::P1_5, 138.00), (Power::P2, 134.14), (Power::P4, 120.75)] {
        let value = distance(power, None).value_at(&mesh, &[&values], site(30.0, 40.0)).expect("a value")[0];
        assert!((value - expected).abs() < 0.005, "{power:?}: {value}");
    }
}

/// agronomy handbook, row 69: the definition.
#[test]
fn prediction_efficiency_by_hand() {
    let error = MapError { n: 9, error_mean: 0.0, error_mae: 0.0, error_rmse: 320f64.sqrt(), mean_rmse: 400f64.sqrt() };
    let percent = error.prediction_efficiency_percent().expect("samples differ");
    assert!((percent - 20.0).abs() < 1e-9);
}
