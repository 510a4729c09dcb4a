//! Distances are checked on the ellipsoid by `geo::Geodesic` (Karney's geographiclib), not on the work plane.

use geo::{
    Area, BooleanOps, Contains, CoordsIter, Distance, Geodesic, GeodesicArea, LineString, MultiPolygon, Point, Polygon,
    Validation, line_string, point, polygon,
};

use super::*;
use crate::crs::{WorkCrs, WorkCrsChoice};
use crate::units::M_PER_FOOT;

/// Coordinates on the work plane are whole millimeters.
const TOL_ROUNDING_M: f64 = 0.003;
/// What the guarantee allows beyond the distance.
const MOST_TIMES: f64 = 1.01;
const DISTANCE_M: f64 = 100.0 * M_PER_FOOT;

fn work_crs_at(lon: f64, lat: f64) -> WorkCrs {
    WorkCrs::new(&WorkCrsChoice::Derived, (lon, lat), [lon - 0.004, lon + 0.004, lat - 0.003, lat + 0.003])
        .expect("inside UTM")
}

/// A field of about 800 m by 550 m.
fn field_at(lon: f64, lat: f64) -> FieldBoundary {
    let (w, e, s, n) = (lon - 0.005, lon + 0.005, lat - 0.0025, lat + 0.0025);
    let ring = vec![(w, s), (e, s), (e, n), (w, n), (w, s)];
    FieldBoundary::from_rings(&[ring], None, &WorkCrsChoice::Derived).expect("sound").value
}

fn settings(distance_m: f64) -> KeepOffSettings {
    KeepOffSettings {
        file: "well.geojson".into(),
        crs: None,
        distance_m,
        distance: format!("{:.0} ft", distance_m / M_PER_FOOT),
        name: "well".into(),
        products: Vec::new(),
        line: 1,
    }
}

/// Shortest geodesic from a place to vertices of a line set a meter or less apart.
fn geodesic_to(place: Point<f64>, line: &[Point<f64>]) -> f64 {
    line.iter().map(|&at| Geodesic.distance(place, at)).fold(f64::INFINITY, f64::min)
}

/// Places along a line, `n` a piece, straight in degrees.
fn along(line: &LineString<f64>, n: usize) -> Vec<Point<f64>> {
    let between = |edge: geo::Line<f64>| {
        (0..=n).map(move |step| Point(edge.start + (edge.end - edge.start) * (step as f64 / n as f64)))
    };
    line.lines().flat_map(between).collect()
}

fn outlines(area: &MultiPolygon<f64>) -> Vec<LineString<f64>> {
    area.iter().flat_map(|part| std::iter::once(part.exterior()).chain(part.interiors())).cloned().collect()
}

#[test]
fn a_disc_holds_the_circle_and_little_more_wherever_it_lies() {
    // Mid-zone, south, the equator's zone edge (scale 1.001), beyond the edge of the field's zone, and far north.
    for (lon, lat, at_lon) in [
        (-93.5, 41.0, -93.5),
        (-41.2, -21.6, -41.2),
        (-90.0001, 0.4, -90.0001),
        (-90.002, 41.0, -89.998),
        (25.0, 65.0, 25.0),
    ] {
        let crs = work_crs_at(lon, lat);
        let well = point!(x: at_lon, y: lat);
        for distance_m in [0.3048, 10.0, DISTANCE_M, 500.0, 5280.0 * M_PER_FOOT] {
            let area = setback_area(&[well.into()], distance_m, &crs).expect("on the plane");
            assert_eq!((area.0.len(), area.0[0].interiors().len()), (1, 0));
            let circle_m2 = std::f64::consts::PI * distance_m * distance_m;
            let share = area.geodesic_area_unsigned() / circle_m2;
            // At a foot the millimeters of the plane weigh more.
            let most = 1.01 + 4.0 * TOL_ROUNDING_M / distance_m;
            assert!((1.0..=most).contains(&share), "{lon} {lat} {distance_m}: {share}");
            for place in along(area.0[0].exterior(), 7) {
                let away_m = Geodesic.distance(well, place);
                assert!(away_m >= distance_m, "{lon} {lat}: {away_m} is nearer than {distance_m}");
                assert!(away_m <= MOST_TIMES * distance_m + TOL_ROUNDING_M, "{lon} {lat}: {away_m} for {distance_m}");
            }
        }
    }
}

