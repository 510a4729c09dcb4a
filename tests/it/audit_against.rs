//! `audit --against`: grids made here from the demo's plan by a plain point-in-polygon test, right and wrong in known ways.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;

use geo::{Contains as _, MultiPolygon, Point, Polygon};

use crate::fixture::folder;

/// Columns and rows of the grids, and their ground: a little more than the demo's outline.
const COLS: usize = 120;
const ROWS: usize = 100;
const WEST: f64 = -93.5060;
const SOUTH: f64 = 40.9970;
const WIDE: f64 = 0.00009;
const HIGH: f64 = 0.00008;
/// Counts of 1 mg/m2 in one lb/ac: 453,592.37 mg over 4046.8564224 m2.
const COUNTS_A_LB_AC: f64 = 453_592.37 / 4_046.856_422_4;

/// A run of one pass on the demo field, made once.
pub(crate) fn planned() -> &'static Path {
    static RUN: OnceLock<tempfile::TempDir> = OnceLock::new();
    let place = RUN.get_or_init(|| {
        let place = tempfile::tempdir().expect("a folder");
        let field_file = folder("one_pass").join("field.toml");
        let output = Command::new(env!("CARGO_BIN_EXE_holdground"))
            .args(["run", &field_file.display().to_string(), "--quiet", "--out"])
            .arg(place.path().join("out"))
            .output()
            .expect("the built program starts");
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        place
    });
    Box::leak(place.path().join("out").into_boxed_path())
}

fn audit(path: &Path) -> (Output, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_holdground"))
        .arg("audit")
        .arg(path)
        .arg("--against")
        .arg(planned())
        .env("NO_COLOR", "1")
        .output()
        .expect("the built program starts");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).split_whitespace().collect::<Vec<_>>().join(" ");
    let (stdout, stderr) = (text(&output.stdout), text(&output.stderr));
    (output, stdout, stderr)
}

/// Planned polygons with their rates, from the first pass's GeoJSON.
pub(crate) fn plan() -> Vec<(MultiPolygon, f64)> {
    let mut paths: Vec<PathBuf> = std::fs::read_dir(planned().join("gis"))
        .expect("reads")
        .map(|entry| entry.expect("reads").path())
        .filter(|path| !path.ends_with("zones.geojson") && path.extension().is_some_and(|ending| ending == "geojson"))
        .collect();
    paths.sort();
    let file: serde_json::Value = serde_json::from_slice(&std::fs::read(&paths[0]).expect("reads")).expect("GeoJSON");
    let ring = |value: &serde_json::Value| -> geo::LineString {
        let places = value.as_array().expect("a ring").iter();
        places.map(|at| (at[0].as_f64().expect("lon"), at[1].as_f64().expect("lat"))).collect::<Vec<_>>().into()
    };
    let polygon = |value: &serde_json::Value| {
        let rings = value.as_array().expect("rings");
        Polygon::new(ring(&rings[0]), rings[1..].iter().map(ring).collect())
    };
    let features = file["features"].as_array().expect("features").iter();
    features
        .map(|feature| {
            let polygons = feature["geometry"]["coordinates"].as_array().expect("polygons").iter().map(polygon);
            (polygons.collect(), feature["properties"]["RATE"].as_f64().expect("a rate"))
        })
        .collect()
}

/// Rates of the grid's cells from the plan, south row first.
fn planned_cells() -> &'static [f64] {
    static CELLS: OnceLock<Vec<f64>> = OnceLock::new();
    CELLS.get_or_init(|| {
        let plan = plan();
        let rate = |index: usize| {
            let (column, row) = ((index % COLS) as f64 + 0.5, (index / COLS) as f64 + 0.5);
            let at = Point::new(WEST + column * WIDE, SOUTH + row * HIGH);
            plan.iter().find(|(ground, _)| ground.contains(&at)).map_or(0.0, |(_, rate)| *rate)
        };
        (0..COLS * ROWS).map(rate).collect()
    })
}

