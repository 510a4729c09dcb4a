//! The eleven header layouts of `layouts` through the built program: `new` with points, the open answers, `check`, `run`.
//!
//! Each test lists every key the sheet leaves open, so that nothing that matters is guessed silently, and what the
//! layout's trap could have been taken for. Expected values are worked by hand [A] from the sheet's own figures: ppm =
//! lb/ac / 2 = kg/ha / 2.24 in the furrow slice, ppm a meq: K 390, Ca 200, Mg 120, Na 230; K = 0.8301 K2O, P = 0.4364
//! P2O5, Ca = 0.7147 CaO, Mg = 0.6030 MgO (atomic weights).

use crate::check_close;
use crate::desk::{CheckedTable, Desk, points};
use crate::layouts::LAYOUTS;

/// Drafts a layout for four samples of these names; the layout's rows go round, those of one name staying together.
#[track_caller]
fn draft(layout: usize, id: &str, names: [&str; 4], encode: fn(&str) -> Vec<u8>) -> Desk {
    let (header, mark, rows) = LAYOUTS[layout - 1];
    let at = header.split(mark).position(|name| name == id).expect("the layout has the column of names");
    let mut samples: Vec<Vec<Vec<&str>>> = Vec::new();
    for row in rows {
        let cells: Vec<&str> = row.split(mark).collect();
        match samples.last_mut().filter(|sample| sample[0][at] == cells[at]) {
            Some(sample) => sample.push(cells),
            None => samples.push(vec![cells]),
        }
    }
    let mut sheet = format!("{header}\n");
    for (name, sample) in names.iter().zip(samples.iter().cycle()) {
        for cells in sample {
            let mut cells = cells.clone();
            cells[at] = name;
            sheet += &(cells.join(&mark.to_string()) + "\n");
        }
    }
    let desk = Desk::new();
    desk.put("lab.csv", encode(&sheet));
    desk.put("cores.geojson", points(&names));
    let told = desk.holdground(&["new", "lab.csv", "outline.geojson", "--places", "cores.geojson"]);
    told.says(0, &["meet one to one by `name`.", "Wrote field.toml."]);
    assert!(!told.stderr.contains("error["), "{}", told.stderr);
    assert!(desk.read("field.toml").contains(&format!("id = \"{id}\"")), "{}", desk.read("field.toml"));
    desk
}

fn utf_8(sheet: &str) -> Vec<u8> {
    sheet.as_bytes().to_vec()
}

/// Every letter used has the same number in Windows-1252 as in Unicode.
fn windows_1252(sheet: &str) -> Vec<u8> {
    sheet.chars().map(|letter| u8::try_from(u32::from(letter)).unwrap()).collect()
}

/// Asserts values of one sample: column, expected, half a unit of what the sheet or the table prints.
#[track_caller]
fn check_values(table: &CheckedTable, sample: &str, expected: &[(&str, f64, f64)]) {
    for (column, value, tolerance) in expected {
        check_close(table.value(sample, column), *value, *tolerance);
    }
}

const METHODS: [(&str, &str); 4] = [
    ("k", "\"ammonium acetate\""),
    ("ca", "\"ammonium acetate\""),
    ("mg", "\"ammonium acetate\""),
    ("na", "\"ammonium acetate\""),
];

#[test]
fn layout_1_a_blank_buffer_waits_for_the_labs_rule() {
    let desk = draft(1, "Sample ID", ["A-07", "A-08", "A-09", "A-10"], utf_8);
    assert_eq!(
        desk.open_keys(),
        "depth_in buffer_not_run_at_or_above_ph ph_water.method organic_matter.method k.method ca.method mg.method \
         na.method cec.method"
    );
    desk.leaves_aside(&["Lab No"]);
    desk.answer(&METHODS);
    desk.answer(&[
        ("depth_in", "[0, 7]"),
        ("buffer_not_run_at_or_above_ph", "6.8"),
        ("ph_water", "\"water\""),
        ("organic_matter", "\"loss on ignition\""),
        ("cec", "\"summation\""),
    ]);
    let table = desk.check_and_run();
    assert_eq!((table.cell("A-07", "buffer_ph (pH)"), table.cell("A-08", "p (ppm)")), ("", "<5"));
    // 141 and 118 ppm K, 1480 ppm Ca.
    check_values(&table, "A-07", &[("k (meq/100 g)", 141.0 / 390.0, 5e-5), ("p (ppm)", 24.0, 0.0)]);
    check_values(&table, "A-08", &[("k (meq/100 g)", 118.0 / 390.0, 5e-5), ("ca (meq/100 g)", 7.4, 0.0)]);
    check_values(&table, "A-08", &[("cec (meq/100 g)", 13.0, 0.0), ("acidity_saturation (%)", 27.6, 0.0)]);
}

