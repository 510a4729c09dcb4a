//! Field outlines and CRSs through the public interface. Awkward outlines belong here.

use std::process::Command;

use holdground::boundary::{FieldBoundary, StatedPolygon};
use holdground::cell_grid::{CellGrid, Site};
use holdground::crs::{InputCrs, LonLat, WorkCrsChoice};
use holdground::diagnostic::{Checked, Diagnostic, Severity};

/// Area of a 0.01 degree cell with south-west corner 93.5 W, 41 N, m2 [project reference table, printed to 4 decimals].
const CELL_AREA_M2: f64 = 934_284.308_6;
/// The table's last digit.
const TOL_TABLE_M2: f64 = 1e-4;

type Ring = Vec<LonLat>;

fn square(west: f64, south: f64, side: f64) -> Ring {
    vec![(west, south), (west + side, south), (west + side, south + side), (west, south + side), (west, south)]
}

fn flipped(ring: &Ring) -> Ring {
    ring.iter().rev().copied().collect()
}

fn build(rings: &[Ring]) -> Result<Checked<FieldBoundary>, Vec<Diagnostic>> {
    FieldBoundary::from_rings(rings, None, &WorkCrsChoice::Derived)
}

fn sound(rings: &[Ring]) -> FieldBoundary {
    build(rings).expect("sound outline").value
}

/// Twice the area, positive if counter-clockwise.
fn doubled_area(ring: &[(f64, f64)]) -> f64 {
    let (x0, y0) = ring[0];
    ring.windows(2).map(|side| (side[0].0 - x0) * (side[1].1 - y0) - (side[1].0 - x0) * (side[0].1 - y0)).sum()
}

/// Field, hole, island in the hole, pond in the island, and a second part with a hole; side lengths are multiples of
/// 0.001 degree.
fn islands() -> Vec<Ring> {
    vec![
        square(-93.50, 41.00, 0.010),
        square(-93.498, 41.002, 0.006),
        square(-93.496, 41.004, 0.002),
        square(-93.4955, 41.0045, 0.001),
        square(-93.48, 41.00, 0.004),
        square(-93.479, 41.001, 0.001),
    ]
}

#[test]
fn area_is_that_of_the_reference_cell_whichever_way_it_is_drawn() {
    for ring in [square(-93.5, 41.0, 0.01), flipped(&square(-93.5, 41.0, 0.01))] {
        let boundary = sound(&[ring]);
        assert!((boundary.area_m2() - CELL_AREA_M2).abs() < TOL_TABLE_M2, "{}", boundary.area_m2());
        assert!((boundary.area_ac() - CELL_AREA_M2 / 4_046.856_422_4).abs() < 1e-6);
        assert!((boundary.area_ha() - 93.428_430_86).abs() < 1e-7);
    }
}

#[test]
fn parts_and_holes_follow_from_nesting_whatever_the_order_and_direction() {
    let expected = sound(&islands());
    assert_eq!((expected.n_parts(), expected.n_holes()), (3, 3));
    let area = |ring: &Ring| sound(std::slice::from_ref(ring)).area_m2();
    let signed: f64 =
        islands().iter().zip([1.0, -1.0, 1.0, -1.0, 1.0, -1.0]).map(|(ring, sign)| sign * area(ring)).sum();
    assert!((expected.area_m2() - signed).abs() < 1e-3, "{} {signed}", expected.area_m2());
    for turn in 0..6 {
        for flips in [0_u32, 0b111_111, 0b010_101, 0b101_010] {
            let mut rings: Vec<Ring> = islands()
                .iter()
                .enumerate()
                .map(|(index, ring)| if flips >> index & 1 == 1 { flipped(ring) } else { ring.clone() })
                .collect();
            rings.rotate_left(turn);
            let found = sound(&rings);
            assert_eq!((found.n_parts(), found.n_holes()), (3, 3));
            assert!((found.area_m2() - expected.area_m2()).abs() < 1e-6);
            for (polygon, local) in found.lon_lat().iter().zip(found.local()) {
                for polygon in [polygon, local] {
                    let points = |ring: &geo::LineString<f64>| ring.coords().map(|at| (at.x, at.y)).collect::<Vec<_>>();
                    assert!(doubled_area(&points(polygon.exterior())) > 0.0);
                    assert!(polygon.interiors().iter().all(|hole| doubled_area(&points(hole)) < 0.0));
                }
            }
        }
    }
}

