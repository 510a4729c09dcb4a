//! One thing changed at a time between writing and reading back; each must be told. And none told where nothing is.

use std::path::Path;

use gdal::vector::LayerAccess as _;
use holdground::coverage::{Lattice, LatticePolygon, Vertex};
use holdground::export::{
    Column, ColumnKind, OutputFile, Record, Value, VectorFormat, VectorLayer, WrittenLayer, geo_json_file, shapefile,
};
use holdground::field_file::ShapefileRecords;

use super::*;

#[path = "../../coverage/tests/scenario.rs"]
#[allow(dead_code)]
mod scenario;

fn ring(places: &[(i32, i32)]) -> Vec<Vertex> {
    places.iter().chain(places.first()).map(|&(x, y)| Vertex { x, y }).collect()
}

fn square(low: i32, high: i32) -> Vec<Vertex> {
    ring(&[(low, low), (high, low), (high, high), (low, high)])
}

fn hole(low: i32, high: i32) -> Vec<Vertex> {
    ring(&[(low, low), (low, high), (high, high), (high, low)])
}

/// Zone 1: a square with a hole, an island in the hole. Zone 2: the ring between them.
pub(super) fn layer() -> VectorLayer {
    let text = |name: &str, width| Column { name: name.to_owned(), kind: ColumnKind::Text { width } };
    let number =
        |name: &str, width, decimals| Column { name: name.to_owned(), kind: ColumnKind::Number { width, decimals } };
    let record = |id: usize, rate: f64, why: Value, polygons| {
        let product = Value::Text("Düngekalk µ".to_owned());
        let values = vec![Value::Number(id as f64), Value::Number(rate), product, why, Value::Number(0.5)];
        Record { id, values, polygons }
    };
    let outer = LatticePolygon { exterior: square(0, 90_000), interiors: vec![hole(20_000, 70_000)] };
    let island = LatticePolygon { exterior: square(40_000, 50_000), interiors: Vec::new() };
    let between = LatticePolygon { exterior: square(20_000, 70_000), interiors: vec![hole(40_000, 50_000)] };
    VectorLayer {
        lattice: Lattice { lon0_e7: -936_123_457, lat0_e7: 420_123_451 },
        columns: vec![
            number("ZONE", 4, 0),
            number("RATE", 10, 2),
            text("PRODUCT", 32),
            text("WHY", 254),
            number("AREA_AC", 10, 2),
        ],
        records: vec![
            record(1, 115.0, Value::Text("2026-03-02".to_owned()), vec![outer, island]),
            record(2, 75.25, Value::Unknown, vec![between]),
        ],
    }
}

