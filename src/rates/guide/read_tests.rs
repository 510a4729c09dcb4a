//! Guides as files: the user's own, faults all at once with their lines, rates that go the wrong way.

use super::*;

/// A whole guide with a nutrient, in the form of the Missouri handbook.
///
/// Brown and others 2004: desired K 220 + 5 CEC lb/ac [R2]; build-up by square roots, over 4 years here, [M]. In ppm of
/// 2,000,000 lb: 110 + 2.5 CEC. What stands above the desired level is invented.
const MISSOURI: &str = r#"form = 1
name = "my-missouri"
title = "Soil Test Interpretations and Recommendations Handbook"
authors = "Brown and others"
year = 2004
publisher = "Univ. of Missouri"
citation = "Brown and others 2004, Missouri"
region = ["Missouri"]

[k]
crops = ["corn"]
extractants = ["ammonium acetate"]
depth_bottom_in = [6, 7]
unit = "ppm by mass"
cec_methods = ["summation"]
critical = { base_ppm = 110, per_cec_ppm = 2.5, tag = "R2" }
build_up = { form = "square-root", lb_per_root = 75.5, lb_ac_per_ppm = 2, years = 4, tag = "M" }
maintenance = { width_ppm = 30, tag = "own" }

[removal]
corn = { per = "bu", k2o_lb = 0.25, tag = "own" }
"#;

/// Illinois Agronomy Handbook ch. 8: goal 260 lb K an acre up to CEC 12, else 300 [M]; 4 lb K2O for each lb of the test [R2],
/// over four years; removal 0.24 lb a bushel [R2].
const ILLINOIS: &str = r#"form = 1
name = "my-illinois"
title = "Agronomy Handbook, chapter 8"
authors = "Univ. of Illinois"
publisher = "Univ. of Illinois"
citation = "Illinois Agronomy Handbook, chapter 8"
region = ["Illinois"]
[k]
crops = ["corn"]
extractants = ["ammonium acetate"]
depth_bottom_in = [7, 7]
unit = "ppm by mass"
cec_methods = ["summation"]
critical = { steps = [{ to_cec = 12, critical_ppm = 130, maintenance_to_ppm = 180 }, { critical_ppm = 150, maintenance_to_ppm = 200 }], tag = "M" }
build_up = { form = "linear", lb_ppm_year = 2, years = 4, tag = "R2" }
[removal]
corn = { per = "bu", k2o_lb = 0.24, tag = "R2" }
"#;

/// A lime table of four cells.
const LIME: &str = r#"form = 1
name = "my-lime"
title = "Four cells"
authors = "invented"
publisher = "invented"
citation = "invented"
region = ["nowhere"]
[lime]
rule = "table"
basis = "cce-100"
basis_tag = "own"
depth_in = 7
depth_tag = "own"
buffers = ["smp"]
tag = "own"
target_ph = [6.0, 6.5]
rows = [
  [6.8, 0.5, 1.0],
  [6.0, 2.0, 3.0],
]
"#;

/// Line and key of each fault, with its name and message.
fn faults(text: &str) -> Vec<(usize, String, &'static str, String)> {
    let of = |fault: &Diagnostic| match &fault.place {
        Some(Place::Key { line, key, .. }) => (*line, key.clone(), fault.code.name, fault.message.clone()),
        Some(Place::Row { line, .. }) => (*line, String::new(), fault.code.name, fault.message.clone()),
        place => panic!("{place:?}"),
    };
    let faults = Guide::parse("my.toml", text).unwrap_err();
    assert!(faults.iter().all(|fault| fault.help.is_some()), "every fault says how to mend it: {faults:?}");
    faults.iter().map(of).collect()
}

/// The sole fault after one change of a good guide.
#[track_caller]
fn sole(good: &str, from: &str, to: &str) -> (usize, String, &'static str, String) {
    assert!(good.contains(from), "{from}");
    let mut found = faults(&good.replacen(from, to, 1));
    assert_eq!(found.len(), 1, "{found:?}");
    found.remove(0)
}

fn corn(yield_ac: f64) -> CropYear<'static> {
    CropYear { crop: Crop::Corn, yield_ac, rotation: &[] }
}

#[test]
fn rows_35_and_36_a_guide_in_the_form_of_missouri() {
    // Row 35 A(R2): CEC 10 desires 270 lb/ac. Row 36 [M]: 150 lb raised to 270 lb in 4 years takes 79.0 lb K2O a year.
    let guide = Guide::parse("my.toml", MISSOURI).unwrap();
    let need = guide.k2o(75.0, Some(10.0), &corn(0.0), BuildUpChoice::Raise).unwrap();
    assert_eq!(2.0 * need.levels.critical_ppm, 270.0);
    assert!((need.lb_ac - 79.0).abs() < 0.5);
    // The 160 + 5 CEC form of the forages: 210 lb/ac.
    let forage = Guide::parse("my.toml", &MISSOURI.replace("base_ppm = 110", "base_ppm = 80")).unwrap();
    let need = forage.k2o(75.0, Some(10.0), &corn(0.0), BuildUpChoice::Raise).unwrap();
    assert_eq!(2.0 * need.levels.critical_ppm, 210.0);
}

