//! A real cropped field, whole chain: `soil250.csv` (R package geoR 1.9-6, GPL; read where `HOLDGROUND_OPEN_DATA` names
//! the folder, never copied). 250 places on a 5 m net; Ca, Mg, K, Al, H in cmolc/dm3, CTC the CEC at pH 7, V = 100 S/CTC.

use std::process::Command;

use holdground::chemistry::Cation;
use holdground::soil_surface::Variable;

use crate::fixture::run_folder;
use crate::{check_close, outside};

/// Local meters, set down on an arbitrary place of a UTM plane; the field's real place is not known.
const OFFSET_EAST: f64 = 300_000.0;
const OFFSET_NORTH: f64 = 7_600_000.0;

/// Writes a field file and an outline for the data into a folder.
pub(crate) fn write_field(folder: &std::path::Path) -> bool {
    let Some(sheet) = outside::path("soil250.csv", Some("HOLDGROUND_OPEN_DATA")) else { return false };
    let text = std::fs::read_to_string(&sheet).unwrap();
    let mut lines = text.lines();
    // The sheet has no names: rows are numbered.
    let mut named = format!("Place,{}\n", lines.next().unwrap());
    for (index, line) in lines.enumerate() {
        named += &format!("{:03},{line}\n", index + 1);
    }
    std::fs::write(folder.join("lab.csv"), named).unwrap();
    // Half a net cell round the outermost places: 0..45 m one way, 0..120 m the other.
    let ring: Vec<String> = [(-2.5, -2.5), (122.5, -2.5), (122.5, 47.5), (-2.5, 47.5), (-2.5, -2.5)]
        .iter()
        .map(|(east, north)| format!("[{},{}]", OFFSET_EAST + east, OFFSET_NORTH + north))
        .collect();
    let outline = format!(
        r#"{{"type":"FeatureCollection","crs":{{"type":"name","properties":{{"name":"EPSG:32722"}}}},"features":[{{"type":"Feature","properties":{{}},"geometry":{{"type":"Polygon","coordinates":[[{}]]}}}}]}}"#,
        ring.join(",")
    );
    std::fs::write(folder.join("outline.geojson"), outline).unwrap();
    let field = format!(
        r#"form = 1
[field]
name = "soil250"
short = "S250"
outline = "outline.geojson"
units = "si"
[samples]
file = "lab.csv"
id = "Place"
places = {{ from = "file", east = "Coluna", north = "Linha", crs = "EPSG:32722", offset_m = [{OFFSET_EAST}, {OFFSET_NORTH}] }}
depth_in = "unknown"
[samples.columns]
ph_water = {{ column = "pHAgua", unit = "pH", method = "water" }}
ca = {{ column = "Ca", unit = "cmolc/dm3", method = "potassium chloride" }}
mg = {{ column = "Mg", unit = "cmolc/dm3", method = "potassium chloride" }}
k = {{ column = "K", unit = "cmolc/dm3", method = "mehlich-1" }}
cec = {{ column = "CTC", unit = "cmolc/dm3", method = "measured ph 7" }}
[surface]
cell_m = 1
[zones]
count = "suggest"
"#
    );
    std::fs::write(folder.join("field.toml"), field).unwrap();
    true
}

#[test]
fn soil250_goes_through_the_whole_chain() {
    let place = tempfile::tempdir().unwrap();
    if !write_field(place.path()) {
        return;
    }
    let out = place.path().join("out");
    let output = Command::new(env!("CARGO_BIN_EXE_holdground"))
        .args(["run", place.path().join("field.toml").to_str().unwrap(), "--out", out.to_str().unwrap()])
        .output()
        .unwrap();
    let errors = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{errors}");
    let summary = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(summary.contains("250 samples, depth unknown") && summary.contains("0.6 ha inside"), "{summary}");
}

#[test]
fn soil250_saturations_and_errors_are_those_of_the_sheet_and_of_kriging() {
    let place = tempfile::tempdir().unwrap();
    if !write_field(place.path()) {
        return;
    }
    let outcome = run_folder(place.path(), |text| text, |(x, y)| to_lon_lat(x, y));
    // V of the sheet is 100 S/CTC with S = Ca + Mg + K.
    let text = std::fs::read_to_string(place.path().join("lab.csv")).unwrap();
    let header: Vec<&str> = text.lines().next().unwrap().split(',').collect();
    let v = header.iter().position(|name| *name == "V").unwrap();
    for (sample, line) in outcome.samples.samples.iter().zip(text.lines().skip(1)) {
        let printed: f64 = line.split(',').nth(v).unwrap().parse().unwrap();
        check_close(sample.exchange.unwrap().base_saturation_percent(), printed, 0.15);
    }
    // Hidden in turn, best mesh setting and ordinary kriging with a fitted variogram (R package gstat) both gave about
    // 0.17 to 0.18 for Ca [measured for the project]; here in ppm, 1 cmolc = 200 ppm.
    let quality = outcome.surfaces.quality_of(Variable::Amount(Cation::Ca)).unwrap();
    let rmse_meq = quality.error.unwrap().error_rmse / Cation::Ca.ppm_per_meq();
    assert!(rmse_meq < 0.19, "{rmse_meq}");
}

fn to_lon_lat(x: f64, y: f64) -> (f64, f64) {
    let (mut xs, mut ys) = ([x], [y]);
    holdground::crs::InputCrs::from_text("EPSG:32722").unwrap().to_lon_lat(&mut xs, &mut ys).unwrap();
    (xs[0], ys[0])
}
