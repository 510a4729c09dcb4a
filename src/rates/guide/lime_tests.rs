//! Lime against the published rows, and what holds for every rule.

use super::*;
use proptest::prelude::*;

fn guide(name: &str) -> &'static Guide {
    Guide::find(name).unwrap()
}

/// Ground at pH 5.0 with one buffer reading.
fn by_buffer(buffer_ph: f64) -> LimeSoil {
    LimeSoil { ph_water: Some(5.0), buffer_ph: Some(buffer_ph), ..LimeSoil::default() }
}

fn by_acidity(ph: f64, acidity: f64) -> LimeSoil {
    LimeSoil { ph_water: Some(ph), acidity_meq: Some(acidity), ..LimeSoil::default() }
}

/// Short tons of 100-score lime to 6 in.
fn oregon(buffer_ph: f64, target_ph: f64) -> f64 {
    guide("oregon-sikora-2025").lime(&by_buffer(buffer_ph), target_ph, 6.0).unwrap().short_ton_ac
}

#[track_caller]
fn close(actual: f64, expected: f64, tolerance: f64) {
    assert!((actual - expected).abs() <= tolerance, "{actual} is not within {tolerance} of {expected}");
}

/// EM 9585, Table 1 (Moore 2025) [R], copied a second time, by target: short tons from buffer pH 6.9 down to 4.8.
const OREGON: [(f64, [f64; 22]); 5] = [
    (
        5.6,
        [0.0, 0.0, 0.2, 0.4, 0.7, 0.9, 1.1, 1.3, 1.5, 1.7, 1.9, 2.2, 2.7, 3.1, 3.5, 3.8, 4.2, 4.6, 5.0, 5.3, 5.7, 6.1],
    ),
    (
        6.0,
        [0.0, 0.4, 0.7, 0.9, 1.2, 1.5, 1.7, 2.0, 2.3, 2.5, 2.8, 3.1, 4.0, 4.5, 5.1, 5.6, 6.2, 6.7, 7.3, 7.8, 8.4, 8.9],
    ),
    (
        6.4,
        [
            0.5, 0.8, 1.1, 1.5, 1.8, 2.1, 2.5, 2.8, 3.1, 3.5, 3.8, 4.1, 5.5, 6.2, 7.0, 7.7, 8.5, 9.2, 10.0, 10.7, 11.5,
            12.2,
        ],
    ),
    (
        6.8,
        [
            0.8, 1.2, 1.6, 2.1, 2.5, 2.9, 3.3, 3.7, 4.2, 4.6, 5.0, 5.4, 7.2, 8.3, 9.3, 10.3, 11.3, 12.3, 13.0, 14.0,
            15.0, 16.3,
        ],
    ),
    (
        7.2,
        [
            1.0, 1.6, 2.2, 2.7, 3.3, 3.8, 4.4, 4.9, 5.5, 6.0, 6.6, 7.1, 9.9, 11.4, 12.9, 14.3, 15.8, 17.3, 18.7, 20.2,
            21.7, 23.2,
        ],
    ),
];

#[test]
fn rows_38_to_42_printed_cells_of_em_9585() {
    let rows = [(6.0, 5.6, 1.7), (6.5, 6.4, 1.8), (5.7, 6.0, 4.0), (6.9, 6.0, 0.0), (5.0, 7.2, 20.2)];
    for (buffer_ph, target_ph, short_ton) in rows {
        assert_eq!(oregon(buffer_ph, target_ph), short_ton, "buffer pH {buffer_ph} to {target_ph}");
    }
}

#[test]
fn row_43_all_110_cells_are_exact_and_go_one_way() {
    let mut n_cells = 0;
    for (target_ph, column) in OREGON {
        for (index, short_ton) in column.into_iter().enumerate() {
            // 69 tenths and down, so that the reading is the same number as in the table.
            let buffer_ph = f64::from(69 - index as u32) / 10.0;
            assert_eq!(oregon(buffer_ph, target_ph), short_ton, "buffer pH {buffer_ph} to {target_ph}");
            n_cells += 1;
        }
        assert!(column.windows(2).all(|pair| pair[0] <= pair[1]), "more as the buffer pH falls");
    }
    assert!(
        (0..22).all(|row| OREGON.windows(2).all(|pair| pair[0].1[row] <= pair[1].1[row])),
        "more for a higher target"
    );
    assert_eq!(n_cells, 110);
}