#[test]
fn row_37_a_guide_in_the_form_of_illinois() {
    // 200 lb K, low CEC, 150 bu: 60 + 36 = 96 lb a year over four years; goal [M], factors [R2].
    let guide = Guide::parse("my.toml", ILLINOIS).unwrap();
    let need = guide.k2o(100.0, Some(8.0), &corn(150.0), BuildUpChoice::Raise).unwrap();
    assert!((need.lb_ac - 96.0).abs() < 1.0);
    assert!((need.build_up_lb_ac - 60.0).abs() < 1e-9);
    assert_eq!(guide.k2o(100.0, Some(12.4), &corn(150.0), BuildUpChoice::Raise).unwrap().near_step_cec, Some(12.0));
}

#[test]
fn every_built_in_guide_reads_and_is_found_by_its_name() {
    let names: Vec<&str> = Guide::built_in().iter().map(|guide| guide.name.as_str()).collect();
    assert_eq!(names.len(), BUILT_IN.len());
    for ((file, _), guide) in BUILT_IN.iter().zip(Guide::built_in()) {
        assert_eq!(*file, format!("{}.toml", guide.name));
        assert_eq!(Guide::find(&guide.name), Some(guide));
        assert!(!guide.region.is_empty() && guide.region_warning().contains(&guide.region[0]));
    }
    assert_eq!(Guide::find("tri-state"), None);
}

#[test]
fn a_user_s_guide_may_not_take_the_name_of_a_built_in_one() {
    let (line, key, code, message) = sole(MISSOURI, "my-missouri", "tri-state-1995");
    assert_eq!((line, key.as_str(), code), (2, "name", "guide-file-form"));
    assert!(message.contains("built-in"), "{message}");
}

#[test]
fn all_faults_come_at_once_with_their_lines() {
    let text = MISSOURI
        .replace("year = 2004", "year = 1204")
        .replace("\"ammonium acetate\"", "\"bray-1\"")
        .replace("per_cec_ppm", "per_cec")
        .replace("tag = \"M\"", "tag = \"read\"")
        .replace("per = \"bu\"", "per = \"short ton\"");
    let found = faults(&text);
    let at: Vec<(usize, &str)> = found.iter().map(|(line, key, ..)| (*line, key.as_str())).collect();
    let expected = [
        (5, "year"),
        (12, "k.extractants"),
        (16, "k.critical.per_cec"),
        (16, "k.critical.per_cec_ppm"),
        (17, "k.build_up.tag"),
        (21, "removal.corn.per"),
    ];
    assert_eq!(at, expected, "{found:#?}");
}

#[test]
fn what_is_missing_or_too_much_is_told() {
    for (from, to, line, key) in [
        ("form = 1\n", "", 1, "form"),
        ("unit = \"ppm by mass\"\n", "", 10, "k.unit"),
        ("\"ppm by mass\"", "\"lb/ac\"", 14, "k.unit"),
        ("depth_bottom_in = [6, 7]", "depth_bottom_in = [7, 6]", 13, "k.depth_bottom_in"),
        ("cec_methods = [\"summation\"]\n", "", 10, "k.cec_methods"),
        ("maintenance = { width_ppm = 30, tag = \"own\" }\n", "", 10, "k.maintenance"),
        (
            "corn = { per = \"bu\", k2o_lb = 0.25, tag = \"own\" }",
            "wheat = { per = \"bu\", k2o_lb = 0.25, tag = \"own\" }",
            20,
            "removal.corn.k2o_lb",
        ),
        (", tag = \"R2\"", "", 16, "k.critical.tag"),
        ("base_ppm = 110, per_cec_ppm = 2.5", "by_crop = { wheat = 9 }", 16, "k.critical"),
        ("base_ppm = 110, per_cec_ppm = 2.5, ", "", 16, "k.critical"),
        ("lb_ac_per_ppm = 2, ", "", 17, "k.build_up.lb_ac_per_ppm"),
        ("[removal]\n", "[removal]\nrice = { per = \"bu\", k2o_lb = 1, tag = \"own\" }\n", 21, "removal.rice"),
        ("[removal]\n", "[gypsum]\nx = 1\n[removal]\n", 20, "gypsum"),
        ("year = 2004", "year = nan", 5, "year"),
    ] {
        let (at, told, code, message) = sole(MISSOURI, from, to);
        assert_eq!((at, told.as_str(), code), (line, key, "guide-file-form"), "{to}: {message}");
    }
    let nothing = &MISSOURI[..MISSOURI.find("[k]").unwrap()];
    assert!(faults(nothing)[0].3.contains("rates nothing"));
    let (line, _, code, _) = sole(MISSOURI, "[k]", "[k");
    assert_eq!((line, code), (10, "guide-file-unreadable"));
}

