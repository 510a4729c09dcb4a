use proptest::prelude::*;

use super::*;

fn read(text: &str, axis: Axis) -> f64 {
    read_degrees(text, axis, false).unwrap_or_else(|found| panic!("{text}: {}", found.message))
}

fn refused(text: &str, axis: Axis) -> String {
    read_degrees(text, axis, false).expect_err(text).message
}

#[test]
fn one_place_in_many_writings_is_one_number() {
    // By hand: 30.253 / 60 = 0.5042166..., 15.2 / 3600 = 0.0042222...
    for text in ["41 30.253 N", "41°30.253'N", "N 41° 30.253′", "41:30.253", "41º30.253’", "n41d30.253'"] {
        assert!((read(text, Axis::Lat) - 41.504_216_666_67).abs() < 1e-10, "{text}");
    }
    for text in ["41°00'15.2\"N", "41 00 15.2", "41:00:15.2 n", "41° 0′ 15.2″ N", "41°00’15.2”N", "41°00'15.2''N"]
    {
        assert!((read(text, Axis::Lat) - 41.004_222_222_22).abs() < 1e-10, "{text}");
    }
    for text in ["93 30 17 W", "-93°30'17\"", "\u{2212}93:30:17", "W93°30'17\"", "-93 30 17 w"] {
        assert!((read(text, Axis::Lon) + 93.504_722_222_22).abs() < 1e-10, "{text}");
    }
    for text in ["-93.5048", "93.5048 W", "93.5048w", "W 93.5048", "\u{2013}93.5048", "93.5048° W", "-93.5048 W"] {
        assert!((read(text, Axis::Lon) + 93.5048).abs() < 1e-12, "{text}");
    }
    assert_eq!(read("-0 30", Axis::Lat), -0.5);
    assert_eq!(read("0°30'S", Axis::Lat), -0.5);
    assert_eq!(read_degrees("41,0042", Axis::Lat, true), Ok(41.0042));
    assert_eq!(read_degrees("41.0042", Axis::Lat, true), Ok(41.0042));
    assert!((read_degrees("41°00'15,2\"N", Axis::Lat, true).expect("reads") - 41.004_222_222).abs() < 1e-9);
    // Beyond 90, but plain: the check on exchanged columns looks at all rows.
    assert_eq!(read("-93.5", Axis::Lat), -93.5);
    assert_eq!(read("457500", Axis::Lon), 457_500.0);
}

#[test]
fn what_cannot_be_one_coordinate_says_why() {
    use Axis::{Lat, Lon};
    for (text, axis, message) in [
        ("41 60.5 N", Lat, "60.5 minutes in `41 60.5 N`, expected under 60"),
        ("41 30 61", Lat, "61 seconds in `41 30 61`, expected under 60"),
        ("41.5 30.1", Lat, "two coordinates stand in one cell"),
        ("41.5°30'", Lat, "`41.5°30'` has a fraction before its last part"),
        ("-93.5 E", Lon, "the sign says otherwise than the letter `E`"),
        ("+93.5 W", Lon, "the sign says otherwise than the letter `W`"),
        ("41.0 N", Lon, "a latitude (`N`) stands in the column of longitude"),
        ("93.5 w", Lat, "a longitude (`W`) stands in the column of latitude"),
        ("91 N", Lat, "`91 N` lies beyond 90 degrees of latitude"),
        ("180°00'01\" W", Lon, "`180°00'01\" W` lies beyond 180 degrees of longitude"),
        ("41,0042", Lat, "a comma stands where a decimal point is expected"),
        ("41.0, -93.5", Lat, "two coordinates stand in one cell"),
        ("41,-93.5", Lat, "two coordinates stand in one cell"),
        ("41.0042 -93.5", Lat, "two coordinates stand in one cell"),
        ("41°00'15\"N 93°30'17\"W", Lat, "two coordinates stand in one cell"),
        ("W 93.5; N 41", Lon, "two coordinates stand in one cell"),
        ("N41 W", Lat, "`N41 W` carries a letter before and behind"),
        ("93.5 O", Lon, "`93.5 O` is not a coordinate: `O` cannot be read"),
        ("41°15.2\"", Lat, "`41°15.2\"` is not a coordinate: `\"` cannot be read"),
        ("93.504.807", Lon, "`93.504.807` is not a coordinate: `93.504.807` cannot be read"),
        ("1e5", Lon, "`1e5` is not a coordinate: `e5` cannot be read"),
        ("41:", Lat, "`41:` is not a coordinate: `:` cannot be read"),
        ("N", Lat, "`N` is not a coordinate"),
        ("at the gate", Lat, "`at the gate` is not a coordinate"),
    ] {
        assert_eq!(refused(text, axis), message);
    }
    assert!(read_degrees(&"9".repeat(400), Axis::Lon, false).is_err());
    let two = read_degrees("41,0042, -93,5048", Axis::Lat, true).expect_err("two");
    assert!(two.message.starts_with("two coordinates") && two.help.starts_with("split `41,0042, -93,5048` into"));
}

