//! Samples in another county, or on another continent.
//!
//! Such places have few causes, and each can be tried: the sign of the longitude, exchanged columns, the UTM zone next
//! door. What brings the samples into the outline is named; nothing is mended unasked.

use geo::{Distance, Geodesic, Point};

use super::CheckInput;
use crate::boundary::FieldBoundary;
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::{PlacesSetting, SheetCoordinates};
use crate::units::thousands;

/// Samples in another county, or on another continent.
pub static PLACES_FAR_OUTSIDE: Code = Code {
    name: "places-far-outside",
    checks: "that most samples lie nearer to the outline than 20 km (12 mi) and ten times its size",
    why: "places so far off are one mistake made for all samples, not many slips: a wrong CRS or UTM zone, exchanged columns, a lost minus, or the outline of another field",
    example: "longitudes of Ohio without their minus lie in China",
    mend: "mend what the help names; where it names nothing, look at the CRS stated for the samples and for the outline",
};

/// No field is this wide, m (heuristic).
const FAR_M: f64 = 20_000.0;
/// Samples of a field lie within this many of its diagonals (heuristic).
const FAR_SIZES: f64 = 10.0;
/// Meters in a statute mile.
const M_PER_MILE: f64 = 1609.344;
/// A UTM zone's width: the same easting and northing read in the next zone lie this far along, degrees.
const ZONE_DEG: f64 = 6.0;

/// What may have happened to all places at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Slip {
    LonSign,
    LatSign,
    Exchanged,
    /// The zone stated is this many too high.
    Zone(i8),
}

const SLIPS: [Slip; 5] = [Slip::LonSign, Slip::Exchanged, Slip::Zone(1), Slip::Zone(-1), Slip::LatSign];

impl Slip {
    /// The place without the slip.
    fn undone(self, (lon, lat): (f64, f64)) -> (f64, f64) {
        match self {
            Slip::LonSign => (-lon, lat),
            Slip::LatSign => (lon, -lat),
            Slip::Exchanged => (lat, lon),
            Slip::Zone(too_high) => (lon - ZONE_DEG * f64::from(too_high), lat),
        }
    }
}

/// At most one error. `lon_lat` holds one place a draft.
pub(in crate::samples) fn check(input: &CheckInput<'_>, lon_lat: &[(f64, f64)]) -> Option<Diagnostic> {
    let [west, east, south, north] = input.boundary.bounds_lon_lat();
    let middle = Point::new((west + east) / 2.0, (south + north) / 2.0);
    let size_m = Geodesic.distance(Point::new(west, south), Point::new(east, north));
    let limit_m = FAR_M.min(FAR_SIZES * size_m);
    let away_m = |&(lon, lat): &(f64, f64)| (Geodesic.distance(middle, Point::new(lon, lat)) - size_m / 2.0).max(0.0);
    let away_m: Vec<f64> = lon_lat.iter().map(away_m).collect();
    let far: Vec<usize> = (0..away_m.len()).filter(|&index| away_m[index] > limit_m).collect();
    if 2 * far.len() <= away_m.len() {
        return None;
    }
    let nearest = far.iter().copied().min_by(|&a, &b| away_m[a].total_cmp(&away_m[b]))?;
    let message = format!(
        "{} of {} samples lie far from the outline, the nearest of them {} mi ({} km) away",
        far.len(),
        away_m.len(),
        thousands(away_m[nearest] / M_PER_MILE, 0),
        thousands(away_m[nearest] / 1000.0, 0)
    );
    let (lon, lat) = lon_lat[nearest];
    let fault = Diagnostic::error(&PLACES_FAR_OUTSIDE, message)
        .at(input.key_place("samples.places", input.settings.lines.places))
        .with_note(format!("`{}` is read as lon {lon:.5}, lat {lat:.5}", input.drafts[nearest].id))
        .with_note(format!("the outline's middle is lon {:.5}, lat {:.5}", middle.x(), middle.y()));
    Some(match likely(input, lon_lat) {
        Some((slip, n_inside)) => fault
            .with_note(format!("{}, {n_inside} of {} lie inside the outline", tried(slip), away_m.len()))
            .with_help(help(slip, &input.settings.places, lon_lat[nearest])),
        None => fault.with_help(
            "name the CRS or UTM zone the coordinates are in, and the outline of the field the samples came from",
        ),
    })
}

