//! Hand-computed fields. Names and figures are invented unless a source stands beside them.

use proptest::prelude::*;

use super::*;
use crate::chemistry::Cation;
use crate::columns::{ColumnReading, DepthUnit, Found, Role};
use crate::samples::{Analyte, LabMethod, NumberForm, SampleTable};
use crate::units::LabUnit;

/// What a header of these tests means: `K [lb/ac] {ammonium acetate}`.
fn role(header: &str) -> Role {
    let (name, rest) = header.split_once(" [").unwrap_or((header, ""));
    let (unit, method) = rest.split_once(']').unwrap_or(("", ""));
    let method = method.trim().trim_start_matches('{').trim_end_matches('}');
    let depth = || Found::Printed(DepthUnit::Inches, "in".to_owned());
    match name {
        "Field" => return Role::SampleId,
        "Status" => return Role::Status,
        "Programme" => return Role::Programme,
        "Top" => return Role::DepthTop(depth()),
        "Bottom" => return Role::DepthBottom(depth()),
        _ => {}
    }
    let analyte = match name {
        "pH" => Analyte::PhWater,
        "Buffer" => Analyte::BufferPh,
        "CEC" => Analyte::Cec,
        "Ca" => Analyte::Ca,
        "Mg" => Analyte::Mg,
        "K" => Analyte::K,
        "Na" => Analyte::Na,
        "H" => Analyte::Acidity,
        "Ca %" => Analyte::CaSaturation,
        "Mg %" => Analyte::MgSaturation,
        "K %" => Analyte::KSaturation,
        "Na %" => Analyte::NaSaturation,
        "H %" => Analyte::AciditySaturation,
        _ => return Role::LeftAside("not used in this test".to_owned()),
    };
    let unit = match (unit, analyte) {
        ("", Analyte::PhWater | Analyte::BufferPh) => Found::Printed(LabUnit::Ph, "pH".to_owned()),
        ("", _) => Found::NotPrinted,
        (unit, _) => Found::Printed(LabUnit::parse(unit).unwrap(), unit.to_owned()),
    };
    let method = if method.is_empty() {
        Found::NotPrinted
    } else {
        Found::Printed(LabMethod::parse(method).unwrap(), method.to_owned())
    };
    Role::Analyte { analyte, unit, method }
}

fn read(csv: &str) -> (SampleTable, Vec<ColumnReading>) {
    let table = SampleTable::read_csv("lab.csv", csv.as_bytes()).unwrap();
    let columns = table.header.iter().enumerate();
    let columns = columns
        .map(|(index, header)| ColumnReading { column: header.clone(), index, role: role(header), why: String::new() })
        .collect();
    (table, columns)
}

fn fields(csv: &str) -> SideBySide {
    let (table, columns) = read(csv);
    side_by_side(&table, &columns, &NumberForm::default(), None)
}

fn with_spread(csv: &str, spread: &str) -> SideBySide {
    let (table, columns) = read(csv);
    let spread = SampleTable::read_csv("spread.csv", spread.as_bytes()).unwrap();
    side_by_side(&table, &columns, &NumberForm::default(), Some(&spread))
}

fn field<'a>(result: &'a SideBySide, name: &str) -> &'a Field {
    &result.fields[result.position(name).unwrap()]
}

fn cec(field: &Field) -> f64 {
    field.test.cec.as_ref().unwrap().figure.value
}

fn percent(field: &Field, part: Part) -> f64 {
    field.test.share(part).unwrap().figure.value
}

fn says(sentences: &[String], words: &str) -> bool {
    sentences.iter().any(|sentence| sentence.contains(words))
}

/// Names of the fields that hold least.
fn least(result: &SideBySide) -> Vec<String> {
    let least = result.fields.iter().filter(|field| field.standing == Standing::HoldsLeast);
    let mut names: Vec<String> = least.map(|field| field.test.name.clone()).collect();
    names.sort();
    names
}

const CLEMSON: &str = "Field,Bottom,pH,Buffer {adams-evans},K [lb/ac],Mg [lb/ac],Ca [lb/ac],Na [lb/ac]\n";