#[test]
fn easting_and_northing_are_plain_numbers() {
    assert_eq!(read_plane("457500.25", false), Ok(457_500.25));
    assert_eq!(read_plane("457500,25", true), Ok(457_500.25));
    assert_eq!(read_plane("\u{2212}12", false), Ok(-12.0));
    for (text, comma, message, help) in [
        ("457,500.25", false, "thousands are marked", "write `457,500.25` without such marks: `457500.25`"),
        ("4 538 877", false, "thousands are marked", "write `4 538 877` without such marks: `4538877`"),
        ("457.500,25", true, "thousands are marked", "write `457.500,25` without such marks: `457500,25`"),
        ("457500,25", false, "a comma stands where a decimal point is expected", "write `457500,25` as `457500.25`"),
        ("457500.25", true, "a point stands where a decimal comma is expected", "write `457500.25` as `457500,25`"),
        (
            "457,500",
            false,
            "a comma may divide thousands here, or mark decimals",
            "write `457,500` as `457500` if it divides thousands, as `457.500` if it marks decimals",
        ),
        (
            "4.5E+05",
            false,
            "the number is written as a power of ten",
            "write `4.5E+05` out; a sheet that shows it so may have lost its last figures",
        ),
        (
            "93°30'W",
            false,
            "degrees stand where the CRS stated counts in meters or feet",
            "`93°30'W`: name the columns as `lon` and `lat`, and state their CRS, for example `EPSG:4326`",
        ),
        ("n.d.", false, "`n.d.` is not a number", "write easting and northing as plain numbers"),
        ("inf", false, "`inf` is not a number", "write easting and northing as plain numbers"),
    ] {
        assert_eq!(read_plane(text, comma), Err(fault(message, help)), "{text}");
    }
}

/// How a written degree, minute or second is marked, with spaces or without.
const MARKS: [[&str; 3]; 8] = [
    ["°", "'", "\""],
    ["° ", "′ ", "″"],
    ["º", "’", "”"],
    ["d", "'", "''"],
    [":", ":", ""],
    [" ", " ", ""],
    ["˚", "´", "’’"],
    ["°", " ", " "],
];

/// Writes a value of whole `units` (`per_degree` of them make a degree) in `form` parts, signed or with a letter.
fn written(units: i64, form: usize, marks: [&str; 3], letter: u8, axis: Axis) -> String {
    let n = units.unsigned_abs();
    let body = match form {
        1 => format!("{}.{:06}", n / 1_000_000, n % 1_000_000),
        2 => format!("{}{}{:02}.{:04}{}", n / 600_000, marks[0], n % 600_000 / 10_000, n % 10_000, marks[1].trim()),
        _ => {
            let (degrees, minutes, seconds) = (n / 360_000, n % 360_000 / 6000, n % 6000);
            let (d, m, s) = (marks[0], marks[1], marks[2]);
            format!("{degrees}{d}{minutes:02}{m}{:02}.{:02}{s}", seconds / 100, seconds % 100)
        }
    };
    let body = if form == 2 { body.trim_end_matches(':').to_owned() } else { body };
    let hemisphere = match (axis, units < 0) {
        (Axis::Lon, true) => "W",
        (Axis::Lon, false) => "E",
        (Axis::Lat, true) => "S",
        (Axis::Lat, false) => "N",
    };
    match letter {
        0 => format!("{}{body}", if units < 0 { "-" } else { "" }),
        1 => format!("{}{body}", if units < 0 { "\u{2212}" } else { "+" }),
        2 => format!("{body} {hemisphere}"),
        3 => format!("{hemisphere}{body}"),
        _ => format!("{body}{}", hemisphere.to_lowercase()),
    }
}

proptest! {
    #[test]
    fn what_was_written_is_read_back(
        share in -1.0..=1.0_f64, form in 1..=3_usize, marks in 0..MARKS.len(), letter in 0..5_u8, is_lon: bool, comma: bool,
    ) {
        let axis = if is_lon { Axis::Lon } else { Axis::Lat };
        let per_degree = [1_000_000.0, 600_000.0, 360_000.0][form - 1];
        let units = (share * axis.most_deg() * per_degree).trunc();
        let text = written(units as i64, form, MARKS[marks], letter, axis);
        let text = if comma { text.replace('.', ",") } else { text };
        let value = read_degrees(&text, axis, comma);
        prop_assert!(value.is_ok(), "{text}: {value:?}");
        // Far below half of the last printed figure: the parts are exact, only the sum rounds.
        prop_assert!((value.unwrap_or(f64::NAN) - units / per_degree).abs() < 1e-10, "{text}: {units}");
    }

    #[test]
    fn any_text_is_a_number_or_a_fault(text in "\\PC{0,24}", near in "[0-9NSEWd°'\", .:;+−-]{0,16}", comma: bool) {
        for text in [text, near] {
            for axis in [Axis::Lon, Axis::Lat] {
                if let Ok(value) = read_degrees(&text, axis, comma) {
                    prop_assert!(value.is_finite());
                }
            }
            if let Ok(value) = read_plane(&text, comma) {
                prop_assert!(value.is_finite());
            }
        }
    }
}