/// The slip whose undoing brings most samples into the outline, and how many.
fn likely(input: &CheckInput<'_>, lon_lat: &[(f64, f64)]) -> Option<(Slip, usize)> {
    let may_be_a_zone = match &input.settings.places {
        PlacesSetting::Sheet(sheet) => utm_zone(&sheet.crs).is_some(),
        // The file's own CRS is not known here.
        PlacesSetting::Points { .. } | PlacesSetting::Open => true,
    };
    let tried = SLIPS.into_iter().filter(|slip| may_be_a_zone || !matches!(slip, Slip::Zone(_)));
    let counted = tried.map(|slip| (slip, n_inside(input.boundary, lon_lat.iter().map(|&place| slip.undone(place)))));
    counted.filter(|(_, n)| 2 * n > lon_lat.len()).max_by_key(|(_, n)| *n)
}

/// How many places lie inside the outline.
fn n_inside(boundary: &FieldBoundary, places: impl Iterator<Item = (f64, f64)>) -> usize {
    places.filter(|&place| boundary.work_crs().to_local(place).is_some_and(|site| boundary.contains(site))).count()
}

fn tried(slip: Slip) -> &'static str {
    match slip {
        Slip::LonSign => "with the other sign of longitude",
        Slip::LatSign => "with the other sign of latitude",
        Slip::Exchanged => "with longitude and latitude exchanged",
        Slip::Zone(_) => "read in the UTM zone next to the one stated",
    }
}

/// What to write where. `lon` and `lat` are as read now.
fn help(slip: Slip, places: &PlacesSetting, (lon, lat): (f64, f64)) -> String {
    match (slip, places) {
        (Slip::Zone(too_high), PlacesSetting::Sheet(SheetCoordinates { crs, .. })) => {
            let (kind, zone) = utm_zone(crs).unwrap_or_default();
            let next = (zone as i32 - 1 - i32::from(too_high)).rem_euclid(60) + 1;
            format!("write `crs = \"EPSG:{}\"` in `samples.places`: UTM zone {next}, not {zone}", kind + next as u32)
        }
        (Slip::Zone(too_high), PlacesSetting::Points { file, .. }) => {
            let next = if too_high > 0 { "lower" } else { "higher" };
            format!("`{file}` seems to be stated one UTM zone off: it is the next {next} zone")
        }
        (Slip::Exchanged, PlacesSetting::Sheet(sheet)) => {
            format!("exchange the two: `lon = \"{}\", lat = \"{}\"`", sheet.y_column, sheet.x_column)
        }
        (Slip::Exchanged, PlacesSetting::Points { file, .. }) => {
            format!("`{file}` holds latitude first: export it again with longitude as x")
        }
        (Slip::LonSign, PlacesSetting::Sheet(sheet)) if lon > 0.0 => {
            format!("these longitudes are west: write them in `{}` with a minus, or with `W` behind", sheet.x_column)
        }
        (Slip::LonSign, PlacesSetting::Sheet(sheet)) => {
            format!("these longitudes are east: write them in `{}` without a minus", sheet.x_column)
        }
        (Slip::LatSign, PlacesSetting::Sheet(sheet)) if lat > 0.0 => {
            format!("these latitudes are south: write them in `{}` with a minus, or with `S` behind", sheet.y_column)
        }
        (Slip::LatSign, PlacesSetting::Sheet(sheet)) => {
            format!("these latitudes are north: write them in `{}` without a minus", sheet.y_column)
        }
        (Slip::LonSign | Slip::LatSign, PlacesSetting::Points { file, .. }) => {
            format!("correct the sign in `{file}`: west and south are negative")
        }
        // Without places nothing can lie outside.
        (_, PlacesSetting::Open) => String::new(),
    }
}

