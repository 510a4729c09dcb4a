//! Fields side by side as text, table and picture: widths, bytes, odd names. All sheets are invented.

use holdground::columns::{ColumnReading, Found, Role};
use holdground::export::{field_dots_png, field_table_csv, field_table_text};
use holdground::fields::{SideBySide, side_by_side};
use holdground::samples::{Analyte, LabMethod, NumberForm, Row, SampleTable};
use holdground::units::LabUnit;
use proptest::prelude::*;

const HEADER: [&str; 8] = ["Field", "Status", "Programme", "pH", "CEC", "Ca %", "Mg %", "K %"];

fn columns() -> Vec<ColumnReading> {
    let printed = |unit: &str| Found::Printed(LabUnit::parse(unit).unwrap(), unit.to_owned());
    let analyte = |analyte, unit: &str| Role::Analyte { analyte, unit: printed(unit), method: Found::NotPrinted };
    let roles = [
        Role::SampleId,
        Role::Status,
        Role::Programme,
        analyte(Analyte::PhWater, "pH"),
        Role::Analyte {
            analyte: Analyte::Cec,
            unit: printed("meq/100g"),
            method: Found::Printed(LabMethod::Summation, "CEC by summation".to_owned()),
        },
        analyte(Analyte::CaSaturation, "%"),
        analyte(Analyte::MgSaturation, "%"),
        analyte(Analyte::KSaturation, "%"),
    ];
    let named = HEADER.iter().zip(roles).enumerate();
    named
        .map(|(index, (column, role))| ColumnReading { column: (*column).to_owned(), index, role, why: String::new() })
        .collect()
}

fn table(rows: Vec<Vec<String>>) -> SampleTable {
    let rows = rows.into_iter().enumerate().map(|(n, cells)| Row { line: n + 2, cells }).collect();
    SampleTable {
        file: "/somewhere/lab.csv".to_owned(),
        header: HEADER.map(str::to_owned).to_vec(),
        rows,
        samples_in: holdground::sheet::SamplesIn::Rows,
    }
}

fn side(rows: Vec<Vec<String>>) -> SideBySide {
    side_by_side(&table(rows), &columns(), &NumberForm::default(), None)
}

/// `n` fields whose CEC runs from 4 to 28.
fn many(n: usize) -> SideBySide {
    let row = |i: usize| {
        let cec = 4.0 + 24.0 * (i * i % n) as f64 / n as f64;
        let status = if i % 9 == 5 { "fallow" } else { "corn" };
        let programme = if i.is_multiple_of(2) { "standard" } else { "light" };
        [format!("Field {i}"), status.to_owned(), programme.to_owned(), format!("{:.1}", 5.5 + (i % 23) as f64 / 10.0)]
            .into_iter()
            .chain([
                format!("{cec:.1}"),
                format!("{}", 55 + i % 20),
                format!("{}", 8 + i % 15),
                format!("{}.4", 1 + i % 5),
            ])
            .collect()
    };
    side((0..n).map(row).collect())
}

fn pixels(result: &SideBySide) -> image::RgbImage {
    image::load_from_memory(&field_dots_png(result)).expect("a png").into_rgb8()
}

#[test]
fn the_text_fits_80_columns_and_names_every_field_once() {
    let mut rows = vec![
        vec![
            "Long acre by the river bend under the old railway embankment, north half and then some more of it",
            "",
            "",
            "6.1",
            "9.9",
            "60",
            "12",
            "2.1",
        ],
        vec!["Zw\u{f6}lf \u{c4}cker", "", "all the same for everyone", "6.4", "21.0", "66.25", "12.75", "3.355"],
        vec!["Mill 3", "fallow", "", "7.9", "30.12345", "80", "15", "<0.5"],
        vec!["two\nlines\u{1b}[31m", "", "", "", "", "", "", ""],
        vec!["", "", "", "x", "x", "x", "x", "x"],
    ];
    rows.push(vec!["Home", "", "all the same for everyone", "6.4", "13.0", "66", "12", "3.4"]);
    let result = side(rows.into_iter().map(|row| row.into_iter().map(str::to_owned).collect()).collect());
    let text = field_table_text(&result);
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    assert!(!text.contains('\u{1b}') && text.contains("two lines [31m"));
    assert!(text.contains("and then some more of it") && text.contains("line 6"));
    assert!(text.contains("`all the same for everyone` goes on 2 fields"));
    let table = text.split("In short").next().unwrap();
    assert_eq!(table.matches("Mill 3").count(), 1);
    assert!(table.contains("much*, fallow"), "{table}");
}

