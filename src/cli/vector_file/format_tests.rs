//! Each format for real: files made by GDAL itself or written by hand, read as points, polygons and outlines.

use std::path::{Path, PathBuf};

use gdal::vector::Geometry;
use gdal::vector::OGRwkbGeometryType::{wkbMultiLineString, wkbPoint, wkbPolygon};
use geo::{Contains, LineString, Polygon, point};
use holdground::boundary::FieldBoundary;
use holdground::crs::WorkCrsChoice;
use holdground::samples::PlaceShape;
use proptest::prelude::*;

use super::points::{Others, take_polygon};
use super::tests::{Folder, TOL_DEG, UTM_SQUARE, codes, polygons_geojson};
use super::*;

/// [project reference table] (457949.159, 4538877.438) in UTM zone 15 north is lon -93.5, lat 41.0.
const UTM_POINT: &str = "POINT(457949.159038 4538877.438193)";
const RING: &str = "-93.51 41,-93.5 41,-93.5 41.01,-93.51 41.01,-93.51 41";

fn points(path: &Path, id: &str) -> Vec<(String, f64, f64)> {
    let read = read_points(path, id, None, PlaceShape::Points).unwrap_or_else(|faults| panic!("{path:?}: {faults:#?}"));
    read.points.into_iter().map(|point| (point.id, point.lon, point.lat)).collect()
}

fn outline(path: &Path) -> OutlineFile {
    read_outline(path, None, OutlineLine::Refuse).unwrap_or_else(|faults| panic!("{path:?}: {faults:#?}"))
}

#[test]
fn points_are_read_from_every_format() {
    let folder = Folder::new();
    let rows = [("007", "POINT(-93.5 41)"), ("A-12", "POINT(-93.503 41.002)")];
    for (driver, name, id) in [
        ("ESRI Shapefile", "cores.shp", "ID"),
        ("GPKG", "cores.gpkg", "ID"),
        ("GeoJSON", "cores.geojson", "ID"),
        ("FlatGeobuf", "cores.fgb", "ID"),
        ("MapInfo File", "cores.tab", "ID"),
        ("LIBKML", "cores.kml", "ID"),
        ("LIBKML", "cores.kmz", "ID"),
    ] {
        let path = folder.make(driver, name, Some(4326), wkbPoint, &rows);
        let found = points(&path, id);
        let ids: Vec<&str> = found.iter().map(|(id, ..)| id.as_str()).collect();
        assert!(ids.contains(&"007") && ids.contains(&"A-12") && ids.len() == 2, "{name}: {found:?}");
        let (_, lon, lat) = found.iter().find(|(id, ..)| id == "A-12").expect("it is there");
        assert!((lon + 93.503).abs() < TOL_DEG && (lat - 41.002).abs() < TOL_DEG, "{name}: {lon} {lat}");
    }
}

#[test]
fn outlines_are_read_from_every_format() {
    let folder = Folder::new();
    let wkt = format!("POLYGON(({RING}))");
    for (driver, name) in [
        ("ESRI Shapefile", "field.shp"),
        ("GPKG", "field.gpkg"),
        ("GeoJSON", "field.geojson"),
        ("FlatGeobuf", "field.fgb"),
        ("MapInfo File", "field.tab"),
        ("LIBKML", "field.kml"),
        ("LIBKML", "field.kmz"),
    ] {
        let path = folder.make(driver, name, Some(4326), wkbPolygon, &[("1", &wkt)]);
        let read = outline(&path);
        let boundary = FieldBoundary::from_rings(&read.rings_lon_lat, Some(&read.polygons), &WorkCrsChoice::Derived);
        // A quadrangle of 0.01 by 0.01 degrees at 41 N: 841.1 m by 1110.5 m on WGS 84.
        let area_ha = boundary.expect("sound").value.area_ha();
        assert!((area_ha - 93.4).abs() < 0.1, "{name}: {area_ha}");
    }
}

