//! Pictures of whole runs, written to the test folder of the build so that they can be looked at.

use std::path::{Path, PathBuf};

use holdground::export::{OutputFile, maps};

use crate::fixture::run_edited;

/// Where to look: `target/tmp/pictures`.
fn keep(name: &str, bytes: &[u8]) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("pictures");
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join(name);
    std::fs::write(&path, bytes).unwrap();
    path
}

#[test]
fn a_run_of_one_pass_draws_its_nine_maps() {
    let outcome = run_edited("one_pass", |text| text);
    let drawn: Vec<OutputFile> = maps(&outcome.report());
    let names: Vec<&str> = drawn.iter().map(|file| file.path.as_str()).collect();
    let expected = [
        "1-holding",
        "2-sharing",
        "3-zones",
        "4-pass-1-pot",
        "5-doubt",
        "6-samples",
        "7-measured-mapped",
        "8-how-many-zones",
        "9-rulers",
    ];
    assert_eq!(names, expected.map(|name| format!("maps/{name}.png")));
    for file in &drawn {
        assert!(file.bytes.len() < 400_000, "{}: {} bytes", file.path, file.bytes.len());
        let name = file.path.rsplit('/').next().unwrap();
        keep(name, &file.bytes);
    }
}
