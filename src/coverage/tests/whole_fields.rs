//! Fields whose coverage is known, and input that is none.

use super::scenario::{Scenario, lon_lat, to_local, to_lon_lat};
use crate::cell_grid::CellGrid;
use crate::coverage::{Coverage, CoverageError, CoverageInput, Ground, Plane, Vertex};

fn rectangle(west: f64, south: f64, east: f64, north: f64) -> Vec<(f64, f64)> {
    vec![(west, south), (east, south), (east, north), (west, north)]
}

/// 40 x 20 m, zone 1 in the west half, zone 2 in the east.
fn two_halves() -> Scenario {
    let grid = CellGrid { west_m: 0.0, south_m: 0.0, cell_m: 2.0, n_cols: 20, n_rows: 10 };
    let labels = (0..200).map(|cell| if cell % 20 < 10 { 1 } else { 2 }).collect();
    let boundary = lon_lat(&vec![vec![rectangle(0.0, 0.0, 40.0, 20.0)]]);
    Scenario { grid, labels, boundary, setbacks: Vec::new(), tolerance_m: 1.0 }
}

/// Square meters of a doubled area on the lattice.
fn area_m2(coverage: &Coverage, doubled: i64) -> f64 {
    let (lon, lat) = coverage.lattice.lon_lat(Vertex { x: 0, y: 0 });
    let step = |east: f64, north: f64| {
        let a = to_local((lon, lat)).unwrap();
        to_local((lon + east * 1e-4, lat + north * 1e-4)).unwrap().distance_m(a) / 1000.0
    };
    doubled as f64 / 2.0 * step(1.0, 0.0) * step(0.0, 1.0)
}

#[test]
fn two_halves_are_two_polygons_that_share_a_border() {
    let coverage = two_halves().coverage().unwrap();
    let zones = coverage.merge(&[]).unwrap();
    assert_eq!(zones.iter().map(|zone| (zone.zone, zone.polygons.len())).collect::<Vec<_>>(), [(1, 1), (2, 1)]);
    for zone in &zones {
        let area = area_m2(&coverage, zone.polygons[0].doubled_area());
        assert!((area - 400.0).abs() < 1.0, "{area}");
    }
    // Rounded to 11 mm, the 20 m border bends the field by at most that.
    let both: i64 = zones.iter().map(|zone| zone.polygons[0].doubled_area()).sum();
    assert!((area_m2(&coverage, both) - 800.0).abs() < 0.7);
}

#[test]
fn a_setback_parts_its_zones_only_for_products_that_keep_off() {
    let mut scenario = two_halves();
    scenario.setbacks = vec![lon_lat(&vec![vec![rectangle(-5.0, -5.0, 45.0, 4.0)]])];
    let coverage = scenario.coverage().unwrap();
    let kinds = |chosen: &[usize]| -> Vec<(u16, Ground)> {
        coverage.merge(chosen).unwrap().iter().map(|zone| (zone.zone, zone.ground)).collect()
    };
    assert_eq!(kinds(&[]), [(1, Ground::Open), (2, Ground::Open)]);
    assert_eq!(kinds(&[7]), kinds(&[]));
    let four = [(1, Ground::Open), (1, Ground::SetBack), (2, Ground::Open), (2, Ground::SetBack)];
    assert_eq!(kinds(&[0]), four);
    let merged = coverage.merge(&[0]).unwrap();
    let strip: i64 = [1, 3].iter().flat_map(|&at| &merged[at].polygons).map(|polygon| polygon.doubled_area()).sum();
    assert!((area_m2(&coverage, strip) - 160.0).abs() < 0.7);
}

#[test]
fn a_setback_over_everything_leaves_no_open_ground() {
    let mut scenario = two_halves();
    scenario.setbacks = vec![lon_lat(&vec![vec![rectangle(-9.0, -9.0, 99.0, 99.0)]])];
    let zones = scenario.coverage().unwrap().merge(&[0]).unwrap();
    assert!(zones.iter().all(|zone| zone.ground == Ground::SetBack));
}

#[test]
fn a_setback_far_away_or_without_area_changes_nothing() {
    let mut scenario = two_halves();
    let coverage = scenario.coverage();
    let line = vec![vec![vec![(3.0, 3.0), (9.0, 9.0)]]];
    scenario.setbacks = vec![lon_lat(&vec![vec![rectangle(500.0, 0.0, 600.0, 9.0)]]), lon_lat(&line), lon_lat(&vec![])];
    assert_eq!(scenario.coverage(), coverage);
}

#[test]
fn faults_come_with_their_numbers() {
    let error = |change: &dyn Fn(&mut Scenario)| {
        let mut scenario = two_halves();
        change(&mut scenario);
        scenario.coverage().unwrap_err()
    };
    assert_eq!(error(&|it| it.labels.truncate(7)), CoverageError::LabelCount { found: 7, expected: 200 });
    assert_eq!(error(&|it| it.labels.fill(0)), CoverageError::NoZones { cells: 200 });
    assert_eq!(error(&|it| it.tolerance_m = -1.0), CoverageError::Tolerance { tolerance_m: -1.0 });
    assert!(matches!(error(&|it| it.tolerance_m = f64::NAN), CoverageError::Tolerance { .. }));
    assert_eq!(error(&|it| it.boundary.0.clear()), CoverageError::NoArea { rings: 0 });
    let thin = |it: &mut Scenario| it.boundary = lon_lat(&vec![vec![vec![(1.0, 1.0), (9.0, 9.0), (1.0, 1.0)]]]);
    assert_eq!(error(&thin), CoverageError::NoArea { rings: 1 });
    let wide = |it: &mut Scenario| it.boundary = lon_lat(&vec![vec![rectangle(0.0, 0.0, 45.0, 20.0)]]);
    assert!(
        matches!(error(&wide), CoverageError::BeyondRaster { beyond_m, cell_m: 2.0 } if (beyond_m - 5.0).abs() < 1e-3)
    );
    let far = |it: &mut Scenario| it.setbacks = vec![lon_lat(&vec![vec![rectangle(0.0, 0.0, 2e6, 20.0)]])];
    assert!(matches!(error(&far), CoverageError::Place { .. }));
    let no_number = |it: &mut Scenario| {
        it.setbacks = vec![lon_lat(&vec![vec![vec![(0.0, 0.0), (f64::NAN, 1.0), (3.0, 3.0)]]])];
    };
    assert!(matches!(error(&no_number), CoverageError::Place { .. }));
}

#[test]
fn a_projection_without_answer_is_an_error() {
    let scenario = two_halves();
    let input = CoverageInput {
        grid: &scenario.grid,
        labels: &scenario.labels,
        boundary: &scenario.boundary,
        setbacks: &[],
        tolerance_m: 1.0,
    };
    let there = Plane { to_lon_lat: &|_| None, to_local: &to_local };
    assert!(matches!(Coverage::new(&input, there), Err(CoverageError::Projection { .. })));
    let back = Plane { to_lon_lat: &to_lon_lat, to_local: &|_| None };
    assert!(matches!(Coverage::new(&input, back), Err(CoverageError::Projection { .. })));
}

#[test]
fn faces_that_are_no_coverage_are_refused() {
    let mut coverage = two_halves().coverage().unwrap();
    coverage.faces[0].polygon.exterior.truncate(3);
    assert!(coverage.merge(&[]).is_err());
}