/// A KMZ is a zip; a ready one comes from GDAL, so nothing here packs archives. Two folders become two layers.
fn two_folders(folder: &Folder, name: &str) -> PathBuf {
    use gdal::DriverManager;
    use gdal::vector::{Feature, LayerOptions};
    let path = folder.path(name);
    let driver = DriverManager::get_driver_by_name("LIBKML").expect("built in");
    let mut dataset = driver.create_vector_only(&path).expect("file is made");
    for (layer, place, wkt) in [("west", "W-1", "POINT(-93.51 41.001)"), ("east", "E-1", "POINT(-93.5 41.002)")] {
        let layer = dataset
            .create_layer(LayerOptions { name: layer, ty: wkbPoint, ..LayerOptions::default() })
            .expect("layer is made");
        layer.create_defn_fields(&[("Name", gdal::vector::OGRFieldType::OFTString)]).expect("attribute is made");
        let mut feature = Feature::new(layer.defn()).expect("feature is made");
        feature.set_field_string(0, place).expect("name is set");
        feature.set_geometry(Geometry::from_wkt(wkt).expect("good WKT")).expect("geometry is set");
        feature.create(&layer).expect("feature is stored");
    }
    path
}

#[test]
fn all_folders_of_kml_and_kmz_give_their_points() {
    let folder = Folder::new();
    for name in ["cores.kml", "cores.kmz"] {
        let found = points(&two_folders(&folder, name), "Name");
        let ids: Vec<&str> = found.iter().map(|(id, ..)| id.as_str()).collect();
        assert_eq!(ids, ["W-1", "E-1"], "{name}");
    }
    assert_eq!(&std::fs::read(folder.path("cores.kmz")).expect("it is there")[..2], b"PK", "a zip");
    // By hand, as map editors write it: a folder in a folder.
    let pin = |name: &str, at: &str| {
        format!("<Placemark><name>{name}</name><Point><coordinates>{at},212</coordinates></Point></Placemark>")
    };
    let kml = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?><kml xmlns=\"http://www.opengis.net/kml/2.2\"><Document><Folder><name>all</name>\
         <Folder><name>one</name>{}</Folder><Folder><name>two</name>{}</Folder></Folder>{}</Document></kml>",
        pin("1", "-93.51,41.001"),
        pin("2", "-93.5,41.002"),
        pin("3", "-93.505,41.003")
    );
    let mut found = points(&folder.write("hand.kml", &kml), "name");
    found.sort_by(|a, b| a.0.cmp(&b.0));
    assert_eq!(found, [("1".into(), -93.51, 41.001), ("2".into(), -93.5, 41.002), ("3".into(), -93.505, 41.003)]);
}

