use gdal::vector::OGRwkbGeometryType;

use super::covariate_points::read_covariate_points;
use super::tests::{Folder, SQUARE, TOL_DEG, codes, polygons_geojson};

fn log(rows: &[(&str, &str)]) -> String {
    let feature = |(value, geometry): &(&str, &str)| {
        format!(r#"{{"type":"Feature","properties":{{"EC":{value}}},"geometry":{geometry}}}"#)
    };
    let features: Vec<String> = rows.iter().map(feature).collect();
    format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","))
}

#[test]
fn points_with_a_number_are_taken_and_the_rest_is_counted() {
    let at = r#"{"type":"Point","coordinates":[-93.5,41.0,200]}"#;
    let text = log(&[
        ("12.25", at),
        ("null", at),
        ("7", r#"{"type":"MultiPoint","coordinates":[[-93.51,41.0],[-93.52,41.0]]}"#),
        ("3", "null"),
        ("4", r#"{"type":"LineString","coordinates":[[-93.5,41.0],[-93.4,41.0]]}"#),
    ]);
    let file = read_covariate_points(&Folder::new().write("log.geojson", &text), "ec", None).expect("readable");
    assert_eq!(file.values, [(-93.5, 41.0, 12.25), (-93.51, 41.0, 7.0), (-93.52, 41.0, 7.0)]);
    let said: Vec<&str> = file.notes.iter().map(|note| note.message.as_str()).collect();
    assert_eq!(
        said,
        [
            "1 of 5 have no value in `ec` and are left out",
            "1 of 5 have no place and are left out",
            "left out: 1 features that are not points",
        ]
    );
    assert_eq!(
        (file.crs_name.as_str(), file.accuracy.as_str()),
        ("WGS 84 (EPSG:4326)", "same datum as WGS 84, no shift")
    );
}

#[test]
fn an_attribute_of_texts_in_a_shapefile_of_meters_is_read_as_numbers() {
    let rows = [
        ("12.5", "POINT(457949.159038 4538877.438193)"),
        ("n/a", "POINT(457000 4538000)"),
        ("", "POINT(457000 4538000)"),
    ];
    let folder = Folder::new();
    let path = folder.make("ESRI Shapefile", "log.shp", Some(32615), OGRwkbGeometryType::wkbPoint, &rows);
    let file = read_covariate_points(&path, "ID", None).expect("readable");
    // [project reference table] EPSG:32615 to WGS 84.
    let (lon, lat, value) = file.values[0];
    assert!((lon + 93.5).abs() < TOL_DEG && (lat - 41.0).abs() < TOL_DEG && value == 12.5);
    assert_eq!(file.notes[1].message, "1 of 3 hold a text in `ID` that is no number, the first `n/a`: left out");
}

#[test]
fn a_file_without_the_attribute_points_or_values_is_refused() {
    let folder = Folder::new();
    let at = r#"{"type":"Point","coordinates":[-93.5,41.0]}"#;
    let blank = folder.write("blank.geojson", &log(&[("null", at), ("\"NaN\"", at)]));
    let faults = read_covariate_points(&blank, "EC", None).expect_err("blank");
    assert_eq!(codes(&faults), ["covariate-without-values"]);
    assert!(faults[0].message.ends_with("gives no value: 2 of 2 have no value in `EC` and are left out"));
    let faults = read_covariate_points(&blank, "speed", None).expect_err("no such attribute");
    assert_eq!(faults[0].message, "there is no column `speed`; found: `EC`");
    let polygons = folder.write("field.geojson", &polygons_geojson("", &[SQUARE]));
    let faults = read_covariate_points(&polygons, "EC", None).expect_err("a polygon");
    assert!(faults[0].message.ends_with("gives no value: it holds no point"), "{}", faults[0].message);
}
