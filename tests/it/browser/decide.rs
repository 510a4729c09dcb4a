//! `decide` in a browser: six questions at a telephone's width, four zones by keyboard, written on a press, run again.

use std::path::Path;

use super::{CHROMIUM, are_tools_there, texts};
use crate::decide::{copied, run, serve};
use crate::outside;

#[test]
fn a_whole_round_in_a_browser() {
    if !are_tools_there() {
        return;
    }
    let mut served = serve(copied("demo"));
    let before = std::fs::read_to_string(served.field_file()).unwrap();
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let [script, modules] = [here.join("tests/it/browser/decide.mjs"), here.join(".outside/browser")];
    let address = served.address();
    let arguments = [script.as_os_str(), modules.as_os_str(), address.as_ref(), CHROMIUM.as_ref()];
    let Some(text) = outside::printed("node", &arguments) else { return };
    let seen: serde_json::Value = serde_json::from_str(&text).unwrap();

    for key in ["console", "errors", "dialogs", "elsewhere"] {
        assert!(texts(&seen[key]).is_empty(), "{key}: {:?}", seen[key]);
    }
    assert_eq!(texts(&seen["headings"]).len(), 6, "{:?}", seen["headings"]);
    for (width, sizes) in seen["widths"].as_object().unwrap() {
        assert!(sizes[0].as_f64() <= sizes[1].as_f64(), "{width}: {sizes}");
    }
    for key in ["axe_first", "axe_changed"] {
        assert!(texts(&seen[key]["violations"]).is_empty(), "{key}: {:?}", seen[key]["violations"]);
        assert!(seen[key]["n_passed"].as_u64() > Some(20));
    }

    // Goals one a zone do not fit four zones: refused with its question, then carried over.
    assert_eq!(seen["chosen"], "4");
    assert!(seen["foot_refused"].as_str().unwrap().contains("question 2"), "{}", seen["foot_refused"]);
    let changed = texts(&seen["headings_changed"]);
    assert!(changed[1].ends_with("changed") && !changed[2].ends_with("changed"), "{changed:?}");
    assert!(seen["foot"].as_str().unwrap().starts_with("Since the file: 4 zones, not 3"), "{}", seen["foot"]);
    assert!(seen["said"].as_str().unwrap().contains("The answers are written to field.toml."), "{}", seen["said"]);
    assert_eq!(seen["stopped"], "Stopped");
    assert_eq!(served.end().code(), Some(0));

    let after = std::fs::read_to_string(served.field_file()).unwrap();
    assert_ne!(before, after);
    let rates = seen["answers"].as_array().unwrap().last().unwrap()["rates_csv"].as_str().unwrap();
    assert_eq!(run(served.folder(), "four"), rates.as_bytes(), "the page told what a run gives");
}
