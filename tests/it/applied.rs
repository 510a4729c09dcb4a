//! `applied` as typed: logs made here from the demo's plan by a plain point-in-polygon test, with a swath left out.

use std::ffi::OsStr;
use std::path::Path;
use std::process::Command;

use geo::{BoundingRect as _, Contains as _, Point};

use crate::audit_against::{plan, planned};
use crate::outside::printed;

/// 60 ft in meters, exact; a point every 4 m.
const WIDTH_M: f64 = 18.288;
const STEP_M: f64 = 4.0;
const M2_PER_ACRE: f64 = 4_046.856_422_4;

struct Log {
    csv: String,
    /// Points on ground with a rate above 0, by swath.
    n_points: Vec<usize>,
    /// Sum of their rates.
    rates: f64,
}

/// Swaths from south to north, driven west to east and back, at the planned rate; one may be left out.
fn log(left_out: Option<usize>) -> Log {
    let plan = plan();
    let rects: Vec<geo::Rect> = plan.iter().filter_map(|(ground, _)| ground.bounding_rect()).collect();
    let least = |of: fn(&geo::Rect) -> f64| rects.iter().map(of).fold(f64::INFINITY, f64::min);
    let most = |of: fn(&geo::Rect) -> f64| rects.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
    let (west, south) = (least(|rect| rect.min().x), least(|rect| rect.min().y));
    let (east, north) = (most(|rect| rect.max().x), most(|rect| rect.max().y));
    // Length of a degree on WGS 84 by its first terms in the latitude (from memory).
    let middle = f64::to_radians((south + north) / 2.0);
    let north_m = 111_132.95 - 559.85 * (2.0 * middle).cos() + 1.17 * (4.0 * middle).cos();
    let east_m = 111_412.88 * middle.cos() - 93.5 * (3.0 * middle).cos();
    let mut log = Log { csv: "lon,lat,rate,width\n".to_owned(), n_points: Vec::new(), rates: 0.0 };
    let n_swaths = ((north - south) * north_m / WIDTH_M).ceil() as usize;
    let n_steps = ((east - west) * east_m / STEP_M).ceil() as usize;
    for swath in 0..n_swaths {
        let mut n_points = 0;
        for step in 0..n_steps {
            let step = if swath % 2 == 1 { n_steps - 1 - step } else { step };
            let lon = west + (step as f64 + 0.5) * STEP_M / east_m;
            let lat = south + (swath as f64 + 0.5) * WIDTH_M / north_m;
            let at = Point::new(lon, lat);
            let Some((_, rate)) = plan.iter().find(|(ground, _)| ground.contains(&at)) else { continue };
            if *rate > 0.0 {
                n_points += 1;
            }
            if left_out != Some(swath) {
                log.rates += rate;
                log.csv += &format!("{lon:.9},{lat:.9},{rate},60\n");
            }
        }
        log.n_points.push(n_points);
    }
    log
}

/// What is printed, and the columns summed over the zones of `applied.csv`.
fn applied(place: &Path, log: &str, more: &[&str]) -> (String, impl Fn(&str) -> f64 + use<>) {
    let out = place.join(format!("{log}.out"));
    let output = Command::new(env!("CARGO_BIN_EXE_holdground"))
        .arg("applied")
        .arg(place.join(log))
        .args(["--unit", "lb/ac", "--against"])
        .arg(planned())
        .arg("--out")
        .arg(&out)
        .args(more)
        .output()
        .expect("the built program starts");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    if let Some(said) = printed("pngcheck", &[out.join("applied.png").as_os_str()]) {
        assert!(said.starts_with("OK:"), "{said}");
    }
    let table = std::fs::read_to_string(out.join("applied.csv")).expect("the table");
    let sum = move |column: &str| {
        let mut lines = table.lines().map(|line| line.split(',').collect::<Vec<_>>());
        let index = lines.next().and_then(|header| header.iter().position(|name| *name == column)).expect("a column");
        lines.map(|cells| cells[index].parse::<f64>().expect("a number")).sum()
    };
    (String::from_utf8_lossy(&output.stdout).into_owned(), sum)
}

