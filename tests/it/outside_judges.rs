//! Whole results of the demo before judges of other hands: a GeoJSON linter, shapely, GeographicLib, pngcheck.

use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

use crate::check_close;
use crate::fixture::folder;
use crate::outside;

/// A run of the demo, made once.
fn results() -> &'static Path {
    static RUN: OnceLock<PathBuf> = OnceLock::new();
    RUN.get_or_init(|| {
        let place = tempfile::tempdir().unwrap().keep();
        let output = Command::new(env!("CARGO_BIN_EXE_holdground"))
            .args(["run".as_ref(), folder("demo").join("field.toml").as_os_str(), OsStr::new("--out")])
            .arg(place.join("out"))
            .output()
            .unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        place.join("out")
    })
}

fn files(below: &str, ending: &str) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(results().join(below)).unwrap().map(|entry| entry.unwrap().path());
    let mut files: Vec<PathBuf> = entries.filter(|path| path.extension().is_some_and(|of| of == ending)).collect();
    files.sort();
    files
}

fn script(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/it/readers").join(name)
}

#[test]
fn a_linter_finds_nothing_in_the_geojson_files() {
    let Some(marker) = outside::path("geojsonhint/node_modules/@mapbox/geojsonhint/package.json", None) else { return };
    let install = marker.ancestors().nth(4).unwrap();
    let files = files("gis", "geojson");
    assert!(files.len() >= 7, "zones and six rate files: {files:?}");
    let (hint, install) = (script("hint.cjs"), install.to_owned());
    let arguments: Vec<&OsStr> =
        [hint.as_os_str(), install.as_os_str()].into_iter().chain(files.iter().map(|file| file.as_os_str())).collect();
    let Some(text) = outside::printed("node", &arguments) else { return };
    let found: Vec<Vec<serde_json::Value>> = serde_json::from_str(&text).unwrap();
    assert_eq!(found.len(), files.len());
    assert!(found.iter().all(Vec::is_empty), "{found:?}");
}

#[test]
fn totals_are_those_of_geographiclib_and_polygons_valid_by_shapely() {
    let Some(marker) = outside::path("judges-py/shapely/__init__.py", None) else { return };
    let install = marker.ancestors().nth(2).unwrap().to_owned();
    let record: serde_json::Value =
        serde_json::from_slice(&std::fs::read(results().join("run_record.json")).unwrap()).unwrap();
    let passes = record["passes"].as_array().unwrap();
    for pass in passes {
        let number = pass["number"].as_u64().unwrap();
        let is_it = |path: &&PathBuf| {
            let text = std::fs::read_to_string(path).unwrap();
            path.file_name().unwrap().to_string_lossy().starts_with(&format!("THREE_{number}_"))
                && text.contains(pass["product"].as_str().unwrap())
        };
        let files = files("gis", "geojson");
        let file = files.iter().find(is_it).unwrap();
        let areas = script("areas.py");
        let arguments = [areas.as_os_str(), install.as_os_str(), file.as_os_str()];
        let Some(text) = outside::printed("python3", &arguments) else { return };
        let rows: Vec<serde_json::Value> = serde_json::from_str(&text).unwrap();
        assert!(rows.iter().all(|row| row["valid"] == true), "{file:?}");
        let number_of = |row: &serde_json::Value, key: &str| row[key].as_f64().unwrap();
        let total: f64 = rows.iter().map(|row| number_of(row, "rate") * number_of(row, "area_ac")).sum();
        let told = pass["total"].as_f64().unwrap();
        check_close(total / told, 1.0, 0.001);
        check_close(rows.iter().map(|row| number_of(row, "area_ac")).sum(), 160.5, 0.1);
    }
    assert_eq!(passes.len(), 6);
}

#[test]
fn pngcheck_finds_no_fault_in_the_pictures() {
    let pictures = files("maps", "png");
    assert!(pictures.len() >= 13, "{pictures:?}");
    let quiet = OsStr::new("-q");
    let arguments: Vec<&OsStr> = std::iter::once(quiet).chain(pictures.iter().map(|path| path.as_os_str())).collect();
    let Some(text) = outside::printed("pngcheck", &arguments) else { return };
    assert_eq!(text.trim(), "", "{text}");
}
