//! `holdground fields` as typed: what is said of an invented sheet of eight fields, and what lands on disk.

use crate::desk::Desk;

/// One row a field, a lab's headers, no coordinates. CEC of the ridge: 2.50 + 0.60 + 0.17 + 0.04 + 1.80 = 5.1 [A].
const SHEET: &str = "\
Field,Soil pH,OM %,K ppm,Mg ppm,Ca ppm,Na ppm,CEC meq/100g,%K,%Mg,%Ca,%H,Program
Home,6.2,3.1,128,225,1900,14,14.8,2.2,12.7,64.3,20.3,standard
Ridge,5.7,1.2,66,72,500,9,5.1,3.3,11.7,48.9,35.2,standard
Corner,7.2,4.1,210,1080,2800,46,23.7,2.3,37.9,59.0,0,standard
Mill,6.4,2.9,140,240,2000,12,14.4,2.5,13.9,69.4,14.2,standard
Brook,6.0,2.2,95,150,1200,10,10.1,2.4,12.4,59.4,25.4,standard
Long,6.5,3.0,150,250,2100,12,15.2,2.5,13.7,69.1,14.5,standard
Far,5.9,1.8,80,110,900,9,8.2,2.5,11.2,54.9,31.1,standard
Church,6.8,3.4,170,320,2400,15,16.0,2.7,16.7,75.0,5.4,standard
";

fn desk() -> Desk {
    let desk = Desk::new();
    desk.put("lab.csv", SHEET);
    desk
}

#[test]
fn eight_fields_are_put_in_order_and_nothing_is_asked_or_written() {
    let desk = desk();
    let told = desk.holdground(&["fields", "lab.csv"]);
    told.says(
        0,
        &[
            "lab.csv 8 fields",
            "Fields by what the ground holds, least first",
            "Ridge 5.1 5.7 48.9 11.7 3.3 61 some, least here",
            // The middle of eight: half way between 14.4 and 14.8; three quarters of it are 10.95.
            "middle of the group 14.6",
            "These hold least of the group: Ridge (5.1), Far (8.2), Brook (10.1).",
            "it does not hold nitrate or urea",
            "`standard` goes on 8 fields, from Ridge (CEC 5.1) to Corner (CEC 23.7)",
            "As targets they are contested".to_lowercase().as_str(),
            "No rate is given here.",
            "With `--out DIR`",
        ],
    );
    assert!(told.stderr.is_empty(), "{}", told.stderr);
    let order: Vec<usize> = ["Ridge", "Far", "Brook", "Mill", "Home", "Long", "Church", "Corner"]
        .iter()
        .map(|name| told.stdout.find(&format!("\n  {name} ")).unwrap_or_else(|| panic!("no {name}")))
        .collect();
    assert!(order.is_sorted(), "{}", told.stdout);
    assert!(told.stdout.lines().take_while(|line| !line.starts_with("With")).all(|line| line.chars().count() <= 80));
    assert!(!desk.path("field.toml").exists());
}

#[test]
fn the_folder_is_made_once_replaced_when_asked_and_foreign_files_stay() {
    let desk = desk();
    let names = || {
        let entries = std::fs::read_dir(desk.path("out")).unwrap();
        let mut names: Vec<String> = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    };
    let fields = |flags: &[&str]| desk.holdground(&[&["fields", "lab.csv", "--out", "out"], flags].concat());
    let told = fields(&[]);
    told.says(0, &["Fields by what the ground holds"]);
    assert_eq!(names(), ["fields.csv", "fields.png", "fields.txt", "run_record.json"]);
    assert!(told.stdout.starts_with(&desk.read("out/fields.txt")));
    let csv = desk.read("out/fields.csv");
    assert_eq!(csv.lines().count(), 9);
    assert!(csv.lines().nth(1).unwrap().starts_with("Ridge,3,,5.1,meq/100 g,"), "{csv}");
    let record: serde_json::Value = serde_json::from_str(&desk.read("out/run_record.json")).unwrap();
    assert_eq!(record["files"].as_array().unwrap().len(), 3, "{record}");
    assert!(record.to_string().contains("lab.csv"));

    fields(&[]).says(5, &["error[result-folder-exists]", "`--replace`"]);
    desk.put("lab.csv", SHEET.replace("Ridge", "Hill"));
    fields(&["--replace"]).says(0, &["Hill 5.1"]);
    assert!(desk.read("out/fields.csv").contains("Hill,3"));
    desk.put("out/my-notes.txt", "keep me");
    fields(&["--replace"]).says(5, &["my-notes.txt"]);
    assert_eq!(desk.read("out/my-notes.txt"), "keep me");
    desk.put("other/my-notes.txt", "keep me");
    desk.holdground(&["fields", "lab.csv", "--out", "other", "--replace"])
        .says(5, &["not the folder of an earlier run"]);
    assert!(!desk.path("other/fields.csv").exists());
    // A sheet that cannot be read leaves the earlier folder as it is.
    std::fs::remove_file(desk.path("out/my-notes.txt")).unwrap();
    desk.put("lab.csv", "");
    fields(&["--replace"]).says(3, &["error["]);
    assert!(desk.read("out/fields.csv").contains("Hill,3"));
}