#[test]
fn layout_2_found_is_taken_never_desired() {
    let desk = draft(2, "Sample Location", ["South end", "Ridge", "Mill", "Brook"], utf_8);
    // The depth of 6.7 in is on the sheet, and the extract of the bases is not.
    assert_eq!(desk.open_keys(), "organic_matter.method k.method ca.method mg.method na.method");
    desk.leaves_aside(&["Ca Desired Value lb/A", "Ca Deficit", "Mg Desired Value"]);
    assert!(desk.read("field.toml").contains("depth_in = { bottom = \"Sample Depth in\" }"));
    desk.answer(&METHODS);
    desk.answer(&[("organic_matter", "\"unknown\"")]);
    let table = desk.check_and_run();
    // Pounds an acre in 2,000,000 lb (6 2/3 to 7 in) are twice the ppm.
    check_values(
        &table,
        "South end",
        &[
            ("ca (meq/100 g)", 3840.0 / 2.0 / 200.0, 5e-5),
            ("mg (meq/100 g)", 464.0 / 2.0 / 120.0, 5e-5),
            ("k (meq/100 g)", 257.0 / 2.0 / 390.0, 5e-5),
            ("na (meq/100 g)", 34.0 / 2.0 / 230.0, 5e-5),
            ("cec (meq/100 g)", 15.0, 0.0),
            ("other_saturation (%)", 5.2, 0.0),
        ],
    );
}

#[test]
fn layout_3_two_depths_of_one_name_and_leading_zeros() {
    let desk = draft(3, "Samp ID", ["012", "013", "014", "015"], utf_8);
    // `B Depth` 0 and `E Depth` 8 or 24 may be inches or centimeters.
    assert_eq!(desk.open_keys(), "depth_in.unit nitrate_n.method k.method");
    desk.leaves_aside(&["Lbs N/A"]);
    desk.answer(&[("depth_in", "\"in\""), ("nitrate_n", "\"unknown\""), METHODS[0]]);
    let table = desk.check_and_run();
    assert_eq!(table.names(), ["012", "013", "014", "015"], "names are text, and the subsoil is set aside");
    check_values(
        &table,
        "012",
        &[("k (meq/100 g)", 0.8, 0.0), ("p (ppm)", 8.0, 0.0), ("nitrate_n (ppm)", 9.1, 0.0), ("ec (dS/m)", 0.45, 0.0)],
    );
    // 7.2 in every row is what the lab prints where it did not run the buffer.
    desk.holdground(&["check", "field.toml"]).says(0, &["note[dummy-buffer]"]);
}

#[test]
fn layout_4_indices_are_no_amounts_and_all_is_by_volume() {
    let desk = draft(4, "Sample", ["R12", "R13", "R14", "R15"], utf_8);
    assert_eq!(desk.open_keys(), "depth_in ph_water.method acidity.method cec.method");
    desk.leaves_aside(&["Soil Class", "HM%", "W/V", "P-I", "K-I", "S-I", "Mn-I", "Zn-I"]);
    desk.answer(&[
        ("depth_in", "[0, 8]"),
        ("ph_water", "\"water\""),
        ("acidity", "\"unknown\""),
        ("cec", "\"summation\""),
    ]);
    let table = desk.check_and_run();
    assert!(!table.has("k (meq/100 cm3)") && !table.has("p (ppm)"));
    check_values(
        &table,
        "R12",
        &[
            ("cec (meq/100 cm3)", 5.9, 0.0),
            ("acidity (meq/100 cm3)", 1.5, 0.0),
            ("base_saturation (%)", 74.0, 0.0),
            ("na_saturation (%)", 1.0, 0.0),
        ],
    );
    // CEC is mapped, so zones are drawn from it and the two shares printed.
    assert!(desk.path("out/tables/zones.csv").is_file());
}

