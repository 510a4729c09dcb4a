//! `guides` as typed: the list, a page for each guide, the user's own guide and its faults.

use std::process::{Command, Output};

use holdground::rates::guide::Guide;

fn guides(arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_holdground"));
    command.arg("guides").args(arguments).env("NO_COLOR", "1").output().expect("the built program starts")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("the program prints UTF-8")
}

fn is_within_80_columns(text: &str) {
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{} columns: {line}", line.chars().count());
        assert_eq!(line, line.trim_end(), "no blanks at the end");
    }
}

#[test]
fn the_list_names_every_guide_with_its_test_region_paper_and_tags() {
    let output = guides(&[]);
    assert_eq!(output.status.code(), Some(0));
    let list = text(&output.stdout);
    is_within_80_columns(&list);
    for guide in Guide::built_in() {
        let entry = list.split("\n\n").find(|entry| entry.lines().next() == Some(guide.name.as_str())).unwrap();
        let words = entry.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains(&guide.citation) && words.contains(&guide.region[0]), "{entry}");
        assert!(words.contains(" in") && (words.contains(" R") || words.contains("[R")), "{entry}");
    }
}

#[test]
fn a_page_has_the_figures_their_sources_and_what_is_refused() {
    for guide in Guide::built_in() {
        let output = guides(&[&guide.name]);
        assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
        let page = text(&output.stdout);
        is_within_80_columns(&page);
        let words = page.split_whitespace().collect::<Vec<_>>().join(" ");
        for part in [guide.citation.as_str(), guide.title.as_str(), "Refuses", "certified adviser", "M from memory"] {
            assert!(words.contains(part), "{}: {part}\n{page}", guide.name);
        }
    }
    let tri_state = text(&guides(&["tri-state-1995"]).stdout);
    let words = tri_state.split_whitespace().collect::<Vec<_>>().join(" ");
    for part in
        ["75 + 2.5 x CEC, ppm [R2]", "ammonium acetate", "removal + 20 lb [R2]", "0.37 lb P2O5, 0.27 lb K2O a bu [R2]"]
    {
        assert!(words.contains(part), "{part}\n{tri_state}");
    }
    let oregon = text(&guides(&["oregon-sikora-2025"]).stdout);
    let row = oregon.lines().find(|line| line.trim_start().starts_with("5.0 ")).unwrap();
    assert_eq!(
        row.split_whitespace().collect::<Vec<_>>(),
        ["5.0", "5.3", "7.8", "10.7", "14.0", "20.2"],
        "EM 9585 [R]"
    );
}

#[test]
fn a_name_that_is_no_guide_is_told_with_those_there_are() {
    let output = guides(&["tri-state"]);
    assert_eq!(output.status.code(), Some(2));
    let told = text(&output.stderr);
    assert!(told.contains("error[no-such-guide]") && told.contains("tri-state-1995-michigan"), "{told}");
    assert!(output.stdout.is_empty());
    let output = guides(&["nowhere.toml"]);
    assert_eq!(output.status.code(), Some(3));
    assert!(text(&output.stderr).contains("error[could-not-read]"), "{}", text(&output.stderr));
}

#[test]
fn the_guide_of_the_page_on_guides_is_one() {
    let page = include_str!("../../docs/guides.md");
    let example = page.split("```toml\n").nth(1).unwrap().split("```").next().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("my-guide.toml");
    std::fs::write(&file, example).unwrap();
    let output = guides(&[file.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    is_within_80_columns(&text(&output.stdout));
    // A slip in it is told with its line, and nothing is claimed.
    std::fs::write(&file, example.replace("per_cec_ppm", "per_cec")).unwrap();
    let output = guides(&[file.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(3));
    let told = text(&output.stderr);
    let line = 1 + example.lines().position(|line| line.contains("per_cec_ppm")).unwrap();
    assert!(told.contains(&format!("my-guide.toml:{line}, `k.critical.per_cec`")), "{told}");
    assert!(output.stdout.is_empty());
}

#[test]
fn the_page_on_guides_names_every_built_in_guide_and_lime_basis() {
    let page = include_str!("../../docs/guides.md");
    for guide in Guide::built_in() {
        assert!(page.contains(&format!("`{}`", guide.name)), "{}", guide.name);
    }
    for basis in holdground::rates::guide::LimeBasis::ALL {
        assert!(page.contains(&format!("`{}`", basis.name())), "{}", basis.name());
    }
}