#[test]
fn row_6_the_clemson_example_sums_to_its_published_cec() {
    // agronomy check 6, Clemson Univ. Agricultural Service Laboratory [R]: CEC 3.83, base saturation 37 %.
    let csv = CLEMSON.replace("Buffer {adams-evans}", "Buffer []{adams-evans}");
    let result = fields(&format!("{csv}A,7,5.1,7.70,221,28,400,12\n"));
    let field = field(&result, "A");
    assert!((cec(field) - 3.83).abs() < 0.01);
    assert!((percent(field, Part::Acidity) - 63.0).abs() < 0.5);
    assert_eq!(field.test.cec.as_ref().unwrap().source, FieldCecSource::SummedFromBuffer("adams-evans"));
    assert_eq!(field.class, Some(HoldingClass::Little));
}

#[test]
fn a_buffer_without_a_name_or_pounds_without_a_depth_give_no_cec_and_say_why() {
    let unnamed = CLEMSON.replace("Buffer {adams-evans}", "Buffer");
    let result = fields(&format!("{unnamed}A,7,5.1,7.70,221,28,400,12\n"));
    assert!(result.fields[0].test.cec.is_none() && result.fields[0].class.is_none());
    assert!(says(&result.not_known, "does not name the buffer"));
    assert_eq!(result.fields[0].test.ph.as_ref().unwrap().1.text(1), "5.1");
    let shallow = CLEMSON.replace("Bottom,", "").replace("Buffer {adams-evans}", "Buffer []{adams-evans}");
    let result = fields(&format!("{shallow}A,5.1,7.70,221,28,400,12\n"));
    assert!(says(&result.not_known, "`Ca [lb/ac]` is in lb/ac, and the sheet does not print how deep the cores went"));
}

#[test]
fn rows_7_and_8_the_two_soil_example_gives_its_published_shares() {
    // agronomy checks 7 and 8, laboratory teaching note [R2]: Ca 1471 ppm of CEC 20.4 is 36 %, 4639 of 29.0 is 80 %.
    let csv = "Field,pH,CEC [meq/100g]{summation},Ca [ppm]\nacid,5.0,20.4,1471\nlimy,7.7,29.0,4639\n";
    let result = fields(csv);
    assert!((percent(field(&result, "acid"), Part::Base(Cation::Ca)) - 36.0).abs() < 0.5);
    assert!((percent(field(&result, "limy"), Part::Base(Cation::Ca)) - 80.0).abs() < 0.5);
    // pH 7.7 and a sum: lime counts in it, so "much" never stands without the remark.
    assert!(field(&result, "limy").test.counts_lime() && !field(&result, "acid").test.counts_lime());
    assert!(says(&result.in_short, "lime in the soil: limy (pH 7.7)"));
    let measured = fields(&csv.replace("summation", "measured ph 7"));
    assert!(!field(&measured, "limy").test.counts_lime());
}

#[test]
fn oxides_and_meq_come_to_the_same_shares_as_ppm() {
    // 116.2 ppm K are 14 mg/100 g K2O (field notes [A]); 116.2 / 390 = 0.298 meq, of CEC 10 are 2.98 %.
    for (unit, amount) in [("mg/100g K2O", "14"), ("ppm", "116.2"), ("meq/100g", "0.298"), ("mmol(+)/kg", "2.98")] {
        let result = fields(&format!("Field,CEC [meq/100g],K [{unit}]\nA,10,{amount}\n"));
        let k = percent(&result.fields[0], Part::Base(Cation::K));
        assert!((k - 2.98).abs() < 0.005, "{unit}: {k}");
    }
    let volume = fields("Field,CEC [meq/100g],K [mg/L]\nA,10,117\n");
    assert!(says(&volume.not_known, "not both by mass"));
}

const GROUP: &str =
    "Field,Status,CEC [meq/100g]{summation},K % [%]\nHome,,21.0,3.4\nMill,,22.0,3.6\nBarn,,21.0,3.4\nLow,,13.0,2.1\n";

#[test]
fn cec_13_among_21_holds_much_by_class_and_still_least_of_the_group() {
    let result = fields(GROUP);
    assert_eq!(result.group.median, Some(21.0));
    assert_eq!(least(&result), ["Low"]);
    assert_eq!(field(&result, "Low").class, Some(HoldingClass::Much));
    assert!(says(&result.in_short, "Low holds least of the group: CEC 13.0"));
    assert!(says(&result.in_short, "By its CEC alone Low holds much; it still holds less than the others"));
    assert!(!says(&result.in_short, "smaller passes"));
    // 0.75 x 21 = 15.75 is the edge and belongs to it.
    assert_eq!(least(&fields(&GROUP.replace("13.0", "15.75"))), ["Low"]);
    assert!(least(&fields(&GROUP.replace("13.0", "15.76"))).is_empty());
}

