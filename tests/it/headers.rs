//! Headers beyond the eleven layouts: open sheets, any order of columns, any text.

use holdground::columns::{ColumnReading, Role, is_known_header, understand};
use holdground::samples::{Analyte, Row, SampleTable};
use proptest::prelude::*;

use crate::layouts::{COMMA, LAYOUTS, POINT, Understood, table};
use crate::outside;

/// Every column of an open sheet, shortly: `key unit method`, `-` for left aside, else the role.
fn shorts(name: &str) -> Option<Vec<(String, String)>> {
    let path = outside::path(name, Some("HOLDGROUND_OPEN_DATA"))?;
    let table = SampleTable::read_csv(name, &std::fs::read(path).unwrap()).unwrap();
    let sheet = Understood::of(table, POINT);
    let short = |reading: &ColumnReading| match &reading.role {
        Role::Analyte { .. } => {
            let (key, unit, method) = sheet.told(&reading.column);
            format!("{key} {unit} {method}")
        }
        Role::LeftAside(_) => "-".to_owned(),
        role => format!("{role:?}"),
    };
    Some(sheet.readings.iter().map(|reading| (reading.column.clone(), short(reading))).collect())
}

/// Compares with `header: what it is`, line by line.
fn assert_shorts(found: &[(String, String)], expected: &str) {
    let found: Vec<String> = found.iter().map(|(header, short)| format!("{header}: {short}")).collect();
    let expected: Vec<&str> = expected.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
    assert_eq!(found, expected);
}

