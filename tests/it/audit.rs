//! The audit on broken and sound prescriptions, and against what a run wrote.
//!
//! The broken files are made number by number by `scripts/make-bad-prescriptions`, which shares nothing with the program;
//! their expected lines were written from the published schemas and format descriptions. `docs/audit.md` is the rules'
//! own pages: `HOLDGROUND_WRITE_DOCS=1 cargo test --test it audit::the_page` writes it again.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use holdground::audit::rules::{Basis, RULES};

use crate::fixture::folder;

/// Cases may only grow.
const LEAST_CASES: usize = 150;
/// Rules whose smallest broken file would not be small: their own tests make it.
const MADE_IN_TESTS: [&str; 1] = ["many-polygons"];
/// Rules that need a plan.
const WITH_PLAN: [&str; 7] = [
    "rates-differ-from-plan",
    "total-differs-from-plan",
    "rates-turned-or-mirrored",
    "rates-shifted",
    "rates-off-by-a-factor",
    "layer-without-plan",
    "plan-without-layer",
];

fn cases(kind: &str) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder("prescriptions").join(kind)).expect("the fixtures are there");
    let mut cases: Vec<PathBuf> = entries.map(|entry| entry.expect("reads").path()).collect();
    cases.sort();
    cases
}

fn audit(at: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_holdground"))
        .arg("audit")
        .args(arguments)
        .current_dir(at)
        .env("NO_COLOR", "1")
        .output()
        .expect("the built program starts")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// `error[short-row]` of each line that starts so, for the kinds given.
fn heads<'a>(text: &'a str, kinds: &[&str]) -> Vec<&'a str> {
    let of_kind = |line: &&str| kinds.iter().any(|kind| line.starts_with(kind));
    text.lines().filter(of_kind).filter_map(|line| line.split_inclusive(']').next()).collect()
}

/// Messages with their places and notes: each begins with its kind.
fn blocks(text: &str) -> Vec<String> {
    let mut blocks: Vec<String> = Vec::new();
    for line in text.lines() {
        if ["error[", "warning[", "note["].iter().any(|kind| line.starts_with(kind)) {
            blocks.push(String::new());
        }
        if let Some(block) = blocks.last_mut() {
            *block += &format!("{line}\n");
        }
    }
    blocks
}

/// Words of a line as a shell would split them.
fn typed(line: &str) -> Vec<String> {
    match line.strip_prefix('\'').and_then(|rest| rest.strip_suffix('\'')) {
        Some(quoted) => vec![quoted.to_owned()],
        None => line.split(' ').map(str::to_owned).collect(),
    }
}

#[test]
fn every_broken_file_is_caught_by_its_rule_at_its_place() {
    let cases = cases("bad");
    assert!(cases.len() >= LEAST_CASES, "{} cases", cases.len());
    let mut found = Vec::new();
    for case in &cases {
        let expected = std::fs::read_to_string(case.join("expected.txt")).expect("every case has its expected.txt");
        let mut lines = expected.lines();
        let first = lines.next().and_then(|line| line.strip_prefix("audit ")).expect("what is typed");
        let fragments: Vec<&str> = lines.collect();
        let arguments = typed(first);
        let output = audit(case, &arguments.iter().map(String::as_str).collect::<Vec<_>>());
        let stderr = text(&output.stderr);
        let found_blocks = blocks(&stderr);
        let mut wrong: Vec<String> = blocks(&fragments.join("\n"))
            .iter()
            .filter(|wanted| !found_blocks.iter().any(|block| wanted.lines().all(|part| block.contains(part))))
            .map(|wanted| format!("missing: {wanted}"))
            .collect();
        for head in heads(&stderr, &["error[", "warning["]) {
            if !fragments.iter().any(|fragment| fragment.starts_with(head)) {
                wrong.push(format!("not expected: {head}"));
            }
        }
        let has_error = fragments.iter().any(|fragment| fragment.starts_with("error["));
        let code = if has_error { 3 } else { 0 };
        if output.status.code() != Some(code) {
            wrong.push(format!("exit {:?}, expected {code}", output.status.code()));
        }
        if !wrong.is_empty() {
            found.push(format!("{}:\n{}\nstderr was:\n{stderr}", case.display(), wrong.join("\n")));
        }
    }
    assert!(found.is_empty(), "{} of {} cases\n{}", found.len(), cases.len(), found.join("\n"));
}