#[test]
fn fallow_ground_is_shown_and_left_out_of_the_middle() {
    let result = fields(&format!("{GROUP}Idle,Fallow,2.0,1.0\nRest,wheat-fallow,21.0,3.0\n"));
    assert_eq!(result.group.median, Some(21.0));
    assert_eq!(result.group.n_in_median, 5);
    let idle = field(&result, "Idle");
    assert_eq!((idle.test.ground, idle.standing), (Ground::Fallow, Standing::NotCompared));
    assert_eq!(result.fields[0].test.name, "Idle");
    assert!(says(&result.not_known, "Not taken for fallow ground: `wheat-fallow`"));
}

#[test]
fn cores_of_one_field_are_averaged_and_deeper_ones_left_aside() {
    let csv =
        "Field,Top,Bottom,CEC [meq/100g],K [ppm]\nA,0,8,10.0,100\n a ,0,8,14.0,140\nA,8,24,30.0,20\nB,0,8,12,90\n";
    let result = fields(csv);
    assert_eq!(result.fields.len(), 2);
    let field = field(&result, "A");
    assert_eq!((cec(field), field.test.lines.as_slice()), (12.0, &[2, 3][..]));
    assert!(says(&result.not_known, "A: mean of 2 rows"));
    assert!(says(&result.not_known, "A: one deeper row is left aside"));
}

#[test]
fn smaller_passes_are_advised_only_where_the_ground_holds_little_or_some() {
    let heavy = fields("Field,CEC [meq/100g]{summation}\nA,42\nB,42\nC,43\nLow,30\n");
    assert_eq!(least(&heavy), ["Low"]);
    assert!(says(&heavy.in_short, "Low holds least of the group") && says(&heavy.in_short, "it still holds less"));
    assert!(!says(&heavy.in_short, "smaller passes"));
    let mixed = fields("Field,CEC [meq/100g]{summation}\nA,42\nB,42\nC,43\nLow,30\nSand,4\n");
    assert!(says(&mixed.in_short, "Do not give Sand what the others get in one go"), "{:?}", mixed.in_short);
    let light = fields("Field,CEC [meq/100g]{summation}\nA,14\nB,14\nC,15\nSand,4\n");
    assert!(says(&light.in_short, "Do not give such ground what the others get"));
}

#[test]
fn cores_that_start_alike_and_end_unlike_are_not_averaged() {
    let csv = "Field,Top,Bottom,CEC [meq/100g]\nA,0,12,30.0\nA,0,6,10.0\nA,0,6.01,14.0\nB,0,6,12\n";
    let result = fields(csv);
    assert_eq!(cec(field(&result, "A")), 12.0);
    assert_eq!(field(&result, "A").test.lines, [3, 4]);
    assert!(says(&result.not_known, "A: one row of a longer core is left aside"), "{:?}", result.not_known);
}

#[test]
fn potassium_chloride_acidity_is_no_share_of_a_cec_at_ph_7() {
    // 10.0 + 2.2 + 0.5 = 12.7 of 15: the bases leave 15 %, the sheet's 0.04 is 0.3 % [A].
    let csv = "Field,pH,CEC [meq/100g]{measured ph 7},Ca [meq/100g],Mg [meq/100g],K [meq/100g],H [meq/100g]{potassium chloride}\n\
               Mead,6.1,15,10.0,2.2,0.5,0.04\n";
    let result = fields(csv);
    assert!(field(&result, "Mead").test.share(Part::Acidity).is_none());
    assert!(!says(&result.in_short, "No acidity"), "{:?}", result.in_short);
    assert!(says(&result.in_short, "take more than 80 on: Mead (81)"), "{:?}", result.in_short);
    assert!(says(&result.not_known, "No acidity %: acidity by potassium chloride is only a part"));
    // Where it is a part of the CEC it counts.
    let effective = fields(&csv.replace("measured ph 7", "effective").replace(",15,", ",12.74,"));
    assert!((percent(field(&effective, "Mead"), Part::Acidity) - 0.3).abs() < 0.05);
    assert!(!says(&effective.in_short, "No acidity"), "{:?}", effective.in_short);
}