#[test]
fn a_line_keeps_its_distance_at_the_middle_the_bend_and_the_ends() {
    let crs = work_crs_at(-93.5, 41.0);
    // The second goes out and back on itself; the third has a repeated vertex.
    for line in [
        line_string![(x: -93.503, y: 41.0), (x: -93.5, y: 41.001), (x: -93.4995, y: 40.9985)],
        line_string![(x: -93.503, y: 41.0), (x: -93.5, y: 41.0), (x: -93.502, y: 41.0)],
        line_string![(x: -93.503, y: 41.0), (x: -93.503, y: 41.0), (x: -93.5, y: 41.001)],
    ] {
        let area = setback_area(&[line.clone().into()], DISTANCE_M, &crs).expect("on the plane");
        let dense = along(&line, 600);
        assert!(area.is_valid());
        for ring in outlines(&area) {
            for place in along(&ring, 3) {
                let away_m = geodesic_to(place, &dense);
                // The places along the line are 0.5 m apart: at most 1 mm farther than the line itself.
                assert!(away_m + 0.001 >= DISTANCE_M, "{away_m}");
                assert!(away_m <= MOST_TIMES * DISTANCE_M + 0.005, "{away_m}");
            }
        }
        assert!(dense.iter().all(|at| area.contains(at)));
    }
}

#[test]
fn a_long_straight_line_bends_as_degrees_do() {
    // 10 km east: straight in degrees is 1.7 m off straight on the plane.
    let crs = work_crs_at(-93.5, 41.0);
    let line = line_string![(x: -93.56, y: 41.0), (x: -93.44, y: 41.0)];
    let area = setback_area(&[line.clone().into()], 1.0, &crs).expect("on the plane");
    assert!(along(&line, 500).iter().all(|at| area.contains(at)));
    let (west, east) = (point!(x: -93.56, y: 41.0), point!(x: -93.44, y: 41.0));
    let strip_m2 = 2.0 * Geodesic.distance(west, east);
    assert!((area.geodesic_area_unsigned() / strip_m2 - 1.0).abs() < 0.02);
}

#[test]
fn a_polygon_grows_outwards_and_its_hole_shrinks() {
    let crs = work_crs_at(-93.5, 41.0);
    let pond = polygon![
        exterior: [(x: -93.503, y: 40.999), (x: -93.497, y: 40.999), (x: -93.497, y: 41.001), (x: -93.503, y: 41.001)],
        interiors: [[(x: -93.501, y: 40.9995), (x: -93.499, y: 40.9995), (x: -93.499, y: 41.0005), (x: -93.501, y: 41.0005)]],
    ];
    let area = setback_area(&[pond.clone().into()], DISTANCE_M, &crs).expect("on the plane");
    assert_eq!((area.0.len(), area.0[0].interiors().len()), (1, 1));
    let edges: Vec<Point<f64>> =
        [pond.exterior(), &pond.interiors()[0]].into_iter().flat_map(|ring| along(ring, 500)).collect();
    for place in outlines(&area).iter().flat_map(|ring| along(ring, 3)) {
        assert!(!pond.contains(&place));
        let away_m = geodesic_to(place, &edges);
        assert!(away_m + 0.002 >= DISTANCE_M && away_m <= MOST_TIMES * DISTANCE_M + 0.006, "{away_m}");
    }
    // 55.5 m of the island's 111 m are left between two strips of 30.5 m; a larger distance closes it.
    let closed = setback_area(&[pond.into()], 60.0, &crs).expect("on the plane");
    assert_eq!(closed.0[0].interiors().len(), 0);
}

#[test]
fn at_distance_0_polygons_stand_as_they_are() {
    let crs = work_crs_at(-93.5, 41.0);
    let square = |west: f64, size: f64| polygon![(x: west, y: 41.0), (x: west + size, y: 41.0), (x: west + size, y: 41.0 + size), (x: west, y: 41.0 + size)];
    let pond = square(-93.5, 0.001);
    let area = setback_area(&[pond.clone().into()], 0.0, &crs).expect("on the plane");
    assert!(area.xor(&MultiPolygon::from(pond.clone())).unsigned_area() < 1e-15);
    for corner in pond.exterior().points() {
        assert!(geodesic_to(corner, &area.exterior_coords_iter().map(Point).collect::<Vec<_>>()) < 1e-4);
    }
    // Two that overlap are one.
    let two = setback_area(&[pond.clone().into(), square(-93.4995, 0.001).into()], 0.0, &crs).expect("on the plane");
    assert_eq!(two.0.len(), 1);
    assert!((two.unsigned_area() / 1.5e-6 - 1.0).abs() < 1e-6);
    // Points and lines have no ground.
    let none = setback_area(&[point!(x: -93.5, y: 41.0).into()], 0.0, &crs).expect("on the plane");
    assert!(none.0.is_empty());
}

