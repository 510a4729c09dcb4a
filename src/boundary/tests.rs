use super::*;

/// Rings drawn in units of 0.001 degree from (-93.5, 41.0): about 84 m east, 111 m north.
fn drawn(rings: &[&[(f64, f64)]]) -> Vec<Vec<LonLat>> {
    rings
        .iter()
        .map(|ring| ring.iter().map(|&(east, north)| (-93.5 + east / 1000.0, 41.0 + north / 1000.0)).collect())
        .collect()
}

fn square(west: f64, south: f64, side: f64) -> Vec<(f64, f64)> {
    vec![(west, south), (west + side, south), (west + side, south + side), (west, south + side), (west, south)]
}

fn build(rings: &[&[(f64, f64)]]) -> Result<Checked<FieldBoundary>, Vec<Diagnostic>> {
    FieldBoundary::from_rings(&drawn(rings), None, &WorkCrsChoice::Derived)
}

fn codes_and_messages(rings: &[&[(f64, f64)]]) -> Vec<String> {
    let faults = build(rings).expect_err("faulty rings");
    faults.into_iter().map(|fault| format!("{}: {}", fault.code.name, fault.message)).collect()
}

#[test]
fn mask_marks_the_cells_whose_center_is_contained() {
    let outer = [(0.0, 0.0), (7.3, 0.4), (9.1, 5.0), (4.0, 9.7), (3.1, 4.4), (-1.2, 8.0)];
    let boundary = build(&[&outer, &square(3.0, 1.0, 1.7)]).expect("sound").value;
    for cell_m in [3.0, 17.0, 111.3] {
        let grid = CellGrid::covering(boundary.bounds_m(), cell_m);
        let mask = boundary.mask(&grid);
        assert!(mask.n_inside() > 0);
        for row in 0..grid.n_rows {
            for col in 0..grid.n_cols {
                assert_eq!(
                    mask.inside()[grid.index(col, row)],
                    boundary.contains(grid.center(col, row)),
                    "{col} {row}"
                );
            }
        }
    }
    // Cells of 3 m: the count measures the area to a share of the outline's length, 0.5 % here (plane and ellipsoid 0.1 %).
    let grid = CellGrid::covering(boundary.bounds_m(), 3.0);
    let counted_m2 = boundary.mask(&grid).n_inside() as f64 * grid.cell_area_m2();
    assert!((counted_m2 / boundary.area_m2() - 1.0).abs() < 0.005, "{counted_m2} against {}", boundary.area_m2());
}

#[test]
fn mask_of_a_grid_beside_or_inside_the_field_is_right() {
    let boundary = build(&[&square(0.0, 0.0, 5.0)]).expect("sound").value;
    let [west, east, south, north] = boundary.bounds_m();
    let beside = CellGrid { west_m: east + 10.0, south_m: south, cell_m: 10.0, n_cols: 4, n_rows: 4 };
    assert_eq!(boundary.mask(&beside).n_inside(), 0);
    let beyond = CellGrid { west_m: west - 500.0, south_m: north + 500.0, ..beside };
    assert_eq!(boundary.mask(&beyond).n_inside(), 0);
    let within = CellGrid { west_m: (west + east) / 2.0, south_m: (south + north) / 2.0, ..beside };
    assert_eq!(boundary.mask(&within).n_inside(), 16);
}

#[test]
fn cells_on_lattice_edges_belong_to_the_west_and_south() {
    let boundary = build(&[&square(0.0, 0.0, 5.0)]).expect("sound").value;
    let corner = boundary.rings()[0][0];
    // Through the south-west vertex itself: its own place counts, its mirror across the field does not.
    assert_eq!(boundary.distance_outside_m(corner), 0.0);
    let [_, east, _, north] = boundary.bounds_m();
    assert!(!boundary.contains(Site { east_m: east, north_m: north }));
}

