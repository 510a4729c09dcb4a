//! Runs a fixture folder through the library, without the program's edge.

use std::path::{Path, PathBuf};

use holdground::boundary::FieldBoundary;
use holdground::crs::WorkCrsChoice;
use holdground::diagnostic::Diagnostic;
use holdground::field_file::FieldFile;
use holdground::pipeline::{GroundReadings, Inputs, Outcome, run};
use holdground::samples::SampleTable;
use holdground::setback::Setback;

/// A folder of `fixtures/`.
pub(crate) fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures").join(name)
}

/// Rings of every polygon of a GeoJSON text.
pub(crate) fn geo_json_rings(text: &str) -> Vec<Vec<(f64, f64)>> {
    let features = geojson::FeatureCollection::try_from(text.parse::<geojson::GeoJson>().unwrap()).unwrap();
    let mut rings = Vec::new();
    for feature in features {
        let polygons = match feature.geometry.unwrap().value {
            geojson::GeometryValue::Polygon { coordinates } => vec![coordinates],
            geojson::GeometryValue::MultiPolygon { coordinates } => coordinates,
            other => panic!("not a polygon: {}", other.type_name()),
        };
        for ring in polygons.into_iter().flatten() {
            rings.push(ring.iter().map(|position| (position[0], position[1])).collect());
        }
    }
    rings
}

/// Runs a fixture after editing its field file's text.
pub(crate) fn run_edited(name: &str, edit: impl Fn(String) -> String) -> Outcome {
    run_folder(&folder(name), edit, |place| place)
}

/// Runs any folder; `to_lon_lat` turns the outline's coordinates.
pub(crate) fn run_folder(
    folder: &Path,
    edit: impl Fn(String) -> String,
    to_lon_lat: impl Fn((f64, f64)) -> (f64, f64),
) -> Outcome {
    run(inputs(folder, edit, to_lon_lat), &|_| {}).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

/// Runs a fixture after editing its field file's text, with what zones are drawn from beside the samples.
pub(crate) fn run_with_ground(
    name: &str,
    edit: impl Fn(String) -> String,
    ground: GroundReadings,
) -> Result<Outcome, Vec<Diagnostic>> {
    run(Inputs { ground, ..inputs(&folder(name), edit, |place| place) }, &|_| {})
}

/// Runs a fixture after editing its field file's text, with ground that products keep off.
pub(crate) fn run_with_keep_off(name: &str, edit: impl Fn(String) -> String, keep_off: Vec<Setback>) -> Outcome {
    run(Inputs { keep_off, ..inputs(&folder(name), edit, |place| place) }, &|_| {})
        .unwrap_or_else(|faults| panic!("{faults:#?}"))
}

fn inputs(folder: &Path, edit: impl Fn(String) -> String, to_lon_lat: impl Fn((f64, f64)) -> (f64, f64)) -> Inputs {
    let read = |file: &str| std::fs::read_to_string(folder.join(file)).unwrap();
    let field_file = FieldFile::parse("field.toml", &edit(read("field.toml"))).unwrap_or_else(|f| panic!("{f:#?}"));
    let rings: Vec<Vec<(f64, f64)>> = geo_json_rings(&read(&field_file.field.outline))
        .into_iter()
        .map(|ring| ring.into_iter().map(&to_lon_lat).collect())
        .collect();
    let boundary =
        FieldBoundary::from_rings(&rings, None, &WorkCrsChoice::Derived).unwrap_or_else(|f| panic!("{f:#?}"));
    let table = SampleTable::read_csv("lab.csv", read(&field_file.samples.file).as_bytes()).unwrap();
    Inputs {
        field_file,
        boundary: boundary.value,
        table,
        points: None,
        keep_off: Vec::new(),
        ground: GroundReadings::default(),
    }
}