#[test]
fn steps_go_from_low_cec_to_high() {
    for (from, to) in [
        ("to_cec = 12, ", ""),
        ("{ critical_ppm = 150", "{ to_cec = 20, critical_ppm = 150"),
        ("{ critical_ppm = 150", "{ to_cec = 9, critical_ppm = 150, maintenance_to_ppm = 200 }, { critical_ppm = 150"),
    ] {
        let (_, key, code, _) = sole(ILLINOIS, from, to);
        assert_eq!((key.as_str(), code), ("k.critical.steps", "guide-file-form"), "{to}");
    }
    let (_, key, ..) = sole(ILLINOIS, "maintenance_to_ppm = 180", "maintenance_to_ppm = 120");
    assert_eq!(key, "k.critical.steps[1].maintenance_to_ppm");
    let (_, key, ..) = sole(ILLINOIS, "[removal]", "maintenance = { width_ppm = 5, tag = \"own\" }\n[removal]");
    assert_eq!(key, "k.maintenance");
}

#[test]
fn rates_that_rise_with_the_test_or_fall_below_0_are_refused() {
    // A slope that turns negative on clay: richer clay would get more.
    let (line, key, code, message) = sole(ILLINOIS, "lb_ppm_year = 2", "lb_ppm_year = 2, lb_ppm_year_per_cec = -0.1");
    assert_eq!((line, key.as_str(), code), (8, "k", "guide-rises-with-the-test"));
    assert!(message.starts_with("K2O for corn at CEC 25:"), "{message}");
    // A level below 0.
    let (_, _, code, message) = sole(MISSOURI, "per_cec_ppm = 2.5", "per_cec_ppm = -2.5");
    assert_eq!(code, "guide-rises-with-the-test");
    assert!(message.contains("critical level is -"), "{message}");
    // A lime table: along a row, and down a column.
    let (line, key, code, message) = sole(LIME, "[6.8, 0.5, 1.0]", "[6.8, 1.5, 1.0]");
    assert_eq!((line, key.as_str(), code), (18, "lime.rows", "guide-rises-with-the-test"));
    assert!(message.contains("1.5 short tons to pH 6, but 1 to pH 6.5"), "{message}");
    let (line, _, code, message) = sole(LIME, "[6.0, 2.0, 3.0]", "[6.0, 0.4, 3.0]");
    assert_eq!((line, code), (19, "guide-rises-with-the-test"));
    assert!(message.contains("0.4 short tons at buffer pH 6, but 0.5 at 6.8"), "{message}");
    // Steps of acidity: more acid ground would need less.
    let penn = BUILT_IN[5].1.replace("name = \"penn-state-lime\"", "name = \"mine\"");
    let (_, key, code, _) = sole(&penn, "lb_below = 2000", "lb_below = 3400");
    assert_eq!((key.as_str(), code), ("lime.targets[1]", "guide-rises-with-the-test"));
}

#[test]
fn lime_tables_are_whole() {
    let table = &Guide::parse("my.toml", LIME).unwrap().lime.unwrap();
    let soil = LimeSoil { ph_water: Some(5.0), buffer_ph: Some(6.4), ..LimeSoil::default() };
    assert!((table.need(&soil, 6.25, 7.0).unwrap().short_ton_ac - 1.625).abs() < 1e-9);
    for (from, to, line, key) in [
        ("[6.8, 0.5, 1.0]", "[6.8, 0.5]", 18, "lime.rows"),
        ("[6.8, 0.5, 1.0]", "[6.8, -0.5, 1.0]", 18, "lime.rows"),
        ("[6.8, 0.5, 1.0]", "[5.9, 0.5, 1.0]", 19, "lime.rows"),
        ("  [6.0, 2.0, 3.0],\n", "", 17, "lime.rows"),
        ("[6.0, 6.5]", "[6.5, 6.0]", 16, "lime.target_ph"),
        ("buffers = [\"smp\"]\n", "", 8, "lime.buffers"),
        ("\"smp\"", "\"sikora-9\"", 14, "lime.buffers"),
        ("buffers = [\"smp\"]", "buffers = [\"smp\"]\nacidity_methods = [\"calculated\"]", 15, "lime.acidity_methods"),
        ("depth_in = 7", "depth_in = 7\nreference_ph = 6.6", 13, "lime.reference_ph"),
        ("\"cce-100\"", "\"cce\"", 10, "lime.basis"),
    ] {
        let (at, told, _, message) = sole(LIME, from, to);
        assert_eq!((at, told.as_str()), (line, key), "{to}: {message}");
    }
}

