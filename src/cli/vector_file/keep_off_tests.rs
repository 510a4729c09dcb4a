use gdal::vector::OGRwkbGeometryType;
use geo::{Area, Geometry};

use super::read_keep_off;
use super::tests::{Folder, TOL_DEG, UTM_SQUARE, codes, polygons_geojson};

fn kinds(shapes: &[Geometry<f64>]) -> Vec<&'static str> {
    let kind = |shape: &Geometry<f64>| match shape {
        Geometry::Point(_) => "point",
        Geometry::LineString(_) => "line",
        Geometry::Polygon(_) => "polygon",
        _ => "other",
    };
    shapes.iter().map(kind).collect()
}

fn collection(geometries: &[&str]) -> String {
    let feature = |geometry: &&str| format!(r#"{{"type":"Feature","properties":{{}},"geometry":{geometry}}}"#);
    let features: Vec<String> = geometries.iter().map(feature).collect();
    format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","))
}

#[test]
fn points_lines_and_polygons_are_taken_from_one_file() {
    let text = collection(&[
        r#"{"type":"Point","coordinates":[-93.5,41.0,250]}"#,
        r#"{"type":"MultiPoint","coordinates":[[-93.51,41.0],[-93.52,41.0]]}"#,
        r#"{"type":"LineString","coordinates":[[-93.5,41.0],[-93.51,41.01]]}"#,
        r#"{"type":"MultiLineString","coordinates":[[[-93.5,41.0],[-93.51,41.01]],[[-93.4,41.0],[-93.41,41.01]]]}"#,
        r#"{"type":"GeometryCollection","geometries":[
            {"type":"Point","coordinates":[-93.53,41.0]},
            {"type":"Polygon","coordinates":[[[-93.5,41,9],[-93.49,41,9],[-93.49,41.01,9],[-93.5,41.01,9],[-93.5,41,9]],
             [[-93.497,41.003,9],[-93.495,41.003,9],[-93.495,41.005,9],[-93.497,41.003,9]]]}]}"#,
        "null",
    ]);
    let file = read_keep_off(&Folder::new().write("features.geojson", &text), None).expect("readable");
    assert_eq!(
        kinds(&file.shapes),
        ["polygon", "line", "line", "line", "point", "point", "point", "point"],
        "polygons, lines, points of the layer"
    );
    let Geometry::Polygon(pond) = &file.shapes[0] else { panic!("a polygon") };
    // 0.01 by 0.01 degree less a triangle of half of 0.002 by 0.002.
    assert!((pond.unsigned_area() - 0.98e-4).abs() < 1e-9);
    assert_eq!(file.shapes[4], geo::point!(x: -93.5, y: 41.0).into());
    assert_eq!((file.n_features, file.crs_name.as_str()), (5, "WGS 84 (EPSG:4326)"));
    let said: Vec<&str> = file.notes.iter().map(|note| note.message.as_str()).collect();
    assert_eq!(said, ["not kept off: 1 features without a place", "heights of 1 polygons are left out"]);
}

#[test]
fn any_layer_any_format_any_crs() {
    let folder = Folder::new();
    let rows = [("1", "POINT(457949.159038 4538877.438193)")];
    let wells = folder.make("ESRI Shapefile", "wells.shp", Some(32615), OGRwkbGeometryType::wkbPoint, &rows);
    let file = read_keep_off(&wells, None).expect("readable");
    let Geometry::Point(well) = file.shapes[0] else { panic!("a point") };
    // [project reference table] EPSG:32615 to WGS 84.
    assert!((well.x() + 93.5).abs() < TOL_DEG && (well.y() - 41.0).abs() < TOL_DEG);
    let no_crs = folder.make("ESRI Shapefile", "bare.shp", None, OGRwkbGeometryType::wkbPoint, &rows);
    let faults = read_keep_off(&no_crs, None).expect_err("no CRS");
    assert_eq!(codes(&faults), ["vector-file-without-crs"]);
    assert_eq!(faults[0].help.as_deref(), Some("state it as `crs` under `[[keep_off]]`, for example `EPSG:4326`"));
    assert_eq!(read_keep_off(&no_crs, Some("EPSG:32615")).expect("stated").shapes.len(), 1);
    let gpx = r#"<?xml version="1.0"?><gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">
        <wpt lat="41.001" lon="-93.502"><name>well</name></wpt>
        <trk><trkseg><trkpt lat="41" lon="-93.5"/><trkpt lat="41" lon="-93.4"/></trkseg></trk></gpx>"#;
    let file = read_keep_off(&folder.write("walk.gpx", gpx), None).expect("readable");
    assert_eq!(kinds(&file.shapes), ["point", "line"], "corners of the track are no pins");
}

#[test]
fn a_file_without_features_or_with_numbers_that_are_no_place_is_refused() {
    let folder = Folder::new();
    let faults = read_keep_off(&folder.write("empty.geojson", &collection(&[])), None).expect_err("empty");
    assert_eq!(codes(&faults), ["nothing-to-keep-off"]);
    assert!(faults[0].message.ends_with("to keep off, found nothing"), "{}", faults[0].message);
    let faults = read_keep_off(&folder.write("null.geojson", &collection(&["null", "null"])), None).expect_err("nulls");
    assert!(faults[0].message.ends_with("found 2 features without a place"), "{}", faults[0].message);
    let meters = folder.write("meters.geojson", &polygons_geojson("", &[UTM_SQUARE]));
    let faults = read_keep_off(&meters, None).expect_err("meters");
    assert!(codes(&faults).iter().all(|code| *code == "coordinates-outside-crs"));
    let rows = [("1", "POINT(1e30 1e30)")];
    let nowhere = folder.make("GPKG", "nowhere.gpkg", Some(32615), OGRwkbGeometryType::wkbPoint, &rows);
    assert_eq!(codes(&read_keep_off(&nowhere, None).expect_err("no place")), ["coordinates-outside-crs"]);
    assert_eq!(
        codes(&read_keep_off(&folder.path("well.geojson"), None).expect_err("missing")),
        ["unreadable-vector-file"]
    );
}
