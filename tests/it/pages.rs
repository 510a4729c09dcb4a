//! The grower's page and the cab sheets: every figure is the run record's, names stay text, paper loses nothing.

use std::sync::OnceLock;

use holdground::export::OutputFile;
use holdground::export::run_record::Versions;
use serde_json::Value;

use crate::fixture::run_edited;
use crate::outside::printed;

/// Kilograms a hectare in a pound an acre: 0.45359237 kg (international pound, 1959) over 0.40468564224 ha.
const KG_HA_PER_LB_AC: f64 = 0.453_592_37 / 0.404_685_642_24;

fn files(name: &str, edit: impl Fn(String) -> String) -> Vec<OutputFile> {
    let versions = Versions { program: "0".into(), libraries: Vec::new() };
    run_edited(name, edit).files(&[], &versions, Vec::new()).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

fn demo() -> &'static [OutputFile] {
    static FILES: OnceLock<Vec<OutputFile>> = OnceLock::new();
    FILES.get_or_init(|| files("demo", |text| text))
}

fn bytes<'f>(files: &'f [OutputFile], path: &str) -> &'f [u8] {
    let found = files.iter().find(|file| file.path == path);
    &found.unwrap_or_else(|| panic!("{path} is missing")).bytes
}

fn record(files: &[OutputFile]) -> Value {
    serde_json::from_slice(bytes(files, "run_record.json")).unwrap()
}

fn html(files: &[OutputFile]) -> String {
    String::from_utf8(bytes(files, "grower.html").to_vec()).unwrap()
}

/// Text of a PDF as poppler's `pdftotext` reads it, blanks folded; `None` where it is not installed.
fn pdf_text(bytes: &[u8]) -> Option<String> {
    let place = tempfile::tempdir().unwrap();
    let path = place.path().join("page.pdf");
    std::fs::write(&path, bytes).unwrap();
    let text = printed("pdftotext", &["-layout".as_ref(), path.as_os_str(), "-".as_ref()])?;
    Some(text.split_whitespace().collect::<Vec<_>>().join(" "))
}

/// "16,306"
fn thousands(value: f64) -> String {
    let digits = format!("{value:.0}");
    let start = digits.len() % 3;
    let mut parts = vec![&digits[..start]];
    parts.extend((start..digits.len()).step_by(3).map(|at| &digits[at..at + 3]));
    parts.retain(|part| !part.is_empty());
    parts.join(",")
}

