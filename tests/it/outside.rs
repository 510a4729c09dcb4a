//! Open data and programs that are not part of the repository. `scripts/outside-data` fetches it; tests never touch the network.
//!
//! What is missing fails where `CI=true` and is said loudly elsewhere.

use std::path::PathBuf;

/// A file of `.outside/`, or of the folder an environment variable names.
#[expect(clippy::print_stderr, reason = "a check that did not run must be seen")]
pub(crate) fn path(name: &str, folder_variable: Option<&str>) -> Option<PathBuf> {
    let folder = match folder_variable {
        None => Some(PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(".outside")),
        Some(variable) => std::env::var_os(variable).map(PathBuf::from),
    };
    let found = folder.map(|folder| folder.join(name)).filter(|path| path.is_file());
    if found.is_none() {
        assert!(std::env::var("CI").as_deref() != Ok("true"), "outside data `{name}` is missing under CI");
        eprintln!("NOT CHECKED: outside data `{name}` is missing; scripts/test fetches what can be fetched");
    }
    found
}

/// What a program that is not part of this project prints; `None` where it is not installed.
#[expect(clippy::print_stderr, reason = "a check that did not run must be seen")]
pub(crate) fn printed(program: &str, arguments: &[&std::ffi::OsStr]) -> Option<String> {
    let Ok(output) = std::process::Command::new(program).args(arguments).output() else {
        assert!(std::env::var("CI").as_deref() != Ok("true"), "`{program}` is missing under CI");
        eprintln!("NOT CHECKED: `{program}` is missing; scripts/test installs it");
        return None;
    };
    let complaints = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && complaints.is_empty(), "{program}: {complaints}");
    Some(String::from_utf8(output.stdout).expect("UTF-8"))
}

/// meuse (R package sp, GPL): easting, northing (EPSG:28992, meters) and zinc (ppm), in file order.
pub(crate) fn meuse() -> Option<Vec<(f64, f64, f64)>> {
    let text = std::fs::read_to_string(path("meuse.txt", None)?).expect("meuse.txt reads");
    let rows = text.lines().skip(1).map(|line| {
        let cells: Vec<f64> =
            line.split(',').take(6).map(|cell| cell.trim_matches('"').parse().expect("number")).collect();
        (cells[0], cells[1], cells[5])
    });
    Some(rows.collect())
}

/// Fisher's iris: 150 rows of sepal length and width, petal length and width, cm.
pub(crate) fn iris() -> Option<Vec<[f64; 4]>> {
    let text = std::fs::read_to_string(path("iris.csv", None)?).expect("iris.csv reads");
    let rows = text.lines().skip(1).map(|line| {
        let cells: Vec<f64> = line.split(',').take(4).map(|cell| cell.parse().expect("number")).collect();
        [cells[0], cells[1], cells[2], cells[3]]
    });
    Some(rows.collect())
}
