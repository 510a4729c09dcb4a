//! The program as typed: commands, exit codes, what lands on disk and what never does.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use crate::fixture::folder;

fn holdground(arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_holdground"));
    command.args(arguments).env("NO_COLOR", "1").output().expect("the built program starts")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("the program prints UTF-8")
}

fn demo() -> String {
    folder("one_pass").join("field.toml").display().to_string()
}

/// Paths below a folder with their bytes, sorted.
fn contents(root: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    fn gather(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() { gather(&path, found) } else { found.push(path) }
        }
    }
    let mut found = Vec::new();
    gather(root, &mut found);
    found.sort();
    let of = |path: PathBuf| (path.strip_prefix(root).unwrap().to_owned(), std::fs::read(&path).unwrap());
    found.into_iter().map(of).collect()
}

#[test]
fn check_of_the_demo_tells_what_it_saw_and_writes_nothing() {
    let before = contents(&folder("demo"));
    let output = holdground(&["check", &demo()]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    assert!(text(&output.stdout).contains("63 samples checked"));
    assert_eq!(contents(&folder("demo")), before);
}

#[test]
fn run_writes_the_whole_folder_within_80_columns_of_words() {
    let place = tempfile::tempdir().unwrap();
    let out = place.path().join("out");
    let output = holdground(&["run", &demo(), "--out", out.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let names: Vec<String> = contents(&out).iter().map(|(path, _)| path.display().to_string()).collect();
    let expected = [
        "READ-ME-FIRST.txt",
        "cab-sheets.pdf",
        "for-the-cab/THREE_1_POT.cpg",
        "for-the-cab/THREE_1_POT.dbf",
        "for-the-cab/THREE_1_POT.prj",
        "for-the-cab/THREE_1_POT.shp",
        "for-the-cab/THREE_1_POT.shx",
        "gis/THREE_1_POT.geojson",
        "gis/field.gpkg",
        "gis/zones.geojson",
        "grower.html",
        "grower.pdf",
        "grower.png",
        "maps/1-holding.png",
        "maps/2-sharing.png",
        "maps/3-zones.png",
        "maps/4-pass-1-pot.png",
        "maps/5-doubt.png",
        "maps/6-samples.png",
        "maps/7-measured-mapped.png",
        "maps/8-how-many-zones.png",
        "maps/9-rulers.png",
        "run_record.json",
        "tables/error.csv",
        "tables/needs.csv",
        "tables/rates.csv",
        "tables/samples_checked.csv",
        "tables/sharing.csv",
        "tables/zone_count.csv",
        "tables/zones.csv",
    ];
    assert_eq!(names, expected);
    let summary = text(&output.stdout);
    for line in summary.lines().filter(|line| !line.contains(out.to_str().unwrap())) {
        assert!(line.chars().count() <= 80, "{line}");
    }
    for word in [
        "Where the ground holds least",
        "What goes where",
        "certified adviser",
        "hidden in turn",
        "No rate here comes from a ratio",
    ] {
        assert!(summary.split_whitespace().collect::<Vec<_>>().join(" ").contains(word), "{word} not in\n{summary}");
    }
    // Nothing but the result is left beside it.
    assert_eq!(std::fs::read_dir(place.path()).unwrap().count(), 1);
}

#[test]
fn the_same_input_gives_the_same_bytes_on_one_and_on_three_threads() {
    let place = tempfile::tempdir().unwrap();
    let run = |name: &str, threads: &str| {
        let out = place.path().join(name);
        let output = holdground(&["run", &demo(), "--out", out.to_str().unwrap(), "--threads", threads, "--quiet"]);
        assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
        contents(&out)
    };
    let (one, three) = (run("one", "1"), run("three", "3"));
    assert!(one == three, "files differ between thread counts");
}

#[test]
fn earlier_results_are_replaced_only_when_asked_and_other_folders_never() {
    let place = tempfile::tempdir().unwrap();
    let out = place.path().join("out");
    let out_text = out.to_str().unwrap();
    std::fs::create_dir(&out).unwrap();
    std::fs::write(out.join("my-notes.txt"), "keep me").unwrap();
    let output = holdground(&["run", &demo(), "--out", out_text, "--replace"]);
    assert_eq!(output.status.code(), Some(5));
    assert!(text(&output.stderr).contains("error[result-folder-exists]"), "{}", text(&output.stderr));
    assert_eq!(std::fs::read_to_string(out.join("my-notes.txt")).unwrap(), "keep me");
    std::fs::remove_dir_all(&out).unwrap();
    assert_eq!(holdground(&["run", &demo(), "--out", out_text]).status.code(), Some(0));
    let first = contents(&out);
    assert_eq!(holdground(&["run", &demo(), "--out", out_text]).status.code(), Some(5));
    assert_eq!(contents(&out), first);
    std::fs::write(out.join("tables/my-notes.txt"), "keep me").unwrap();
    let output = holdground(&["run", &demo(), "--out", out_text, "--replace"]);
    assert_eq!(output.status.code(), Some(5), "a file of the user's lies among the results");
    assert!(text(&output.stderr).contains("tables/my-notes.txt"), "{}", text(&output.stderr));
    std::fs::remove_file(out.join("tables/my-notes.txt")).unwrap();
    std::fs::write(out.join("tables/zones.csv"), "spoilt").unwrap();
    assert_eq!(holdground(&["run", &demo(), "--out", out_text, "--replace"]).status.code(), Some(0));
    assert_eq!(contents(&out), first);
    assert_eq!(std::fs::read_dir(place.path()).unwrap().count(), 1);
}

#[test]
fn strict_refuses_warnings_and_writes_nothing() {
    let place = tempfile::tempdir().unwrap();
    let out = place.path().join("out");
    let output = holdground(&["run", &demo(), "--out", out.to_str().unwrap(), "--strict"]);
    assert_eq!(output.status.code(), Some(4));
    assert!(text(&output.stdout).is_empty());
    assert_eq!(std::fs::read_dir(place.path()).unwrap().count(), 0);
}

#[test]
fn a_folder_that_cannot_be_made_is_told_with_exit_code_5() {
    let place = tempfile::tempdir().unwrap();
    let out = place.path().join("no-such-folder").join("out");
    let file_in_the_way = place.path().join("no-such-folder");
    std::fs::write(&file_in_the_way, "a file, not a folder").unwrap();
    let output = holdground(&["run", &demo(), "--out", out.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(5), "{}", text(&output.stderr));
    assert!(text(&output.stderr).contains("error[could-not-write]"));
}

#[test]
fn a_wrong_command_line_is_exit_code_2() {
    for arguments in [
        &["spread"][..],
        &["run", "field.toml"],
        &["check"],
        &["explain", "no-such-thing"],
        &["check", "x", "--threads", "0"],
    ] {
        let output = holdground(arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {}", text(&output.stderr));
        assert!(text(&output.stdout).is_empty());
    }
}

#[test]
fn help_lists_examples_and_exit_codes() {
    let help = text(&holdground(&["--help"]).stdout);
    for word in ["holdground run field.toml --out", "Exit codes: 0 done", "3 input refused", "docs/field-file.md"] {
        assert!(help.contains(word), "{word} not in\n{help}");
    }
    for command in ["check", "run", "audit", "explain"] {
        assert!(text(&holdground(&[command, "--help"]).stdout).contains("Example"), "{command}");
    }
}

#[test]
fn explain_knows_every_code_in_the_sources() {
    fn codes(folder: &Path, found: &mut Vec<String>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                codes(&path, found);
            } else {
                let source = std::fs::read_to_string(&path).unwrap();
                found.extend(
                    source.split(": Code = Code {").skip(1).map(|rest| rest.split('"').nth(1).unwrap().to_owned()),
                );
            }
        }
    }
    let mut found = Vec::new();
    codes(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut found);
    let list = text(&holdground(&["explain"]).stdout);
    for code in &found {
        assert!(list.lines().any(|line| line == code), "`{code}` is not listed");
        let page = text(&holdground(&["explain", code]).stdout);
        assert!(["Checks", "Why", "Example", "Mend"].iter().all(|head| page.contains(head)), "{page}");
    }
    assert!(found.len() >= 40);
}

#[test]
fn an_older_proj_database_in_the_environment_does_not_matter() {
    // Debian's own PROJ is older than the one built in; only PROJ strings are used, so its database may be named.
    let place = tempfile::tempdir().unwrap();
    let run = |name: &str, proj_data: Option<&str>| {
        let out = place.path().join(name);
        let mut command = Command::new(env!("CARGO_BIN_EXE_holdground"));
        command.args(["run", &demo(), "--out", out.to_str().unwrap()]);
        if let Some(folder) = proj_data {
            command.env("PROJ_DATA", folder);
        }
        assert_eq!(command.output().unwrap().status.code(), Some(0));
        contents(&out)
    };
    assert!(run("plain", None) == run("older", Some("/usr/share/proj")));
}

#[test]
fn the_run_record_hashes_inputs_and_outputs_and_says_where_settings_came_from() {
    let place = tempfile::tempdir().unwrap();
    let out = place.path().join("out");
    assert_eq!(holdground(&["run", &demo(), "--out", out.to_str().unwrap()]).status.code(), Some(0));
    let record: serde_json::Value =
        serde_json::from_slice(&std::fs::read(out.join("run_record.json")).unwrap()).unwrap();
    // Hashes by the system's own tool.
    let sha256 = |path: &Path| {
        let output = Command::new("sha256sum").arg(path).output().unwrap();
        text(&output.stdout).split(' ').next().unwrap().to_owned()
    };
    let inputs = record["inputs"].as_array().unwrap();
    assert_eq!(inputs.len(), 3);
    for input in inputs {
        let name = Path::new(input["file"].as_str().unwrap()).file_name().unwrap();
        let of = if name == "field.toml" { "one_pass" } else { "demo" };
        assert_eq!(input["sha256"].as_str().unwrap(), sha256(&folder(of).join(name)), "{name:?}");
    }
    let files = record["files"].as_array().unwrap();
    assert_eq!(files.len() + 1, contents(&out).len(), "all files but the record itself");
    for file in files {
        assert_eq!(file["sha256"].as_str().unwrap(), sha256(&out.join(file["file"].as_str().unwrap())));
    }
    let settings = record["settings"].as_array().unwrap();
    let from =
        |key: &str| settings.iter().find(|row| row["key"] == key).map(|row| row["from"].as_str().unwrap().to_owned());
    assert!(from("zones.count").unwrap().contains("field.toml:"));
    assert!(
        settings.iter().all(|row| row["from"] == "default" || row["from"].as_str().unwrap().contains("field.toml:"))
    );
}

#[test]
fn the_rate_file_keeps_rfc_7946_and_the_table_s_rates() {
    let place = tempfile::tempdir().unwrap();
    let out = place.path().join("out");
    assert_eq!(holdground(&["run", &demo(), "--out", out.to_str().unwrap()]).status.code(), Some(0));
    let rates_text = std::fs::read_to_string(out.join("gis/THREE_1_POT.geojson")).unwrap();
    let file: serde_json::Value = serde_json::from_str(&rates_text).unwrap();
    assert!(file.get("crs").is_none(), "RFC 7946 section 4: no crs member");
    let mut rows = csv::Reader::from_path(out.join("tables/rates.csv")).unwrap();
    let header = rows.headers().unwrap().clone();
    let column = header.iter().position(|name| name == "product_lb_ac").unwrap();
    let table: Vec<f64> = rows.records().map(|row| row.unwrap()[column].parse().unwrap()).collect();
    let features = file["features"].as_array().unwrap();
    assert_eq!(features.len(), table.len());
    let [west, south, east, north] = [0, 1, 2, 3].map(|i| file["bbox"][i].as_f64().unwrap());
    for (feature, rate) in features.iter().zip(table) {
        assert_eq!(feature["properties"]["RATE"].as_f64().unwrap(), rate);
        assert_eq!(feature["properties"]["UNIT"], "lb/ac");
        for polygon in feature["geometry"]["coordinates"].as_array().unwrap() {
            for (index, ring) in polygon.as_array().unwrap().iter().enumerate() {
                let points: Vec<[f64; 2]> =
                    ring.as_array().unwrap().iter().map(|p| [p[0].as_f64().unwrap(), p[1].as_f64().unwrap()]).collect();
                assert_eq!(points.first(), points.last());
                assert!(points.len() >= 4);
                let twice_area: f64 = points.windows(2).map(|p| p[0][0] * p[1][1] - p[1][0] * p[0][1]).sum();
                assert_eq!(twice_area > 0.0, index == 0, "section 3.1.6: exterior counter-clockwise, holes clockwise");
                for [lon, lat] in points {
                    assert!((west..=east).contains(&lon) && (south..=north).contains(&lat));
                    assert!(((lon * 1e7).round() / 1e7 - lon).abs() < 1e-12, "7 decimals");
                }
            }
        }
    }
}

#[test]
fn help_lists_every_command_once() {
    let help = text(&holdground(&["--help"]).stdout);
    for command in ["new", "check", "run", "decide", "fields", "stick", "guides", "audit", "applied", "explain"] {
        let lines = help.lines().filter(|line| line.trim_start().starts_with(&format!("{command} ")));
        assert_eq!(lines.count(), 1, "{command}\n{help}");
        let own = holdground(&[command, "--help"]);
        assert_eq!(own.status.code(), Some(0));
    }
    // A command that is not listed would be found here.
    let wrong = text(&holdground(&["nonsense"]).stderr);
    assert!(wrong.contains("nonsense"), "{wrong}");
}
