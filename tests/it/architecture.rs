//! House rules checked by code: which module may use which, and who may touch what.

use std::path::{Path, PathBuf};

/// Modules from left to right; a module may use those to its left. Modules in one group may use each other.
const ORDER: &[&[&str]] = &[
    &["diagnostic", "cell_grid", "chemistry", "units"],
    &["crs"],
    &["audit"],
    &["applied"],
    &["boundary"],
    &["setback"],
    &["sheet"],
    &["samples"],
    &["columns"],
    &["fields"],
    &["mesh"],
    &["surface"],
    &["soil_surface"],
    &["zones"],
    &["coverage"],
    &["rates"],
    &["drive"],
    &["field_file"],
    &["start"],
    &["export"],
    &["pipeline"],
    &["decide"],
    &["messages"],
];

/// A crate, or a word of the standard library, and the files that may name it.
const ONLY_IN: &[(&str, &[&str])] = &[
    ("spade::", &["mesh/delaunay.rs", "coverage/faces.rs"]),
    ("proj::", &["crs.rs", "crs/"]),
    ("gdal::", &["crs.rs", "crs/", "cli/"]),
    ("clap::", &["cli/args.rs", "cli/console.rs", "main.rs"]),
    ("indicatif::", &["cli/console.rs"]),
    ("i_overlay::", &["coverage/noding.rs"]),
    ("shapefile::", &["export/shapefile.rs", "export/mod.rs"]),
    ("dbase::", &["export/shapefile.rs"]),
    ("calamine::", &["sheet/workbook.rs"]),
    (
        "quick_xml::",
        &["sheet/xml_tree.rs", "sheet/workbook_bounds.rs", "cli/audit/xml.rs", "export/iso11783/task_xml.rs"],
    ),
    ("encoding_rs::", &["sheet/text.rs"]),
    ("toml_edit::", &["field_file/", "decide/", "rates/guide/", "rates/nitrogen_split/reader.rs"]),
    ("std::fs", &["cli/"]),
    ("std::env", &["cli/"]),
    ("std::time", &["cli/console.rs"]),
    ("axum::", &["cli/decide"]),
    ("tokio::", &["cli/decide"]),
    ("println!", &[]),
];

fn sources() -> Vec<(String, String)> {
    fn gather(folder: &Path, files: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() { gather(&path, files) } else { files.push(path) }
        }
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    gather(&root, &mut files);
    files.sort();
    files
        .iter()
        .filter(|path| path.extension().is_some_and(|extension| extension == "rs"))
        .map(|path| {
            let name = path.strip_prefix(&root).unwrap().to_string_lossy().into_owned();
            (name, std::fs::read_to_string(path).unwrap())
        })
        .collect()
}

/// Lines that are code of the program: no comments, nothing after `#[cfg(test)]`.
fn code_lines(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let code = text.split("#[cfg(test)]\nmod").next().unwrap_or("");
    code.lines().enumerate().map(|(n, line)| (n + 1, line.trim_start())).filter(|(_, line)| !line.starts_with("//"))
}

#[test]
fn modules_use_only_what_is_left_of_them() {
    let rank = |module: &str| ORDER.iter().position(|group| group.contains(&module));
    let mut wrong = Vec::new();
    let mut n_uses = 0;
    for (file, text) in sources() {
        let own = file.split('/').next().unwrap().trim_end_matches(".rs");
        let Some(own_rank) = rank(own) else {
            assert!(["main", "lib", "cli"].contains(&own), "module `{own}` has no place in the order");
            continue;
        };
        for (line, code) in code_lines(&text) {
            for piece in code.split("crate::").skip(1) {
                let used: String = piece.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
                if let Some(used_rank) = rank(&used) {
                    n_uses += 1;
                    if used_rank > own_rank {
                        wrong.push(format!("src/{file}:{line}: {own} uses {used}"));
                    }
                }
            }
        }
    }
    assert!(n_uses > 50, "the test sees the uses");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn what_touches_the_world_stays_at_the_edge() {
    let mut wrong = Vec::new();
    for (file, text) in sources() {
        for (line, code) in code_lines(&text) {
            for (word, allowed) in ONLY_IN {
                let names = code.contains(word) && !code.contains(&format!("_{word}"));
                if names && !allowed.iter().any(|place| file.starts_with(place)) {
                    wrong.push(format!("src/{file}:{line}: names `{word}`"));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_code_is_registered_and_has_a_whole_page() {
    let known = holdground::messages::all(&[]);
    let mut names: Vec<&str> = known.iter().map(|code| code.name).collect();
    for code in &known {
        for text in [code.checks, code.why, code.example, code.mend] {
            assert!(text.len() > 10 && !text.ends_with('.'), "page of `{}`: {text:?}", code.name);
        }
    }
    names.dedup();
    assert_eq!(names.len(), known.len(), "two codes of one name");
    let declared = sources()
        .iter()
        // The binary's own are looked at by the command-line tests.
        .filter(|(file, _)| !file.starts_with("cli/"))
        .flat_map(|(_, text)| {
            text.split(": Code = Code {")
                .skip(1)
                .map(|rest| rest.split('"').nth(1).unwrap().to_owned())
                .collect::<Vec<_>>()
        })
        .collect::<Vec<String>>();
    assert!(declared.len() > 20);
    for name in declared {
        assert!(names.contains(&name.as_str()), "`{name}` is declared, but `explain` does not know it");
    }
}

#[test]
fn no_shared_drawers() {
    for (file, _) in sources() {
        for word in ["utils", "common", "helpers", "misc"] {
            assert!(!file.contains(word), "src/{file}: a shared thing has a name");
        }
    }
}