#[test]
fn places_are_inside_parts_and_islands_but_not_in_holes() {
    let boundary = sound(&islands());
    let at = |lon: f64, lat: f64| boundary.work_crs().to_local((lon, lat)).expect("near");
    for (lon, lat, inside) in [
        (-93.499, 41.001, true),   // field
        (-93.497, 41.003, false),  // hole
        (-93.4957, 41.0042, true), // island
        (-93.495, 41.005, false),  // pond
        (-93.4795, 41.0005, true), // second part
        (-93.4785, 41.0015, false),
        (-93.485, 41.002, false), // between the parts
    ] {
        assert_eq!(boundary.contains(at(lon, lat)), inside, "{lon} {lat}");
        assert_eq!(boundary.distance_outside_m(at(lon, lat)) == 0.0, inside, "{lon} {lat}");
    }
    // A thousandth of a degree of latitude is 111 m.
    let north_of_field = boundary.distance_outside_m(at(-93.495, 41.011));
    assert!((north_of_field - 111.0).abs() < 0.2, "{north_of_field}");
}

#[test]
fn mask_counts_the_area_and_agrees_with_contains() {
    let boundary = sound(&islands());
    let grid = CellGrid::covering(boundary.bounds_m(), 1.0);
    let mask = boundary.mask(&grid);
    let counted_m2 = mask.n_inside() as f64 * grid.cell_area_m2();
    // Easting and northing are stretched by 0.9996 here. Only cells the outline passes through can be counted wrongly,
    // each by half of itself at most.
    let plane_m2 = boundary.area_m2() * 0.9996_f64.powi(2);
    let rings = boundary.rings();
    let outline_m: f64 = rings.iter().flat_map(|ring| ring.windows(2)).map(|side| side[0].distance_m(side[1])).sum();
    assert!((counted_m2 - plane_m2).abs() < outline_m * grid.cell_m / 2.0, "{counted_m2} {plane_m2} {outline_m}");
    for cell in (0..grid.n_cells()).step_by(191) {
        let (col, row) = (cell % grid.n_cols, cell / grid.n_cols);
        assert_eq!(mask.inside()[cell], boundary.contains(grid.center(col, row)));
    }
}

#[test]
fn rings_keep_the_stated_vertices_and_match_in_both_systems() {
    let rings = islands();
    let boundary = sound(&rings);
    let (local, lon_lat) = (boundary.rings(), boundary.rings_lon_lat());
    assert_eq!(local.len(), 6);
    for (local, lon_lat) in local.iter().zip(&lon_lat) {
        assert_eq!(lon_lat.first(), lon_lat.last());
        let stated =
            rings.iter().find(|ring| ring.contains(&lon_lat[0]) && ring.len() == lon_lat.len()).expect("a stated ring");
        assert!(lon_lat.iter().all(|place| stated.contains(place)), "to the last bit");
        for (site, place) in local.iter().zip(lon_lat) {
            assert_eq!(Some(*site), boundary.work_crs().to_local(*place));
        }
    }
    let [west, east, south, north] = boundary.bounds_m();
    assert!(west >= 0.0 && south >= 0.0 && east < 5000.0 && north < 3000.0, "{:?}", boundary.bounds_m());
}