/// Code before the zone's number and the zone, for the UTM zones on WGS 84, NAD83 and ETRS89.
fn utm_zone(crs: &str) -> Option<(u32, u32)> {
    let crs = crs.trim();
    let code = crs.split_once(':').filter(|(authority, _)| authority.eq_ignore_ascii_case("EPSG"));
    let code: u32 = code.map_or(crs, |(_, code)| code).parse().ok()?;
    let series = [(32_600, 1..=60), (32_700, 1..=60), (26_900, 1..=23), (25_800, 28..=38)];
    series.into_iter().find_map(|(before, zones)| {
        let zone = code.checked_sub(before).filter(|zone| zones.contains(zone))?;
        Some((before, zone))
    })
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{Sheet, lines, sheet};
    use super::*;

    /// What is said of places, as read; the field is the square near lon -83.5, lat 41.
    fn run(sheet: &Sheet, lon_lat: &[(f64, f64)]) -> Option<Diagnostic> {
        sheet.with_input(|input| check(input, lon_lat))
    }

    fn three() -> Sheet {
        sheet("ID,lon,lat,pH\nA,0,0,6\nB,0,0,6\nC,0,0,6\n")
    }

    const IN_PLACE: [(f64, f64); 3] = [(-83.505, 41.004), (-83.506, 41.005), (-83.504, 41.003)];

    #[test]
    fn the_slip_that_explains_the_places_is_named() {
        for (slip, help) in [
            (Slip::LonSign, "these longitudes are west: write them in `lon` with a minus, or with `W` behind"),
            (Slip::LatSign, "these latitudes are north: write them in `lat` without a minus"),
            (Slip::Exchanged, "exchange the two: `lon = \"lat\", lat = \"lon\"`"),
        ] {
            let found = run(&three(), &IN_PLACE.map(|place| slip.undone(place))).expect("far away");
            assert_eq!(found.help.as_deref(), Some(help));
            assert!(found.notes[2].ends_with("3 of 3 lie inside the outline"), "{:?}", found.notes);
        }
    }

    #[test]
    fn a_neighboring_utm_zone_is_named_by_its_code() {
        let mut sheet = sheet("ID,x,y,pH\nA,0,0,6\nB,0,0,6\nC,0,0,6\n");
        for (stated, shift_deg, code) in [("EPSG:32616", -6.0, "EPSG:32617"), ("26918", 6.0, "EPSG:26917")] {
            let PlacesSetting::Sheet(coordinates) = &mut sheet.settings.places else { panic!("meters") };
            coordinates.crs = stated.to_owned();
            let found = run(&sheet, &IN_PLACE.map(|(lon, lat)| (lon + shift_deg, lat))).expect("far away");
            let help = found.help.expect("has help");
            assert!(help.starts_with(&format!("write `crs = \"{code}\"`")), "{help}");
        }
        assert_eq!((utm_zone("EPSG:32660"), utm_zone("EPSG:3857"), utm_zone("4326")), (Some((32_600, 60)), None, None));
    }

    #[test]
    fn of_a_point_file_the_file_is_named() {
        let sheet = sheet("ID,pH\nA,6\nB,6\nC,6\n");
        for (slip, help) in [
            (Slip::LonSign, "correct the sign in `cores.geojson`: west and south are negative"),
            (Slip::Exchanged, "`cores.geojson` holds latitude first: export it again with longitude as x"),
            // Six degrees too far west: the zone stated is one too low.
            (Slip::Zone(1), "`cores.geojson` seems to be stated one UTM zone off: it is the next higher zone"),
        ] {
            let found = run(&sheet, &IN_PLACE.map(|place| slip.undone(place))).expect("far away");
            assert_eq!(found.help.as_deref(), Some(help));
        }
    }

    #[test]
    fn an_outline_of_another_field_asks_for_both() {
        let found = run(&three(), &IN_PLACE.map(|(lon, lat)| (lon, lat + 1.0))).expect("a degree north");
        // One degree of latitude is about 111 km; the field's half diagonal, 0.7 km, is taken off.
        assert_eq!(
            lines(std::slice::from_ref(&found)),
            ["error: 3 of 3 samples lie far from the outline, the nearest of them 68 mi (110 km) away"]
        );
        assert!(found.help.expect("has help").contains("CRS or UTM zone"));
    }

    #[test]
    fn near_samples_and_single_slips_are_left_to_other_checks() {
        assert!(run(&three(), &IN_PLACE).is_none());
        let mut one_off = IN_PLACE;
        one_off[0].0 = 83.505;
        assert!(run(&three(), &one_off).is_none());
        assert!(run(&three(), &IN_PLACE.map(|(lon, lat)| (lon + 0.1, lat))).is_none(), "8 km: under ten diagonals");
        assert!(run(&three(), &[]).is_none());
    }
}