#[test]
fn an_old_crs_member_moves_points_and_outlines_to_their_place() {
    let folder = Folder::new();
    let member = |name: &str| format!(r#""crs":{{"type":"name","properties":{{"name":"{name}"}}}},"#);
    let point = r#"{"type":"Feature","properties":{"id":"A"},"geometry":{"type":"Point","coordinates":[457949.159038,4538877.438193]}}"#;
    let collection = |crs: &str| format!(r#"{{"type":"FeatureCollection",{crs}"features":[{point}]}}"#);
    for name in ["urn:ogc:def:crs:EPSG::26915", "EPSG:26915"] {
        let found = points(&folder.write("cores.geojson", &collection(&member(name))), "id");
        // NAD83 and WGS 84 are one to within the 4 m GDAL states, and GDAL shifts nothing between them here.
        assert!((found[0].1 + 93.5).abs() < TOL_DEG && (found[0].2 - 41.0).abs() < TOL_DEG, "{found:?}");
        let read = outline(&folder.write("field.geojson", &polygons_geojson(&member(name), &[UTM_SQUARE])));
        assert_eq!(read.crs_name, "NAD83 / UTM zone 15N (EPSG:26915)");
        let ring = LineString::from(read.rings_lon_lat[0].clone());
        assert!(Polygon::new(ring, Vec::new()).contains(&point!(x: -93.5, y: 41.0)));
    }
    let unknown = member("urn:ogc:def:crs:EPSG::99999");
    let path = folder.write("bad.geojson", &collection(&unknown));
    let faults = read_points(&path, "id", None, PlaceShape::Points).expect_err("no such CRS");
    assert!(codes(&faults).contains(&"unreadable-vector-file"), "{faults:#?}");
    let path = folder.make("GPKG", "utm.gpkg", Some(26915), wkbPoint, &[("A", UTM_POINT)]);
    assert!((points(&path, "ID")[0].1 + 93.5).abs() < TOL_DEG);
}

const LINE: &str = "-93.51 41,-93.5 41,-93.5 41.01,-93.51 41.01,-93.51 41.0002";

#[test]
fn lines_are_closed_only_when_asked_and_only_without_polygons() {
    let folder = Folder::new();
    let close = |path: &Path| read_outline(path, None, OutlineLine::Close);
    let two = format!("MULTILINESTRING(({LINE}),(-93.52 41,-93.515 41,-93.515 41.01,-93.52 41))");
    let path = folder.make("GPKG", "walks.gpkg", Some(4326), wkbMultiLineString, &[("1", &two)]);
    let read = close(&path).expect("two rounds");
    assert_eq!((read.rings_lon_lat.len(), read.polygons.len(), read.n_features), (2, 2, 2));
    assert_eq!(codes(&read.notes), ["walked-line-closed", "walked-line-closed", "several-outlines"]);
    // 0.0002 degrees of latitude: 22.2 m.
    assert!(read.notes[0].message.contains("over a gap of 73 ft (22 m)"), "{}", read.notes[0].message);
    assert_eq!(codes(&read_outline(&path, None, OutlineLine::Refuse).expect_err("lines")), ["no-polygon-in-outline"]);
    let ring = r#"[[-93.51,41.0],[-93.5,41.0],[-93.5,41.01],[-93.51,41.01],[-93.51,41.0]]"#;
    let both = format!(
        r#"{{"type":"FeatureCollection","features":[{{"type":"Feature","properties":{{}},"geometry":{{"type":"Polygon","coordinates":[{ring}]}}}},
        {{"type":"Feature","properties":{{}},"geometry":{{"type":"LineString","coordinates":{ring}}}}}]}}"#
    );
    let read = close(&folder.write("both.geojson", &both)).expect("a polygon");
    assert_eq!((read.rings_lon_lat.len(), codes(&read.notes)), (1, vec!["vector-parts-left-out"]));
}

#[test]
fn of_a_gpx_file_tracks_are_closed_and_routes_are_not() {
    let at = |tag: &str| {
        LINE.split(',')
            .map(|place| {
                let (lon, lat) = place.split_once(' ').expect("a pair");
                format!("<{tag} lat=\"{lat}\" lon=\"{lon}\"/>")
            })
            .collect::<Vec<_>>()
    };
    let (track, route) = (at("trkpt"), at("rtept").concat());
    let head =
        "<?xml version=\"1.0\"?><gpx version=\"1.1\" creator=\"test\" xmlns=\"http://www.topografix.com/GPX/1/1\">";
    let pin = "<wpt lat=\"41\" lon=\"-93.5\"><name>gate</name></wpt>";
    let folder = Folder::new();
    // Two pieces of one track; the second begins where the first ended.
    let (first, second) = (track[..3].concat(), track[2..].concat());
    let gpx =
        format!("{head}{pin}<rte>{route}</rte><trk><trkseg>{first}</trkseg><trkseg>{second}</trkseg></trk></gpx>");
    let read = read_outline(&folder.write("walk.gpx", &gpx), None, OutlineLine::Close).expect("a round");
    assert_eq!((read.rings_lon_lat.len(), read.rings_lon_lat[0].len()), (1, 6));
    assert!(read.notes[0].message.ends_with("walked in 2 pieces"), "{}", read.notes[0].message);
    assert!(read.notes[1].message.starts_with("left out of the outline: "), "{}", read.notes[1].message);
    assert!(read.notes[1].message.contains("1 line") && read.notes[1].message.contains("1 point"));
    let gpx = format!("{head}<rte>{route}</rte></gpx>");
    let faults = read_outline(&folder.write("plan.gpx", &gpx), None, OutlineLine::Close).expect_err("a route");
    assert!(faults[0].help.as_deref().is_some_and(|help| help.contains("only tracks")), "{:?}", faults[0].help);
}