#[test]
fn every_rule_has_a_broken_file() {
    let expected: String = cases("bad")
        .iter()
        .map(|case| std::fs::read_to_string(case.join("expected.txt")).expect("every case has its expected.txt"))
        .collect();
    let without: Vec<&str> = RULES
        .iter()
        .map(|rule| rule.code.name)
        .filter(|name| !expected.contains(&format!("[{name}]")))
        .filter(|name| !MADE_IN_TESTS.contains(name) && !WITH_PLAN.contains(name))
        .collect();
    assert!(without.is_empty(), "rules without a broken file: {without:?}");
}

#[test]
fn sound_files_give_neither_error_nor_warning_and_their_facts_are_right() {
    for case in cases("good") {
        let inner: Vec<PathBuf> =
            std::fs::read_dir(&case).expect("reads").map(|entry| entry.expect("reads").path()).collect();
        // One file is typed as such, a folder or several parts as the folder.
        let typed = match inner.as_slice() {
            [one] => one.file_name().expect("a name").to_string_lossy().into_owned(),
            _ => ".".to_owned(),
        };
        let output = audit(&case, &[&typed]);
        let (stdout, stderr) = (text(&output.stdout), text(&output.stderr));
        let kinds = ["error[", "warning["];
        let name = case.file_name().expect("a name").to_string_lossy().into_owned();
        // A raster of the plainest kind cannot name its unit: that warning is right.
        let found: Vec<&str> = heads(&stderr, &kinds)
            .into_iter()
            .filter(|head| name != "geotiff" || *head != "warning[rate-unit-not-stated]")
            .collect();
        assert!(found.is_empty(), "{name}: {stderr}");
        assert_eq!(output.status.code(), Some(0), "{name}");
        assert!(stdout.lines().all(|line| line.chars().count() <= 80), "{name}: {stdout}");
        let plain = stdout.split_whitespace().collect::<Vec<_>>().join(" ");
        let has = |word: &str| assert!(plain.contains(word), "{name}: `{word}` not in\n{stdout}");
        // [A] 120.3 m x 80.0 m by WGS 84 at 41.5 north: 9,617 m2, 2.38 ac.
        if name != "geotiff" {
            has("2.38 ac");
            has("41.50000 north to 41.50072 north");
            has("93.60000 west to 93.59856 west");
        }
        match name.as_str() {
            // [A] cells of 400.7 m2: 4 of 0, 5 of 90, 8 of 120, 7 of 150 lb/ac: 24 cells of 0.0990 ac, 243.6 lb.
            "task-set-3-type-1" | "task-set-4-type-1" | "task-set-zipped" => {
                has("least 0, most 150, 4 unlike");
                has("244 lb of product");
                has("out of field: 0 lb/ac");
                has("when the receiver loses its place: 120 lb/ac");
                has("6 columns by 4 rows, cells 20.0 m wide, 20.0 m high");
            }
            "task-set-4-type-2" => has("2 layers of rates"),
            // [A] 1.188 ac at 90 and as many at 150 lb/ac: 285.2 lb.
            "task-set-3-polygons" | "shapefile" | "shapefile-zipped" | "geojson" | "geopackage" => {
                has("285 lb of product");
                has("2 records of 2 polygons, no holes");
            }
            "shapefile-with-hole" => has("one hole"),
            _ => (),
        }
    }
}