#[test]
fn fallow_is_known_in_the_languages_the_sheet_is() {
    let result = fields(&format!("{GROUP}Rest,Brache,2.0,1.0\nMid,middle,21.0,3.4\n"));
    assert_eq!(field(&result, "Rest").test.ground, Ground::Fallow);
    assert_eq!(field(&result, "Mid").test.ground, Ground::Cropped);
}

#[test]
fn effective_cec_and_cec_by_volume_get_no_class_and_say_so() {
    for (header, why) in
        [("[meq/100g]{effective}", "effective CEC"), ("[cmol(+)/dm3]{summation}", "by volume"), ("", "no unit")]
    {
        let header = if header.is_empty() { String::new() } else { format!(" {header}") };
        let result = fields(&format!("Field,CEC{header}\nA,4.0\nB,9.0\nC,9.5\n"));
        assert!(result.fields.iter().all(|field| field.class.is_none()), "{why}");
        assert!(says(&result.not_known, why), "{why}: {:?}", result.not_known);
        // Beside each other they stand all the same.
        assert_eq!(least(&result), ["A"], "{why}");
    }
    let unsaid = fields("Field,CEC [meq/100g]\nA,4.0\nB,9.0\n");
    assert_eq!(field(&unsaid, "A").class, Some(HoldingClass::Little));
    assert!(says(&unsaid.not_known, "does not print how its CEC was found"));
}

#[test]
fn summing_with_potassium_chloride_acidity_is_an_effective_cec() {
    let csv = "Field,Ca [meq/100g],Mg [meq/100g],K [meq/100g],H [meq/100g]{potassium chloride}\nA,5.0,2.0,0.5,0.5\n";
    let cec = fields(csv).fields[0].test.cec.clone().unwrap();
    assert_eq!((cec.kind, cec.source), (CecKind::Effective, FieldCecSource::SummedFromAcidity));
    assert_eq!(cec.figure.value, 8.0);
}

#[test]
fn neutral_ground_above_80_is_told_the_sum_rule_cannot_be_met() {
    let header = "Field,pH,CEC [meq/100g],Ca % [%],Mg % [%],K % [%],Na % [%],H % [%]\n";
    let result = fields(&format!("{header}Corner,7.2,23.7,59.0,37.9,2.3,0.8,0\nAcid,6.6,15,70,16,2.5,0.5,11\n"));
    let neutral = "No acidity, so calcium and magnesium take all that potassium and sodium leave: Corner (97)";
    assert!(says(&result.in_short, neutral), "{:?}", result.in_short);
    assert!(says(&result.in_short, "cannot be met without making the soil acid; look at magnesium alone"));
    assert!(says(&result.in_short, "take more than 80 on: Acid (86)"));
    assert!(!result.in_short.iter().any(|sentence| sentence.to_lowercase().contains("excess")));
    assert!(says(&result.evidence, "McLean et al. 1983") && says(&result.evidence, "Kopittke and Menzies"));
}

#[test]
fn one_programme_on_unlike_ground_is_named() {
    let csv = "Field,Programme,CEC [meq/100g]\nA,Standard,21\nB, standard,13\nC,light,5\nD,light,6\nE,,2\n";
    let result = fields(csv);
    assert_eq!(result.unlike.len(), 1);
    assert_eq!(result.unlike[0].fields.len(), 2);
    assert!(says(&result.in_short, "`Standard` goes on 2 fields, from B (CEC 13) to A (CEC 21)"));
    assert!(fields(&csv.replace("standard,13", "standard,16")).unlike.is_empty());
    // An amount is a programme too, however it is written.
    let amounts = fields("Field,Programme,CEC [meq/100g]\nA,120.0,21\nB,120,13\n");
    assert!(says(&amounts.in_short, "`Programme 120` goes on 2 fields"));
}

const SPREAD: &str = "field,year,product,amount,unit\nHome,2023,K2O,100,lb/ac\nMill,2023,K2O,100,lb/ac\n\
                      Barn,2024,0-0-60,166.66666666666669,lb/ac\nlow,2023,K2O,140,lb/ac\nLow,2024,K2O,100,lb/ac\n";

