//! Published worked examples: rows 1-13 and 81-83 of the project's table of check values. Source and evidence tag stand
//! beside each: R read in the source, R2 in a secondary copy, M from memory, A arithmetic.

use holdground::chemistry::{Buffer, Cation, Exchange, expected_cec_meq_100g};
use holdground::units::{Compound, KG_HA_PER_LB_AC, LabUnit, Quantity};

use crate::check_close;
use crate::outside;

fn meq_of_lb_ac(cation: Cation, lb_ac: f64) -> f64 {
    lb_ac * LabUnit::LB_AC.factor(Quantity::Cation(cation), 2e6).unwrap()
}

fn meq_of_ppm(cation: Cation, ppm: f64) -> f64 {
    ppm * LabUnit::PPM.factor(Quantity::Cation(cation), f64::NAN).unwrap()
}

fn of_ppm(ca: f64, mg: f64, k: f64, na: f64, rest_meq_100g: f64) -> Exchange {
    Exchange {
        ca_meq_100g: meq_of_ppm(Cation::Ca, ca),
        mg_meq_100g: meq_of_ppm(Cation::Mg, mg),
        k_meq_100g: meq_of_ppm(Cation::K, k),
        na_meq_100g: Some(meq_of_ppm(Cation::Na, na)),
        rest_meq_100g,
    }
}

#[test]
fn rows_1_to_4_pounds_an_acre_to_meq() {
    // Clemson Univ. Agricultural Service Laboratory, "CEC calculations" [R].
    check_close(meq_of_lb_ac(Cation::K, 221.0), 0.28, 0.005);
    check_close(meq_of_lb_ac(Cation::Mg, 28.0), 0.12, 0.005);
    check_close(meq_of_lb_ac(Cation::Ca, 400.0), 1.00, 0.005);
    check_close(meq_of_lb_ac(Cation::Na, 12.0), 0.03, 0.005);
}

#[test]
fn rows_5_and_6_clemson_soil() {
    // Clemson Univ. [R]: Adams-Evans buffer pH 7.70, CEC 3.83, base saturation 37 %.
    let acidity = Buffer::AdamsEvans.acidity_meq_100g(7.70);
    check_close(acidity, 2.40, 0.005);
    let soil = Exchange {
        ca_meq_100g: meq_of_lb_ac(Cation::Ca, 400.0),
        mg_meq_100g: meq_of_lb_ac(Cation::Mg, 28.0),
        k_meq_100g: meq_of_lb_ac(Cation::K, 221.0),
        na_meq_100g: Some(meq_of_lb_ac(Cation::Na, 12.0)),
        rest_meq_100g: acidity,
    };
    check_close(soil.cec_meq_100g(), 3.83, 0.01);
    check_close(soil.base_saturation_percent(), 37.0, 0.5);
}

#[test]
fn rows_7_and_8_two_soils() {
    // Commercial-lab teaching note [R2].
    for (ca_ppm, cec, meq, percent) in [(1471.0, 20.4, 7.4, 36.0), (4639.0, 29.0, 23.2, 80.0)] {
        let ca = meq_of_ppm(Cation::Ca, ca_ppm);
        check_close(ca, meq, 0.05);
        let rest_meq_100g = cec - ca;
        let soil = Exchange { ca_meq_100g: ca, mg_meq_100g: 0.0, k_meq_100g: 0.0, na_meq_100g: None, rest_meq_100g };
        check_close(soil.saturation_percent(Cation::Ca).unwrap(), percent, 0.5);
    }
}

#[test]
fn row_9_smp_soil() {
    // Constructed on the summation formulas, A(R2).
    let soil = of_ppm(1500.0, 180.0, 150.0, 25.0, Buffer::Smp.acidity_meq_100g(6.6));
    check_close(soil.cec_meq_100g(), 14.29, 0.01);
    check_close(soil.base_saturation_percent(), 66.4, 0.1);
    check_close(soil.saturation_percent(Cation::K).unwrap(), 2.69, 0.1);
    check_close(soil.ca_mg_ratio_equivalents().unwrap(), 5.0, 0.1);
    check_close(soil.ca_mg_ratio_mass().unwrap(), 8.33, 0.1);
    check_close(soil.esp_percent().unwrap(), 0.76, 0.1);
}

#[test]
fn row_10_the_ratio_by_mass_is_not_the_ratio_by_equivalents() {
    // Minnesota Dept. of Agriculture, Winona trial: printed 8.26 is by mass [R]; by equivalents 4.96 [A].
    let soil = of_ppm(2412.0, 292.0, 0.0, 0.0, 0.0);
    check_close(soil.ca_mg_ratio_mass().unwrap(), 8.26, 0.01);
    check_close(soil.ca_mg_ratio_equivalents().unwrap(), 4.96, 0.01);
}

#[test]
fn row_11_one_reading_three_acidities() {
    // Clemson [R], NCDA&CS [R], commercial-lab notes [R2]: why the buffer must be named.
    check_close(Buffer::Smp.acidity_meq_100g(6.6), 4.8, 0.01);
    check_close(Buffer::AdamsEvans.acidity_meq_100g(6.6), 11.2, 0.01);
    check_close(Buffer::Mehlich.acidity_meq_100g(6.6), 0.0, 0.01);
    // A dummy of 7.2 where the buffer was not run is no negative acidity.
    check_close(Buffer::Woodruff.acidity_meq_100g(7.2), 0.0, 0.0);
}

