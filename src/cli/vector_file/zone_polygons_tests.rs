use gdal::vector::OGRwkbGeometryType;
use geo::Area;

use super::tests::{Folder, TOL_DEG, UTM_SQUARE, codes, polygons_geojson};
use super::zone_polygons::read_zone_polygons;

fn square(name: &str, west: f64) -> String {
    let east = west + 0.01;
    format!(
        r#"{{"type":"Feature","properties":{{"Zone":{name},"other":1}},"geometry":{{"type":"Polygon","coordinates":[[[{west},41],[{east},41],[{east},41.01],[{west},41.01],[{west},41]]]}}}}"#
    )
}

fn collection(features: &[String]) -> String {
    format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","))
}

#[test]
fn polygons_of_one_name_are_one_zone_in_the_order_of_the_file() {
    let folder = Folder::new();
    let point =
        r#"{"type":"Feature","properties":{"Zone":9},"geometry":{"type":"Point","coordinates":[-93.5,41]}}"#.to_owned();
    let empty = r#"{"type":"Feature","properties":{"Zone":8},"geometry":null}"#.to_owned();
    let text = collection(&[square("2", -93.5), square("1", -93.49), square("2.0", -93.4), point, empty]);
    let file = read_zone_polygons(&folder.write("zones.geojson", &text), "zone", None).expect("readable");
    let found: Vec<(&str, usize)> = file.zones.iter().map(|(name, ground)| (name.as_str(), ground.0.len())).collect();
    assert_eq!(found, [("2", 2), ("1", 1)], "numbers of one value are one name");
    assert!((file.zones[0].1.unsigned_area() - 2e-4).abs() < 1e-12);
    assert_eq!((file.n_features, file.crs_name.as_str()), (3, "WGS 84 (EPSG:4326)"));
    let said: Vec<&str> = file.notes.iter().map(|note| note.message.as_str()).collect();
    assert_eq!(said, ["left out of the zones: 1 point", "left out of the zones: 1 features without a place"]);
}

#[test]
fn a_shapefile_in_meters_with_several_parts_and_holes_is_read() {
    let wkt = "MULTIPOLYGON(((457000 4538000,457000 4539000,458000 4539000,458000 4538000,457000 4538000),\
        (457400 4538400,457600 4538400,457600 4538600,457400 4538400)),\
        ((459000 4538000,459000 4538100,459100 4538000,459000 4538000)))";
    let folder = Folder::new();
    let rows = [
        ("heavy", wkt),
        ("sandy", "POLYGON((457949.159038 4538877.438193,460000 4540000,460000 4538000,457949.159038 4538877.438193))"),
    ];
    let path = folder.make("ESRI Shapefile", "zones.shp", Some(32615), OGRwkbGeometryType::wkbPolygon, &rows);
    let file = read_zone_polygons(&path, "ID", None).expect("readable");
    assert_eq!(file.accuracy, "same datum as WGS 84, no shift");
    let [heavy, sandy] = &file.zones[..] else { panic!("two zones") };
    assert_eq!((heavy.0.as_str(), heavy.1.0.len(), heavy.1.0[0].interiors().len()), ("heavy", 2, 1));
    // [project reference table] EPSG:32615 to WGS 84.
    let nearest = sandy.1.0[0].exterior().coords().map(|at| (at.x + 93.5).hypot(at.y - 41.0));
    assert!(nearest.fold(f64::INFINITY, f64::min) < TOL_DEG);
}

#[test]
fn zones_without_name_attribute_or_polygon_are_refused() {
    let folder = Folder::new();
    let blank = collection(&[square("\" \"", -93.5), square("null", -93.49), square("\"a\"", -93.4)]);
    let blank = folder.write("blank.geojson", &blank);
    let faults = read_zone_polygons(&blank, "Zone", None).expect_err("two have no name");
    let said: Vec<&str> = faults.iter().map(|fault| fault.message.as_str()).collect();
    assert_eq!(
        said,
        [
            "the polygon that begins at lon -93.500000, lat 41.000000 has no `Zone`",
            "the polygon that begins at lon -93.490000, lat 41.000000 has no `Zone`",
        ]
    );
    let faults = read_zone_polygons(&blank, "class", None).expect_err("no such attribute");
    assert_eq!(faults[0].message, "zones have no attribute `class`; found: `Zone`, `other`");
    let line = r#"{"type":"Feature","properties":{"Zone":1},"geometry":{"type":"LineString","coordinates":[[-93.5,41],[-93.4,41]]}}"#;
    let faults = read_zone_polygons(&folder.write("line.geojson", line), "Zone", None).expect_err("a line");
    assert_eq!(codes(&faults), ["no-zone-polygon"]);
    assert!(faults[0].message.ends_with("holds no polygon, found 1 line"));
    let meters = folder.write("meters.geojson", &polygons_geojson("", &[UTM_SQUARE]));
    assert_eq!(codes(&read_zone_polygons(&meters, "Zone", None).expect_err("no attribute")), ["zone-name-missing"]);
}