#[test]
fn rings_that_cross_or_stand_in_the_wrong_order_are_never_less_ground() {
    let crs = work_crs_at(-93.5, 41.0);
    let at = |x: f64, y: f64| (-93.5 + x * 1e-4, 41.0 + y * 1e-4);
    let ring = |places: &[(f64, f64)]| LineString::from(places.iter().map(|&(x, y)| at(x, y)).collect::<Vec<_>>());
    let places = |list: &[(f64, f64)]| list.iter().map(|&(x, y)| Point::from(at(x, y))).collect::<Vec<_>>();
    let outer = ring(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0), (0.0, 0.0)]);
    let inner = ring(&[(4.0, 4.0), (6.0, 4.0), (6.0, 6.0), (4.0, 6.0), (4.0, 4.0)]);
    for (name, polygon, kept_off) in [
        (
            "figure of eight",
            Polygon::new(ring(&[(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0), (0.0, 0.0)]), vec![]),
            places(&[(1.0, 5.0), (9.0, 5.0)]),
        ),
        ("hole first", Polygon::new(inner.clone(), vec![outer.clone()]), places(&[(2.0, 2.0), (8.0, 8.0)])),
        (
            "clockwise",
            Polygon::new(LineString(outer.0.iter().rev().copied().collect()), vec![inner]),
            places(&[(2.0, 2.0)]),
        ),
        (
            "walked twice",
            Polygon::new(LineString([outer.0.clone(), outer.0.clone()].concat()), vec![]),
            places(&[(5.0, 5.0)]),
        ),
    ] {
        let area = setback_area(&[polygon.into()], 0.0, &crs).expect("on the plane");
        assert!(area.is_valid(), "{name}");
        assert!(kept_off.iter().all(|place| area.contains(place)), "{name}");
    }
}

#[test]
fn a_dense_walk_is_thinned_and_still_kept_off() {
    // A track of 4,000 places, a place about every 0.4 m, wobbling by some centimeters.
    let crs = work_crs_at(-93.5, 41.0);
    let walk: LineString<f64> = (0..4000)
        .map(|step| {
            let turn = f64::from(step) * 0.002;
            let wobble = 3e-7 * f64::from(step * 7919 % 11);
            (-93.5 + 0.003 * turn.sin() + wobble, 41.0 + 0.002 * (0.7 * turn).cos() - wobble)
        })
        .collect();
    let area = setback_area(&[walk.clone().into()], DISTANCE_M, &crs).expect("on the plane");
    let walked: Vec<Point<f64>> = along(&walk, 1);
    for place in outlines(&area).iter().flat_map(|ring| along(ring, 2)).step_by(25) {
        let away_m = geodesic_to(place, &walked);
        assert!(away_m + 0.001 >= DISTANCE_M && away_m <= MOST_TIMES * DISTANCE_M + 0.005, "{away_m}");
    }
}

#[test]
fn random_shapes_keep_every_place_within_the_distance() {
    // A linear congruential generator, seed named: 20 awkward lines and their closed polygons.
    let mut state: u64 = 20_260_302;
    let mut random = move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    let crs = work_crs_at(-93.5, 41.0);
    for _ in 0..20 {
        let n = 3 + (random() * 8.0) as usize;
        let line: LineString<f64> = (0..n).map(|_| (-93.5 + 0.004 * random(), 41.0 + 0.003 * random())).collect();
        let closed = Polygon::new(line.clone(), Vec::new());
        for shape in [Geometry::from(line.clone()), Geometry::from(closed.clone())] {
            let area = setback_area(std::slice::from_ref(&shape), DISTANCE_M, &crs).expect("on the plane");
            assert!(area.is_valid());
            let edge = if matches!(shape, Geometry::Polygon(_)) { closed.exterior() } else { &line };
            for place in along(edge, 10) {
                assert!(area.contains(&place));
                let circle = (0..12).map(|step| (f64::from(step) * std::f64::consts::TAU / 12.0).sin_cos());
                for (sin, cos) in circle {
                    // A little inside the distance, on a circle wide enough for the difference of degrees.
                    let (x, y) = (
                        place.x() + 0.99 * DISTANCE_M * cos / 84_400.0,
                        place.y() + 0.99 * DISTANCE_M * sin / 111_200.0,
                    );
                    let near = point!(x: x, y: y);
                    assert!(Geodesic.distance(place, near) > DISTANCE_M || area.contains(&near));
                }
            }
        }
    }
}

