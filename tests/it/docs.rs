//! The documents promise nothing that is not there.

use std::path::Path;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn read(name: &str) -> String {
    std::fs::read_to_string(root().join(name)).unwrap()
}

/// Texts between backticks.
fn ticked(text: &str) -> Vec<&str> {
    text.split('`').skip(1).step_by(2).collect()
}

#[test]
fn links_and_named_files_exist() {
    for page in
        ["README.md", "DEVELOPERS.md", "docs/method.md", "docs/field-file.md", "docs/guides.md", "fixtures/README.md"]
    {
        let text = read(page);
        let folder = root().join(page).parent().unwrap().to_owned();
        let links = text.split("](").skip(1).map(|rest| rest.split(')').next().unwrap());
        for link in links.filter(|link| !link.starts_with("http")) {
            let file = link.split('#').next().unwrap();
            assert!(folder.join(file).exists(), "{page} links to {link}");
        }
        for name in ticked(&text) {
            let named = ["src/", "tests/it/", "scripts/", "fixtures/"].iter().any(|start| name.starts_with(start));
            if named && !name.contains(['<', '*', ' ']) {
                assert!(root().join(name).exists(), "{page} names {name}");
            }
        }
    }
}

#[test]
fn the_code_map_names_every_module_and_no_other() {
    let page = read("DEVELOPERS.md");
    let map = page.split("## Code map").nth(1).unwrap().split("\n## ").next().unwrap();
    let rows = map.lines().filter(|line| line.starts_with("| `"));
    let mut named: Vec<String> = Vec::new();
    for row in rows {
        for name in ticked(row.split('|').nth(1).unwrap()) {
            assert!(root().join("src").join(name).exists(), "the code map names `{name}`");
            named.push(name.trim_end_matches('/').trim_end_matches(".rs").to_owned());
        }
    }
    for entry in std::fs::read_dir(root().join("src")).unwrap() {
        let name = entry.unwrap().file_name().to_string_lossy().trim_end_matches(".rs").to_owned();
        let is_known = ["main", "lib", "pipeline"].contains(&name.as_str()) || named.contains(&name);
        assert!(is_known, "src/{name} is not in the code map");
    }
}

#[test]
fn readme_is_one_page_and_its_commands_are_there() {
    let readme = read("README.md");
    assert!(readme.lines().count() <= 70);
    // The job comes first: who, what must get done, what the tool does about it.
    let first = readme.split("\n\n").nth(1).unwrap();
    for word in ["technician", "applicator", "grower", "rate"] {
        assert!(first.contains(word), "{word}");
    }
    for command in ["scripts/demo", "scripts/test"] {
        assert!(readme.contains(&format!("    {command} ")) && root().join(command).is_file());
    }
    assert!(read(".ci/run").contains("scripts/test"), "CI runs README's test command");
}

#[test]
fn source_files_stay_readable() {
    fn gather(folder: &Path, long: &mut Vec<String>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                gather(&path, long);
            } else if std::fs::read_to_string(&path).unwrap().lines().count() > 500 {
                long.push(path.display().to_string());
            }
        }
    }
    let mut long = Vec::new();
    gather(&root().join("src"), &mut long);
    assert!(long.is_empty(), "over 500 lines: {long:?}");
}

#[test]
fn the_field_file_page_names_every_analyte_unit_and_method() {
    let page = read("docs/field-file.md");
    let tables = page.split("## Analytes and units").nth(1).unwrap();
    let has = |word: &str| tables.contains(word);
    for analyte in holdground::samples::Analyte::ALL {
        assert!(has(&format!("`{}`", analyte.key())), "analyte {}", analyte.key());
        for unit in holdground::units::LabUnit::fitting(analyte.quantity()) {
            // Compounds are listed apart from the units they are printed in.
            for part in unit.split(' ').filter(|part| !["lime", "index", "carbon"].contains(part)) {
                assert!(has(part), "unit {part} of {unit}");
            }
        }
        for method in holdground::samples::LabMethod::fitting(*analyte) {
            assert!(has(method.name()) || method.name() == "unknown", "method {}", method.name());
        }
    }
}
