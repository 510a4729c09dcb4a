//! Every message a bad input brings, word by word: reading `fixtures/bad/*/expected.txt` teaches the tone.
//!
//! Each folder is one whole run of the built program. Exit code, what is said, where and how to mend it are compared;
//! nothing may be claimed on stdout and nothing written when the input is refused.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// Cases may only grow.
const LEAST_CASES: usize = 161;

/// What a case expects.
struct Expected {
    /// Exit code of the program.
    code: i32,
    /// Whether the fault shows only in `run`.
    is_from_run: bool,
    /// Fragments of stderr.
    fragments: Vec<String>,
}

fn cases() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/bad");
    let entries = std::fs::read_dir(folder).expect("fixtures/bad is there");
    let mut cases: Vec<PathBuf> =
        entries.map(|entry| entry.expect("reads").path()).filter(|path| path.is_dir()).collect();
    cases.sort();
    cases
}

fn expected(case: &Path) -> Expected {
    let text = std::fs::read_to_string(case.join("expected.txt")).expect("every case has its expected.txt");
    let mut lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
    let first = lines.next().expect("the first line is `exit n`");
    let words: Vec<&str> = first.split(' ').collect();
    let (code, is_from_run) = match words[..] {
        ["exit", code] => (code, false),
        ["exit", code, "from", "run"] => (code, true),
        _ => panic!("{}: `{first}` is not `exit n` or `exit n from run`", name(case)),
    };
    let fragments: Vec<String> = lines.map(str::to_owned).collect();
    assert!(!fragments.is_empty(), "{}: nothing is expected", name(case));
    Expected { code: code.parse().expect("the exit code is a number"), is_from_run, fragments }
}

fn name(case: &Path) -> String {
    case.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned())
}

fn holdground(case: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_holdground"))
        .args(arguments)
        .current_dir(case)
        .env("NO_COLOR", "1")
        .output()
        .expect("the built program starts")
}

/// Names of a folder's files with their contents, to see that nothing was written.
fn contents(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let entries = std::fs::read_dir(folder).expect("the folder is there");
    let mut files: Vec<(PathBuf, Vec<u8>)> = entries
        .map(|entry| entry.expect("reads").path())
        .map(|path| (path.clone(), std::fs::read(&path).unwrap_or_default()))
        .collect();
    files.sort();
    files
}

/// `error[short-row]` of each line that starts with it.
fn errors_of(text: &str) -> Vec<&str> {
    let heads = text.lines().filter(|line| line.starts_with("error["));
    heads.filter_map(|line| line.split_once(']').map(|(head, _)| head)).collect()
}

/// What differs between a run and what the case expects, one a line.
fn differences(case: &Path, output: &Output, expected: &Expected) -> Vec<String> {
    let stderr = String::from_utf8_lossy(&output.stderr);
    let stdout = String::from_utf8_lossy(&output.stdout);
    let mut found = Vec::new();
    if output.status.code() != Some(expected.code) {
        found.push(format!("exit {:?}, expected {}", output.status.code(), expected.code));
    }
    for fragment in &expected.fragments {
        if !stderr.contains(fragment.as_str()) {
            found.push(format!("missing: {fragment}"));
        }
    }
    for error in errors_of(&stderr) {
        if !expected.fragments.iter().any(|fragment| fragment.starts_with(error)) {
            found.push(format!("not expected: {error}]"));
        }
    }
    if expected.code != 0 && !stdout.trim().is_empty() {
        found.push(format!("stdout says, though the input is refused: {stdout}"));
    }
    if !found.is_empty() {
        found.insert(0, format!("{}:", name(case)));
        found.push(format!("stderr was:\n{stderr}"));
    }
    found
}

#[test]
fn check_says_what_is_wrong_where_and_how_to_mend_it() {
    let cases = cases();
    assert!(cases.len() >= LEAST_CASES, "{} cases, but there were {LEAST_CASES}", cases.len());
    let mut found = Vec::new();
    for case in &cases {
        let expected = expected(case);
        if !expected.is_from_run {
            found.extend(differences(case, &holdground(case, &["check", "field.toml"]), &expected));
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn run_refuses_the_same_and_writes_nothing() {
    let mut found = Vec::new();
    let mut n_refused = 0;
    for case in cases() {
        let expected = expected(&case);
        if expected.code == 0 {
            continue;
        }
        n_refused += 1;
        let before = contents(&case);
        let folder = tempfile::tempdir().expect("a folder for results");
        let out = folder.path().join("out");
        let output = holdground(&case, &["run", "field.toml", "--out", &out.to_string_lossy()]);
        found.extend(differences(&case, &output, &expected));
        let written = contents(folder.path());
        if !written.is_empty() {
            let paths: Vec<String> = written.iter().map(|(path, _)| path.display().to_string()).collect();
            found.push(format!("{}: written though refused: {}", name(&case), paths.join(", ")));
        }
        if contents(&case) != before {
            found.push(format!("{}: the case's own folder changed", name(&case)));
        }
    }
    assert!(n_refused >= 24, "{n_refused} refused cases");
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn every_case_states_a_message_and_its_kind() {
    for case in cases() {
        let expected = expected(&case);
        let kinds = ["error[", "warning[", "note["];
        let has_kind = expected.fragments.iter().any(|f| kinds.iter().any(|kind| f.starts_with(kind)));
        assert!(has_kind, "{}", name(&case));
        let has_error = expected.fragments.iter().any(|fragment| fragment.starts_with("error["));
        assert_eq!(has_error, expected.code == 3, "{}: errors refuse, warnings do not", name(&case));
    }
}