#[test]
fn a_county_of_wells_keeps_only_those_near_the_field() {
    let field = field_at(-93.5, 41.0);
    let wells: Vec<Geometry<f64>> =
        [(-93.5, 41.0), (-93.2, 41.3), (-94.1, 40.8)].into_iter().map(|at| Point::from(at).into()).collect();
    let read = Setback::around(&settings(DISTANCE_M), &wells, &field).expect("some is left");
    assert_eq!((read.value.name.as_str(), read.value.area.0.len(), read.warnings.len()), ("well, 100 ft", 1, 0));
    assert!(read.value.applies_to("POT"));
    let share = kept_off_share(&[&read.value.area], &field);
    let disc_m2 = std::f64::consts::PI * DISTANCE_M * DISTANCE_M;
    assert!((share * field.area_m2() / disc_m2 - 1.0).abs() < 0.01);
    assert_eq!(nearest_m(&wells, &field), Some(0.0));
    // The same ground twice counts once.
    assert!((kept_off_share(&[&read.value.area, &read.value.area], &field) - share).abs() < 1e-12);
}

#[test]
fn a_line_through_the_county_is_cut_to_the_field() {
    let field = field_at(-93.5, 41.0);
    let river = line_string![(x: -94.5, y: 40.2), (x: -93.51, y: 41.0), (x: -93.49, y: 41.001), (x: -92.0, y: 42.0)];
    let read = Setback::around(&settings(DISTANCE_M), &[river.clone().into()], &field).expect("some is left");
    let whole = setback_area(&[river.into()], DISTANCE_M, field.work_crs()).expect("on the plane");
    let (by_piece, by_whole) = (kept_off_share(&[&read.value.area], &field), kept_off_share(&[&whole], &field));
    // Far ends stretch the plane a little: the whole river is kept off a little farther.
    assert!(by_piece > 0.05 && (by_whole / by_piece - 1.0).abs() < 0.005, "{by_piece} {by_whole}");
}

#[test]
fn features_beside_the_field_are_told_with_their_distance() {
    let field = field_at(-93.5, 41.0);
    let told = |shape: Geometry<f64>| {
        let read = Setback::around(&settings(DISTANCE_M), &[shape], &field).expect("all is left");
        assert_eq!(read.warnings.len(), 1);
        (read.warnings[0].message.clone(), read.warnings[0].help.clone().unwrap_or_default())
    };
    // 0.0025 degree of longitude east of the edge: 84.4 km a degree at latitude 41.
    let beside = point!(x: -93.4925, y: 41.0);
    let away_m = Geodesic.distance(point!(x: -93.495, y: 41.0), beside);
    assert!((nearest_m(&[beside.into()], &field).expect("a shape") / away_m - 1.0).abs() < 0.001);
    let (message, help) = told(beside.into());
    assert_eq!(
        message,
        "`well, 100 ft` keeps off no ground of the field: the nearest feature of `well.geojson` lies 690 ft (210 m) away"
    );
    assert!(help.contains("wrong CRS?"));
    // A fence of one piece: the nearest place lies between its ends.
    let fence = line_string![(x: -93.51, y: 41.004), (x: -93.49, y: 41.004)];
    let north_m = Geodesic.distance(point!(x: -93.5, y: 41.0025), point!(x: -93.5, y: 41.004));
    assert!((nearest_m(&[fence.into()], &field).expect("a shape") / north_m - 1.0).abs() < 0.003);
    let (message, help) = told(point!(x: -96.5, y: 41.0).into());
    assert!(message.ends_with("lies 157 miles (252 km) away") && help.contains("exchanged?"), "{message}; {help}");
    let swapped = Setback::around(&settings(DISTANCE_M), &[point!(x: 50.0, y: 10.0).into()], &field_at(10.0, 50.0));
    assert!(
        swapped.expect("all is left").warnings[0].help.as_deref().is_some_and(|help| help.starts_with("longitude and"))
    );
}

#[test]
fn the_whole_field_or_no_distance_is_refused() {
    let field = field_at(-93.5, 41.0);
    let own = Geometry::MultiPolygon(field.lon_lat().clone());
    for distance_m in [0.0, DISTANCE_M] {
        let fault = Setback::around(&settings(distance_m), std::slice::from_ref(&own), &field).expect_err("all of it");
        assert_eq!(fault.code.name, "keep-off-whole-field");
    }
    let well = Geometry::from(point!(x: -93.5, y: 41.0));
    let fault = Setback::around(&settings(0.0), &[own, well], &field).expect_err("a point at 0");
    assert_eq!(fault.code.name, "keep-off-without-distance");
    assert_eq!(fault.message, "`well.geojson` holds 1 point or line, and a distance of 0 keeps nothing off them");
}