#[test]
fn row_12_one_meq_of_potassium_in_an_acre() {
    // Mengel, Purdue AY-238 as quoted [R2]: 780 lb; Clemson [R]: 782 lb.
    check_close(1.0 / meq_of_lb_ac(Cation::K, 1.0), 780.0, 2.0);
}

#[test]
fn row_13_expected_cec() {
    // Textbook excerpt, CRC Press 2000 [R2].
    check_close(expected_cec_meq_100g(2.0, 16.0), 12.0, 0.1);
}

#[test]
fn row_81_pounds_an_acre() {
    // Arithmetic [A]; tables derived from IFA misprint 0.9822.
    check_close(1.0 / KG_HA_PER_LB_AC, 0.8922, 0.0005);
}

#[test]
fn row_82_swapped_divisors() {
    // A homework page divides K by 200, Ca by 120 and Mg by 390 and prints 8.65; correct is 6.00 [A].
    let soil = of_ppm(756.56, 198.78, 157.72, 21.36, 0.06);
    check_close(soil.cec_meq_100g(), 6.00, 0.02);
    check_close(soil.ca_meq_100g, 3.78, 0.005);
    check_close(soil.mg_meq_100g, 1.66, 0.005);
    check_close(soil.k_meq_100g, 0.40, 0.005);
    check_close(soil.na_meq_100g.unwrap(), 0.09, 0.005);
}

#[test]
fn trap_1_swapped_divisors_do_not_come_out() {
    // A homework page divides K by 200, Ca by 120 and Mg by 390: its own divisors give 7.76, it prints 8.65 [A].
    let (ca, mg, k, na, acidity) = (756.56, 198.78, 157.72, 21.36, 0.06);
    let swapped: f64 = k / 200.0 + ca / 120.0 + mg / 390.0 + na / 230.0 + acidity;
    check_close(swapped, 7.76, 0.01);
    let cec = of_ppm(ca, mg, k, na, acidity).cec_meq_100g();
    assert!(cec < 6.1, "{cec}");
}

#[test]
fn trap_2_a_kilogram_a_hectare_is_not_0_9822_pounds_an_acre() {
    // Tables derived from IFA misprint 0.9822; 0.8922 is right [R/A].
    let factor = |unit: &str| LabUnit::parse(unit).unwrap().factor(Quantity::Cation(Cation::K), 2e6).unwrap();
    check_close(factor("kg/ha") / factor("lb/ac"), 0.8922, 0.0005);
}

#[test]
fn trap_6_magnesium_is_not_magnesia_and_a_ratio_by_mass_not_one_by_equivalents() {
    // An IFA table prints MgO 10 to 11 beside 22 to 30 K2O; langbeinite has Mg about 11, MgO about 18 [M].
    check_close(18.0 * Compound::Mgo.element_share(), 11.0, 0.2);
    let meq = |unit: &str| 18.0 * LabUnit::parse(unit).unwrap().factor(Quantity::Cation(Cation::Mg), 2e6).unwrap();
    check_close(meq("ppm MgO") / meq("ppm"), 0.603, 0.001);
    let soil = of_ppm(2412.0, 292.0, 0.0, 0.0, 0.0);
    assert!((soil.ca_mg_ratio_mass().unwrap() - soil.ca_mg_ratio_equivalents().unwrap()).abs() > 3.0);
}

#[test]
fn open_lab_rows_meet_the_labs_own_cec_and_saturations() {
    // 16 sheets of one US laboratory, public release of 2018 (read where the folder is named, never copied). Gates as
    // stated with the data: CEC within 0.05 without acidity, 0.5 with Woodruff acidity; saturations printed as whole
    // numbers within 0.6 points, 1.3 for calcium on acid rows.
    let Some(path) = outside::path("lab_rows_2018.csv", Some("HOLDGROUND_OPEN_DATA")) else { return };
    let text = std::fs::read_to_string(path).unwrap();
    let mut rows = text.lines();
    let header: Vec<&str> = rows.next().unwrap().split(',').collect();
    let mut n_rows = 0;
    for row in rows {
        let cells: Vec<&str> = row.split(',').collect();
        let at = |name: &str| cells[header.iter().position(|h| *h == name).unwrap()].parse::<f64>().unwrap();
        let acidity = Buffer::Woodruff.acidity_meq_100g(at("buffer_ph_woodruff"));
        let soil = of_ppm(at("ca_ppm"), at("mg_ppm"), at("k_ppm"), at("na_ppm"), acidity);
        let is_acid = at("h_pct_lab") > 0.0;
        check_close(soil.cec_meq_100g(), at("cec_lab"), if is_acid { 0.5 } else { 0.05 });
        // Against the lab's own CEC, as its saturations are.
        let of_lab = Exchange { rest_meq_100g: at("cec_lab") - soil.bases_meq_100g(), ..soil };
        for (cation, name) in [(Cation::Ca, "ca"), (Cation::Mg, "mg"), (Cation::K, "k"), (Cation::Na, "na")] {
            let gate = if is_acid && cation == Cation::Ca { 1.3 } else { 0.6 };
            check_close(of_lab.saturation_percent(cation).unwrap(), at(&format!("{name}_pct_lab")), gate);
        }
        n_rows += 1;
    }
    assert_eq!(n_rows, 16);
}
