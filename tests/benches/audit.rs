//! How long `holdground audit` takes, as a process: starting, reading, all rules, facts; and how long writing takes.
//!
//! `cargo bench --bench audit` makes a task set of 350 x 350 cells (the most every controller must take) and a shapefile of
//! 20,022 squares that share their borders (by GDAL, on the equal-area checkerboard of one field), and prints least and
//! median of 7 rounds each. Writing all formats of the demo: names and bytes of every shapefile, GeoJSON, task set and text
//! and the contents of rasters and packages, in memory; what GDAL, disk, reading back and audit add is in the whole runs.
#![expect(clippy::print_stdout, reason = "a table on standard output is what a bench is for")]

use std::path::Path;
use std::process::Command;
use std::time::Instant;

use gdal::DriverManager;
use gdal::spatial_ref::{AxisMappingStrategy, SpatialRef};
use gdal::vector::{Feature, Geometry, LayerAccess, LayerOptions, OGRFieldType, OGRwkbGeometryType};
use holdground::export;
use holdground::export::run_record::Versions;

#[path = "../it/fixture.rs"]
#[allow(dead_code, unreachable_pub, reason = "the tests use all of it")]
mod fixture;

/// All formats for the cab, in the field file.
const ALL_FORMATS: &str = "controller = [\"task-set-3\", \"shapefile\", \"geojson\", \"geotiff\"]";

/// Columns and rows of squares.
const SQUARES: (usize, usize) = (142, 141);
/// Side of a square or cell, degrees.
const STEP: f64 = 0.0001;
const WEST: f64 = -93.6;
const SOUTH: f64 = 41.5;

fn task_set(folder: &Path) {
    let n = 350;
    std::fs::create_dir_all(folder.join("TASKDATA")).expect("made");
    let zones: String = (0..=20)
        .map(|code| format!("<TZN A=\"{code}\"><PDV A=\"0006\" B=\"{}\" C=\"PDT1\" E=\"VPN1\"/></TZN>\n", code * 1000))
        .collect();
    let (east, north) = (WEST + f64::from(n) * STEP, SOUTH + f64::from(n) * STEP);
    // An outline of 800 corners, like one that was driven.
    let ring: String = (0..=800)
        .map(|corner| (std::f64::consts::TAU * f64::from(corner % 800) / 800.0).sin_cos())
        .map(|(sine, cosine)| {
            let half = f64::from(n) * STEP / 2.0;
            let (lon, lat) = ((WEST + east) / 2.0 + half * cosine, (SOUTH + north) / 2.0 + half * sine);
            format!("<PNT A=\"2\" C=\"{lat:.9}\" D=\"{lon:.9}\"/>\n")
        })
        .collect();
    let xml = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<ISO11783_TaskData VersionMajor=\"3\" VersionMinor=\"3\" \
         ManagementSoftwareManufacturer=\"a\" ManagementSoftwareVersion=\"1\" DataTransferOrigin=\"1\">\n\
         <PFD A=\"PFD1\" C=\"field\" D=\"8900000\"><PLN A=\"1\"><LSG A=\"1\">{ring}</LSG></PLN></PFD>\n\
         <VPN A=\"VPN1\" B=\"0\" C=\"0.00892179122\" D=\"1\" E=\"lb/ac\"/><PDT A=\"PDT1\" B=\"salt\" D=\"VPN1\" E=\"004B\"/>\n\
         <TSK A=\"TSK1\" B=\"spring\" E=\"PFD1\" G=\"1\" H=\"0\" I=\"0\" J=\"0\">{zones}<GRD A=\"{SOUTH}\" B=\"{WEST}\" \
         C=\"{STEP}\" D=\"{STEP}\" E=\"{n}\" F=\"{n}\" G=\"GRD00001\" H=\"{}\" I=\"1\"/></TSK></ISO11783_TaskData>\n",
        n * n
    );
    std::fs::write(folder.join("TASKDATA/TASKDATA.XML"), xml).expect("written");
    let cells: Vec<u8> = (0..n * n).map(|cell| ((cell % n / 20 + cell / n / 30) % 21) as u8).collect();
    std::fs::write(folder.join("TASKDATA/GRD00001.bin"), cells).expect("written");
}

