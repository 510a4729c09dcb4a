//! Sample places in a file of their own, joined by name.

use std::process::Command;

use crate::fixture::folder;

#[test]
fn places_from_a_waypoint_file_give_the_same_zones_as_places_in_the_sheet() {
    let place = tempfile::tempdir().unwrap();
    let demo = folder("demo");
    let read = |name: &str| std::fs::read_to_string(demo.join(name)).unwrap();
    // The sheet's places as GPX waypoints, in another order; the sheet loses them.
    let sheet = read("lab.csv");
    let mut waypoints: Vec<String> = Vec::new();
    let mut without_places = String::new();
    for (index, line) in sheet.lines().enumerate() {
        let cells: Vec<&str> = line.split(',').collect();
        if index > 0 {
            waypoints.push(format!("<wpt lat=\"{}\" lon=\"{}\"><name>{}</name></wpt>", cells[3], cells[2], cells[1]));
        }
        without_places += &[&cells[..2], &cells[4..]].concat().join(",");
        without_places.push('\n');
    }
    waypoints.reverse();
    let gpx = format!(
        "<?xml version=\"1.0\"?><gpx version=\"1.1\" creator=\"invented\" xmlns=\"http://www.topografix.com/GPX/1/1\">{}</gpx>",
        waypoints.concat()
    );
    let write = |name: &str, text: &str| std::fs::write(place.path().join(name), text).unwrap();
    write("cores.gpx", &gpx);
    write("lab.csv", &without_places);
    write("outline.geojson", &read("outline.geojson"));
    let sheet_places = "places = { from = \"file\", lon = \"Long\", lat = \"Lat\", crs = \"EPSG:4326\" }";
    let field = read("field.toml");
    let line = field.lines().find(|line| line.starts_with("places")).unwrap();
    assert!(line.starts_with(sheet_places), "{line}");
    write("field.toml", &field.replace(line, "places = { from = \"cores.gpx\", id = \"name\" }"));
    let run = |field: &std::path::Path, out: &str| {
        let out = place.path().join(out);
        let output = Command::new(env!("CARGO_BIN_EXE_holdground"))
            .args(["run", field.to_str().unwrap(), "--out", out.to_str().unwrap()])
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
        std::fs::read_to_string(out.join("gis/zones.geojson")).unwrap()
    };
    assert_eq!(run(&place.path().join("field.toml"), "joined"), run(&demo.join("field.toml"), "sheet"));
}