#[test]
fn the_table_reads_back_with_one_row_a_field() {
    let result = many(50);
    let csv = field_table_csv(&result);
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let header = reader.headers().unwrap().clone();
    let at = |name: &str| header.iter().position(|column| column == name).unwrap();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 50);
    let cecs: Vec<f64> = rows.iter().map(|row| row[at("cec")].parse().unwrap()).collect();
    assert!(cecs.windows(2).all(|pair| pair[0] <= pair[1]), "least first");
    for row in &rows {
        // Calcium and magnesium are printed as whole numbers on this sheet, so their sum can be checked.
        let sum: f64 = [at("ca_percent"), at("mg_percent")].iter().map(|i| row[*i].parse::<f64>().unwrap()).sum();
        assert!((row[at("ca_mg_percent")].parse::<f64>().unwrap() - sum).abs() < 1e-9);
        let is_least = row[at("cec")].parse::<f64>().unwrap() <= 0.75 * result.group.median.unwrap();
        let expected = if &row[at("ground")] == "fallow" {
            ""
        } else if is_least {
            "yes"
        } else {
            "no"
        };
        assert_eq!(&row[at("least_of_group")], expected);
    }
}

#[test]
fn the_picture_is_1080_wide_the_same_every_time_and_in_ink_only() {
    for n in [1, 4, 40, 41, 400] {
        let result = many(n);
        assert_eq!(field_dots_png(&result), field_dots_png(&result), "{n}");
        let picture = pixels(&result);
        assert_eq!(picture.width(), 1080, "{n}");
        // Ink on paper: no pixel has a color of its own.
        let grey = |p: &image::Rgb<u8>| p.0.iter().max().unwrap() - p.0.iter().min().unwrap() <= 12;
        assert!(picture.pixels().all(grey), "{n}");
        // Nothing runs into the edge of the paper.
        let edge = (0..picture.height()).flat_map(|y| [picture.get_pixel(0, y), picture.get_pixel(1079, y)]);
        assert!(edge.into_iter().all(|p| p.0 == [255; 3]), "{n}");
    }
}

#[test]
fn a_sheet_of_ten_thousand_rows_is_folded_not_listed() {
    let result = many(10_000);
    assert_eq!(result.fields.len(), 10_000);
    let text = field_table_text(&result);
    assert!(text.lines().count() < 200 && text.contains("9,940 more stand in the table"));
    assert!(pixels(&result).height() < 4000);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn no_sheet_makes_it_panic(
        rows in proptest::collection::vec(
            proptest::collection::vec("\\PC{0,6}|-?[0-9]{1,6}(\\.[0-9]{1,4})?|[<>][0-9]{1,3}|nan|\\PC{90}", 8), 1..12),
    ) {
        let applied = SampleTable {
            header: ["year", "field", "unit", "amount", "product", "", "", ""].map(str::to_owned).to_vec(),
            ..table(rows.clone())
        };
        let result = side_by_side(&table(rows), &columns(), &NumberForm::default(), Some(&applied));
        let text = field_table_text(&result);
        prop_assert!(text.lines().all(|line| line.chars().count() <= 80), "{}", text);
        prop_assert!(!field_table_csv(&result).is_empty());
        prop_assert_eq!(pixels(&result).width(), 1080);
    }
}