#[test]
fn a_sheet_fits_or_every_reason_is_told() {
    use crate::chemistry::Buffer;
    use crate::samples::{CecSource, LabMethod as M};
    use crate::units::SoilBasis;
    let demo = SheetTests {
        k: Some(M::AmmoniumAcetate),
        p: Some(M::Bray1),
        buffer: Some(M::Buffer(Buffer::Sikora)),
        acidity: None,
        has_ph_water: true,
        depth_in: Some([0.0, 7.0]),
        basis: SoilBasis::Mass,
        cec: CecSource::SummedFromBuffer(Buffer::Sikora),
        has_cec: true,
    };
    let misfits = |name: &str, supply: Supply, tests: SheetTests| Guide::find(name).unwrap().misfits(supply, &tests);
    let tri_state = |supply: Supply, tests: SheetTests| misfits("tri-state-1995", supply, tests);
    assert!(tri_state(Supply::K2o, demo).is_empty() && tri_state(Supply::P2o5, demo).is_empty());
    assert!(misfits("oregon-sikora-2025", Supply::Lime, demo).is_empty(), "lime is scaled to its depth, not refused");
    // Every reason at once.
    let other = SheetTests {
        k: Some(M::Mehlich3),
        depth_in: Some([0.0, 12.0]),
        basis: SoilBasis::Volume,
        cec: CecSource::Lab(M::Effective),
        ..demo
    };
    assert_eq!(tri_state(Supply::K2o, other).len(), 4, "{:?}", tri_state(Supply::K2o, other));
    assert_eq!(tri_state(Supply::P2o5, other).len(), 2, "phosphorus needs no CEC");
    assert_eq!(tri_state(Supply::K2o, SheetTests { depth_in: Some([2.0, 8.0]), ..demo }).len(), 1);
    assert_eq!(tri_state(Supply::K2o, SheetTests { k: None, has_cec: false, ..demo }).len(), 2);
    assert_eq!(tri_state(Supply::Lime, demo).len(), 1, "no rule for lime");
    assert_eq!(tri_state(Supply::N, demo).len(), 1);
    // Mehlich-3 phosphorus by ICP or color: not said is not the same as ICP.
    let p = |method: M| misfits("tri-state-2020", Supply::P2o5, SheetTests { p: Some(method), ..demo });
    assert!(p(M::Mehlich3Icp).is_empty());
    assert!(p(M::Mehlich3)[0].contains("is not said") && p(M::Mehlich3Color)[0].contains("mehlich-3 color"));
    // Unknown answers are lacking, not misfits.
    let unknown = SheetTests { k: Some(M::Unknown), depth_in: None, cec: CecSource::Lab(M::Unknown), ..demo };
    let guide = Guide::find("tri-state-1995").unwrap();
    assert!(guide.misfits(Supply::K2o, &unknown).is_empty());
    assert_eq!(guide.lacks(Supply::K2o, &unknown).len(), 3);
    assert!(guide.lacks(Supply::K2o, &demo).is_empty());
    // Which reading a lime rule takes.
    let nc = Guide::find("north-carolina-mehlich").unwrap();
    let mehlich = SheetTests { buffer: Some(M::Buffer(Buffer::Mehlich)), acidity: Some(M::Calculated), ..demo };
    assert_eq!(nc.lime_reading(&mehlich), Some(LimeReading::BufferPh), "its acidity is per 100 cm3");
    assert_eq!(nc.lime_reading(&SheetTests { basis: SoilBasis::Volume, ..mehlich }), Some(LimeReading::Acidity));
    assert_eq!(nc.lime_reading(&demo), None);
    assert!(nc.misfits(Supply::Lime, &demo)[0].contains("a mehlich buffer reading"));
    let open = SheetTests { buffer: Some(M::Unknown), ..demo };
    assert!(nc.misfits(Supply::Lime, &open).is_empty() && nc.lacks(Supply::Lime, &open) == ["the lime buffer is"]);
    let no_ph = SheetTests { has_ph_water: false, ..demo };
    assert!(misfits("oregon-sikora-2025", Supply::Lime, no_ph)[0].contains("no pH in water"));
    // Acidity by potassium chloride is another reading, and CEC summed from it is effective.
    let kcl =
        SheetTests { acidity: Some(M::PotassiumChloride), cec: CecSource::SummedFromAcidity, buffer: None, ..demo };
    assert_eq!(misfits("penn-state-lime", Supply::Lime, kcl).len(), 1);
    assert_eq!(tri_state(Supply::K2o, kcl).len(), 1, "{:?}", tri_state(Supply::K2o, kcl));
}