fn shapefile(folder: &Path) {
    let driver = DriverManager::get_driver_by_name("ESRI Shapefile").expect("GDAL writes shapefiles");
    let mut dataset = driver.create_vector_only(folder.join("SQUARES.shp")).expect("a file");
    let mut crs = SpatialRef::from_epsg(4326).expect("known");
    crs.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
    let options = LayerOptions {
        name: "SQUARES",
        srs: Some(&crs),
        ty: OGRwkbGeometryType::wkbPolygon,
        ..LayerOptions::default()
    };
    let layer = dataset.create_layer(options).expect("a layer");
    let fields =
        [("RATE", OGRFieldType::OFTInteger), ("UNIT", OGRFieldType::OFTString), ("PRODUCT", OGRFieldType::OFTString)];
    layer.create_defn_fields(&fields).expect("fields");
    for square in 0..SQUARES.0 * SQUARES.1 {
        let (column, row) = ((square % SQUARES.0) as f64, (square / SQUARES.0) as f64);
        let (west, south) = (WEST + column * STEP, SOUTH + row * STEP);
        let (east, north) = (WEST + (column + 1.0) * STEP, SOUTH + (row + 1.0) * STEP);
        let wkt = format!("POLYGON(({west} {south},{west} {north},{east} {north},{east} {south},{west} {south}))");
        let mut feature = Feature::new(layer.defn()).expect("a feature");
        feature.set_geometry(Geometry::from_wkt(&wkt).expect("WKT")).expect("set");
        feature.set_field_integer(0, 50 + (square % 17) as i32).expect("set");
        feature.set_field_string(1, "lb/ac").expect("set");
        feature.set_field_string(2, "salt").expect("set");
        feature.create(&layer).expect("stored");
    }
}

fn main() {
    let place = tempfile::tempdir().expect("a folder");
    task_set(&place.path().join("stick"));
    shapefile(place.path());
    for (name, path) in [("task set, 350 x 350 cells", "stick"), ("shapefile, 20,022 polygons", "SQUARES.shp")] {
        timed(name, || process(place.path(), &["audit", path]));
    }
    let outcome = fixture::run_edited("demo", all_formats);
    let report = outcome.report();
    timed("demo, bytes of all formats", || {
        let files = export::vector_files(&report).expect("fits");
        let (task_set, notes) = export::task_set_files(&report).expect("fits");
        let contents = export::gis_contents(&report).expect("fits");
        let field = export::stick_field(&report).expect("fits").expect("the demo has rates");
        let text = export::stick_text(&[&report], &[field], &[files, task_set].concat(), &notes);
        assert!(!text.bytes.is_empty() && !contents.is_empty());
    });
    timed("demo, grower's page as HTML, PDF and picture", || {
        let versions = Versions { program: "0".into(), libraries: Vec::new() };
        assert_eq!(export::grower_files(&report, &[], &versions).len(), 3);
    });
    timed("demo, check places and cab sheets", || {
        let field = export::stick_field(&report).expect("fits").expect("the demo has rates");
        assert!(!export::cab_sheets(&report, &field).bytes.is_empty());
    });
    for (name, edit) in
        [("demo, whole run", (|text| text) as fn(String) -> String), ("... with all formats", all_formats)]
    {
        for file in ["lab.csv", "outline.geojson"] {
            std::fs::copy(fixture::folder("demo").join(file), place.path().join(file)).expect("copied");
        }
        let text = std::fs::read_to_string(fixture::folder("demo").join("field.toml")).expect("reads");
        std::fs::write(place.path().join("field.toml"), edit(text)).expect("written");
        timed(name, || process(place.path(), &["run", "field.toml", "--out", "demo", "--replace", "--quiet"]));
    }
}

fn all_formats(text: String) -> String {
    let stated =
        text.lines().find(|line| line.starts_with("controller = ")).expect("the demo states formats").to_owned();
    text.replace(&stated, ALL_FORMATS)
}

fn process(folder: &Path, arguments: &[&str]) {
    let program = Command::new(env!("CARGO_BIN_EXE_holdground")).args(arguments).current_dir(folder).output();
    let output = program.expect("the built program starts");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
}

/// Prints least and median of 7 rounds.
fn timed(name: &str, round: impl Fn()) {
    let mut times: Vec<f64> = Vec::new();
    for _ in 0..7 {
        let start = Instant::now();
        round();
        times.push(start.elapsed().as_secs_f64() * 1e3);
    }
    times.sort_by(f64::total_cmp);
    println!("{name:<30} least {:>7.0} ms  median {:>7.0} ms", times[0], times[3]);
}