#[test]
fn roles_the_file_states_wrongly_are_told() {
    let rings = islands();
    let polygon = |exterior, interiors: &[usize]| StatedPolygon { exterior, interiors: interiors.to_vec() };
    let told = |stated: &[StatedPolygon]| -> Vec<String> {
        let checked = FieldBoundary::from_rings(&rings, Some(stated), &WorkCrsChoice::Derived).expect("sound outline");
        assert!(checked.warnings.iter().all(|warning| warning.severity == Severity::Warning));
        checked.warnings.into_iter().map(|warning| warning.message).collect()
    };
    assert_eq!(told(&[polygon(0, &[1]), polygon(2, &[3]), polygon(4, &[5])]), Vec::<String>::new());
    assert_eq!(
        told(&[polygon(0, &[]), polygon(1, &[]), polygon(2, &[3]), polygon(4, &[5])]),
        ["ring 2 is stated as a polygon of its own but lies inside ring 1: taken as a hole"]
    );
    assert_eq!(
        told(&[polygon(0, &[1, 2, 3]), polygon(4, &[5])]),
        [
            "ring 3 is stated as a hole of ring 1 but lies in no part: taken as a part",
            "ring 4 is stated as a hole of ring 1 but lies inside ring 3: taken as a hole of that",
        ]
    );
}

#[test]
fn outlines_that_cannot_be_proven_are_refused_with_reason_and_place() {
    let field = square(-93.5, 41.0, 0.01);
    let bow_tie = vec![(-93.5, 41.0), (-93.49, 41.01), (-93.49, 41.0), (-93.5, 41.01), (-93.5, 41.0)];
    let collapsed = vec![(-93.5, 41.0), (-93.49, 41.0), (-93.5, 41.0)];
    for (rings, expected) in [
        (vec![], "the outline has no ring, at least one is expected"),
        (vec![bow_tie], "ring 1 crosses itself near lon -93.495000, lat 41.005000"),
        (vec![collapsed], "ring 1 has 2 different points in a row, at least 3 are expected"),
        (vec![field.clone(), flipped(&field)], "ring 2 repeats ring 1, from lon -93.500000, lat 41.000000"),
        (vec![field.clone(), square(-93.495, 41.005, 0.01)], "rings 1 and 2 cross near lon -93.495000, lat 41.010000"),
        (
            vec![field.clone(), square(-93.5, 41.01, 0.005)],
            "rings 1 and 2 share a stretch near lon -93.500000, lat 41.010000",
        ),
        (
            vec![square(-93.5, 95.0, 0.01)],
            "ring 1, point 1: lon -93.500000, lat 95.000000 is out of range, longitude lies in -180 to 180, latitude in -90 to 90",
        ),
        (
            vec![square(10.0, 85.0, 0.01)],
            "no UTM zone at lon 10.005000, lat 85.005000: UTM reaches from 80 south to 84 north",
        ),
    ] {
        let faults = build(&rings).expect_err(expected);
        assert_eq!(faults[0].message, expected);
    }
}

#[test]
fn open_rings_are_closed_and_repeated_points_dropped() {
    let mut ring = square(-93.5, 41.0, 0.01);
    ring.pop();
    ring.insert(2, ring[1]);
    let checked = build(&[ring]).expect("closed");
    assert!((checked.value.area_m2() - CELL_AREA_M2).abs() < TOL_TABLE_M2);
    assert_eq!(checked.value.rings_lon_lat()[0].len(), 5);
    assert_eq!(
        checked.warnings[0].message,
        "ring 1 did not end where it began and was closed at lon -93.500000, lat 41.000000"
    );
}

#[test]
fn fields_on_every_side_of_the_globe_and_at_zone_borders_work() {
    for (west, south, name) in [
        (-41.2, -21.6, "UTM zone 24 south"),
        (151.0, -33.0, "UTM zone 56 south"),
        (13.0, 52.0, "UTM zone 33 north"),
        (-96.004, 41.0, "UTM zone 15 north"), // mostly east of the border at 96 W
        (-96.006, 41.0, "UTM zone 14 north"), // mostly west of it
        (30.0, -0.004, "UTM zone 36 north"),  // across the equator
        (179.99, -17.0, "UTM zone 60 south"),
    ] {
        let boundary = sound(&[square(west, south, 0.01)]);
        assert!(boundary.work_crs().name().starts_with(name), "{}", boundary.work_crs().name());
        let [w, e, s, n] = boundary.bounds_m();
        let plane_m2 = boundary.area_m2();
        // The bounds are a little larger than the turned square, the plane's scale is within 0.1 %.
        assert!(
            w >= -100.0 && s >= -100.0 && (e - w) * (n - s) > plane_m2 * 0.998 && (e - w) * (n - s) < plane_m2 * 1.11
        );
        let middle = boundary.work_crs().to_local((west + 0.005, south + 0.005)).expect("near");
        assert!(boundary.contains(middle));
        let (lon, lat) = boundary.work_crs().to_lon_lat(middle).expect("near");
        assert!((lon - west - 0.005).abs() < 2e-8 && (lat - south - 0.005).abs() < 2e-8, "within 1 mm: {lon} {lat}");
    }
}