#[test]
fn between_cells_lime_lies_on_straight_lines() {
    // By hand from the printed cells: halfway on an edge, and in the middle of four.
    close(oregon(6.75, 6.4), 0.95, 1e-9);
    close(oregon(6.5, 6.2), 1.5, 1e-9);
    close(oregon(6.45, 6.2), (1.2 + 1.8 + 1.5 + 2.1) / 4.0, 1e-9);
    // The bend between 5.8 and 5.7 is the table's own: twice as steep as on either side.
    close(oregon(5.75, 6.0), 3.55, 1e-9);
}

#[test]
fn off_the_table_there_is_no_number() {
    let lime = |buffer_ph: f64, target_ph: f64| guide("oregon-sikora-2025").lime(&by_buffer(buffer_ph), target_ph, 6.0);
    for (buffer_ph, target_ph) in [(6.95, 6.4), (4.79, 6.4), (6.5, 5.59), (6.5, 7.21)] {
        let told = lime(buffer_ph, target_ph).unwrap_err();
        assert!(matches!(told, NoLime::OffTable(_)), "{told}");
        assert!(told.to_string().contains("it gives no number there"), "{told}");
    }
    assert!(matches!(lime(f64::NAN, 6.4), Err(NoLime::NoAmount(..))));
}

#[test]
fn rows_44_and_45_north_carolina() {
    // NCDA&CS [R]: pH 5.0 to 6.0 with acidity 1.2: factor 0.625, 0.75 short tons (printed 0.76); buffer pH 6.3 is 1.2.
    let nc = guide("north-carolina-mehlich");
    let by_ac = nc.lime(&by_acidity(5.0, 1.2), 6.0, 8.0).unwrap();
    close(by_ac.short_ton_ac, 0.75, 1e-12);
    close(by_ac.short_ton_ac, 0.76, 0.0101);
    assert!(by_ac.why.contains("of it 0.62") || by_ac.why.contains("of it 0.63"), "{}", by_ac.why);
    close(nc.lime(&by_buffer(6.3), 6.0, 8.0).unwrap().short_ton_ac, 0.75, 1e-9);
    // A target above the buffer's own end is no number.
    assert!(matches!(nc.lime(&by_acidity(5.0, 1.2), 6.7, 8.0), Err(NoLime::NotThisTarget { .. })));
}

#[test]
fn north_carolina_counts_lime_of_the_last_year() {
    // Field notes 27, NCDA&CS [R]: spread x (1 - 0.08 a month), 16 % on organic soil, lime of the last year.
    let nc = guide("north-carolina-mehlich");
    let lime = |short_ton_ac: f64, months_ago: f64, soil: SoilClass| {
        let earlier = Some(EarlierLime { short_ton_ac, months_ago, soil });
        nc.lime(&LimeSoil { earlier, ..by_acidity(5.0, 4.0) }, 6.0, 8.0).unwrap()
    };
    close(lime(1.0, 6.0, SoilClass::Mineral).credit_short_ton_ac, 0.52, 1e-12);
    close(lime(1.0, 6.0, SoilClass::Mineral).short_ton_ac, 2.5 - 0.52, 1e-12);
    close(lime(1.0, 5.0, SoilClass::Organic).credit_short_ton_ac, 0.2, 1e-12);
    assert_eq!(lime(1.0, 7.0, SoilClass::Organic).credit_short_ton_ac, 0.0);
    assert_eq!(lime(1.0, 12.5, SoilClass::Mineral).credit_short_ton_ac, 0.0, "more than a year ago");
    assert_eq!(lime(9.0, 0.0, SoilClass::Mineral).short_ton_ac, 0.0, "never below none");
    let told = lime(1.0, 6.0, SoilClass::Mineral).why;
    assert!(told.contains("less 0.52 still to come of earlier lime"), "{told}");
}