#[test]
fn more_potash_and_a_lower_test_is_said_when_all_of_it_is_true() {
    let result = with_spread(GROUP, SPREAD);
    let wanted = "Low got 2.4 times the potash of the others in 2023 to 2024 and still tests lower (K 2.1 % against 3.4 %): \
                  it cannot hold it as they do.";
    assert!(says(&result.in_short, wanted), "{:?}", result.in_short);
    // Not when it tests as high, ...
    assert!(!says(&with_spread(&GROUP.replace("13.0,2.1", "13.0,3.3"), SPREAD).in_short, "cannot hold it"));
    // ... nor when it got no more, ...
    assert!(!says(&with_spread(GROUP, &SPREAD.replace("K2O,140", "K2O,0")).in_short, "cannot hold it"));
    // ... nor when it holds as much.
    assert!(!says(&with_spread(&GROUP.replace("13.0,2.1", "20.0,2.1"), SPREAD).in_short, "cannot hold it"));
}

#[test]
fn potash_that_cannot_be_compared_is_not_and_says_why() {
    for (from, to, why) in [
        ("Mill,2023,K2O,100,lb/ac", "Mill,2023,manure,10,short tons/ac", "may hold potash"),
        ("Mill,2023,K2O,100,lb/ac", "Mill,2023,Potash,100,lb/ac", "do not add up"),
        ("Mill,2023,K2O,100,lb/ac", "Mill,2023,K2O,100,kg/ha", "units differ"),
    ] {
        let result = with_spread(GROUP, &SPREAD.replace(from, to));
        assert!(says(&result.not_known, why), "{why}: {:?}", result.not_known);
        assert!(!says(&result.in_short, "times the potash"));
    }
    let whole = with_spread(GROUP, &SPREAD.replace("lb/ac", "lb"));
    assert!(says(&whole.not_known, "`lb` is not an amount an acre"));
    let others = with_spread(GROUP, &format!("{SPREAD}Far,2023,K2O,9,lb/ac\nMill,2023,K2O,some,lb/ac\n"));
    assert!(says(&others.not_known, "not on the sheet: Far"));
    assert!(says(&others.not_known, "`some` is no amount"));
    let headless = with_spread(GROUP, "a,b\n1,2\n");
    assert!(says(&headless.not_known, "needs the columns field, year"));
}

#[test]
fn lower_in_amount_only_is_called_full_not_leaky() {
    // CEC 13 x 3.6 % x 390 = 183 ppm; CEC 21 x 3.4 % = 278 ppm.
    let csv = "Field,CEC [meq/100g],K [ppm]\nHome,21.0,278\nMill,21.0,278\nLow,13.0,183\n";
    let spread =
        "field,year,product,amount,unit\nHome,2023,K2O,50,lb/ac\nMill,2023,K2O,50,lb/ac\nLow,2023,K2O,100,lb/ac\n";
    let result = with_spread(csv, spread);
    assert!(says(&result.in_short, "K 183 against 278 ppm"), "{:?}", result.in_short);
    assert!(!says(&result.in_short, "cannot hold it"));
}

#[test]
fn what_was_taken_for_a_reason_is_said_and_a_buffer_never_is() {
    let (table, mut columns) = read("Field,pH,CEC,Buffer,Ca [ppm],Mg [ppm],K [ppm]\nA,5.8,12,6.6,1500,180,150\n");
    let analyte = |analyte, unit, method| Role::Analyte { analyte, unit, method };
    let unit = Found::Inferred(LabUnit::Meq100g, "by range".to_owned());
    columns[2].role = analyte(Analyte::Cec, unit, Found::NotPrinted);
    let smp = Found::Inferred(LabMethod::parse("smp").unwrap(), "by range".to_owned());
    columns[3].role = analyte(Analyte::BufferPh, Found::Printed(LabUnit::Ph, "pH".to_owned()), smp);
    let result = side_by_side(&table, &columns, &NumberForm::default(), None);
    assert!(says(&result.not_known, "`CEC` is read in meq/100g, which the sheet does not print: by range"));
    columns.remove(2);
    let result = side_by_side(&table, &columns, &NumberForm::default(), None);
    assert!(result.fields[0].test.cec.is_none() && says(&result.not_known, "does not name the buffer"));
}