#[test]
fn stated_work_crs_is_used_and_an_unfit_one_refused() {
    let rings = [square(-93.5, 41.0, 0.01)];
    let stated = |text: &str| FieldBoundary::from_rings(&rings, None, &WorkCrsChoice::Stated(text.to_string()));
    let derived = sound(&rings);
    assert_eq!(stated("EPSG:32615").expect("the same zone").value, derived);
    let neighbor = stated("EPSG:32614").expect("the zone beside").value;
    assert!(neighbor.work_crs().name().starts_with("UTM zone 14 north"));
    assert_eq!(neighbor.area_m2(), derived.area_m2());
    let faults = stated("+proj=merc +datum=WGS84 +units=m").expect_err("stretched");
    // A Mercator map stretches by 1 / cos(41) = 1.325, on the ellipsoid 1.322 to 1.327.
    assert!(faults[0].message.contains("distorts distances at the field by 32."), "{}", faults[0].message);
}

/// Conversions that must not depend on which PROJ data the environment names.
#[test]
fn crs_work_gives_the_reference_places() {
    let boundary = sound(&[square(-93.5, 41.0, 0.01)]);
    let (origin_east_m, origin_north_m) = boundary.work_crs().origin_m();
    let site = boundary.work_crs().to_local((-93.5, 41.0)).expect("its corner");
    // [project reference table] EPSG:32615, here to the work plane's millimeter.
    assert!((site.east_m + origin_east_m - 457_949.159).abs() < 1e-6, "{site:?}");
    assert!((site.north_m + origin_north_m - 4_538_877.438).abs() < 1e-6, "{site:?}");
    let (mut xs, mut ys) = ([272_241.749_171], [7_609_836.136_223]);
    InputCrs::from_text("EPSG:32724").expect("known").to_lon_lat(&mut xs, &mut ys).expect("inside");
    assert!((xs[0] + 41.2).abs() < 1e-9 && (ys[0] + 21.6).abs() < 1e-9, "{xs:?} {ys:?}");
}

#[test]
fn proj_data_of_an_older_proj_in_the_environment_changes_nothing() {
    let older = "/usr/share/proj";
    assert!(std::path::Path::new(older).is_dir(), "Debian's PROJ data is expected in {older}: install libgdal-dev");
    // The environment of this process is shared with other tests: the check runs again in one of its own.
    let output = Command::new(std::env::current_exe().expect("this test binary"))
        .args(["crs_work_gives_the_reference_places", "--nocapture"])
        .env("PROJ_DATA", older)
        .env("PROJ_LIB", older)
        .output()
        .expect("it runs");
    let (out, err) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert!(output.status.success() && out.contains("1 passed"), "{out}{err}");
    // PROJ itself remarks on the older database, which it then does not use.
    let mut remarks = err.lines().filter(|line| line.to_lowercase().contains("proj"));
    assert!(remarks.all(|line| line.contains("It comes from another PROJ installation")), "{err}");
}

#[test]
fn boundary_may_be_shared_between_threads() {
    let boundary = sound(&islands());
    let site = boundary.work_crs().to_local((-93.499, 41.001)).expect("near");
    let inside = std::thread::scope(|scope| {
        let ask =
            || boundary.contains(site) && boundary.work_crs().to_lon_lat(Site { east_m: 1.0, north_m: 1.0 }).is_some();
        [scope.spawn(ask), scope.spawn(ask)].map(|thread| thread.join().expect("no panic"))
    });
    assert_eq!(inside, [true, true]);
}