#[test]
fn polygons_give_a_point_inside_the_largest_part() {
    let folder = Folder::new();
    // An L, whose middle of gravity lies outside; two parts, the larger in the east; a ring round a pond.
    let rows = [
        ("L", "POLYGON((-93.51 41,-93.5 41,-93.5 41.001,-93.509 41.001,-93.509 41.01,-93.51 41.01,-93.51 41))"),
        (
            "two",
            "MULTIPOLYGON(((-93.54 41,-93.539 41,-93.539 41.001,-93.54 41)),((-93.53 41,-93.52 41,-93.52 41.01,-93.53 41)))",
        ),
        (
            "pond",
            "POLYGON((-93.56 41,-93.55 41,-93.55 41.01,-93.56 41.01,-93.56 41),(-93.559 41.001,-93.551 41.001,-93.551 41.009,-93.559 41.009,-93.559 41.001))",
        ),
    ];
    let path = folder.make("GPKG", "zones.gpkg", Some(4326), wkbPolygon, &rows);
    let read = read_points(&path, "id", None, PlaceShape::Polygons).expect("three");
    for (point, (id, wkt)) in read.points.iter().zip(rows) {
        let polygon = Geometry::from_wkt(wkt).expect("good WKT").to_geo().expect("a polygon");
        assert!(point.id == id && polygon.contains(&point!(x: point.lon, y: point.lat)), "{point:?}");
    }
    assert!(read.points[1].lon > -93.531, "in the larger part: {:?}", read.points[1]);
    assert_eq!(codes(&read.notes), ["vector-parts-left-out", "composites-at-points"]);
    assert_eq!(read.notes[1].message, "3 composite samples stand at one point each, inside their polygons");
    // The other way round both name the key.
    let faults = read_points(&path, "id", None, PlaceShape::Points).expect_err("no points");
    assert!(faults[0].help.as_deref().is_some_and(|help| help.contains("`take = \"polygons\"`")));
    let cores = folder.make("GPKG", "cores.gpkg", Some(4326), wkbPoint, &[("1", "POINT(-93.5 41)")]);
    let faults = read_points(&cores, "id", None, PlaceShape::Polygons).expect_err("no polygons");
    assert!(faults[0].message.ends_with("holds no polygon, found 1 other features"), "{}", faults[0].message);
    assert!(faults[0].help.as_deref().is_some_and(|help| help.starts_with("take `take` out")));
    let twice = folder.make("GPKG", "twice.gpkg", Some(4326), wkbPolygon, &[rows[0], ("L", rows[2].1)]);
    let faults = read_points(&twice, "id", None, PlaceShape::Polygons).expect_err("one id twice");
    assert_eq!(codes(&faults), ["point-id-repeated"]);
}

proptest! {
    #[test]
    fn no_ring_however_tangled_stops_the_reading(corners in prop::collection::vec((0..6_i32, 0..6_i32), 3..9)) {
        let mut ring: Vec<String> = corners.iter().map(|(x, y)| format!("{x} {y}")).collect();
        ring.push(ring[0].clone());
        let wkt = format!("POLYGON(({}))", ring.join(","));
        let mut place = Vec::new();
        take_polygon(&Geometry::from_wkt(&wkt).expect("good WKT"), &mut place, &mut Others::default());
        prop_assert!(place.iter().all(|(x, y)| (0.0..=6.0).contains(x) && (0.0..=6.0).contains(y)), "{wkt}: {place:?}");
    }
}
