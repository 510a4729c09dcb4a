//! Sample places in a file of their own, joined by name, and places as people write them.

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

/// Cells of the first columns of a run's `samples_checked` table: sample, line, lon, lat.
fn places_of(field: &std::path::Path, out: &std::path::Path) -> Vec<(String, f64, f64)> {
    let output = Command::new(env!("CARGO_BIN_EXE_holdground"))
        .args(["run", field.to_str().unwrap(), "--out", out.to_str().unwrap()])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let table = std::fs::read_to_string(out.join("tables/samples_checked.csv")).unwrap();
    let cells = table.lines().skip(1).map(|line| line.split(',').collect::<Vec<_>>());
    cells.map(|cells| (cells[0].to_owned(), cells[2].parse().unwrap(), cells[3].parse().unwrap())).collect()
}

/// `93°30'17.28"W`, from a coordinate of six decimals.
fn in_seconds(degrees: f64, letters: [char; 2]) -> String {
    let hundredths = (degrees.abs() * 360_000.0).round() as u64;
    let (whole, minutes, seconds) = (hundredths / 360_000, hundredths % 360_000 / 6000, hundredths % 6000);
    let letter = letters[usize::from(degrees < 0.0)];
    format!("{whole}°{minutes:02}'{:02}.{:02}\"{letter}", seconds / 100, seconds % 100)
}

#[test]
fn degrees_minutes_and_seconds_and_polygons_put_samples_where_decimal_degrees_do() {
    let place = tempfile::tempdir().unwrap();
    let sheet = std::fs::read_to_string(folder("bad/outline-without-polygons/lab.csv")).unwrap();
    let decimal: Vec<(String, f64, f64)> = sheet
        .lines()
        .skip(1)
        .map(|line| line.split(',').collect::<Vec<_>>())
        .map(|cells| (cells[0].to_owned(), cells[1].parse().unwrap(), cells[2].parse().unwrap()))
        .collect();
    let write = |name: &str, text: &str| std::fs::write(place.path().join(name), text).unwrap();
    let outline = std::fs::read_to_string(folder("bad/outline.geojson")).unwrap();
    write("outline.geojson", &outline);
    let rows: Vec<String> = sheet
        .lines()
        .enumerate()
        .map(|(index, line)| {
            let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
            if index > 0 {
                cells[1] = in_seconds(cells[1].parse().unwrap(), ['E', 'W']);
                cells[2] = in_seconds(cells[2].parse().unwrap(), ['N', 'S']);
            }
            cells.join(",")
        })
        .collect();
    write("lab.csv", &rows.join("\n"));
    let field = std::fs::read_to_string(folder("bad/sample-outside/field.toml")).unwrap();
    write("field.toml", &field.replace("../outline.geojson", "outline.geojson"));
    let in_seconds = places_of(&place.path().join("field.toml"), &place.path().join("seconds"));
    assert_eq!(in_seconds.len(), decimal.len());
    for (read, given) in in_seconds.iter().zip(&decimal) {
        assert_eq!(read.0, given.0);
        // Half of the last printed figure, 0.005 seconds.
        crate::check_close(read.1, given.1, 0.005 / 3600.0 + 1e-7);
        crate::check_close(read.2, given.2, 0.005 / 3600.0 + 1e-7);
    }
    // Polygons of 0.0008 by 0.0008 degrees round the same places.
    let composites = places_of(&folder("bad/composites-at-points/field.toml"), &place.path().join("polygons"));
    for (read, given) in composites.iter().zip(&decimal) {
        assert_eq!(read.0, given.0);
        assert!((read.1 - given.1).abs() < 0.0004 && (read.2 - given.2).abs() < 0.0004, "{read:?} {given:?}");
    }
}