#[test]
fn layout_5_pounds_an_acre_wait_for_the_depth_and_lime_is_no_analyte() {
    let desk = draft(5, "Field", ["3B", "3C", "4A", "4B"], utf_8);
    assert_eq!(
        desk.open_keys(),
        "depth_in p (its unit needs samples.depth_in) k (its unit needs samples.depth_in) \
         ca (its unit needs samples.depth_in) mg (its unit needs samples.depth_in)"
    );
    desk.leaves_aside(&["Lab #", "LBC ppm CaCO3/pH", "Lime Req t/ac"]);
    // The guide of this program is made for ammonium acetate: with Mehlich-1 it is not named.
    let draft = desk.read("field.toml");
    assert!(draft.contains("no guide here fits mehlich-1") && !draft.contains("tri-state"), "{draft}");
    desk.answer(&[("depth_in", "[0, 7]"), ("ca", "\"mehlich-1\""), ("mg", "\"mehlich-1\"")]);
    // Neither CEC nor a buffer: maps, and no zones.
    let table = desk.check_and_run();
    check_values(
        &table,
        "3B",
        &[
            ("ph_water (pH)", 5.72, 0.0),
            ("ph_cacl2 (pH)", 5.12, 0.0),
            ("p (ppm)", 22.0, 0.0),
            ("k (meq/100 g)", 59.0 / 390.0, 5e-5),
            ("ca (meq/100 g)", 390.0 / 200.0, 5e-5),
        ],
    );
    assert_eq!(table.cell("3B", "cec (meq/100 g)"), "");
    assert!(!desk.path("out/tables/zones.csv").exists());
}

#[test]
fn layout_6_ratings_beside_numbers_and_two_phosphorus_tests() {
    let desk = draft(6, "Sample #", ["7", "8", "9", "10"], utf_8);
    assert_eq!(
        desk.open_keys(),
        "depth_in ph_water.method buffer_ph.method organic_matter.method p_second.method k.method ca.method mg.method \
         cec.method"
    );
    desk.leaves_aside(&["K/Mg Ratio"]);
    desk.answer(&METHODS[..3]);
    desk.answer(&[
        ("depth_in", "[0, 6]"),
        ("ph_water", "\"water\""),
        ("buffer_ph", "\"smp\""),
        ("organic_matter", "\"loss on ignition\""),
        ("p_second", "\"bray-1\""),
        ("cec", "\"unknown\""),
    ]);
    let table = desk.check_and_run();
    check_values(
        &table,
        "7",
        &[
            ("p (ppm)", 18.0, 0.0),
            ("p_second (ppm)", 24.0, 0.0),
            ("k (meq/100 g)", 128.0 / 390.0, 5e-5),
            ("mg (meq/100 g)", 1.875, 0.0),
            ("organic_matter (%)", 3.1, 0.0),
        ],
    );
}