#[test]
fn rows_46_and_47_penn_state() {
    // The Agronomy Guide, A(R): acidity 6 to pH 7.0 and 6.5: 6,000 and 5,040 lb; acidity 3 at pH 6.2: 2,000; at 6.6: 0.
    let lb = |ph: f64, acidity: f64, target_ph: f64| {
        2000.0 * guide("penn-state-lime").lime(&by_acidity(ph, acidity), target_ph, 7.0).unwrap().short_ton_ac
    };
    close(lb(5.5, 6.0, 7.0), 6000.0, 1e-9);
    close(lb(5.5, 6.0, 6.5), 5040.0, 1e-9);
    close(lb(6.2, 3.0, 6.5), 2000.0, 1e-9);
    assert_eq!(lb(6.6, 3.0, 6.5), 0.0);
    // Field notes 24: 3.9 gives 2,000 and 4.1 gives 3,444 lb; at 4.0, which the text leaves open, 840 x 4.
    close(lb(5.5, 3.9, 6.5), 2000.0, 1e-9);
    close(lb(5.5, 4.0, 6.5), 3360.0, 1e-9);
    close(lb(5.5, 4.1, 6.5), 3444.0, 1e-9);
    assert!(guide("penn-state-lime").lime(&by_acidity(5.5, 4.0), 6.8, 7.0).is_err(), "6.5 and 7.0 only");
}

#[test]
fn the_jump_of_penn_state_is_told_nearby() {
    let notes = |acidity: f64| guide("penn-state-lime").lime(&by_acidity(5.5, acidity), 6.5, 7.0).unwrap().notes;
    assert!(
        notes(3.9)[0].contains("from 2000 to 3360 lb/ac at an acidity of 4.0; this soil has 3.9"),
        "{:?}",
        notes(3.9)
    );
    assert_eq!(notes(4.1).len(), 1);
    assert!(notes(3.0).is_empty() && notes(5.0).is_empty());
}

#[test]
fn row_48_lime_goes_with_the_depth_limed() {
    // E-2567 [R]: 0 to 4 in is half of the rate for 8 in. Ohio State [R2]: 3 in is 0.38.
    assert_eq!(depth_factor(4.0, 8.0), 0.5);
    close(depth_factor(3.0, 8.0), 0.38, 0.0051);
    let tons = |depth_in: f64| guide("oregon-sikora-2025").lime(&by_buffer(6.5), 6.4, depth_in).unwrap().short_ton_ac;
    close(tons(3.0), 0.9, 1e-12);
    close(tons(8.0), 2.4, 1e-12);
    for depth_in in [0.0, -1.0, 12.5, f64::NAN] {
        let told = guide("oregon-sikora-2025").lime(&by_buffer(6.5), 6.4, depth_in);
        assert!(matches!(told, Err(NoLime::Depth(_))), "{depth_in}");
    }
}

#[test]
fn row_55_magnesium_levels_of_penn_state() {
    // Penn State [R]: about 200 lb MgO an acre; by SPES-201 that is 120.6 lb Mg, 60.3 ppm in 2,000,000 lb A(R).
    let levels = guide("penn-state-lime").lime.as_ref().unwrap().magnesium.as_ref().unwrap().value;
    let mg_ppm = 200.0 * crate::units::Compound::Mgo.element_share() / 2.0;
    close(mg_ppm, 60.3, 0.3);
    close(levels.ppm, mg_ppm, 0.5);
    // Field notes 24: either is enough.
    let wants = |ppm: f64, percent: f64| {
        guide("penn-state-lime").lime.as_ref().unwrap().wants_magnesium(Some(ppm), Some(percent)).is_some()
    };
    assert_eq!([wants(59.0, 6.0), wants(61.0, 4.9), wants(59.0, 4.9), wants(60.0, 5.0)], [true, true, true, false]);
    let oregon = guide("oregon-sikora-2025").lime.as_ref().unwrap();
    assert_eq!(oregon.wants_magnesium(Some(1.0), Some(0.1)), None, "its table says nothing of magnesium");
}