#[test]
fn distance_outside_is_to_the_nearest_edge_or_corner_and_counts_holes() {
    let boundary = build(&[&square(0.0, 0.0, 10.0), &square(4.0, 4.0, 2.0)]).expect("sound").value;
    let [west, east, south, north] = boundary.bounds_m();
    let corner = Site { east_m: east, north_m: north };
    let beyond = Site { east_m: east + 30.0, north_m: north + 40.0 };
    // The plane's north is turned against the meridian by some 0.3 degree, so the corner is near the bounds' corner.
    assert!((boundary.distance_outside_m(beyond) - 50.0).abs() < 8.0);
    assert!(boundary.distance_outside_m(corner) < 8.0);
    let middle = Site { east_m: (west + east) / 2.0, north_m: (south + north) / 2.0 };
    let hole_m = boundary.distance_outside_m(middle);
    assert!((80.0..90.0).contains(&hole_m), "the hole is 168 m by 222 m, its middle 84 m from its sides: {hole_m}");
}

#[test]
fn faults_of_all_rings_are_reported_at_once_with_places() {
    let messages = codes_and_messages(&[
        &square(0.0, 0.0, 10.0),
        &[(1.0, 1.0), (2.0, 2.0), (2.0, 1.0), (1.0, 2.0), (1.0, 1.0)],
        &[(3.0, 3.0), (3.0, 3.0), (4.0, 4.0), (3.0, 3.0)],
        &[(5.0, 5.0), (6.0, 6.0), (7.0, 7.0), (5.0, 5.0)],
        &square(0.0, 0.0, 10.0),
        &square(8.0, 8.0, 5.0),
        &[(f64::NAN, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 100_000.0)],
    ]);
    let expected = [
        "outline-ring-too-small: ring 3 has 2 different points in a row, at least 3 are expected",
        "outline-ring-too-small: ring 4 near lon -93.495000, lat 41.005000 encloses 0.000 m2, at least 1 m2 is expected",
        "outline-coordinates: ring 7, point 1: not a number (lon NaN, lat 41)",
        "outline-coordinates: ring 7, point 4: lon -93.500000, lat 141.000000 is out of range, longitude lies in -180 to 180, latitude in -90 to 90",
        "outline-ring-repeated: ring 5 repeats ring 1, from lon -93.500000, lat 41.000000",
        "outline-crosses: rings 1 and 6 cross near lon -93.492000, lat 41.010000",
        "outline-crosses: ring 2 crosses itself near lon -93.498500, lat 41.001500",
    ];
    assert_eq!(messages, expected);
}