#[test]
fn open_sheets_of_2018_are_understood() {
    let Some(found) = shorts("lab_rows_2018.csv") else { return };
    // The CEC is the sum of the cations where the lab prints 0 % H, as the data's own description says.
    assert_shorts(
        &found,
        "year: -
        field: SampleId
        depth_in: DepthBottom(Printed(Inches, \"in\"))
        ph: ph_water pH ?
        buffer_ph_woodruff: buffer_ph pH woodruff
        om_pct: organic_matter % ?
        no3n_ppm: nitrate_n ppm ?
        k_ppm: k ppm ?
        s_ppm: s ppm ?
        ca_ppm: ca ppm ?
        mg_ppm: mg ppm ?
        na_ppm: na ppm ?
        cec_lab: cec meq/100g summation
        h_pct_lab: acidity_saturation % calculated
        k_pct_lab: k_saturation % calculated
        ca_pct_lab: ca_saturation % calculated
        mg_pct_lab: mg_saturation % calculated
        na_pct_lab: na_saturation % calculated
        p_m3_ppm: p ppm mehlich-3
        sand: sand % calculated
        silt: silt % calculated
        clay: clay % calculated
        texture_lab: -",
    );
}

#[test]
fn soil250_is_understood_and_its_s_is_no_sulfur() {
    let Some(found) = shorts("soil250.csv") else { return };
    // Units are not on the sheet; S = Ca + Mg + K, CTC = S + Al + H and CEC = S + Al hold on all 250 rows.
    assert_shorts(
        &found,
        "Linha: -
        Coluna: -
        Cota: -
        AGrossa: -
        Silte: silt ? calculated
        Argila: clay ? calculated
        pHAgua: ph_water pH water
        pHKCl: ph_kcl pH potassium chloride
        Ca: ca ? ?
        Mg: mg ? ?
        K: k ? ?
        Al: al ? potassium chloride
        H: -
        C: organic_matter ? ?
        N: -
        CTC: cec ? summation
        S: -
        V: base_saturation % calculated
        M: -
        NC: -
        CEC: -
        CN: -",
    );
}

/// The role without what the order of the sheet may decide: which phosphorus test is the first.
fn without_order(role: &Role) -> Role {
    match role {
        Role::Analyte { analyte: Analyte::PSecond, unit, method } => {
            Role::Analyte { analyte: Analyte::P, unit: unit.clone(), method: method.clone() }
        }
        role => role.clone(),
    }
}

#[test]
fn every_layout_is_known_by_its_headers() {
    for (header, mark, rows) in LAYOUTS {
        for header in header.split(mark) {
            assert!(is_known_header(header), "{header}");
        }
        let n_known = rows.iter().flat_map(|row| row.split(mark)).filter(|cell| is_known_header(cell)).count();
        assert_eq!(n_known, 0, "{rows:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn the_order_of_columns_does_not_matter(layout in 1usize..=11, seed in any::<[u32; 20]>()) {
        let straight = Understood::layout(layout);
        let mut order: Vec<usize> = (0..straight.readings.len()).collect();
        order.sort_by_key(|column| (seed[*column], *column));
        let moved = |cells: &[String]| order.iter().map(|column| cells[*column].clone()).collect::<Vec<_>>();
        let table = SampleTable {
            file: straight.table.file.clone(),
            header: moved(&straight.table.header),
            rows: straight.table.rows.iter().map(|row| Row { line: row.line, cells: moved(&row.cells) }).collect(),
            samples_in: holdground::sheet::SamplesIn::Rows,
        };
        for (reading, from) in understand(&table, &straight.form).iter().zip(&order) {
            prop_assert_eq!(without_order(&reading.role), without_order(&straight.readings[*from].role));
        }
    }

    #[test]
    fn any_header_and_any_cell_is_taken(header in proptest::collection::vec(any::<String>(), 0..8), cells in any::<[String; 8]>()) {
        for text in &header {
            is_known_header(text);
        }
        let rows = vec![Row { line: 2, cells: cells[..header.len().saturating_sub(1)].to_vec() }];
        let n_columns = header.len();
        let table = SampleTable { file: "any.csv".into(), header, rows, samples_in: holdground::sheet::SamplesIn::Rows };
        prop_assert_eq!(understand(&table, &POINT).len(), n_columns);
    }

    #[test]
    fn words_of_headers_in_any_order_are_taken(text in "(pH|P2O5|mg|/|kg|%|\\(|\\)|1|:|5|-| |#|\u{b5}|é|CaCl2|\\.|Sat|[0-9]){0,14}") {
        is_known_header(&text);
        let table = SampleTable { file: "any.csv".into(), header: vec![text], rows: Vec::new(), samples_in: holdground::sheet::SamplesIn::Rows };
        prop_assert_eq!(understand(&table, &COMMA).len(), 1);
    }

    #[test]
    fn numbers_and_dates_are_no_headers(value in -1e6f64..1e6, day in 1u32..=28, month in 1u32..=12, year in 1980u32..2040) {
        let dates = [format!("{year}-{month:02}-{day:02}"), format!("{month}/{day}/{year}"), format!("{day}.{month}.{year}")];
        let numbers = [format!("{value}"), format!("{value:.1}").replace('.', ","), format!("<{value:.2}"), format!("{value:.0} H")];
        for text in dates.iter().chain(&numbers) {
            prop_assert!(!is_known_header(text), "{}", text);
        }
    }
}

/// A sheet of 20,000 rows and 20 columns is looked at, not read through. The bound is wide, as tests run unoptimized
/// beside others; the time is told.
#[test]
#[expect(clippy::print_stderr, reason = "a measured time is worth seeing")]
fn a_long_sheet_takes_no_time() {
    let header = "Lab No,Sample ID,Long,Lat,Soil pH,Buffer pH (SMP),OM %,P Bray-1 ppm,K,Mg,Ca,Na,CEC,%K,%Mg,%Ca,%H,%Na,S,Texture";
    let rows: Vec<String> = (0..20_000)
        .map(|n| format!("{n},A-{n},-93.5048,41.2531,5.8,6.7,2.6,<5,118,205,1480,8,13.0,2.3,13.1,56.7,27.6,.3,9,Loam"))
        .collect();
    let rows: Vec<&str> = rows.iter().map(String::as_str).collect();
    let table = table(header, ',', &rows);
    let start = std::time::Instant::now();
    let readings = understand(&table, &POINT);
    let elapsed = start.elapsed();
    eprintln!("20,000 rows x 20 columns understood in {elapsed:?}");
    assert_eq!(readings[1].role, Role::SampleId);
    assert!(elapsed.as_millis() < 1000, "{elapsed:?}");
}
