//! The vector files as another reader sees them: GDAL opens what was written.

use std::process::Command;

use gdal::spatial_ref::SpatialRef;
use gdal::vector::LayerAccess as _;
use geojson::{FeatureCollection, GeometryValue, JsonObject};
use holdground::coverage::Lattice;
use holdground::export::{Value, VectorLayer, geo_json};

use crate::check_close;
use crate::fixture::folder;
use crate::layers::{hole_and_island, random_layer};

fn read(layer: &VectorLayer) -> (String, FeatureCollection) {
    let text = geo_json(layer, JsonObject::new());
    let collection = FeatureCollection::try_from(text.parse::<geojson::GeoJson>().unwrap()).unwrap();
    (text, collection)
}

/// Numbers of a text as they are printed, but those of ids and attributes: from `[` or `,` to `,` or `]`.
fn printed_coordinates(text: &str) -> Vec<&str> {
    let is_of_number = |c: char| c.is_ascii_digit() || ['-', '.', 'e'].contains(&c);
    text.split(['[', ',', ']']).filter(|part| !part.is_empty() && part.chars().all(is_of_number)).collect()
}

#[test]
fn coordinates_are_the_lattice_s_seven_decimals() {
    for layer in (500..).filter_map(random_layer).take(20) {
        let (text, collection) = read(&layer);
        // As printed: each number is the text of its place, but for zeros at its end.
        let trimmed = |text: &str| text.trim_end_matches('0').trim_end_matches('.').to_owned();
        let lattice = &layer.lattice;
        let places = layer.records.iter().flat_map(|record| &record.polygons).flat_map(|polygon| polygon.rings());
        let mut expected: Vec<String> = Vec::new();
        for vertex in places.flatten() {
            let (lon, lat) = lattice.lon_lat_text(*vertex);
            expected.extend([trimmed(&lon), trimmed(&lat)]);
        }
        let in_rings: String =
            text.split("\"coordinates\":").skip(1).map(|rest| rest.split('"').next().unwrap()).collect();
        let printed: Vec<String> = printed_coordinates(&in_rings).into_iter().map(trimmed).collect();
        assert_eq!(printed, expected);
        // As read.
        for (feature, record) in collection.features.iter().zip(&layer.records) {
            let Some(GeometryValue::MultiPolygon { coordinates }) = feature.geometry.as_ref().map(|g| &g.value) else {
                panic!("a MultiPolygon throughout");
            };
            assert_eq!(coordinates.len(), record.polygons.len());
            for (rings, polygon) in coordinates.iter().zip(&record.polygons) {
                for (ring, written) in rings.iter().zip(polygon.rings()) {
                    let read: Vec<(f64, f64)> = ring.iter().map(|position| (position[0], position[1])).collect();
                    assert_eq!(read, written.iter().map(|vertex| lattice.lon_lat(*vertex)).collect::<Vec<_>>());
                }
            }
        }
    }
}

#[test]
fn places_beside_greenwich_and_the_equator_read_back_too() {
    // Shortest decimals may have a power of ten there, which JSON allows (RFC 8259 section 6).
    let mut layer = hole_and_island();
    layer.lattice = Lattice { lon0_e7: -3, lat0_e7: -89_999 };
    let (text, collection) = read(&layer);
    assert!(text.contains("[-3e-7,-0.0089999]") && text.contains("[0.0089997,1e-7]"), "{text}");
    let Some(GeometryValue::MultiPolygon { coordinates }) = collection.features[0].geometry.as_ref().map(|g| &g.value)
    else {
        panic!("a MultiPolygon throughout");
    };
    let (corner, opposite) = (&coordinates[0][0][0], &coordinates[0][0][2]);
    assert_eq!(
        (corner[0], corner[1], opposite[0], opposite[1]),
        (-0.000_000_3, -0.008_999_9, 0.008_999_7, 0.000_000_1)
    );
}