#[test]
fn the_ridge_of_the_demo_needs_what_the_table_says() {
    // Invented ground: buffer pH 6.85 and pH 5.7 on the ridge, 6.75 and 6.2 on the flat, 7.2 without reading in the corner.
    let lime = |soil: LimeSoil| guide("oregon-sikora-2025").lime(&soil, 6.4, 6.0).unwrap();
    let at =
        |ph: f64, buffer_ph: f64| LimeSoil { ph_water: Some(ph), buffer_ph: Some(buffer_ph), ..LimeSoil::default() };
    close(lime(at(5.7, 6.85)).short_ton_ac, 0.65, 1e-9);
    close(lime(at(6.2, 6.75)).short_ton_ac, 0.95, 1e-9);
    let corner = lime(LimeSoil { ph_water: Some(7.2), not_run_by_rule: true, ..LimeSoil::default() });
    assert_eq!((corner.short_ton_ac, corner.state), (0.0, LimeState::TargetMet));
    let by_rule = lime(LimeSoil { ph_water: Some(6.3), not_run_by_rule: true, ..LimeSoil::default() });
    assert_eq!((by_rule.short_ton_ac, by_rule.state), (0.0, LimeState::NotRunByRule));
    assert!(by_rule.why.contains("runs no buffer"), "{}", by_rule.why);
}

#[test]
fn what_is_not_known_is_never_no_lime() {
    let oregon = guide("oregon-sikora-2025");
    let blank = LimeSoil { ph_water: Some(5.9), ..LimeSoil::default() };
    assert_eq!(oregon.lime(&blank, 6.4, 6.0), Err(NoLime::NoReading("buffer pH")));
    let no_ph = LimeSoil { buffer_ph: Some(6.5), ..LimeSoil::default() };
    assert_eq!(oregon.lime(&no_ph, 6.4, 6.0), Err(NoLime::NoWaterPh));
    assert_eq!(guide("tri-state-1995").lime(&by_buffer(6.5), 6.4, 6.0), Err(NoLime::NoRule));
    // Penn State reads a printed acidity only: what a buffer reading means depends on the buffer.
    assert_eq!(guide("penn-state-lime").lime(&by_buffer(6.5), 6.5, 7.0), Err(NoLime::NoReading("acidity")));
    assert!(matches!(guide("penn-state-lime").lime(&by_acidity(5.0, -1.0), 6.5, 7.0), Err(NoLime::NoAmount(..))));
}

#[test]
fn no_plan_goes_above_7_and_sands_are_warned_of_above_6_5() {
    // Field notes 4; Delaware warns of overlimed sands [R].
    let refused = |target: f64, cec: Option<f64>| matches!(target_fault(target, cec), Some(TargetFault::Refused(_)));
    let warned = |target: f64, cec: Option<f64>| matches!(target_fault(target, cec), Some(TargetFault::Warned(_)));
    assert!(refused(7.2, Some(20.0)) && refused(7.01, None) && refused(f64::NAN, None));
    assert!(warned(6.6, Some(5.0)) && warned(7.0, Some(3.0)));
    for (target, cec) in [(6.5, Some(5.0)), (7.0, Some(5.1)), (6.8, None)] {
        assert_eq!(target_fault(target, cec), None, "{target} {cec:?}");
    }
}

#[test]
fn lime_beyond_what_the_acidity_takes_up_is_doubted() {
    // Field notes 26 [A]: 1 short ton of calcium carbonate is 2 meq in 2,000,000 lb; doubted above 1.5 times that.
    let oregon =
        |buffer_ph: f64, target: f64| guide("oregon-sikora-2025").lime(&by_buffer(buffer_ph), target, 7.0).unwrap();
    let acidity = |buffer_ph: f64| crate::chemistry::Buffer::Sikora.acidity_meq_100g(buffer_ph);
    assert_eq!(doubted(&oregon(6.75, 6.4), acidity(6.75), 7.0), None, "1.1 short tons, 2.25 stand");
    let told = doubted(&oregon(5.0, 7.2), acidity(5.0), 7.0).unwrap();
    assert!(told.contains("23.57 short tons") && told.contains("the 12.00 that"), "{told}");
}