/// A task set of type 2 with these cells; its folder.
fn task_set(place: &Path, cells: &[f64], (n_cols, n_rows): (usize, usize), (west, south): (f64, f64)) -> PathBuf {
    let root = place.join("stick");
    std::fs::create_dir_all(root.join("TASKDATA")).expect("made");
    let n_bytes = 4 * cells.len();
    let zone = r#"<PDV A="0006" B="0" C="PDT1" E="VPN1"/></TZN>"#;
    let xml = format!(
        r#"<?xml version="1.0" encoding="UTF-8"?>
<ISO11783_TaskData VersionMajor="3" VersionMinor="3" ManagementSoftwareManufacturer="a" ManagementSoftwareVersion="1" DataTransferOrigin="1">
<PFD A="PFD1" C="field" D="649521"/><VPN A="VPN1" B="0" C="0.00892179122" D="1" E="lb/ac"/>
<PDT A="PDT1" B="Potash 0-0-60" D="VPN1" E="004B"/>
<TSK A="TSK1" B="Before planting" E="PFD1" G="1" H="0" I="0" J="0"><TZN A="0">{zone}
<GRD A="{south:.9}" B="{west:.9}" C="{HIGH}" D="{WIDE}" E="{n_cols}" F="{n_rows}" G="GRD00001" H="{n_bytes}" I="2" J="0"/>
</TSK></ISO11783_TaskData>"#
    );
    let counts = |rate: &f64| ((rate * COUNTS_A_LB_AC).round() as i32).to_le_bytes();
    std::fs::write(root.join("TASKDATA/TASKDATA.XML"), xml).expect("written");
    std::fs::write(root.join("TASKDATA/GRD00001.bin"), cells.iter().flat_map(counts).collect::<Vec<u8>>())
        .expect("written");
    root
}

/// What is said of a grid of cells at the plan's own place.
fn of_cells(cells: &[f64]) -> (Option<i32>, String, String) {
    let place = tempfile::tempdir().expect("a folder");
    let (output, stdout, stderr) = audit(&task_set(place.path(), cells, (COLS, ROWS), (WEST, SOUTH)));
    (output.status.code(), stdout, stderr)
}

#[test]
fn what_a_run_wrote_is_what_it_planned() {
    let (output, stdout, stderr) = audit(planned());
    assert_eq!(output.status.code(), Some(0), "{stdout}\n{stderr}");
    assert!(stdout.contains("10,000 of 10,000 places have the planned rate"), "{stdout}");
    assert!(!stderr.contains("plan"), "{stderr}");
}

#[test]
fn a_right_grid_differs_only_within_a_cell_of_a_border() {
    let (code, stdout, stderr) = of_cells(planned_cells());
    assert_eq!(code, Some(0), "{stdout}\n{stderr}");
    assert!(stdout.contains("of a border") && stdout.contains("places have the planned rate"), "{stdout}");
    let share: f64 = stdout
        .split(" % differ within")
        .next()
        .and_then(|text| text.split_whitespace().next_back())
        .expect("a share")
        .parse()
        .expect("a number");
    assert!((0.1..8.0).contains(&share), "{stdout}");
}

#[test]
fn one_wrong_patch_is_found() {
    let mut cells = planned_cells().to_vec();
    for row in 40..50 {
        cells[row * COLS + 50..row * COLS + 60].fill(222.0);
    }
    let (code, _, stderr) = of_cells(&cells);
    assert_eq!(code, Some(3));
    assert!(stderr.contains("error[rates-differ-from-plan]") && stderr.contains(": 222 lb/ac, planned"), "{stderr}");
    assert!(!["rates-turned", "rates-shifted", "by-a-factor"].iter().any(|word| stderr.contains(word)), "{stderr}");
}