#[test]
fn what_was_spread_stands_beside_the_fields() {
    let desk = desk();
    let more = "Corner,2023,Potash 0-0-60,150,lb/ac\nCorner,2024,Potash 0-0-60,150,lb/ac\nBarn,2024,Lime,1,ton/ac\n";
    desk.put(
        "spread.csv",
        format!("Field,Year,Product,Amount,Unit\nHome,2024,Potash 0-0-60,100,lb/ac\nRidge,2024,Potash 0-0-60,100,lb/ac\n{more}"),
    );
    let told = desk.holdground(&["fields", "lab.csv", "--applied", "spread.csv", "--out", "out"]);
    told.says(
        0,
        &[
            "What was spread, 2023 to 2024",
            "Corner: Potash 0-0-60 300 lb/ac",
            "Ridge: Potash 0-0-60 100 lb/ac",
            "not in the list of what was spread: Brook, Church, Far, Long, Mill",
            "Barn",
        ],
    );
    assert!(desk.read("out/fields.csv").contains("Potash 0-0-60 300 lb/ac"));
    let record: serde_json::Value = serde_json::from_str(&desk.read("out/run_record.json")).unwrap();
    assert!(record.to_string().contains("spread.csv"), "{record}");
    desk.holdground(&["fields", "lab.csv", "--applied", "none.csv"]).says(3, &["`none.csv`"]);
}

#[test]
fn names_of_products_are_no_headers_of_the_list_of_what_was_spread() {
    let desk = desk();
    // Each of these products is a header of some lab sheet.
    let rows =
        [("Home", "K2O"), ("Ridge", "K2O"), ("Ridge", "Lime"), ("Mill", "Manure"), ("Corner", "Lime with manure")];
    let rows = |form: fn(&str, &str) -> String| rows.map(|(field, product)| form(field, product)).concat();
    for (header, form) in [
        ("Field,Year,Product,Amount,Unit\n", (|f, p| format!("{f},2024,{p},2,lb/ac\n")) as fn(&str, &str) -> String),
        ("PRODUCT,FIELD,AMOUNT,UNIT,YEAR\n", |f, p| format!("{p},{f},2,lb/ac,2024\n")),
        ("Spread in 2024\n\nnutrient;field;amount;unit\n", |f, p| format!("{p};{f};2;lb/ac\n")),
    ] {
        desk.put("spread.csv", format!("{header}{}", rows(form)));
        let told = desk.holdground(&["fields", "lab.csv", "--applied", "spread.csv"]);
        let spread = ["Home: K2O 2 lb/ac", "Ridge: K2O 2 lb/ac; Lime 2 lb/ac", "Mill: Manure 2 lb/ac"];
        told.says(0, &[&spread[..], &["Corner: Lime with manure 2 lb/ac", "may hold potash"]].concat());
    }
}

#[test]
fn what_was_spread_in_columns_is_refused() {
    let desk = desk();
    desk.put("spread.csv", "Field,Home,Ridge\nYear,2024,2024\nProduct,K2O,K2O\nAmount,100,100\nUnit,lb/ac,lb/ac\n");
    let told = desk.holdground(&["fields", "lab.csv", "--applied", "spread.csv", "--out", "out"]);
    told.says(3, &["error[unreadable-sheet]", "spread.csv", "in columns", "on the first line"]);
    assert!(!desk.path("out").exists());
}

#[test]
fn a_sheet_without_cec_says_what_it_has() {
    let desk = desk();
    desk.put("lab.csv", "Field,pH,K ppm,P Bray-1 ppm\nHome,6.2,128,22\nRidge,5.7,66,27\n");
    let told = desk.holdground(&["fields", "lab.csv"]);
    told.says(
        0,
        &["Fields by name: the sheet gives no CEC", "Home - 6.2", "Ridge - 5.7", "No CEC: the sheet prints none"],
    );
}

#[test]
fn ten_thousand_rows_run() {
    let desk = Desk::new();
    let rows = (0..10_000)
        .map(|n| format!("F{n},6.{},{},{}.5,{},{}\n", n % 9, 60 + n % 200, 4 + n % 23, 45 + n % 30, 8 + n % 12));
    desk.put("lab.csv", format!("Field,pH,K ppm,CEC,Ca %,Mg %\n{}", rows.collect::<String>()));
    desk.holdground(&["fields", "lab.csv", "--out", "out"])
        .says(0, &["10,000 fields", "9,940 more stand in the table"]);
    assert_eq!(desk.read("out/fields.csv").lines().count(), 10_001);
}
