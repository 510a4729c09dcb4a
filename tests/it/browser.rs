//! The grower's page as people meet it: in real Chromium without a network, by keyboard, on a telephone's width, printed;
//! its numbers against the run record; names that try to be more than text.
//!
//! `browser/observe.mjs` looks, the tests here judge. Chromium and Poppler (Debian), playwright-core and axe-core (npm)
//! are installed by `scripts/test`.

mod decide;
mod hostile;
mod numbers;
mod paper;

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

use serde_json::Value;

use crate::fixture::folder;
use crate::outside;

const CHROMIUM: &str = "/usr/bin/chromium";
/// Most bytes of the demo's page.
const MOST_BYTES: u64 = 1_500_000;

/// A run's page and what was seen of it.
struct Seen {
    out: PathBuf,
    prints: PathBuf,
    told: Value,
}

impl Seen {
    /// Both times: with script and without.
    fn both(&self) -> [&Value; 2] {
        ["with_script", "without_script"].map(|key| &self.told[key])
    }
}

/// Whether Chromium and what drives it are installed; fails under CI where they are not.
fn are_tools_there() -> bool {
    let needed =
        ["browser/node_modules/playwright-core/package.json", "browser/node_modules/axe-core/axe.min.js", CHROMIUM];
    needed.into_iter().all(|needed| outside::path(needed, None).is_some())
}

/// Looks at a page; `None` where what it takes is not installed.
fn observe(page: &Path, prints: &Path) -> Option<Value> {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    if !are_tools_there() {
        return None;
    }
    std::fs::create_dir_all(prints).unwrap();
    let [script, modules] = [here.join("tests/it/browser/observe.mjs"), here.join(".outside/browser")];
    let arguments = [script.as_os_str(), modules.as_os_str(), page.as_os_str(), CHROMIUM.as_ref(), prints.as_os_str()];
    outside::printed("node", &arguments).map(|text| serde_json::from_str(&text).unwrap())
}

/// Runs the demo in a folder of its own, after `edit`, and looks at its page.
fn run_and_look(name: &str, edit: impl Fn(&Path)) -> Option<Seen> {
    let place = Path::new(env!("CARGO_TARGET_TMPDIR")).join("browser").join(name);
    let _ = std::fs::remove_dir_all(&place);
    std::fs::create_dir_all(&place).unwrap();
    for entry in std::fs::read_dir(folder("demo")).unwrap() {
        let path = entry.unwrap().path();
        std::fs::copy(&path, place.join(path.file_name().unwrap())).unwrap();
    }
    edit(&place);
    let (field, out, prints) = (place.join("field.toml"), place.join("out"), place.join("prints"));
    let output = Command::new(env!("CARGO_BIN_EXE_holdground"))
        .args(["run".as_ref(), field.as_os_str(), "--out".as_ref(), out.as_os_str()])
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let told = observe(&out.join("grower.html"), &prints)?;
    Some(Seen { out, prints, told })
}

/// The demo, run and looked at once for all tests here.
fn demo() -> Option<&'static Seen> {
    static SEEN: OnceLock<Option<Seen>> = OnceLock::new();
    SEEN.get_or_init(|| run_and_look("demo", |_| {})).as_ref()
}

fn texts(value: &Value) -> Vec<&str> {
    value.as_array().expect("a list").iter().map(|text| text.as_str().expect("a text")).collect()
}

fn lines<'a>(seen: &'a Value, key: &str) -> Vec<&'a str> {
    seen[key].as_str().expect("words").lines().map(str::trim).filter(|line| !line.is_empty()).collect()
}

/// Nothing run, loaded, complained of, hidden at the side.
fn check_quiet_and_narrow(seen: &Seen) {
    for told in seen.both() {
        for key in ["console", "errors", "dialogs", "strangers"] {
            assert!(texts(&told[key]).is_empty(), "{key}: {:?}", told[key]);
        }
        assert_eq!(told["scripts"], 0);
        let requests = texts(&told["requests"]);
        assert!(!requests.is_empty() && requests.iter().all(|request| *request == "the page"), "{requests:?}");
        for (width, seen) in told["widths"].as_object().unwrap() {
            assert_eq!(seen["client"].to_string(), *width);
            assert!(seen["scroll"].as_f64() <= seen["client"].as_f64(), "{width}: {seen}");
            assert!(texts(&seen["sticking"]).is_empty(), "{width}: {seen}");
        }
    }
}

/// No violation of any rule of axe-core; undecided only the contrast of words in drawings, which lie over several shapes
/// (their colors: the tests of `map_png/palette.rs`).
fn check_accessible(seen: &Seen) {
    for key in ["axe_us", "axe_si"] {
        let axe = &seen.told["with_script"][key];
        assert!(texts(&axe["violations"]).is_empty(), "{:?}", axe["violations"]);
        for undecided in texts(&axe["undecided"]) {
            let nodes = undecided.strip_prefix("color-contrast: ").unwrap_or_else(|| panic!("{undecided}"));
            assert!(nodes.split(", ").all(|node| node.contains("text[")), "{undecided}");
        }
        assert!(axe["n_passed"].as_u64() > Some(20) && axe["has_judged_contrast"] == true);
    }
}

