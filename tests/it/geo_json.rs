//! The vector files as another reader sees them: GDAL opens what was written.

use std::process::Command;

use gdal::spatial_ref::SpatialRef;
use gdal::vector::LayerAccess as _;

use crate::check_close;
use crate::fixture::folder;

#[test]
fn gdal_reads_zones_and_rates_back_valid_with_the_right_area() {
    let place = tempfile::tempdir().unwrap();
    let out = place.path().join("out");
    let field = folder("demo").join("field.toml");
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
    // Every interior edge stands once in each direction, to the last digit; what is left over is the outer edge.
    let outcome = crate::fixture::run_edited("demo", |text| text);
    let key = |(lon, lat): (f64, f64)| ((lon * 1e7).round() as i64, (lat * 1e7).round() as i64);
    let mut edges = std::collections::HashMap::new();
    for shape in &outcome.shapes {
        for ring in shape.patches.iter().flatten() {
            for pair in ring.windows(2) {
                let (from, to) = (key(pair[0]), key(pair[1]));
                *edges.entry((from, to)).or_insert(0) += 1;
            }
        }
    }
    assert!(edges.values().all(|&count| count == 1), "an edge stands twice in one direction");
    let n_shared = edges.keys().filter(|(from, to)| edges.contains_key(&(*to, *from))).count();
    assert!(n_shared > 50 && n_shared < edges.len());
}
