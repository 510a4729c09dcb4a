//! `stick` as typed: two fields in one folder for the cab, audited, and as two public readers of task sets see them.

use std::path::Path;
use std::process::{Command, Output};

use crate::fixture::{folder, geo_json_rings};
use crate::task_set::{by_node, by_python, shown};

/// How far the second field lies east of the demo, degrees.
const EAST: f64 = 0.02;

/// The demo, and a copy of it further east under another name.
fn two_fields(place: &Path) {
    for (name, east) in [("one", 0.0), ("two", EAST)] {
        let to = place.join(name);
        std::fs::create_dir_all(&to).unwrap();
        let read = |file: &str| std::fs::read_to_string(folder("demo").join(file)).unwrap();
        let rings = geo_json_rings(&read("outline.geojson"));
        let moved: Vec<Vec<[f64; 2]>> =
            rings.iter().map(|ring| ring.iter().map(|(lon, lat)| [lon + east, *lat]).collect()).collect();
        let outline = serde_json::json!({"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {},
            "geometry": {"type": "Polygon", "coordinates": moved}}]});
        std::fs::write(to.join("outline.geojson"), outline.to_string()).unwrap();
        let sheet = read("lab.csv");
        let mut lines: Vec<String> = sheet.lines().map(str::to_owned).collect();
        let lon = lines[0].split(',').position(|column| column == "Long").unwrap();
        for line in &mut lines[1..] {
            let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
            cells[lon] = format!("{:.6}", cells[lon].parse::<f64>().unwrap() + east);
            *line = cells.join(",");
        }
        std::fs::write(to.join("lab.csv"), lines.join("\n")).unwrap();
        let text = read("field.toml");
        let text = if name == "one" {
            text
        } else {
            text.replace("Three-soils field (invented)", "Second field (invented)").replace("\"THREE\"", "\"SECOND\"")
        };
        std::fs::write(to.join("field.toml"), text).unwrap();
    }
}

fn holdground(place: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_holdground")).current_dir(place).args(arguments).output().unwrap()
}

#[test]
fn two_fields_lie_in_one_task_set_that_other_readers_take() {
    let place = tempfile::tempdir().unwrap();
    two_fields(place.path());
    let output = holdground(place.path(), &["stick", "one/field.toml", "two/field.toml", "--out", "out"]);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let audit = holdground(place.path(), &["audit", "out", "--against", "out"]);
    let said = String::from_utf8_lossy(&audit.stdout).into_owned() + &String::from_utf8_lossy(&audit.stderr);
    assert!(audit.status.success() && !said.contains("plan-without-layer"), "{said}");
    let out = place.path().join("out");
    let text = std::fs::read_to_string(out.join("READ-ME-FIRST.txt")).unwrap();
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    for words in [
        "Three-soils field (invented), issued 2026-03-02\nSecond field (invented), issued 2026-03-02\n",
        "Second field (invented). Pass 2 of 4: Before corn\n  In TASKDATA it is the task SECOND 2 Before corn.\n",
        "    |-- SECOND_2_POT.cpg .dbf .prj .shp .shx\n",
        "    |-- THREE_2_POT.cpg .dbf .prj .shp .shx\n",
    ] {
        assert!(text.contains(words), "{words} not in\n{text}");
    }
    let task_data = out.join("for-the-cab/TASKDATA");
    let by_readers = [by_python(&task_data), by_node(&zip(&task_data, place.path()))];
    for told in by_readers.into_iter().flatten() {
        assert_eq!(told["warnings"].as_array().map(Vec::len), Some(0), "{:#?}", told["warnings"]);
        let names = |list: &str| -> Vec<String> {
            let entries = told[list].as_array().unwrap().iter();
            entries.map(|entry| entry["name"].as_str().unwrap().to_owned()).collect()
        };
        assert_eq!(names("fields"), ["Three-soils field (invented)", "Second field (invented)"]);
        let tasks = names("tasks");
        assert_eq!(
            (tasks.len(), tasks[1].as_str(), tasks[5].as_str()),
            (8, "THREE 2 Before corn", "SECOND 2 Before corn")
        );
        // The same ground further east: the same grid with the same rates.
        let (one, two) = (&told["tasks"][1], &told["tasks"][5]);
        let number = |task: &serde_json::Value, name: &str| task["grid"][name].as_f64().unwrap();
        assert!((number(two, "east") - number(one, "east") - EAST).abs() < 1e-4);
        let (n_cols, n_rows) = (number(one, "cols") as usize, number(one, "rows") as usize);
        let middle: Vec<f64> = (0..3).map(|at| shown(one, n_rows / 2 * n_cols + n_cols / 2, at)).collect();
        assert!(middle.iter().any(|rate| *rate > 50.0), "{middle:?}");
        let (n_cols_2, n_rows_2) = (number(two, "cols") as usize, number(two, "rows") as usize);
        let other: Vec<f64> = (0..3).map(|at| shown(two, n_rows_2 / 2 * n_cols_2 + n_cols_2 / 2, at)).collect();
        assert!(middle.iter().zip(&other).all(|(a, b)| (a - b).abs() < 2.0), "{middle:?} {other:?}");
    }
}

/// A folder `TASKDATA` as the zip the npm reader takes.
fn zip(folder: &Path, place: &Path) -> std::path::PathBuf {
    use holdground::export::{OutputFile, iso11783::zipped};
    let files: Vec<OutputFile> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .map(|path| {
            OutputFile::new(format!("TASKDATA/{}", path.file_name().unwrap().display()), std::fs::read(&path).unwrap())
        })
        .collect();
    let path = place.join("set.zip");
    std::fs::write(&path, zipped("set.zip", &files).bytes).unwrap();
    path
}

#[test]
fn fields_that_would_be_mixed_up_are_refused_and_nothing_is_written() {
    let place = tempfile::tempdir().unwrap();
    two_fields(place.path());
    let edit = |from: &str, to: &str| {
        two_fields(place.path());
        let path = place.path().join("two/field.toml");
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(text.contains(from), "{from}");
        std::fs::write(path, text.replace(from, to)).unwrap();
    };
    for (from, to, told) in [
        (
            "short = \"SECOND\"",
            "short = \"Three\"",
            "its files are called `THREE_1_LIM` like those of `one/field.toml`",
        ),
        ("Second field (invented)", "three-soils field (invented)", "the field is called"),
        ("\"task-set-3\"", "\"task-set-4\"", "it asks for another task set than `one/field.toml`"),
        ("[products]", "[products_of_none]", "two/field.toml"),
    ] {
        edit(from, to);
        let output = holdground(place.path(), &["stick", "one/field.toml", "two/field.toml", "--out", "out"]);
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.code() == Some(3) && said.contains(told), "{told}: {said}");
        assert!(!place.path().join("out").exists());
    }
}