#[test]
fn layout_7_windows_1252_with_decimal_commas_and_kilograms_a_hectare() {
    let desk = draft(7, "No éch.", ["12", "13", "14", "15"], windows_1252);
    let wait = |key: &str| format!("{key} (its unit needs samples.depth_in)");
    assert_eq!(
        desk.open_keys(),
        format!(
            "depth_in buffer_ph.method organic_matter.method {} {} {} {} al_extractable.method cec.method",
            wait("p"),
            wait("k"),
            wait("ca"),
            wait("mg")
        )
    );
    desk.leaves_aside(&["P/Al %"]);
    assert!(desk.read("field.toml").contains(r#"sheet = { text = "windows-1252", separator = ";", decimal = "," }"#));
    desk.answer(&METHODS[..3]);
    desk.answer(&[
        ("depth_in", "[0, 7]"),
        ("buffer_ph", "\"smp\""),
        ("organic_matter", "\"loss on ignition\""),
        ("p", "\"mehlich-3 icp\""),
        ("al_extractable", "\"mehlich-3\""),
        ("cec", "\"unknown\""),
    ]);
    let table = desk.check_and_run();
    // 287 kg/ha are 128 ppm K, 4256 are 1900 ppm Ca, 112 are 50 ppm P; to the rounding of 2.24.
    check_values(
        &table,
        "12",
        &[
            ("k (meq/100 g)", 128.1 / 390.0, 4e-4),
            ("ca (meq/100 g)", 9.5, 1e-2),
            ("p (ppm)", 50.0, 0.05),
            ("ph_water (pH)", 6.2, 0.0),
            ("buffer_ph (pH)", 6.75, 0.0),
            ("ca_saturation (%)", 64.3, 0.0),
            ("al_extractable (ppm)", 1020.0, 0.0),
        ],
    );
}

#[test]
fn layout_8_two_potassium_tests_carbon_and_depth_in_centimeters() {
    let desk = draft(8, "Sample Name", ["Pdk3-1", "Pdk3-2", "Pdk3-3", "Pdk3-4"], utf_8);
    // `S KCl-40` prints no unit; of the bases only aluminum prints one, and they are taken to be in the same.
    assert_eq!(desk.open_keys(), "s.unit k.method ca.method mg.method na.method");
    desk.leaves_aside(&["Texture", "PBI"]);
    desk.answer(&METHODS);
    desk.answer(&[("s", "\"ppm\"")]);
    let table = desk.check_and_run();
    assert_eq!(table.cell("Pdk3-1", "s (ppm)"), "<2");
    check_values(
        &table,
        "Pdk3-1",
        &[
            // 1.4 % carbon x 1.72.
            ("organic_matter (%)", 2.408, 0.0),
            ("k (meq/100 g)", 0.44, 0.0),
            ("k_second (ppm)", 172.0, 0.0),
            ("p (ppm)", 31.0, 0.0),
            ("ph_cacl2 (pH)", 4.9, 0.0),
            ("cec (meq/100 g)", 9.1, 0.0),
        ],
    );
    desk.holdground(&["check", "field.toml"]).says(0, &["note[effective-cec]", "note[organic-carbon]"]);
    // 0 to 10 cm are 3.9 in.
    assert!(desk.holdground(&["run", "field.toml", "--out", "again"]).stdout.contains("0 to 3.9 in"));
}

#[test]
fn layout_9_oxides_by_100_g_and_classes_beside_them() {
    let desk = draft(9, "Probe", ["1/24", "2/24", "3/24", "4/24"], utf_8);
    assert_eq!(desk.open_keys(), "depth_in organic_matter.method");
    desk.leaves_aside(&["Bodenart", "Gehaltsklasse P", "Gehaltsklasse K"]);
    assert!(desk.read("field.toml").contains("no guide here fits calcium acetate lactate"));
    desk.answer(&[("depth_in", "[0, 12]"), ("organic_matter", "\"unknown\"")]);
    let table = desk.check_and_run();
    assert_eq!(table.names()[0], "1/24");
    // 14 mg/100 g K2O are 116 ppm K, 11 mg/100 g P2O5 48 ppm P, 9 mg/100 g 90 ppm Mg.
    check_values(
        &table,
        "1/24",
        &[
            ("k (meq/100 g)", 116.2 / 390.0, 1e-4),
            ("p (ppm)", 48.0, 0.01),
            ("mg (meq/100 g)", 0.75, 0.0),
            ("ph_cacl2 (pH)", 6.1, 0.0),
            ("organic_matter (%)", 2.4, 0.0),
        ],
    );
}

#[test]
fn layout_10_oxides_by_kilogram_and_a_saturation_called_s_by_t() {
    let desk = draft(10, "Parcelle", ["La Combe", "Le Pré", "Les Aulnes", "Le Bois"], utf_8);
    assert_eq!(desk.open_keys(), "depth_in organic_matter.method k.method ca.method mg.method na.method");
    desk.answer(&METHODS);
    desk.answer(&[("depth_in", "[0, 8]"), ("organic_matter", "\"unknown\"")]);
    let table = desk.check_and_run();
    assert!(!table.has("s (ppm)"), "`S/T` is no sulfur");
    assert_eq!(table.cell("Le Pré", "free_lime (%)"), "<0.1");
    check_values(
        &table,
        "La Combe",
        &[
            // 0.21 g/kg K2O are 174 ppm K; 3.10 g/kg CaO are 2216 ppm Ca; 0.062 g/kg P2O5 are 27 ppm P.
            ("k (meq/100 g)", 174.3 / 390.0, 1e-4),
            ("ca (meq/100 g)", 2215.6 / 200.0, 1e-3),
            ("mg (meq/100 g)", 108.5 / 120.0, 1e-3),
            ("p (ppm)", 27.06, 0.01),
            ("organic_matter (%)", 2.4, 0.0),
            ("base_saturation (%)", 94.0, 0.0),
            ("cec (meq/100 g)", 13.4, 0.0),
        ],
    );
}

#[test]
fn layout_11_indices_with_a_minus_and_amounts_by_volume() {
    let desk = draft(11, "Field", ["Top", "Long", "Church", "Far"], utf_8);
    assert_eq!(desk.open_keys(), "depth_in ph_water.method p.method k.method mg.method");
    desk.leaves_aside(&["P Index", "K Index", "Mg Index"]);
    desk.answer(&METHODS[..1]);
    desk.answer(&[
        ("mg", "\"ammonium acetate\""),
        ("depth_in", "[0, 6]"),
        ("ph_water", "\"water\""),
        ("p", "\"olsen\""),
    ]);
    let table = desk.check_and_run();
    // By volume: 148 mg/L K are 148 / 390 meq/100 cm3, 121 mg/L Mg 121 / 120.
    check_values(
        &table,
        "Top",
        &[
            ("k (meq/100 cm3)", 148.0 / 390.0, 5e-5),
            ("mg (meq/100 cm3)", 121.0 / 120.0, 5e-5),
            ("ph_water (pH)", 6.4, 0.0),
            ("p (ppm)", 21.0, 0.0),
        ],
    );
}