#[test]
fn rings_that_touch_run_along_or_pass_at_a_vertex_are_told_apart() {
    let outer = square(0.0, 0.0, 10.0);
    // A hole that touches the outline at one point is sound, and so are two parts that meet at a corner.
    assert_eq!(build(&[&outer, &[(0.0, 5.0), (3.0, 4.0), (3.0, 6.0), (0.0, 5.0)]]).expect("sound").value.n_holes(), 1);
    assert_eq!(build(&[&outer, &square(10.0, 10.0, 3.0)]).expect("sound").value.n_parts(), 2);
    // A hole that touches the outline at two points leaves two pieces of ground, each its own part; so do two holes
    // that touch each other and the outline. Two parts may touch twice.
    let cut = codes_and_messages(&[&outer, &[(0.0, 5.0), (10.0, 4.0), (10.0, 6.0), (0.0, 5.0)]]);
    assert_eq!(cut, ["outline-crosses: rings 1 and 2 share a stretch near lon -93.490000, lat 41.004000"]);
    let cut = codes_and_messages(&[&outer, &[(0.0, 5.0), (5.0, 4.0), (10.0, 5.0), (5.0, 6.0), (0.0, 5.0)]]);
    assert_eq!(
        cut,
        [
            "outline-crosses: holes cut the part inside ring 1 in two, the last touch is near lon -93.500000, lat 41.005000"
        ]
    );
    let left = [(0.0, 5.0), (2.0, 4.0), (5.0, 5.0), (2.0, 6.0), (0.0, 5.0)];
    let right = [(5.0, 5.0), (8.0, 4.0), (10.0, 5.0), (8.0, 6.0), (5.0, 5.0)];
    assert!(codes_and_messages(&[&outer, &left, &right])[0].contains("cut the part inside ring 1 in two"));
    let short = [(5.0, 5.0), (8.0, 4.0), (9.0, 5.0), (8.0, 6.0), (5.0, 5.0)];
    assert_eq!(build(&[&outer, &left, &short]).expect("a chain that does not close").value.n_holes(), 2);
    let beside = [(10.0, 0.0), (12.0, 5.0), (10.0, 10.0), (15.0, 5.0), (10.0, 0.0)];
    assert_eq!(build(&[&outer, &beside]).expect("sound").value.n_parts(), 2);
    let adjoining = codes_and_messages(&[&outer, &square(10.0, 0.0, 5.0)]);
    assert_eq!(adjoining, ["outline-crosses: rings 1 and 2 share a stretch near lon -93.490000, lat 41.000000"]);
    // Passes from inside to outside exactly through corners of the square.
    let through =
        codes_and_messages(&[&outer, &[(8.0, 8.0), (10.0, 10.0), (12.0, 12.0), (10.0, 10.5), (8.0, 10.0), (8.0, 8.0)]]);
    assert!(through.iter().all(|message| message.starts_with("outline-crosses: rings 1 and 2 ")), "{through:?}");
    let keyhole = [
        (0.0, 0.0),
        (9.0, 0.0),
        (9.0, 9.0),
        (5.0, 9.0),
        (5.0, 6.0),
        (6.0, 6.0),
        (6.0, 4.0),
        (4.0, 4.0),
        (4.0, 6.0),
        (5.0, 6.0),
        (5.0, 9.0),
        (0.0, 9.0),
        (0.0, 0.0),
    ];
    assert!(
        codes_and_messages(&[&keyhole])
            .contains(&"outline-crosses: ring 1 runs along itself near lon -93.495000, lat 41.006000".to_string())
    );
    let spike = [(0.0, 0.0), (9.0, 0.0), (15.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 0.0)];
    assert!(codes_and_messages(&[&spike])[0].contains("runs along itself"));
    let pinched = [(0.0, 0.0), (4.0, 4.0), (8.0, 0.0), (8.0, 8.0), (4.0, 4.0), (0.0, 8.0), (0.0, 0.0)];
    assert_eq!(
        codes_and_messages(&[&pinched]),
        ["outline-crosses: ring 1 touches itself near lon -93.496000, lat 41.004000"]
    );
}

#[test]
fn ring_repeated_backwards_from_another_start_is_found() {
    let ring = square(0.0, 0.0, 5.0);
    let mut turned: Vec<(f64, f64)> = ring[..4].to_vec();
    turned.rotate_left(2);
    turned.reverse();
    assert_eq!(
        codes_and_messages(&[&ring, &turned]),
        ["outline-ring-repeated: ring 2 repeats ring 1, from lon -93.495000, lat 41.000000"]
    );
}

#[test]
fn swapped_columns_and_world_wide_rings_get_help() {
    let swapped = vec![vec![(41.0, -93.5), (41.0, -93.4), (41.1, -93.4)]];
    let faults = FieldBoundary::from_rings(&swapped, None, &WorkCrsChoice::Derived).expect_err("swapped");
    assert!(faults.iter().all(|fault| fault.help.as_deref().is_some_and(|help| help.contains("swapped"))));
    let wide = vec![vec![(-179.9, -17.0), (179.9, -17.0), (179.9, -16.9), (-179.9, -17.0)]];
    let faults = FieldBoundary::from_rings(&wide, None, &WorkCrsChoice::Derived).expect_err("date line");
    assert!(faults[0].message.contains("spans 359.8 degrees"), "{}", faults[0].message);
    assert_eq!(
        FieldBoundary::from_rings(&[], None, &WorkCrsChoice::Derived).expect_err("empty")[0].code.name,
        "outline-empty"
    );
    assert_eq!(
        FieldBoundary::from_rings(&[Vec::new()], None, &WorkCrsChoice::Derived).expect_err("empty")[0].code.name,
        "outline-ring-too-small"
    );
}
