//! A desk with a sheet, an outline and points on it: the built program drafts, the test answers, checks and runs.

use std::process::Command;

use holdground::field_file::FieldFile;

/// A rectangle of 0.01 by 0.008 degrees, invented.
pub(crate) const OUTLINE: &str = r#"{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[[[-93.51,41.0],[-93.5,41.0],[-93.5,41.008],[-93.51,41.008],[-93.51,41.0]]]}}]}"#;
/// Places well inside the outline, no three on a line.
pub(crate) const PLACES: [(f64, f64); 4] =
    [(-93.508, 41.001), (-93.502, 41.0015), (-93.507, 41.007), (-93.5015, 41.0065)];
/// Keys every draft leaves open.
pub(crate) const ALWAYS_OPEN: [&str; 5] =
    ["field.crop", "field.goal_bu_ac", "need.k", "machine.rate_lb_ac", "machine.below_least"];

/// Points with these names at [`PLACES`].
pub(crate) fn points(names: &[&str]) -> String {
    let point = |(name, (lon, lat)): (&&str, (f64, f64))| {
        format!(
            r#"{{"type":"Feature","properties":{{"name":"{name}"}},"geometry":{{"type":"Point","coordinates":[{lon},{lat}]}}}}"#
        )
    };
    let features: Vec<String> = names.iter().zip(PLACES).map(point).collect();
    format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","))
}

/// What the program said.
pub(crate) struct Told {
    pub(crate) code: i32,
    pub(crate) stdout: String,
    pub(crate) stderr: String,
}

impl Told {
    /// Asserts the exit code and that each text stands in what was said, line breaks aside.
    #[track_caller]
    pub(crate) fn says(&self, code: i32, texts: &[&str]) {
        let both = format!("{}\n{}", self.stdout, self.stderr);
        assert_eq!(self.code, code, "{both}");
        let plain = both.split_whitespace().collect::<Vec<_>>().join(" ");
        for text in texts {
            assert!(plain.contains(text), "`{text}` is not in\n{both}");
        }
    }
}

/// A temporary folder in which the program is started; `outline.geojson` lies there.
pub(crate) struct Desk {
    folder: tempfile::TempDir,
}

impl Desk {
    pub(crate) fn new() -> Self {
        let desk = Desk { folder: tempfile::tempdir().unwrap() };
        desk.put("outline.geojson", OUTLINE);
        desk
    }

    pub(crate) fn path(&self, name: &str) -> std::path::PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) fn put(&self, name: &str, bytes: impl AsRef<[u8]>) {
        let path = self.path(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }

    #[track_caller]
    pub(crate) fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
    }

    pub(crate) fn holdground(&self, arguments: &[&str]) -> Told {
        let mut command = Command::new(env!("CARGO_BIN_EXE_holdground"));
        let output = command.args(arguments).current_dir(self.folder.path()).env("NO_COLOR", "1").output();
        let output = output.expect("the built program starts");
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("the program prints UTF-8");
        Told { code: output.status.code().unwrap(), stdout: text(output.stdout), stderr: text(output.stderr) }
    }

    /// The open keys of `field.toml` beside those every draft leaves open, shortly: `k.method` for
    /// `samples.columns.k.method`, `depth_in` for `samples.depth_in`.
    #[track_caller]
    pub(crate) fn open_keys(&self) -> String {
        let parsed = FieldFile::parse("field.toml", &self.read("field.toml")).unwrap_or_else(|f| panic!("{f:#?}"));
        let all: Vec<&str> = parsed.open.iter().map(|(_, key)| key.as_str()).collect();
        assert!(ALWAYS_OPEN.iter().all(|key| all.contains(key)), "{all:?}");
        let of_sheet = all.into_iter().filter(|key| !ALWAYS_OPEN.contains(key));
        let short = |key: &str| key.trim_start_matches("samples.").trim_start_matches("columns.").to_owned();
        of_sheet.map(short).collect::<Vec<_>>().join(" ")
    }

    /// Asserts that each header stands under "Columns left aside" and in no line of an analyte.
    #[track_caller]
    pub(crate) fn leaves_aside(&self, headers: &[&str]) {
        let draft = self.read("field.toml");
        let parsed = FieldFile::parse("field.toml", &draft).unwrap_or_else(|f| panic!("{f:#?}"));
        let aside = draft.split_once("# Columns left aside:\n").expect("columns are left aside").1;
        for header in headers {
            assert!(aside.contains(&format!("#   `{header}`: ")), "`{header}` is not left aside:\n{draft}");
            assert!(parsed.samples.columns.iter().all(|column| column.column != *header), "`{header}` is an analyte");
        }
    }

    /// Answers the first `"?"` of each key's line with a TOML value, as a technician would in an editor.
    #[track_caller]
    pub(crate) fn answer(&self, answers: &[(&str, &str)]) {
        let mut lines: Vec<String> = self.read("field.toml").lines().map(str::to_owned).collect();
        for (key, value) in answers {
            let is_it = |line: &&mut String| line.split([' ', '=']).next() == Some(key) && line.contains("\"?\"");
            let line = lines.iter_mut().find(is_it).unwrap_or_else(|| panic!("`{key}` holds no \"?\""));
            *line = line.replacen("\"?\"", value, 1);
        }
        self.put("field.toml", lines.join("\n") + "\n");
    }

    /// Checks and runs `field.toml`; nothing but what every draft leaves open may be open. The table of samples.
    #[track_caller]
    pub(crate) fn check_and_run(&self) -> CheckedTable {
        let told = self.holdground(&["check", "field.toml"]);
        told.says(0, &["samples checked"]);
        assert_eq!(told.stdout.matches("still to be answered").count(), ALWAYS_OPEN.len(), "{}", told.stdout);
        self.holdground(&["run", "field.toml", "--out", "out"]).says(0, &[]);
        CheckedTable::of(&self.read("out/tables/samples_checked.csv"))
    }
}

/// `tables/samples_checked.csv`.
pub(crate) struct CheckedTable {
    header: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl CheckedTable {
    pub(crate) fn of(text: &str) -> Self {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let owned = |record: &csv::StringRecord| record.iter().map(str::to_owned).collect::<Vec<_>>();
        let header = owned(reader.headers().unwrap());
        CheckedTable { header, rows: reader.records().map(|record| owned(&record.unwrap())).collect() }
    }

    /// Cell of a sample under the first column of this name.
    #[track_caller]
    pub(crate) fn cell(&self, sample: &str, column: &str) -> &str {
        let row = self.rows.iter().find(|row| row[0] == sample).unwrap_or_else(|| panic!("no sample `{sample}`"));
        let at = self.header.iter().position(|name| name == column);
        &row[at.unwrap_or_else(|| panic!("no `{column}` in {:?}", self.header))]
    }

    /// The cell as a number.
    #[track_caller]
    pub(crate) fn value(&self, sample: &str, column: &str) -> f64 {
        let cell = self.cell(sample, column);
        cell.parse().unwrap_or_else(|_| panic!("`{cell}` under `{column}` is no number"))
    }

    pub(crate) fn names(&self) -> Vec<&str> {
        self.rows.iter().map(|row| row[0].as_str()).collect()
    }

    pub(crate) fn has(&self, column: &str) -> bool {
        self.header.iter().any(|name| name == column)
    }
}