/// A rate as printed: none, two or one decimals by its unit.
fn rate_words(rate: f64, unit: &str) -> String {
    match unit {
        "lb/ac" => format!("{rate:.0} lb/ac"),
        "short ton/ac" => format!("{rate:.2} short ton/ac"),
        unit => format!("{rate:.1} {unit}"),
    }
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

#[test]
fn every_rate_zone_and_sum_of_the_page_is_the_run_records() {
    let (record, page) = (record(demo()), html(demo()));
    let mut n_rates = 0;
    for pass in record["passes"].as_array().unwrap() {
        let (product, unit) = (pass["product"].as_str().unwrap(), pass["unit_of_rates"].as_str().unwrap());
        for rate in pass["rates"].as_array().unwrap().iter().filter(|rate| number(&rate["rate"]) > 0.0) {
            let us = format!("{} of {product}.", rate_words(number(&rate["rate"]), unit));
            assert!(page.contains(&us), "{us}");
            if unit == "lb/ac" {
                let si = format!("{:.0} kg/ha of {product}.", number(&rate["rate"]) * KG_HA_PER_LB_AC);
                assert!(page.contains(&si), "{si}");
            }
            n_rates += 1;
        }
        if unit != "short ton/ac" {
            let total =
                format!("In all {} {}.", thousands(number(&pass["total"])), pass["unit_of_total"].as_str().unwrap());
            assert!(page.contains(&total), "{total}");
        }
    }
    assert!(n_rates > 10, "the demo has rates");
    for zone in record["zones"]["zones"].as_array().unwrap() {
        let cec = format!("CEC {:.1}.", number(&zone["means"]["cec"]));
        let area = format!("{:.1} ac", number(&zone["area_m2"]) / 4_046.856_422_4);
        assert!(page.contains(&cec) && page.contains(&area), "{cec} {area}");
    }
    let money = &record["against_flat"];
    let saved = format!("Zones save ${} in all", thousands(number(&money["saved_usd"])));
    assert!(page.contains(&saved), "{saved}");
    for product in money["products"].as_array().unwrap() {
        let cell = format!("<td>${}</td>", thousands(number(&product["zoned_usd"])));
        assert!(page.contains(&cell), "{cell}");
    }
}

#[test]
fn the_page_is_one_small_file_that_loads_nothing() {
    let page = html(demo());
    assert!(page.len() < 1_500_000, "{}", page.len());
    for forbidden in ["<script", "src=", "http://", "https://", "@import", "url(http", "onclick"] {
        assert!(!page.contains(forbidden), "{forbidden}");
    }
    // Every link of the page leads to a place on it.
    for link in page.split("href=\"#").skip(1).map(|rest| rest.split('"').next().unwrap()) {
        assert!(page.contains(&format!("id=\"{link}\"")), "#{link}");
    }
    let ids: Vec<&str> = page.split(" id=\"").skip(1).map(|rest| rest.split('"').next().unwrap()).collect();
    let mut unlike = ids.clone();
    unlike.sort_unstable();
    unlike.dedup();
    assert_eq!(unlike.len(), ids.len(), "ids stand once");
    for caution in ["certified adviser", "no nutrient-management plan", "Shares as a goal are contested", "Kopittke"] {
        assert!(page.contains(caution), "{caution}");
    }
}

#[test]
fn paper_holds_what_the_page_holds() {
    let Some(text) = pdf_text(bytes(demo(), "grower.pdf")) else { return };
    let page = html(demo());
    let headings = page.split("<h2 ").skip(1).map(|rest| rest.split('>').nth(1).unwrap().trim_end_matches("</h2"));
    for heading in headings {
        assert!(text.contains(heading), "{heading}");
    }
    for pass in record(demo())["passes"].as_array().unwrap() {
        let unit = pass["unit_of_rates"].as_str().unwrap();
        for rate in pass["rates"].as_array().unwrap().iter().filter(|rate| number(&rate["rate"]) > 0.0) {
            let words =
                format!("{} of {}.", rate_words(number(&rate["rate"]), unit), pass["product"].as_str().unwrap());
            assert!(text.contains(&words), "{words}");
        }
    }
}

#[test]
fn a_cab_sheet_tells_what_the_stick_orders() {
    let Some(text) = pdf_text(bytes(demo(), "cab-sheets.pdf")) else { return };
    let record = record(demo());
    let passes = record["passes"].as_array().unwrap();
    assert_eq!(text.matches("THE SCREEN SHOULD SHOW").count(), passes.len());
    assert_eq!(text.matches("Spread by").count(), passes.len());
    for pass in passes {
        let product = pass["product"].as_str().unwrap().to_uppercase();
        let sheet = text.split("Pass ").find(|sheet| sheet.contains(&product)).unwrap_or_else(|| panic!("{product}"));
        assert!(sheet.contains("of PRODUCT an acre, not of nutrient"));
        for rate in pass["rates"].as_array().unwrap() {
            let area = format!("{:.1} ac", number(&rate["area_ac"]));
            assert!(text.contains(&area), "{area}");
        }
    }
    // The places are those of the text on the stick.
    let stick = String::from_utf8(bytes(demo(), "READ-ME-FIRST.txt").to_vec()).unwrap();
    let places = stick.lines().filter(|line| line.trim_start().starts_with("at "));
    for place in places {
        let words: Vec<&str> = place.split_whitespace().collect();
        let (place, rate) = (words[2..6].join(" "), words[6..].join(" "));
        assert!(text.contains(&place) && text.contains(&rate), "{place} {rate}");
    }
}

#[test]
fn the_same_run_gives_the_same_pages() {
    let again = files("demo", |text| text);
    for path in ["grower.html", "grower.pdf", "grower.png", "cab-sheets.pdf"] {
        assert!(bytes(demo(), path) == bytes(&again, path), "{path}");
    }
}

#[test]
fn hostile_names_stay_text() {
    let name = "<script>alert(1)</script> \\\" ' ]]> \u{202e}\u{5e9}\u{5d3}\u{5d4} \u{1f33e}";
    let long = "L".repeat(200);
    let made = files("demo", |text| {
        text.replace("Three-soils field (invented)", name).replace("Potash 0-0-60", &format!("Potash <b>{long}</b>"))
    });
    let page = html(&made);
    assert!(
        !page.contains("<script") && !page.contains("<b>LLL") && page.contains("&lt;script&gt;alert(1)&lt;/script&gt;")
    );
    for path in ["grower.pdf", "cab-sheets.pdf"] {
        let Some(text) = pdf_text(bytes(&made, path)) else { return };
        // A long name is broken over lines; its letters are all there.
        assert!(text.contains("alert(1)"), "{path}");
        assert!(text.matches('L').count() >= 200, "{path}");
    }
}

#[test]
fn a_run_without_rates_has_a_page_and_no_cab_sheets() {
    let zones_only = files("demo", |text| text[..text.find("[need]").unwrap()].to_owned());
    let page = html(&zones_only);
    assert!(page.contains("No rates yet") && page.contains("Where does the ground hold least?"));
    assert!(!page.contains("What does it cost"));
    assert!(zones_only.iter().all(|file| file.path != "cab-sheets.pdf"));
}

#[test]
fn an_even_field_is_told_to_be_one() {
    let page = html(&files("even", |text| text));
    assert!(page.contains("The whole field is one kind of ground") || page.contains("Not worth zoning"), "{page}");
}

/// A trip whose cost is not stated is not known, never 0: no line of trips, no sum, and the page says why.
#[test]
fn a_trip_without_a_cost_leaves_no_sum() {
    let made = files("demo", |text| {
        let open = text.replace(", standing_crop = true, usd_ac = 14 }", ", standing_crop = true }");
        assert_ne!(open, text);
        open
    });
    let page = html(&made);
    let row = |name: &str| {
        let start = page.find(&format!("<th scope=\"row\">{name}</th>")).unwrap_or_else(|| panic!("{name}"));
        page[start..].split("</tr>").next().unwrap().matches("<td>-</td>").count()
    };
    assert_eq!((row("passes driven"), row("in all"), row("Ag lime")), (3, 3, 0));
    assert!(page.contains("cannot be told") && record(&made)["against_flat"]["saved_usd"].is_null());
}
