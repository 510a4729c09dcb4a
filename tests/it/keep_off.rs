//! Ground to keep off: the settings, and the files as the program reads them.

use std::process::{Command, Output};

use holdground::field_file::FieldFile;

use crate::fixture::folder;

fn field_text() -> String {
    std::fs::read_to_string(folder("keep_off").join("field.toml")).unwrap()
}

fn holdground(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_holdground"))
        .args(arguments)
        .current_dir(folder("keep_off"))
        .env("NO_COLOR", "1")
        .output()
        .unwrap()
}

/// Faults as (code, key, message).
fn faults(text: &str) -> Vec<(&'static str, String, String)> {
    let found = FieldFile::parse("field.toml", text).expect_err("refused");
    let told = |fault: &holdground::diagnostic::Diagnostic| {
        let place = fault.place.as_ref().map(ToString::to_string).unwrap_or_default();
        (fault.code.name, place.split('`').nth(1).unwrap_or_default().to_owned(), fault.message.clone())
    };
    found.iter().map(told).collect()
}

#[test]
fn each_keep_off_has_its_distance_name_and_products() {
    let file = FieldFile::parse("field.toml", &field_text()).unwrap_or_else(|faults| panic!("{faults:#?}"));
    let told: Vec<(String, f64, &[String])> =
        file.keep_off.iter().map(|one| (one.title(), one.distance_m, &one.products[..])).collect();
    let pot = ["POT".to_owned()];
    // A foot is 0.3048 m (international yard and pound agreement, 1959).
    assert_eq!(
        told,
        [
            ("old well, 100 ft".to_owned(), 30.48, &[][..]),
            ("ditch, 10 m".to_owned(), 10.0, &pot[..]),
            ("pond".to_owned(), 0.0, &[][..])
        ]
    );
    let row = file.rows.iter().find(|row| row.key == "keep_off[2].distance_m").unwrap();
    assert_eq!(row.value, "10");
    // The same in braces.
    let start = field_text().find("[[keep_off]]").unwrap();
    let inline = "keep_off = [{ file = \"maps/old well.geojson\", distance_ft = 12.5, products = [\"pot\"] }]\n";
    let text = format!("{inline}{}", &field_text()[..start]);
    let file = FieldFile::parse("field.toml", &text).unwrap_or_else(|faults| panic!("{faults:#?}"));
    assert_eq!(file.keep_off[0].title(), "old well, 12.5 ft");
    assert_eq!((file.keep_off[0].line, &file.keep_off[0].products), (1, &pot.to_vec()));
    // None, or not yet told.
    let none = FieldFile::parse("field.toml", &field_text()[..start]).unwrap();
    assert!(none.keep_off.is_empty());
    let open = FieldFile::parse("field.toml", &format!("keep_off = \"?\"\n{}", &field_text()[..start])).unwrap();
    assert!(open.keep_off.is_empty() && open.open == [(1, "keep_off".to_owned())]);
}

#[test]
fn faults_of_all_keep_offs_come_at_once() {
    let text = field_text()
        .replace("distance_ft = 100 ", "distance_ft = 5281 ")
        .replace("distance_m = 10\n", "distance = 10\n")
        .replace("file = \"pond.kml\"", "products = []");
    let told: Vec<(&str, String)> = faults(&text).into_iter().map(|(code, key, _)| (code, key)).collect();
    let expected = [
        ("wrong-value", "keep_off[1].distance_ft"),
        ("missing-key", "keep_off[2].distance_ft"),
        ("unknown-key", "keep_off[2].distance"),
        ("missing-key", "keep_off[3].file"),
        ("wrong-value", "keep_off[3].products"),
    ];
    assert_eq!(told, expected.map(|(code, key)| (code, key.to_owned())));
    // Without products only the absence of the key is right.
    let start = field_text().find("[need]").unwrap();
    let keep_off = "[[keep_off]]\nfile = \"a.kml\"\ndistance_ft = 1\nproducts = [\"POT\"]\n";
    let told = faults(&format!("{}{keep_off}", &field_text()[..start]));
    assert_eq!((told.len(), told[0].2.as_str()), (1, "`POT` is not one of `[products]`"));
    // A product with a fault of its own is told once.
    let told = faults(&field_text().replace("k2o_percent = 60", "k2o_percent = 160"));
    assert!(told.iter().all(|(_, key, _)| !key.starts_with("keep_off")), "{told:?}");
}

#[test]
fn the_program_reads_the_files_and_records_them() {
    let output = holdground(&["check", "field.toml"]);
    let stderr = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{stderr}");
    assert!(stderr.contains("heights of 1 polygons are left out") && !stderr.contains("keep-off-"), "{stderr}");
    let place = tempfile::tempdir().unwrap();
    let out = place.path().join("out");
    let output = holdground(&["run", "field.toml", "--out", out.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let record = std::fs::read_to_string(out.join("run_record.json")).unwrap();
    for name in ["well.geojson", "ditch.gpx", "pond.kml"] {
        assert!(record.contains(&format!("\"{name}\"")), "{name}");
    }
    assert!(record.contains("keep_off[1].distance_ft"));
}
