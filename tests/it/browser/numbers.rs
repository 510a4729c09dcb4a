//! Every number of the page, in both systems of units, and of its PDF is the run record's.

use serde_json::Value;

use super::paper::{letters, pdf_letters};
use super::{demo, lines};

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