#[test]
fn more_polygons_and_corners_than_loaders_like_are_told() {
    let place = tempfile::tempdir().expect("a folder");
    let write = |name: &str, rings: &[Vec<[f64; 2]>]| {
        let features: Vec<serde_json::Value> = rings
            .iter()
            .map(|ring| {
                serde_json::json!({"type": "Feature", "geometry": {"type": "Polygon", "coordinates": [ring]},
                    "properties": {"RATE": 90, "UNIT": "lb/ac", "PRODUCT": "Invented salt"}})
            })
            .collect();
        let whole = serde_json::json!({"type": "FeatureCollection", "features": features});
        std::fs::write(place.path().join(name), whole.to_string()).expect("written");
    };
    let square = |n: usize| {
        let (x, y) = (-93.6 + 0.0002 * (n % 24) as f64, 41.5 + 0.0002 * (n / 24) as f64);
        vec![[x, y], [x + 0.0002, y], [x + 0.0002, y + 0.0002], [x, y + 0.0002], [x, y]]
    };
    write("many.geojson", &(0..501).map(square).collect::<Vec<_>>());
    let stderr = text(&audit(place.path(), &["many.geojson"]).stderr);
    assert!(stderr.contains("warning[many-polygons]: 501 polygons"), "{stderr}");
    let mut round: Vec<[f64; 2]> = (0..1001)
        .map(|n| (std::f64::consts::TAU * f64::from(n) / 1001.0).sin_cos())
        .map(|(sine, cosine)| [-93.6 + 0.002 * cosine, 41.5 + 0.002 * sine])
        .collect();
    round.push(round[0]);
    write("round.geojson", &[round]);
    let stderr = text(&audit(place.path(), &["round.geojson"]).stderr);
    assert!(stderr.contains("warning[many-polygons]: a polygon with 1,002 corners"), "{stderr}");
}

#[test]
fn strict_and_missing_files_have_their_exit_codes() {
    let warned = folder("prescriptions").join("bad/byte-order-mark");
    assert_eq!(audit(&warned, &["."]).status.code(), Some(0));
    assert_eq!(audit(&warned, &[".", "--strict"]).status.code(), Some(4));
    let output = audit(&warned, &["not-there.shp"]);
    assert_eq!(output.status.code(), Some(3));
    assert!(text(&output.stderr).contains("error[could-not-read]"), "{}", text(&output.stderr));
    let output = audit(&warned, &[".", "--against", "."]);
    assert_eq!(output.status.code(), Some(3));
    assert!(text(&output.stderr).contains("as a result folder"), "{}", text(&output.stderr));
}

/// The page as the rules write it.
fn page() -> String {
    let mut text = String::from(
        "# What `holdground audit` looks at\n\n\
         `holdground audit PATH` reads a task set (folder, zip or its main file), a shapefile or its zip, GeoJSON, GeoTIFF or\n\
         GeoPackage, prints its facts, and tells what a controller would choke on. Three levels: an **error** will not load\n\
         or would order something wrong; a **warning** troubles some controllers; a **note** is worth knowing. A rule may\n\
         give more than one level, by how bad the case is. `--against DIR` also compares with a result folder of `run`.\n\
         `run` looks at its own files for the cab by the same rules before it puts them in place.\n\n\
         No controller and no conformance tool has taken part in making this list: a file without findings can still be\n\
         refused. Look at rates, total and check places on the screen before you start.\n\n\
         Each rule says on what it rests. This page is made from the rules themselves; `holdground explain NAME` prints one.\n",
    );
    for rule in RULES {
        let code = rule.code;
        text += &format!(
            "\n## {}\n\n- **What**: {}.\n- **Why**: {}.\n- **Example**: {}.\n- **Mend**: {}.\n- **Rests on**: {}.\n",
            code.name,
            code.checks,
            code.why,
            code.example,
            code.mend,
            rule.basis.words()
        );
    }
    text
}

#[test]
fn the_page_is_that_of_the_rules() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/audit.md");
    if std::env::var_os("HOLDGROUND_WRITE_DOCS").is_some() {
        std::fs::write(&path, page()).expect("written");
    }
    let written = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        written == page(),
        "docs/audit.md is not what the rules say; the head of this file says how to write it again"
    );
}

#[test]
fn rules_that_rest_on_an_unofficial_summary_say_so() {
    let mut n = 0;
    for rule in RULES.iter().filter(|rule| rule.basis == Basis::Summary) {
        n += 1;
        let page = [rule.code.checks, rule.code.why].concat();
        assert!(page.contains("unofficial summary"), "{}", rule.code.name);
    }
    assert!(n > 10);
    let names: Vec<&str> = RULES.iter().map(|rule| rule.code.name).collect();
    assert!(WITH_PLAN.iter().all(|name| names.contains(name)));
}