#[test]
fn turned_and_mirrored_grids_are_named() {
    let cells = planned_cells();
    let read = |column: fn(usize, usize) -> usize, row: fn(usize, usize) -> usize| -> Vec<f64> {
        (0..COLS * ROWS).map(|index| cells[row(index / COLS, ROWS) * COLS + column(index % COLS, COLS)]).collect()
    };
    type Turn = fn(usize, usize) -> usize;
    let (same, back): (Turn, Turn) = (|at, _| at, |at, n| n - 1 - at);
    for (turned, words) in [
        (read(same, back), "with its rows from north to south"),
        (read(back, same), "with its columns from east to west"),
        (read(back, back), "turned by half"),
    ] {
        let (code, _, stderr) = of_cells(&turned);
        assert_eq!(code, Some(3), "{words}");
        assert!(stderr.contains("error[rates-turned-or-mirrored]") && stderr.contains(words), "{words}: {stderr}");
    }
}

#[test]
fn exchanged_columns_and_rows_are_named() {
    let cells = planned_cells();
    let transposed: Vec<f64> = (0..COLS * ROWS).map(|index| cells[index % ROWS * COLS + index / ROWS]).collect();
    for (cells, words) in [
        (transposed.as_slice(), "with rows and columns exchanged, cell by cell,"),
        (cells, "with its numbers of columns and rows exchanged"),
    ] {
        let place = tempfile::tempdir().expect("a folder");
        let (output, _, stderr) = audit(&task_set(place.path(), cells, (ROWS, COLS), (WEST, SOUTH)));
        assert_eq!(output.status.code(), Some(3), "{words}");
        assert!(stderr.contains("error[rates-turned-or-mirrored]") && stderr.contains(words), "{words}: {stderr}");
    }
}

#[test]
fn a_shift_is_measured() {
    let place = tempfile::tempdir().expect("a folder");
    // Two cells too far east, one too far south: 2 x 7.58 m and 8.88 m by a degree of 84.2 and 111.05 km (from memory).
    let (output, _, stderr) =
        audit(&task_set(place.path(), planned_cells(), (COLS, ROWS), (WEST + 2.0 * WIDE, SOUTH - HIGH)));
    assert_eq!(output.status.code(), Some(3), "{stderr}");
    assert!(stderr.contains("error[rates-shifted]"), "{stderr}");
    let meters = |direction: &str| -> f64 {
        let before = stderr.split(&format!(" m {direction}")).next().expect("a text");
        before.split_whitespace().next_back().expect("a word").parse().expect("meters")
    };
    assert!((meters("east") - 15.2).abs() < 5.0 && (meters("south") - 8.9).abs() < 5.0, "{stderr}");
}

#[test]
fn a_shift_within_a_cell_is_a_warning() {
    let place = tempfile::tempdir().expect("a folder");
    let (output, _, stderr) =
        audit(&task_set(place.path(), planned_cells(), (COLS, ROWS), (WEST + 0.9 * WIDE, SOUTH + 0.5 * HIGH)));
    assert_eq!(output.status.code(), Some(0), "{stderr}");
    assert!(stderr.contains("warning[rates-shifted]") && stderr.contains("m east and"), "{stderr}");
}

#[test]
fn factors_are_named() {
    for (factor, words) in [
        // 1 lb/ac is 1.12085 kg/ha.
        (1.120_851_156_2, "kg/ha in the place of lb/ac"),
        (0.6, "pounds of K2O in the place of"),
        (1.0 / 0.6, "reckoned twice from K2O"),
        (10.0, "ten times the number"),
    ] {
        let cells: Vec<f64> = planned_cells().iter().map(|rate| rate * factor).collect();
        let (code, _, stderr) = of_cells(&cells);
        assert_eq!(code, Some(3), "{words}");
        assert!(stderr.contains("error[rates-off-by-a-factor]") && stderr.contains(words), "{words}: {stderr}");
        assert!(stderr.contains("error[total-differs-from-plan]"), "{words}: {stderr}");
    }
}

#[test]
fn a_file_of_another_field_or_product_and_a_missing_pass_are_told() {
    let other = folder("prescriptions").join("good/shapefile");
    let (output, _, stderr) = audit(&other);
    assert_eq!(output.status.code(), Some(3), "{stderr}");
    assert!(stderr.contains("error[layer-without-plan]"), "{stderr}");
    assert!(stderr.contains("warning[plan-without-layer]"), "{stderr}");
}