fn shapefiles(layer: &VectorLayer, records: ShapefileRecords) -> Vec<OutputFile> {
    shapefile(layer, "T_1_POT", records, Some("2026-03-02")).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

fn geo_jsons(layer: &VectorLayer) -> Vec<OutputFile> {
    vec![geo_json_file("gis/t.geojson", layer.clone(), serde_json::Map::new())]
}

fn put(folder: &Path, files: &[OutputFile]) {
    for file in files {
        let path = folder.join(&file.path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, &file.bytes).unwrap();
    }
}

/// What is told of the files, `None` where nothing is.
pub(super) fn told(files: &[OutputFile]) -> Option<String> {
    let folder = tempfile::tempdir().unwrap();
    put(folder.path(), files);
    let failure = check(folder.path(), files).err()?;
    assert!(matches!(failure.exit_code, ExitCode::Internal));
    assert_eq!(failure.diagnostics.len(), 1);
    let message = failure.diagnostics[0].message.clone();
    assert!(message.starts_with("internal error: `") && message.ends_with("; this is a fault of the program"));
    Some(message)
}

/// What is wrong with what is told.
fn otherwise(change: &str, told: Option<String>, expected: &str) -> Option<String> {
    match told {
        None => Some(format!("{change}: nothing is told")),
        Some(message) if message.contains(expected) => None,
        Some(message) => Some(format!("{change}: {message}")),
    }
}

/// Replaces the `nth` place of some bytes, which must be there.
fn replace(bytes: &mut [u8], nth: usize, from: &[u8], to: &[u8]) {
    let places: Vec<usize> = (0..=bytes.len() - from.len()).filter(|&at| bytes[at..].starts_with(from)).collect();
    bytes[places[nth]..places[nth] + to.len()].copy_from_slice(to);
}

fn replace_text(file: &mut OutputFile, from: &str, to: &str) {
    let text = String::from_utf8(file.bytes.clone()).unwrap();
    assert!(text.contains(from), "{from} not in {text}");
    file.bytes = text.replacen(from, to, 1).into_bytes();
}

#[test]
fn what_was_written_reads_back() {
    let layer = layer();
    for records in [ShapefileRecords::Zones, ShapefileRecords::Patches] {
        assert_eq!(told(&shapefiles(&layer, records)), None);
    }
    assert_eq!(told(&geo_jsons(&layer)), None);
}

#[test]
fn each_change_of_a_shapefile_is_told() {
    type Change = fn(&mut Vec<OutputFile>);
    const SHP: usize = 0;
    const SHX: usize = 1;
    const DBF: usize = 2;
    const PRJ: usize = 3;
    const CPG: usize = 4;
    let changes: [(&str, Change, &str); 18] = [
        (
            "a vertex moved by one step",
            |files| {
                let lon = |step: i64| ((-936_123_457 + step) as f64 / 1e7).to_le_bytes();
                replace(&mut files[SHP].bytes, 0, &lon(50_000), &lon(50_001));
            },
            "record 1: patch 2: a vertex at -93.6073456, 42.01",
        ),
        (
            "a coordinate off the lattice",
            |files| {
                let lon = (-936_123_457.0 + 50_000.0) / 1e7_f64;
                replace(&mut files[SHP].bytes, 0, &lon.to_le_bytes(), &(lon + 1e-11).to_le_bytes());
            },
            "has over 7 decimals",
        ),
        (
            "a digit of a rate",
            |files| replace(&mut files[DBF].bytes, 0, b"115.00", b"116.00"),
            "record 1: `RATE` is `116`, `115.00` expected",
        ),
        (
            "a decimal point",
            |files| replace(&mut files[DBF].bytes, 0, b"115.00", b"1150.0"),
            "`RATE` is `1150`, `115.00` expected",
        ),
        (
            "a rate gone",
            |files| replace(&mut files[DBF].bytes, 0, b"75.25", b"     "),
            "record 2: `RATE` is nothing, `75.25` expected",
        ),
        ("a letter of a text", |files| replace(&mut files[DBF].bytes, 1, b"ngek", b"ngeh"), "record 2: `PRODUCT`"),
        ("a text where none was", |files| replace(&mut files[DBF].bytes, 1, b"         ", b"      why"), "record"),
        (
            "a record struck out",
            |files| replace(&mut files[DBF].bytes, 0, b"    1", b"*   1"),
            "record 1: `ZONE` is `2`, `1` expected",
        ),
        ("a record of the table gone", |files| files[DBF].bytes[4] = 1, "1 records, 2 expected"),
        ("a record of the table too many", |files| files[DBF].bytes[4] = 3, ".dbf states"),
        (
            "a column of another name",
            |files| replace(&mut files[DBF].bytes, 0, b"RATE", b"RITE"),
            "columns `ZONE`, `RITE`",
        ),
        (
            "a column narrower",
            |files| {
                // Width of the second column, and what it loses goes to the third.
                files[DBF].bytes[32 + 32 + 16] -= 1;
                files[DBF].bytes[32 + 64 + 16] += 1;
            },
            "column `RATE` is of another kind or width",
        ),
        ("another datum", |files| replace_text(&mut files[PRJ], "D_WGS_1984", "D_North_American_1927"), "its CRS"),
        ("another encoding", |files| files[CPG].bytes = b"ISO-8859-1".to_vec(), "`PRODUCT`"),
        ("no index", |files| _ = files.remove(SHX), "it does not open"),
        (
            "half of the shapes",
            |files| {
                let n = files[SHP].bytes.len();
                files[SHP].bytes.truncate(n / 2)
            },
            "polygons expected",
        ),
        (
            "a record dropped",
            |files| {
                let mut less = layer();
                less.records.pop();
                let written = files[SHP].layer.take();
                *files = shapefiles(&less, ShapefileRecords::Zones);
                files[SHP].layer = written;
            },
            "1 records, 2 expected",
        ),
        (
            "a patch dropped",
            |files| {
                let mut less = layer();
                less.records[0].polygons.pop();
                let written = files[SHP].layer.take();
                *files = shapefiles(&less, ShapefileRecords::Zones);
                files[SHP].layer = written;
            },
            "record 1: 1 patches, 2 expected",
        ),
    ];
    let mut wrong = Vec::new();
    for (name, change, expected) in changes {
        let mut files = shapefiles(&layer(), ShapefileRecords::Zones);
        change(&mut files);
        wrong.extend(otherwise(name, told(&files), expected));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_ring_turned_round_is_told() {
    type Turn = fn(&mut VectorLayer);
    let turns: [(Turn, &str); 2] = [
        (|layer| layer.records[0].polygons[0].interiors[0].reverse(), "record 1: "),
        (|layer| layer.records[1].polygons[0].exterior.reverse(), "record 2: "),
    ];
    for (turn, expected) in turns {
        let mut turned = layer();
        turn(&mut turned);
        for (mut files, format) in [
            (shapefiles(&turned, ShapefileRecords::Zones), VectorFormat::Shapefile),
            (geo_jsons(&turned), VectorFormat::GeoJson),
        ] {
            files[0].layer = Some(WrittenLayer { layer: layer(), format });
            let message = told(&files).unwrap_or_else(|| panic!("{format:?}: nothing is told"));
            assert!(message.contains(expected), "{format:?}: {message}");
        }
    }
}

#[test]
fn each_change_of_a_geojson_is_told() {
    let changes = [
        ("[-93.6033457,42.0213451]", "[-93.6033458,42.0213451]", "record 1: patch 1: a vertex at -93.6033458"),
        ("[-93.6033457,42.0213451]", "[-93.60334571,42.0213451]", "over 7 decimals"),
        ("[-93.6033457,42.0213451]", "[-93.6033457,42.0213451,0]", "its CRS"),
        ("[-93.6033457,42.0213451],", "", "vert"),
        ("\"RATE\":115.0", "\"RATE\":116.0", "record 1: `RATE` is `116`, `115.00` expected"),
        ("\"RATE\":115.0", "\"RATE\":115.001", "record 1: `RATE` is `115.001`, `115.00` expected"),
        ("\"RATE\":115.0", "\"RATE\":null", "record 1: `RATE` is nothing"),
        ("\"RATE\":115.0", "\"RATE\":\"115.00\"", "column `RATE` is of another kind"),
        ("\"RATE\":", "\"RITE\":", "columns"),
        ("\"WHY\":null", "\"WHY\":\"\"", "record 2: `WHY` is ``, nothing expected"),
        ("2026-03-02", "2026-03-03", "record 1: `WHY` is `2026-03-03`"),
        ("\"id\":2", "\"id\":3", "record 2: id 3, 2 expected"),
        ("{", "{\"crs\":{\"type\":\"name\",\"properties\":{\"name\":\"EPSG:4267\"}},", "its CRS"),
        ("]]]]", "]]]", "it does not open"),
    ];
    let mut wrong = Vec::new();
    for (from, to, expected) in changes {
        let mut files = geo_jsons(&layer());
        replace_text(&mut files[0], from, to);
        wrong.extend(otherwise(&format!("{from} -> {to}"), told(&files), expected));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_difference_leaves_no_file() {
    let place = tempfile::tempdir().unwrap();
    let target = super::super::write::Target::new(&place.path().join("out"), false).unwrap_or_else(|_| panic!());
    let mut files = shapefiles(&layer(), ShapefileRecords::Zones);
    replace(&mut files[2].bytes, 0, b"115.00", b"116.00");
    let failure = target.write(&files).unwrap_err();
    assert!(matches!(failure.exit_code, ExitCode::Internal));
    assert_eq!(std::fs::read_dir(place.path()).unwrap().count(), 0);
    let files = shapefiles(&layer(), ShapefileRecords::Zones);
    assert!(target.write(&files).is_ok());
    assert_eq!(std::fs::read_dir(place.path().join("out")).unwrap().count(), 5);
}

#[test]
fn random_outlines_read_back_valid_and_without_false_alarm() {
    // GEOS, through GDAL, is the outside judge of what was read.
    let (mut n_layers, mut n_polygons) = (0, 0);
    for seed in 0..80 {
        let Ok(coverage) = scenario::Scenario::of(seed).coverage() else { continue };
        let mut layer = layer();
        let values = layer.records[0].values.clone();
        layer.lattice = coverage.lattice;
        layer.records = (1..)
            .zip(coverage.merge(&[0, 2]).unwrap())
            .map(|(id, zone)| Record { id, values: values.clone(), polygons: zone.polygons })
            .collect();
        n_layers += 1;
        for files in [
            shapefiles(&layer, ShapefileRecords::Zones),
            shapefiles(&layer, ShapefileRecords::Patches),
            geo_jsons(&layer),
        ] {
            assert_eq!(told(&files), None, "seed {seed}");
            let folder = tempfile::tempdir().unwrap();
            put(folder.path(), &files);
            let dataset = Dataset::open(folder.path().join(&files[0].path)).unwrap();
            for feature in dataset.layer(0).unwrap().features() {
                assert!(feature.geometry().unwrap().is_valid(), "seed {seed}: {}", files[0].path);
                n_polygons += 1;
            }
        }
    }
    assert!(n_layers > 70 && n_polygons > 500, "{n_layers} layers, {n_polygons} polygons");
}