#[test]
fn a_bad_cell_is_told_and_the_row_goes_on() {
    let csv = "Field,pH,CEC [meq/100g],K [ppm],Ca [ppm]\nA,6.1,12.0,<5,abc\nB,sour,14.0,120,1900\nC,6.2,ND,110,1500\n,6.4,15,1,1\n";
    let result = fields(csv);
    assert_eq!(result.fields.len(), 4);
    assert!(says(&result.not_known, "A, line 2: `Ca [ppm]` reads `abc`, which is no number"));
    assert!(says(&result.not_known, "B, line 3: `pH` reads `sour`, which is no number"));
    assert!(says(&result.not_known, "C, line 4: `CEC [meq/100g]` reads `ND`"));
    // 5 ppm / 390 / 12 = 0.1 %: below, not at.
    let k = field(&result, "A").test.share(Part::Base(Cation::K)).unwrap().figure.text(1);
    assert_eq!(k, "<0.1");
    assert!(result.position("line 5").is_some());
}

#[test]
fn amounts_that_do_not_fit_the_cec_are_taken_back() {
    // Pounds read as parts per million: 3800 / 200 = 19 meq on a CEC of 12.
    let result = fields("Field,CEC [meq/100g],Ca [ppm],Mg [ppm],K [ppm]\nA,12,3800,400,240\n");
    assert!(result.fields[0].test.ca_mg_percent().is_none());
    assert!(says(&result.not_known, "more than 110 % of the CEC: lime counted as calcium, or a wrong unit"));
}

#[test]
fn a_sheet_without_cec_still_tells_what_it_has() {
    let result = fields("Field,pH,Ca % [%],Mg % [%],K % [%]\nTop,6.4,70,12,2.5\nLow,5.8,60,10,2.0\n");
    assert!(result.group.median.is_none() && result.fields.iter().all(|field| field.class.is_none()));
    assert!(says(&result.in_short, "Fewer than two cropped fields have a CEC"));
    assert!(says(&result.in_short, "less than 3 % of the CEC on: Low (2.0), Top (2.5)"));
    assert!(says(&result.not_known, "No CEC: the sheet prints none, and it cannot be summed"));
}

/// Names, CEC and whether fallow.
fn sheets() -> impl Strategy<Value = Vec<(u8, f64, bool)>> {
    proptest::collection::vec((0u8..30, 1.0f64..45.0, proptest::bool::weighted(0.2)), 1..25)
}

fn csv_of(rows: &[(u8, f64, bool)], factor: f64) -> String {
    let mut csv = "Field,Status,CEC [meq/100g]\n".to_owned();
    for (name, cec, is_fallow) in rows {
        let status = if *is_fallow { "fallow" } else { "corn" };
        csv += &format!("F{name},{status},{:.3}\n", (cec * 10.0).round() / 10.0 * factor);
    }
    csv
}

proptest! {
    #[test]
    fn the_order_of_rows_changes_nothing_but_lines(rows in sheets(), seed in 0usize..1000) {
        let mut turned = rows.clone();
        turned.reverse();
        turned.rotate_left(seed % rows.len());
        let (one, other) = (fields(&csv_of(&rows, 1.0)), fields(&csv_of(&turned, 1.0)));
        prop_assert_eq!(least(&one), least(&other));
        prop_assert_eq!(&one.group, &other.group);
        prop_assert_eq!(&one.in_short, &other.in_short);
        let figures = |result: &SideBySide| -> Vec<(String, Ground, f64)> {
            result.fields.iter().map(|f| (f.test.name.clone(), f.test.ground, cec(f))).collect()
        };
        prop_assert_eq!(figures(&one), figures(&other));
    }

    #[test]
    fn one_more_fallow_row_changes_no_flag(rows in sheets(), cec in 1.0f64..45.0) {
        let mut more = rows.clone();
        more.push((99, cec, true));
        prop_assert_eq!(least(&fields(&csv_of(&rows, 1.0))), least(&fields(&csv_of(&more, 1.0))));
    }

    #[test]
    fn a_factor_on_every_cec_keeps_the_flags(rows in sheets()) {
        // A power of two, so that rounding does not move a field over the edge.
        prop_assert_eq!(least(&fields(&csv_of(&rows, 1.0))), least(&fields(&csv_of(&rows, 2.0))));
    }
}