#[test]
fn the_page_stands_alone_and_fits_a_telephone() {
    let Some(seen) = demo() else { return };
    check_quiet_and_narrow(seen);
    let bytes = std::fs::metadata(seen.out.join("grower.html")).unwrap().len();
    assert!(bytes < MOST_BYTES, "{bytes} bytes");
    // Without script it is the same page.
    let [with, without] = seen.both();
    for key in ["first", "us", "si", "title"] {
        assert_eq!(with[key], without[key]);
    }
}

#[test]
fn jump_links_move_to_their_questions() {
    let Some(seen) = demo() else { return };
    for told in seen.both() {
        let jumps = told["jumps"].as_array().unwrap();
        assert_eq!(jumps.len(), 6);
        for (index, jump) in jumps.iter().enumerate() {
            assert_eq!(jump["goal"], "h2");
            assert!(jump["words"].as_str().unwrap().starts_with(&format!("{}. ", index + 1)), "{jump}");
            let is_at_top = jump["top"].as_f64().unwrap().abs() <= 2.0;
            assert!(jump["hash"] == true && (is_at_top || jump["is_at_end"] == true), "{jump}");
        }
    }
}

#[test]
fn units_switch_shows_one_system_at_a_time() {
    let Some(seen) = demo() else { return };
    for told in seen.both() {
        assert_eq!(told["checked"], serde_json::json!([["units-us", true], ["units-si", false]]), "the field file's");
        assert_eq!(told["first"], told["us"]);
        let [us, si] = ["us", "si"].map(|key| told[key].as_str().unwrap());
        // Reasons stay in the guides' units, as the page says: pounds and short tons, told without these.
        for (words, shown, hidden) in
            [(us, ["lb/ac", " gal"], ["kg/ha", " ha"]), (si, ["kg/ha", " L/ha"], ["lb/ac", " gal"])]
        {
            assert!(shown.iter().all(|unit| words.contains(unit)), "{shown:?}");
            for unit in hidden {
                let line = words
                    .lines()
                    .find(|line| line.split_whitespace().any(|word| word.trim_end_matches(['.', ',']) == unit.trim()));
                assert_eq!(line, None, "{unit}");
            }
        }
    }
}

#[test]
fn the_tab_key_reaches_units_questions_and_zones_with_focus_seen() {
    let Some(seen) = demo() else { return };
    for told in seen.both() {
        let tabs = told["tabs"].as_array().unwrap();
        let goals: Vec<&str> = tabs.iter().filter_map(|tab| tab["goal"].as_str()).collect();
        assert_eq!(tabs[0]["id"], "units-us");
        assert_eq!(goals[..6], ["#ground", "#shares", "#passes", "#cost", "#not-known", "#before"]);
        for zone in 1..=3 {
            for line in ["#ground-zone-", "#shares-zone-", "#pass-2-pot-zone-"] {
                assert!(goals.contains(&format!("{line}{zone}").as_str()), "{line}{zone} of {goals:?}");
            }
        }
        for tab in tabs {
            let is_named = !tab["name"].as_str().unwrap().is_empty();
            let is_seen = tab["outline_px"].as_f64() >= Some(2.0) && tab["is_on_screen"] == true;
            assert!(is_named && is_seen && tab["exists"] == true, "{tab}");
        }
        assert_eq!(told["focus_is_drawn"], true);
    }
}

#[test]
fn axe_finds_nothing() {
    let Some(seen) = demo() else { return };
    check_accessible(seen);
}

#[test]
fn a_broken_page_is_seen() {
    let Some(seen) = demo() else { return };
    let page = std::fs::read_to_string(seen.out.join("grower.html")).unwrap();
    let faults = format!(
        "<img src=\"http://127.0.0.1:9/x.png\"><script>alert(1)</script><font color=\"#bbbbbb\">pale</font><pre>{}</pre></main>",
        "W".repeat(300)
    );
    let broken = page.replace("</main>", &faults).replace(" lang=\"en-US\"", "");
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("broken.html");
    std::fs::write(&file, broken).unwrap();
    let told = observe(&file, folder.path()).unwrap();
    let told = &told["with_script"];
    assert!(
        texts(&told["console"]).iter().any(|line| line.contains("Content Security Policy")),
        "{:?}",
        told["console"]
    );
    assert!(texts(&told["strangers"]).len() == 2 && told["scripts"] == 1);
    assert!(told["widths"]["360"]["scroll"].as_f64() > Some(360.0));
    let axe = texts(&told["axe_us"]["violations"]).concat();
    assert!(["html-has-lang", "color-contrast", "image-alt"].iter().all(|rule| axe.contains(rule)), "{axe}");
}