/// Skipped ground, total and share within 10 % are those of the log as made, whatever the form of the file.
#[test]
fn a_swath_left_out_is_skipped_ground_of_its_size_in_every_form_of_log() {
    let place = tempfile::tempdir().expect("a folder");
    let whole = log(None);
    std::fs::write(place.path().join("whole.csv"), &whole.csv).expect("written");
    let (said, of_whole) = applied(place.path(), "whole.csv", &["--width-ft", "60"]);
    assert!(said.contains("points within 10 % of the planned rate: 100.0 %"), "{said}");
    // The total of points, each standing for its step and width, within 1.5 %: swaths end unevenly at the outline.
    let lb = whole.rates * STEP_M * WIDTH_M / M2_PER_ACRE;
    assert!((of_whole("logged_total") / lb - 1.0).abs() < 0.015, "{} {lb}", of_whole("logged_total"));
    assert!((of_whole("planned_total") / lb - 1.0).abs() < 0.015, "{} {lb}", of_whole("planned_total"));
    assert!(of_whole("within_10_percent_ac") > 0.97 * of_whole("area_ac"));
    assert!(of_whole("covered_twice_ac") < 0.002 * of_whole("area_ac"));

    // A swath over ground that all gets something.
    let swath = (0..whole.n_points.len()).max_by_key(|swath| whole.n_points[*swath]).expect("swaths");
    let skipped_ac = whole.n_points[swath] as f64 * STEP_M * WIDTH_M / M2_PER_ACRE;
    std::fs::write(place.path().join("skip.csv"), log(Some(swath)).csv).expect("written");
    let (said, of_skip) = applied(place.path(), "skip.csv", &["--width-ft", "width"]);
    let more = of_skip("skipped_ac") - of_whole("skipped_ac");
    assert!((more / skipped_ac - 1.0).abs() < 0.03, "{more} ac, {skipped_ac} ac left out: {said}");

    // As a shapefile in degrees, and as a GeoPackage on UTM 15N: the same.
    for (name, to) in [("skip.shp", "EPSG:4326"), ("skip.gpkg", "EPSG:32615")] {
        let (from, to_file) = (place.path().join("skip.csv"), place.path().join(name));
        let options = ["-oo", "X_POSSIBLE_NAMES=lon", "-oo", "Y_POSSIBLE_NAMES=lat", "-oo", "AUTODETECT_TYPE=YES"];
        let options = options.into_iter().chain(["-s_srs", "EPSG:4326", "-t_srs", to]);
        let mut arguments: Vec<&OsStr> = options.map(OsStr::new).collect();
        arguments.extend([to_file.as_os_str(), from.as_os_str()]);
        if printed("ogr2ogr", &arguments).is_none() {
            return;
        }
        let (said, of_other) = applied(place.path(), name, &["--width-ft", "width"]);
        for column in ["area_ac", "skipped_ac", "within_10_percent_ac", "logged_total"] {
            let (other, csv) = (of_other(column), of_skip(column));
            assert!((other - csv).abs() <= 0.001 * csv + 0.02, "{name} {column}: {other}, {csv} by CSV: {said}");
        }
    }
}

/// A log in part would show ground as skipped: what is no point, and a column that is not there, are told.
#[test]
fn a_log_that_cannot_be_read_whole_is_refused() {
    let place = tempfile::tempdir().expect("a folder");
    let line = r#"{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"rate":1},
        "geometry":{"type":"LineString","coordinates":[[-93.5,41.0],[-93.5,41.001]]}}]}"#;
    let point = line.replace("LineString", "Point").replace("[[-93.5,41.0],[-93.5,41.001]]", "[-93.5,41.0]");
    for (text, told) in [(line.to_owned(), "it is no point"), (point, "no column `flow`; it has `rate`")] {
        let log = place.path().join("log.geojson");
        std::fs::write(&log, text).expect("written");
        let output = Command::new(env!("CARGO_BIN_EXE_holdground"))
            .arg("applied")
            .arg(&log)
            .args(["--width-ft", "60", "--unit", "lb/ac", "--rate", "flow", "--against"])
            .arg(planned())
            .output()
            .expect("the built program starts");
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.code() == Some(3) && said.contains(told), "{told}: {said}");
    }
}
