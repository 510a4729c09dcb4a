//! The grower's page as people meet it: in real Chromium without a network, by keyboard, on a telephone's width, printed;
//! its numbers against the run record; names that try to be more than text.
//!
//! `browser/observe.mjs` looks, the tests here judge. Chromium and Poppler (Debian), playwright-core and axe-core (npm)
//! are installed by `scripts/test`.

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

/// Looks at a page; `None` where what it takes is not installed.
fn observe(page: &Path, prints: &Path) -> Option<Value> {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    for needed in
        ["browser/node_modules/playwright-core/package.json", "browser/node_modules/axe-core/axe.min.js", CHROMIUM]
    {
        outside::path(needed, None)?;
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

/// The text of a PDF as its lines show it, without space, and without the line at each page's foot.
fn pdf_letters(file: &Path) -> Option<String> {
    let text = outside::printed("pdftotext", &["-layout".as_ref(), file.as_os_str(), "-".as_ref()])?;
    let lines = text.lines().filter(|line| !line.trim_start_matches('\u{c}').trim().starts_with("Page "));
    Some(letters(&lines.collect::<String>()))
}

/// Without space and marks of direction, which readers of PDF add.
fn letters(text: &str) -> String {
    let is_mark =
        |letter: char| matches!(letter, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    text.chars().filter(|letter| !letter.is_whitespace() && !is_mark(*letter)).collect()
}

fn pdf_fact(file: &Path, key: &str) -> Option<String> {
    let text = outside::printed("pdfinfo", &[file.as_os_str()])?;
    let line = text.lines().find_map(|line| line.strip_prefix(key)).unwrap_or_else(|| panic!("no {key}: {text}"));
    Some(line.trim().to_owned())
}

#[test]
fn the_page_prints_whole_on_both_papers() {
    let Some(seen) = demo() else { return };
    // The choice of units, and the jump links, are for the screen.
    let words = lines(&seen.told["with_script"], "first");
    let words: Vec<&&str> =
        words.iter().filter(|line| !["Units", "pounds and acres", "kilograms and hectares"].contains(line)).collect();
    assert!(words.len() > 150);
    let prints = [("prints/A4.pdf", "A4"), ("prints/Letter.pdf", "letter"), ("out/grower.pdf", "letter")];
    for (file, paper) in prints {
        let file = seen.prints.parent().unwrap().join(file);
        let Some(pages) = pdf_fact(&file, "Pages:") else { return };
        let n_pages: usize = pages.parse().unwrap();
        assert!((8..=16).contains(&n_pages), "{n_pages} pages");
        assert!(pdf_fact(&file, "Page size:").unwrap().contains(paper));
        let printed = pdf_letters(&file).unwrap();
        let lost: Vec<_> = words.iter().filter(|line| !printed.contains(&letters(line))).collect();
        assert!(lost.is_empty(), "{file:?} lost {lost:?}");
    }
}

#[test]
fn the_picture_is_1080_wide() {
    let Some(seen) = demo() else { return };
    let (width, height) = image::image_dimensions(seen.out.join("grower.png")).unwrap();
    assert_eq!(width, 1080);
    assert!((1500..6000).contains(&height), "{height}");
}

/// The first number of a text, and half of its last digit.
fn number(text: &str) -> (f64, f64) {
    let from = text.find(|letter: char| letter.is_ascii_digit()).unwrap_or_else(|| panic!("no number in {text:?}"));
    let digits: String =
        text[from..].chars().take_while(|letter| letter.is_ascii_digit() || ",.".contains(*letter)).collect();
    let digits = digits.trim_end_matches(['.', ',']).replace(',', "");
    let decimals = digits.split_once('.').map_or(0, |(_, decimals)| decimals.len() as i32);
    (digits.parse().unwrap(), 0.5 * 10f64.powi(-decimals))
}

/// That the number after `before` in `line` is `value`, as far as it is told.
#[track_caller]
fn check_number(line: &str, before: &str, value: f64) {
    let (_, after) = line.split_once(before).unwrap_or_else(|| panic!("no {before:?} in {line:?}"));
    let (shown, half) = number(after);
    assert!((shown - value.abs()).abs() <= half + 1e-6, "{line:?}, after {before:?}: {shown}, record {value}");
}

/// US unit, SI unit, factor. Source: NIST Special Publication 811 (2008), appendix B.8; acre of 4046.8564224 m2.
const UNITS: [(&str, &str, f64); 6] = [
    ("lb/ac", "kg/ha", 0.453_592_37 / 0.404_685_642_24),
    ("short ton/ac", "tonne/ha", 0.907_184_74 / 0.404_685_642_24),
    ("gal/ac", "L/ha", 3.785_411_784 / 0.404_685_642_24),
    ("lb", "kg", 0.453_592_37),
    ("short tons", "tonnes", 0.907_184_74),
    ("gal", "L", 3.785_411_784),
];

fn unit(name: &str, is_si: bool) -> (&'static str, f64) {
    let (us, si, factor) = UNITS.into_iter().find(|(us, ..)| *us == name).unwrap_or_else(|| panic!("unit {name}"));
    if is_si { (si, factor) } else { (us, 1.0) }
}

fn list(value: &Value) -> &Vec<Value> {
    value.as_array().expect("a list")
}

fn float(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

/// The lines of a pass, from its heading on.
fn of_pass<'a>(lines: &'a [&'a str], heading: &str) -> &'a [&'a str] {
    let from = lines.iter().position(|line| *line == heading).unwrap_or_else(|| panic!("no {heading:?}"));
    let n = lines[from + 1..].iter().position(|line| line.starts_with("Pass ")).unwrap_or(lines.len() - from - 1);
    &lines[from + 1..from + 1 + n]
}

fn starting<'a>(lines: &[&'a str], start: &str) -> &'a str {
    lines.iter().find(|line| line.starts_with(start)).unwrap_or_else(|| panic!("no line starts {start:?}"))
}

/// Holds rates, totals and what is driven against the record; returns what was held.
fn check_passes(lines: &[&str], record: &Value, is_si: bool) -> Vec<String> {
    let mut held = Vec::new();
    for pass in list(&record["passes"]) {
        let text = |key: &str| pass[key].as_str().unwrap_or_else(|| panic!("no {key}"));
        let (rate_unit, factor) = unit(text("unit_of_rates"), is_si);
        let (total_unit, total_factor) = unit(text("unit_of_total"), is_si);
        let product = text("product");
        let window = pass["window"].as_str().map_or(String::new(), |window| format!(", {window}"));
        let part = of_pass(lines, &format!("Pass {}. {}{window}: {product}", pass["number"], text("name")));
        let row = lines.iter().position(|line| *line == format!("{} {product}, {rate_unit}", pass["number"]));
        let row = row.unwrap_or_else(|| panic!("no row of {product}"));
        let mut cells = lines[row].to_owned();
        for (index, rate) in list(&pass["rates"]).iter().enumerate() {
            let value = float(&rate["rate"]) * factor;
            let start = format!("Zone {}: ", rate["zone"]);
            let line = starting(part, &start);
            check_number(line, &start, value);
            let words = if value > 0.0 { format!(" {rate_unit} of {product}.") } else { ". Why: nothing:".to_owned() };
            assert!(line.contains(&words), "{line:?} without {words:?}");
            held.push(line[..line.find(&words).unwrap() + words.len()].to_owned());
            check_number(lines[row + 1 + index], "", value);
            cells += lines[row + 1 + index];
        }
        held.push(cells);
        let total = starting(part, "In all ");
        check_number(total, "In all ", float(&pass["total"]) * total_factor);
        assert!(total.ends_with(&format!(" {total_unit}.")), "{total:?}");
        held.push(total.to_owned());
        let driven = starting(part, "How sure: as this machine drives");
        check_number(driven, "by a simulation: ", 100.0 * float(&pass["as_driven"]["within_10_percent_share"]));
        let put_down = driven.rsplit_once("; ").unwrap().1;
        check_number(put_down, "", float(&pass["as_driven"]["total_driven"]) * total_factor);
        check_number(put_down, " put down for ", float(&pass["as_driven"]["total_ordered"]) * total_factor);
        held.push(put_down.to_owned());
    }
    held
}

/// Zones: areas, CEC, means, shares.
fn check_zones(lines: &[&str], record: &Value, is_si: bool) -> Vec<String> {
    let mut held = Vec::new();
    let zones = list(&record["zones"]["zones"]);
    let (area_unit, m2) = if is_si { ("ha", 10_000.0) } else { ("ac", 4_046.856_422_4) };
    let means = lines.iter().position(|line| line.starts_with("Means over the ground of each zone")).unwrap();
    let columns = ["cec", "ph_water", "organic_matter", "p", "k"];
    assert_eq!(lines[means + 1..means + 3], ["zone", "CEC"]);
    for (index, zone) in zones.iter().enumerate() {
        let number = index + 1;
        let cec = float(&zone["means"]["cec"]);
        let line = starting(lines, &format!("Zone {number}: "));
        check_number(line, ": ", float(&zone["area_m2"]) / m2);
        check_number(line, "CEC ", cec);
        let words = format!(" {area_unit}, {}, CEC ", zone["holds"].as_str().unwrap());
        assert!(line.contains(&words), "{line:?} without {words:?}");
        held.push(line.to_owned());
        let row = means + 1 + (columns.len() + 1) * number;
        assert_eq!(lines[row], number.to_string());
        for (column, key) in columns.iter().enumerate() {
            check_number(lines[row + 1 + column], "", float(&zone["means"][key]));
        }
        held.push(lines[row..=row + columns.len()].concat());
        let strip = lines.iter().position(|line| line.starts_with(&format!("Zone {number}, CEC "))).unwrap();
        let shares = &record["sharing"]["zones"][index]["percent_of_cec"];
        check_number(starting(&lines[strip..], "Ca "), "Ca ", float(&shares["Ca"]));
        check_number(starting(&lines[strip..], "Mg "), "Mg ", float(&shares["Mg"]));
        let line = starting(&lines[strip..], &format!("Zone {number}: calcium"));
        check_number(line, "magnesium take ", float(&shares["Ca"]) + float(&shares["Mg"]));
        check_number(line, "potassium has ", float(&shares["K"]));
        held.push(line.to_owned());
    }
    let short = starting(lines, "Zone 1, ");
    let [least, most] = [0, zones.len() - 1].map(|index| float(&zones[index]["means"]["cec"]));
    check_number(short, "Zone 1, ", float(&zones[0]["area_m2"]) / m2);
    check_number(short, "holds ", 100.0 * least / most);
    check_number(short, ": CEC ", least);
    check_number(short, " against ", most);
    held.push(short.to_owned());
    held
}

/// Money against the flat rate, sums and signs.
fn check_money(lines: &[&str], record: &Value) -> Vec<String> {
    let against = &record["against_flat"];
    let saved = float(&against["saved_usd"]);
    let mut rows: Vec<(String, f64, f64)> = list(&against["products"])
        .iter()
        .map(|row| (row["product"].as_str().unwrap().to_owned(), float(&row["flat_usd"]), float(&row["zoned_usd"])))
        .collect();
    rows.push(("passes driven".into(), float(&against["trips_flat_usd"]), float(&against["trips_zoned_usd"])));
    rows.push(("sampling for zones".into(), 0.0, float(&against["sampling_usd"])));
    let [flat, zoned] =
        [|row: &(String, f64, f64)| row.1, |row: &(String, f64, f64)| row.2].map(|of| rows.iter().map(of).sum::<f64>());
    assert!((flat - zoned - saved).abs() < 0.02, "the record adds up");
    rows.push(("in all".into(), flat, zoned));
    let table = lines.iter().position(|line| line.starts_with("Cost of ")).unwrap();
    let mut held = Vec::new();
    for (label, flat, zoned) in rows {
        let row = table + lines[table..].iter().position(|line| *line == label).unwrap_or_else(|| panic!("no {label}"));
        let cells = &lines[row + 1..row + 4];
        check_number(cells[0], "$", flat);
        check_number(cells[1], "$", zoned);
        check_number(cells[2], "$", zoned - flat);
        let sign = if (zoned - flat).abs() < 0.5 {
            "$"
        } else if zoned < flat {
            "-$"
        } else {
            "+$"
        };
        assert!(cells[2].starts_with(sign), "{label}: {cells:?}");
        held.push(lines[row..row + 4].concat());
    }
    let short = starting(lines, "Zones save ");
    check_number(short, "Zones save $", saved);
    held.push(short.to_owned());
    held
}

#[test]
fn every_number_of_page_and_pdf_is_the_records() {
    let Some(seen) = demo() else { return };
    let record = std::fs::read_to_string(seen.out.join("run_record.json")).unwrap();
    let record: Value = serde_json::from_str(&record).unwrap();
    let told = &seen.told["with_script"];
    let mut in_us = Vec::new();
    for (key, is_si) in [("us", false), ("si", true)] {
        let lines = lines(told, key);
        let mut held = check_passes(&lines, &record, is_si);
        held.extend(check_zones(&lines, &record, is_si));
        held.extend(check_money(&lines, &record));
        if !is_si {
            in_us = held;
        }
    }
    let Some(pdf) = pdf_letters(&seen.out.join("grower.pdf")) else { return };
    let lost: Vec<_> = in_us.iter().filter(|claim| !pdf.contains(&letters(claim))).collect();
    assert!(lost.is_empty() && in_us.len() > 40, "{} claims, of which the PDF lacks {lost:?}", in_us.len());
}

const SCRIPT: &str = "<script>alert(1)</script>";
/// Hebrew, the second word after a right-to-left override that is never taken back.
const TURNED: &str = "\u{5e9}\u{5d3}\u{5d4} \u{202e}\u{5e6}\u{5e4}\u{5d5}\u{5df}";
const EMOJI: &str = "\u{1f33d}";

/// The demo with names that try to be markup, to turn the line around and to burst it.
fn hostile(place: &Path) {
    let long = "W".repeat(200);
    let field = place.join("field.toml");
    let mut text = std::fs::read_to_string(&field).unwrap();
    let names = [
        ("\"Three-soils field (invented)\"", format!("\"{SCRIPT} \\\" ' & ]]> {TURNED} {EMOJI} {long}\"")),
        ("units = \"us\"", "units = \"si\"".to_owned()),
        ("\"Ag lime\"", format!("\"Lime {SCRIPT} \\\" ' ]]> {TURNED}\"")),
        ("\"MAP 11-52-0\"", format!("\"MAP {EMOJI} &amp; {long}\"")),
        ("\"Potash 0-0-60\"", "'Potash \"><img src=x onerror=alert(2)> 0-0-60'".to_owned()),
        ("name = \"After soybean\"", format!("name = \"After {SCRIPT} {TURNED}\"")),
        ("name = \"Before corn\"", format!("name = \"{long}\"")),
        ("window = \"April\"", format!("window = \"{EMOJI} </title>{SCRIPT}\"")),
        ("invented figures of a local guide", format!("{SCRIPT} ]]> {TURNED} {EMOJI} {long}")),
        ("count = 3 ", "# ".to_owned()),
        ("from = [\"cec\"", "# ".to_owned()),
        (
            "method = \"k-means\"",
            "method = \"polygons\"\npolygons = { file = \"zones.geojson\", name = \"NAME\" }".to_owned(),
        ),
    ];
    for (known, hostile) in names {
        assert!(text.contains(known), "the demo has no {known}");
        text = text.replace(known, &hostile);
    }
    std::fs::write(field, text).unwrap();
    let sheet = place.join("lab.csv");
    let text = std::fs::read_to_string(&sheet).unwrap();
    let text =
        text.replace("G-08", &format!("\"{SCRIPT}\"\" ' ]]>\"")).replace("H-08", &format!("\"{TURNED}{EMOJI}{long}\""));
    std::fs::write(sheet, text).unwrap();
    // Three strips from south to north, wider than the field.
    let strip = |name: &str, [south, north]: [f64; 2]| {
        let ring = [[-93.52, south], [-93.48, south], [-93.48, north], [-93.52, north], [-93.52, south]];
        serde_json::json!({"type": "Feature", "properties": {"NAME": name}, "geometry": {"type": "Polygon", "coordinates": [ring]}})
    };
    let strips = [
        strip(&format!("{SCRIPT} \" ' & ]]>"), [40.99, 40.9995]),
        strip(&format!("{TURNED}{EMOJI}"), [40.9995, 41.0025]),
        strip(&long, [41.0025, 41.01]),
    ];
    let zones = serde_json::json!({"type": "FeatureCollection", "features": strips});
    std::fs::write(place.join("zones.geojson"), zones.to_string()).unwrap();
}

#[test]
fn hostile_names_stay_text_and_nothing_is_lost() {
    let Some(seen) = run_and_look("hostile", hostile) else { return };
    check_quiet_and_narrow(&seen);
    check_accessible(&seen);
    let long = "W".repeat(200);
    let told = &seen.told["with_script"];
    let page = told["first"].as_str().unwrap();
    assert_eq!(told["checked"][1], serde_json::json!(["units-si", true]));
    assert!(page.contains("kg/ha"));
    // The name as typed, but for the mark that would turn what follows it.
    let name = format!("{SCRIPT} \" ' & ]]> {TURNED} {EMOJI} {long}").replace('\u{202e}', "");
    assert_eq!(told["title"].as_str(), Some(name.as_str()));
    assert_eq!(told["heading"].as_str(), Some(name.as_str()));
    let html = std::fs::read_to_string(seen.out.join("grower.html")).unwrap();
    assert!(!html.contains('\u{202e}'), "a name would turn the rates after it");
    let potash = "Potash \"><img src=x onerror=alert(2)> 0-0-60";
    for words in [potash, &format!("{EMOJI} </title>{SCRIPT}"), &format!("Lime {SCRIPT} \" ' ]]>"), &long] {
        assert!(page.contains(words), "{words}");
    }
    let picture = image::open(seen.out.join("grower.png")).unwrap();
    assert!(picture.height() > 1500);
    let prints = ["prints/A4.pdf", "out/grower.pdf"];
    for file in prints {
        let file = seen.prints.parent().unwrap().join(file);
        let Some(pdf) = pdf_letters(&file) else { return };
        let hebrew: Vec<String> = TURNED.split_whitespace().map(letters).collect();
        for word in [SCRIPT, "\"'&]]>", &letters(potash), &long, &hebrew[0], &hebrew[1]] {
            assert!(pdf.contains(&letters(word)), "{file:?} lacks {word}");
        }
        let heading = pdf.find("6.Beforeanyonespreads").expect("the last question");
        assert!(pdf[heading..].contains("run_record.json"), "the foot");
    }
    let pdf = pdf_letters(&seen.out.join("grower.pdf")).unwrap();
    assert!(pdf.contains(EMOJI), "from the bundled font");
}
