use std::fs;

use gdal::DriverManager;
use gdal::spatial_ref::{AxisMappingStrategy, SpatialRef};
use gdal::vector::{Feature, Geometry, LayerOptions, OGRFieldType, OGRwkbGeometryType};
use holdground::boundary::{FieldBoundary, OUTLINE_ROLES_CHANGED};
use holdground::crs::WorkCrsChoice;
use holdground::samples::PlaceShape;
use tempfile::TempDir;

use super::points::FilePoint;
use super::*;

/// 1 cm in degrees.
pub(super) const TOL_DEG: f64 = 1e-7;

pub(super) struct Folder(TempDir);

impl Folder {
    pub(super) fn new() -> Self {
        Folder(tempfile::tempdir().expect("a folder for test files"))
    }

    pub(super) fn path(&self, name: &str) -> std::path::PathBuf {
        self.0.path().join(name)
    }

    pub(super) fn write(&self, name: &str, text: &str) -> std::path::PathBuf {
        let path = self.0.path().join(name);
        fs::write(&path, text).expect("test file is written");
        path
    }

    /// A file of one layer, made by GDAL from WKT geometries with a text attribute `ID`.
    pub(super) fn make(
        &self,
        driver: &str,
        name: &str,
        epsg: Option<u32>,
        kind: OGRwkbGeometryType::Type,
        rows: &[(&str, &str)],
    ) -> std::path::PathBuf {
        let path = self.0.path().join(name);
        let crs = epsg.map(|code| {
            let mut crs = SpatialRef::from_epsg(code).expect("in the register");
            crs.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
            crs
        });
        let driver = DriverManager::get_driver_by_name(driver).expect("driver is built in");
        let mut dataset = driver.create_vector_only(&path).expect("file is made");
        let options = LayerOptions { name: "layer", srs: crs.as_ref(), ty: kind, ..LayerOptions::default() };
        let layer = dataset.create_layer(options).expect("layer is made");
        layer.create_defn_fields(&[("ID", OGRFieldType::OFTString)]).expect("attribute is made");
        for (id, wkt) in rows {
            let mut feature = Feature::new(layer.defn()).expect("feature is made");
            feature.set_field_string(0, id).expect("id is set");
            feature.set_geometry(Geometry::from_wkt(wkt).expect("good WKT")).expect("geometry is set");
            feature.create(&layer).expect("feature is stored");
        }
        path
    }
}