#[test]
fn members_are_those_of_rfc_7946() {
    let mut about = JsonObject::new();
    about.insert("field".to_owned(), "Invented".into());
    let text = geo_json(&hole_and_island(), about);
    assert!(text.ends_with("}\n") && text.starts_with('{'), "no BOM");
    let file: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert!(file.get("crs").is_none(), "section 4");
    assert_eq!(file["holdground"]["field"], "Invented");
    // Section 5: west, south, east, north; of the collection and of each feature.
    assert_eq!(file["bbox"], serde_json::json!([-93.6123457, 42.0123451, -93.6033457, 42.0213451]));
    assert_eq!(file["features"][1]["bbox"], serde_json::json!([-93.6103457, 42.0143451, -93.6053457, 42.0193451]));
    assert_eq!((&file["features"][0]["id"], &file["features"][1]["id"]), (&1.into(), &2.into()));
    let properties = &file["features"][0]["properties"];
    assert_eq!(
        properties,
        &serde_json::json!({"ZONE": 1, "RATE": 115.5, "UNIT": "lb/ac", "PRODUCT": "Potash 0-0-60", "AREA_AC": 12.5})
    );
    assert_eq!(file["features"][1]["properties"]["RATE"], serde_json::Value::Null);
    // Section 3.1.6: exteriors counter-clockwise, holes clockwise.
    for feature in file["features"].as_array().unwrap() {
        for polygon in feature["geometry"]["coordinates"].as_array().unwrap() {
            for (index, ring) in polygon.as_array().unwrap().iter().enumerate() {
                let at = |point: &serde_json::Value, axis: usize| {
                    point[axis].as_f64().unwrap() - ring[0][axis].as_f64().unwrap()
                };
                let cross = |p: &[serde_json::Value]| at(&p[0], 0) * at(&p[1], 1) - at(&p[1], 0) * at(&p[0], 1);
                let area: f64 = ring.as_array().unwrap().windows(2).map(cross).sum();
                assert_eq!(area > 0.0, index == 0);
            }
        }
    }
}

#[test]
fn numbers_are_rounded_and_never_nan() {
    let mut layer = hole_and_island();
    layer.records[0].values[1] = Value::Number(0.1 + 0.2);
    layer.records[1].values[1] = Value::Number(f64::NAN);
    let (text, _) = read(&layer);
    assert!(text.contains("\"RATE\":0.3,") && text.contains("\"RATE\":null") && !text.contains("NaN"), "{text}");
}

#[test]
fn gdal_finds_hole_and_island_valid() {
    let place = tempfile::tempdir().unwrap();
    let path = place.path().join("t.geojson");
    std::fs::write(&path, geo_json(&hole_and_island(), JsonObject::new())).unwrap();
    let dataset = gdal::Dataset::open(path).unwrap();
    let mut layer = dataset.layer(0).unwrap();
    // Squares of 90, 50 and 10 thousand steps of 1e-7 degree.
    for (feature, area) in layer.features().zip([81.0 - 25.0 + 1.0, 25.0 - 1.0]) {
        let geometry = feature.geometry().unwrap();
        assert!(geometry.is_valid());
        check_close(geometry.area(), area * 1e-6, 1e-15);
    }
}

#[test]
fn gdal_reads_zones_and_rates_back_valid_with_the_right_area() {
    let place = tempfile::tempdir().unwrap();
    let out = place.path().join("out");
    let field = folder("one_pass").join("field.toml");
    let arguments = ["run", field.to_str().unwrap(), "--out", out.to_str().unwrap()];
    let status = Command::new(env!("CARGO_BIN_EXE_holdground")).args(arguments).output().unwrap().status;
    assert_eq!(status.code(), Some(0));
    for file in ["gis/zones.geojson", "gis/THREE_1_POT.geojson"] {
        let dataset = gdal::Dataset::open(out.join(file)).unwrap();
        let mut layer = dataset.layer(0).unwrap();
        let crs: SpatialRef = layer.spatial_ref().unwrap();
        assert_eq!(crs.auth_code().unwrap(), 4326);
        assert_eq!(layer.feature_count(), 3);
        let mut area_ac = 0.0;
        for feature in layer.features() {
            assert!(feature.geometry().unwrap().is_valid(), "GEOS calls a zone of {file} invalid");
            let zone = feature.field_index("ZONE").unwrap();
            assert!((1..=3).contains(&feature.field_as_integer(zone).unwrap().unwrap()));
            let area = feature.field_index("AREA_AC").unwrap();
            area_ac += feature.field_as_double(area).unwrap().unwrap();
        }
        // Areas are shares of the outline's: 160.5 ac (fixtures/demo/SOURCE.md).
        check_close(area_ac, 160.5, 0.1);
    }
}

#[test]
fn neighboring_zones_share_every_border_vertex() {
    // Every interior edge stands once in each direction; what is left over is the outer edge.
    let outcome = crate::fixture::run_edited("demo", |text| text);
    let mut edges = std::collections::HashMap::new();
    for ground in outcome.outlines.unwrap().zones() {
        for ring in ground.polygons.iter().flat_map(|polygon| polygon.rings()) {
            for pair in ring.windows(2) {
                *edges.entry((pair[0], pair[1])).or_insert(0) += 1;
            }
        }
    }
    assert!(edges.values().all(|&count| count == 1), "an edge stands twice in one direction");
    let n_shared = edges.keys().filter(|(from, to)| edges.contains_key(&(*to, *from))).count();
    assert!(n_shared > 50 && n_shared < edges.len());
}