#[test]
fn weakly_buffered_ground_is_shown_a_rule_of_thumb() {
    // A laboratory's note [R2]: 1 short ton for 0.3 to 0.4 pH, at most 2; below CEC 5 to 7 (field notes 26).
    let thumb = weakly_buffered(5.7, 6.4, 5.11).unwrap();
    close(thumb.least_short_ton_ac, 1.75, 1e-9);
    close(thumb.most_short_ton_ac, 2.0, 1e-9);
    assert_eq!(weakly_buffered(5.7, 6.4, 7.0), None);
    assert_eq!(weakly_buffered(6.4, 6.4, 4.0), None);
    assert_eq!(weakly_buffered(f64::NAN, 6.4, 4.0), None);
}

proptest! {
    #[test]
    fn oregon_is_never_negative_and_never_more_on_less_acid_ground(
        buffer in 4.8..6.9_f64, up in 0.0..0.5_f64, target in 5.6..7.2_f64, higher in 0.0..0.5_f64, depth in 1.0..12.0_f64,
    ) {
        let (less_acid, higher) = ((buffer + up).min(6.9), (target + higher).min(7.2));
        let here = oregon(buffer, target);
        prop_assert!(here >= 0.0);
        prop_assert!(oregon(less_acid, target) <= here + 1e-12);
        prop_assert!(oregon(buffer, higher) >= here - 1e-12);
        let to_depth = guide("oregon-sikora-2025").lime(&by_buffer(buffer), target, depth).unwrap().short_ton_ac;
        prop_assert!((to_depth - here * depth / 6.0).abs() < 1e-9);
    }

    #[test]
    fn oregon_has_no_jumps_and_stays_within_its_four_cells(buffer in 4.8..6.9_f64, target in 5.6..7.2_f64) {
        let here = oregon(buffer, target);
        let step = 1e-6;
        // The steepest cell, 5.8 to 5.7 for pH 7.2, rises 28 short tons for each pH of the buffer.
        let moved = [oregon((buffer + step).min(6.9), target), oregon(buffer, (target + step).min(7.2))];
        prop_assert!(moved.iter().all(|moved| (moved - here).abs() <= 28.1 * step));
        let (tenths, column) = ((buffer * 10.0).floor() as usize, OREGON.iter().rposition(|(ph, _)| *ph <= target).unwrap());
        let (row, column) = (69_usize.saturating_sub(tenths + 1), column.min(3));
        let corners = [row, (row + 1).min(21)].map(|row| [OREGON[column].1[row], OREGON[column + 1].1[row]]).concat();
        let (least, most) = (corners.iter().copied().fold(f64::MAX, f64::min), corners.iter().copied().fold(0.0, f64::max));
        prop_assert!(here >= least - 1e-9 && here <= most + 1e-9, "{here} of {corners:?}");
    }

    #[test]
    fn rules_of_acidity_go_one_way(
        ph in 4.0..7.0_f64, more in 0.0..1.0_f64, acidity in 0.0..20.0_f64, sourer in 0.0..5.0_f64, depth in 1.0..12.0_f64,
        which in 0..3_usize,
    ) {
        let (name, target) = [("north-carolina-mehlich", 6.2), ("penn-state-lime", 6.5), ("penn-state-lime", 7.0)][which];
        let tons = |ph: f64, acidity: f64, depth: f64| guide(name).lime(&by_acidity(ph, acidity), target, depth).unwrap().short_ton_ac;
        let here = tons(ph, acidity, depth);
        prop_assert!(here >= 0.0 && (ph < target || here == 0.0));
        prop_assert!(tons(ph, acidity + sourer, depth) >= here - 1e-12);
        prop_assert!(tons(ph + more, acidity, depth) <= here + 1e-12);
        let own_depth = guide(name).lime.as_ref().unwrap().depth_in;
        prop_assert!((here - tons(ph, acidity, own_depth) * depth / own_depth).abs() < 1e-9);
    }
}