pub(super) fn polygons_geojson(members: &str, polygons: &[&str]) -> String {
    let features: Vec<String> = polygons
        .iter()
        .map(|rings| {
            format!(r#"{{"type":"Feature","properties":{{}},"geometry":{{"type":"Polygon","coordinates":[{rings}]}}}}"#)
        })
        .collect();
    format!(r#"{{"type":"FeatureCollection",{members}"features":[{}]}}"#, features.join(","))
}

pub(super) fn codes(faults: &[Diagnostic]) -> Vec<&'static str> {
    faults.iter().map(|fault| fault.code.name).collect()
}

pub(super) const UTM_SQUARE: &str =
    "[[457000,4538000],[458000,4538000],[458000,4539000],[457000,4539000],[457000,4538000]]";
pub(super) const SQUARE: &str = "[[-93.51,41.0],[-93.5,41.0],[-93.5,41.01],[-93.51,41.01],[-93.51,41.0]]";
const POND: &str = "[[-93.506,41.004],[-93.504,41.004],[-93.504,41.006],[-93.506,41.006],[-93.506,41.004]]";

#[test]
fn geojson_is_read_and_a_hole_stored_as_a_polygon_becomes_a_hole() {
    let folder = Folder::new();
    let path = folder.write("field.geojson", &polygons_geojson("", &[SQUARE, POND]));
    let outline = read_outline(&path, None, OutlineLine::Refuse).expect("readable");
    assert_eq!((outline.n_layers, outline.n_features, outline.polygons.len()), (1, 2, 2));
    assert_eq!(
        (outline.crs_name.as_str(), outline.accuracy.as_str()),
        ("WGS 84 (EPSG:4326)", "same datum as WGS 84, no shift")
    );
    assert_eq!(codes(&outline.notes), ["several-outlines"]);
    assert_eq!(outline.rings_lon_lat[0][0], (-93.51, 41.0));
    let boundary = FieldBoundary::from_rings(&outline.rings_lon_lat, Some(&outline.polygons), &WorkCrsChoice::Derived)
        .expect("sound");
    assert_eq!((boundary.value.n_parts(), boundary.value.n_holes()), (1, 1));
    assert_eq!(boundary.warnings[0].code.name, OUTLINE_ROLES_CHANGED.name);
}

#[test]
fn old_crs_member_of_geojson_is_honoured() {
    let folder = Folder::new();
    for name in ["urn:ogc:def:crs:EPSG::32615", "EPSG:32615"] {
        let member = format!(r#""crs":{{"type":"name","properties":{{"name":"{name}"}}}},"#);
        let outline = read_outline(
            &folder.write("utm.geojson", &polygons_geojson(&member, &[UTM_SQUARE])),
            None,
            OutlineLine::Refuse,
        )
        .expect("readable");
        assert_eq!(outline.crs_name, "WGS 84 / UTM zone 15N (EPSG:32615)");
        // [project reference table] (457949.159, 4538877.438) is lon -93.5, lat 41.0: inside this square, near its middle.
        let boundary =
            FieldBoundary::from_rings(&outline.rings_lon_lat, None, &WorkCrsChoice::Derived).expect("sound").value;
        let middle = boundary.work_crs().to_local((-93.5, 41.0)).expect("near");
        assert!(boundary.contains(middle));
        // 1 km2 on the plane, whose scale is 0.9996 in mid-zone: the ground is 0.08 % larger.
        assert!((boundary.area_m2() - 1e6 / 0.9996_f64.powi(2)).abs() < 100.0, "{}", boundary.area_m2());
    }
    let unknown = r#""crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::99999"}},"#;
    let faults =
        read_outline(&folder.write("bad.geojson", &polygons_geojson(unknown, &[SQUARE])), None, OutlineLine::Refuse)
            .expect_err("no such CRS");
    assert_eq!(codes(&faults), ["unreadable-vector-file"]);
    // RFC 7946 knows no `crs`: without it, meters are out of range.
    let faults =
        read_outline(&folder.write("none.geojson", &polygons_geojson("", &[UTM_SQUARE])), None, OutlineLine::Refuse)
            .expect_err("meters");
    assert!(codes(&faults).iter().all(|code| *code == "coordinates-outside-crs"), "{faults:?}");
}

#[test]
fn a_link_to_a_crs_is_not_followed() {
    let listener = std::net::TcpListener::bind(("127.0.0.1", 0)).expect("a free port");
    listener.set_nonblocking(true).expect("can be asked");
    let port = listener.local_addr().expect("bound").port();
    let link =
        format!(r#""crs":{{"type":"link","properties":{{"href":"http://127.0.0.1:{port}/4326","type":"ogcwkt"}}}},"#);
    let path = Folder::new();
    let path = path.write("link.geojson", &polygons_geojson(&link, &[SQUARE]));
    let faults = read_outline(&path, None, OutlineLine::Refuse).expect_err("not fetched");
    assert_eq!(codes(&faults), ["unreadable-vector-file"]);
    assert_eq!(listener.accept().expect_err("nobody called").kind(), std::io::ErrorKind::WouldBlock);
}

#[test]
fn all_folders_of_kml_are_read_and_pins_left_out() {
    let ring = |west: f64| {
        let east = west + 0.002;
        format!(
            "<Polygon><outerBoundaryIs><LinearRing><coordinates>{west},41,9 {east},41,9 {east},41.002,9 {west},41.002,9 {west},41,9</coordinates></LinearRing></outerBoundaryIs></Polygon>"
        )
    };
    let kml = format!(
        r#"<?xml version="1.0" encoding="UTF-8"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document>
        <Folder><name>west</name><Placemark><MultiGeometry>{}<Point><coordinates>-93.51,41</coordinates></Point></MultiGeometry></Placemark></Folder>
        <Folder><name>east</name><Placemark>{}</Placemark><Placemark><Point><coordinates>-93.5,41</coordinates></Point></Placemark></Folder>
        </Document></kml>"#,
        ring(-93.51),
        ring(-93.505)
    );
    let outline = read_outline(&Folder::new().write("field.kml", &kml), None, OutlineLine::Refuse).expect("readable");
    assert_eq!((outline.n_layers, outline.n_features, outline.rings_lon_lat.len()), (2, 2, 2));
    let said: Vec<&str> = outline.notes.iter().map(|note| note.message.as_str()).collect();
    assert_eq!(
        said,
        [
            "left out of the outline: 2 points",
            "only the polygons of 1 mixed collections are taken",
            "heights of 2 polygons are left out",
            "the outline file has 2 features with polygons, all are taken as one field",
        ]
    );
}

#[test]
fn files_without_a_polygon_are_refused_with_what_they_hold() {
    let folder = Folder::new();
    let line = r#"{"type":"Feature","properties":{},"geometry":{"type":"LineString","coordinates":[[-93.5,41],[-93.4,41],[-93.5,41.1],[-93.5,41]]}}"#;
    let faults = read_outline(&folder.write("walk.geojson", line), None, OutlineLine::Refuse).expect_err("a line");
    assert_eq!(codes(&faults), ["no-polygon-in-outline"]);
    assert!(faults[0].message.ends_with("holds no polygon, found 1 line"), "{}", faults[0].message);
    assert!(faults[0].help.as_deref().is_some_and(|help| help.contains("`outline_line = \"close\"`")));
    let gpx = r#"<?xml version="1.0"?><gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg><trkpt lat="41" lon="-93.5"/><trkpt lat="41" lon="-93.4"/></trkseg></trk></gpx>"#;
    assert_eq!(
        codes(&read_outline(&folder.write("drive.gpx", gpx), None, OutlineLine::Refuse).expect_err("a track")),
        ["no-polygon-in-outline"]
    );
    let none = folder.write("empty.geojson", &polygons_geojson("", &[]));
    assert!(
        read_outline(&none, None, OutlineLine::Refuse).expect_err("empty")[0]
            .message
            .ends_with("holds no polygon, found nothing")
    );
}

#[test]
fn unreadable_files_are_refused_with_act_and_path() {
    let folder = Folder::new();
    let missing = folder.0.path().join("missing.shp");
    let fault = &read_outline(&missing, None, OutlineLine::Refuse).expect_err("missing")[0];
    assert_eq!(
        fault.message,
        format!("could not read `{}` while loading the field outline: no such file or directory", missing.display())
    );
    for (name, text) in [
        ("empty.geojson", ""),
        ("noise.kml", "not a vector file"),
        ("cut.geojson", r#"{"type":"FeatureCollection","features":[{"type":"Fea"#),
    ] {
        let faults = read_outline(&folder.write(name, text), None, OutlineLine::Refuse).expect_err(name);
        assert_eq!(codes(&faults), ["unreadable-vector-file"], "{name}");
    }
    assert!(
        read_outline(folder.0.path(), None, OutlineLine::Refuse).expect_err("folder")[0]
            .message
            .ends_with("it is a folder")
    );
    let shapefile = folder.make(
        "ESRI Shapefile",
        "cut.shp",
        Some(4326),
        OGRwkbGeometryType::wkbPolygon,
        &[("1", "POLYGON((0 0,0 1,1 1,0 0))")],
    );
    fs::remove_file(shapefile.with_extension("shx")).expect("it was there");
    assert!(
        read_outline(&shapefile, None, OutlineLine::Refuse).expect_err("no shx")[0]
            .help
            .as_deref()
            .is_some_and(|help| help.contains(".shx file is missing"))
    );
    assert!(!shapefile.with_extension("shx").exists(), "the customer's folder is left as it is");
}

#[test]
fn shapefile_without_prj_needs_a_stated_crs() {
    let folder = Folder::new();
    let wkt = "POLYGON((457000 4538000,457000 4539000,458000 4539000,458000 4538000,457000 4538000))";
    let path = folder.make("ESRI Shapefile", "field.shp", None, OGRwkbGeometryType::wkbPolygon, &[("1", wkt)]);
    let faults = read_outline(&path, None, OutlineLine::Refuse).expect_err("no CRS");
    assert_eq!(codes(&faults), ["vector-file-without-crs"]);
    assert_eq!(faults[0].help.as_deref(), Some("state it as `outline_crs` under `[field]`, for example `EPSG:4326`"));
    assert_eq!(faults[0].notes, ["its first point is 457000.00, 4538000.00: not degrees"]);
    let outline = read_outline(&path, Some("EPSG:32615"), OutlineLine::Refuse).expect("stated");
    assert_eq!(outline.crs_name, "WGS 84 / UTM zone 15N (EPSG:32615)");
    assert_eq!(
        codes(&read_outline(&path, Some("EPSG:4326"), OutlineLine::Refuse).expect_err("meters"))[0],
        "coordinates-outside-crs"
    );
    let fault = &read_outline(&path, Some("EPSG:99999"), OutlineLine::Refuse).expect_err("no such CRS")[0];
    assert_eq!((fault.code.name, &fault.place), ("unknown-crs", &None));
}

#[test]
fn prj_is_used_its_accuracy_told_and_a_differing_statement_refused() {
    let wkt = "POLYGON((457000 4538000,457000 4539000,458000 4539000,458000 4538000,457000 4538000))";
    let folder = Folder::new();
    let path = folder.make("ESRI Shapefile", "field.shp", Some(26915), OGRwkbGeometryType::wkbPolygon, &[("1", wkt)]);
    let outline = read_outline(&path, None, OutlineLine::Refuse).expect("readable");
    assert!(outline.crs_name.starts_with("NAD83 / UTM zone 15N"), "{}", outline.crs_name);
    assert_eq!(outline.accuracy, "GDAL states 4 m or better to WGS 84");
    assert!(read_outline(&path, Some("EPSG:26915"), OutlineLine::Refuse).is_ok());
    let faults = read_outline(&path, Some("EPSG:26914"), OutlineLine::Refuse).expect_err("another zone");
    assert_eq!(codes(&faults), ["stated-crs-differs"]);
    assert!(
        faults[0].message.contains("UTM zone 15N") && faults[0].message.contains("UTM zone 14N"),
        "{}",
        faults[0].message
    );
}

#[test]
fn arcs_of_a_pivot_circle_are_made_straight() {
    // A full circle of 400 m, then one of two half arcs; 1 degree pieces take 0.005 % off the area.
    let folder = Folder::new();
    for (name, ring) in [
        ("whole.gpkg", "CIRCULARSTRING(457500 4538100,457500 4538900,457500 4538100)"),
        (
            "halves.gpkg",
            "COMPOUNDCURVE(CIRCULARSTRING(457500 4538100,457900 4538500,457500 4538900),CIRCULARSTRING(457500 4538900,457100 4538500,457500 4538100))",
        ),
        (
            "clockwise.gpkg",
            "CIRCULARSTRING(457500 4538100,457100 4538500,457500 4538900,457900 4538500,457500 4538100)",
        ),
    ] {
        let path = folder.make(
            "GPKG",
            name,
            Some(32615),
            OGRwkbGeometryType::wkbCurvePolygon,
            &[("1", &format!("CURVEPOLYGON({ring})"))],
        );
        let outline = read_outline(&path, None, OutlineLine::Refuse).expect("readable");
        assert_eq!(outline.notes[0].message, "arcs of 1 polygons are taken as straight pieces of 1 degree");
        let area_m2 = FieldBoundary::from_rings(&outline.rings_lon_lat, None, &WorkCrsChoice::Derived)
            .expect("sound")
            .value
            .area_m2();
        let circle_m2 = std::f64::consts::PI * 400.0_f64.powi(2) / 0.999_622_f64.powi(2); // scale 43 km off the meridian
        assert!((area_m2 / circle_m2 - 0.999_95).abs() < 1e-5, "{name}: {area_m2} {circle_m2}");
    }
}

#[test]
fn gpx_waypoints_keep_leading_zeros_and_tracks_are_left_alone() {
    let gpx = r#"<?xml version="1.0"?><gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">
        <wpt lat="41.001" lon="-93.502"><name> 007 </name></wpt><wpt lat="41.002" lon="-93.503"><name>A-12</name></wpt>
        <trk><name>drive</name><trkseg><trkpt lat="41" lon="-93.5"/><trkpt lat="41" lon="-93.4"/></trkseg></trk></gpx>"#;
    let path = Folder::new();
    let path_gpx = path.write("cores.gpx", gpx);
    let file = read_points(&path_gpx, "Name", None, PlaceShape::Points).expect("readable");
    assert_eq!(
        file.points,
        [
            FilePoint { id: "007".into(), lon: -93.502, lat: 41.001 },
            FilePoint { id: "A-12".into(), lon: -93.503, lat: 41.002 }
        ]
    );
    assert_eq!((file.crs_name.as_str(), file.notes.len()), ("WGS 84 (EPSG:4326)", 0));
    let faults = read_points(&path_gpx, "sample", None, PlaceShape::Points).expect_err("no such attribute");
    assert_eq!(codes(&faults), ["point-id-missing"]);
    assert!(
        faults[0]
            .message
            .starts_with("points have no attribute `sample`; found: `ele`, `time`, `magvar`, `geoidheight`, `name`"),
        "{}",
        faults[0].message
    );
}

#[test]
fn shapefile_points_come_in_degrees_whatever_their_crs() {
    let rows = [("01", "POINT(457949.159038 4538877.438193)"), ("02", "POINT(457000 4538000)")];
    let path = Folder::new();
    let path = path.make("ESRI Shapefile", "cores.shp", Some(32615), OGRwkbGeometryType::wkbPoint, &rows);
    let file = read_points(&path, "ID", None, PlaceShape::Points).expect("readable");
    assert_eq!(file.points[0].id, "01");
    assert!((file.points[0].lon + 93.5).abs() < TOL_DEG && (file.points[0].lat - 41.0).abs() < TOL_DEG);
}

#[test]
fn ids_that_repeat_or_are_blank_are_reported_all_at_once() {
    let point = |id: &str, lon: f64| {
        format!(
            r#"{{"type":"Feature","properties":{{"id":{id}}},"geometry":{{"type":"Point","coordinates":[{lon},41]}}}}"#
        )
    };
    let collection = |points: &[String]| format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, points.join(","));
    let folder = Folder::new();
    let bad = collection(&[
        point(r#""a""#, -93.5),
        point(r#""a""#, -93.501),
        point(r#"" ""#, -93.502),
        point("null", -93.503),
    ]);
    let faults =
        read_points(&folder.write("bad.geojson", &bad), "id", None, PlaceShape::Points).expect_err("three faults");
    let said: Vec<&str> = faults.iter().map(|fault| fault.message.as_str()).collect();
    assert_eq!(
        said,
        [
            "the point at lon -93.502000, lat 41.000000 has no `id`",
            "the point at lon -93.503000, lat 41.000000 has no `id`",
            "id `a` stands at two places, 84.1 m apart",
        ]
    );
    let twice = collection(&[point("12", -93.5), point("12.0", -93.5), point("13.5", -93.6)]);
    let file = read_points(&folder.write("twice.geojson", &twice), "id", None, PlaceShape::Points).expect("same place");
    assert_eq!(file.points.iter().map(|point| point.id.as_str()).collect::<Vec<_>>(), ["12", "13.5"]);
    assert_eq!(codes(&file.notes), ["point-id-repeated"]);
    let faults =
        read_points(&folder.write("field.geojson", &polygons_geojson("", &[SQUARE])), "id", None, PlaceShape::Points)
            .expect_err("no points");
    assert_eq!(codes(&faults), ["no-point-in-file"]);
}

#[test]
fn gdal_prints_nothing() {
    // Run again in a process of its own, whose stderr is seen.
    let name = "unreadable_files_are_refused_with_act_and_path";
    let output = std::process::Command::new(std::env::current_exe().expect("this test binary"))
        .args([name, "--nocapture"])
        .output()
        .expect("it runs");
    let (out, err) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert!(output.status.success() && out.contains("1 passed"), "{out}{err}");
    assert!(!err.contains("ERROR ") && !err.contains("Warning "), "{err}");
}
