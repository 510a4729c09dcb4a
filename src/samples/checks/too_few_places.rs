//! Too few places for a map.

use super::{CheckInput, counted};
use crate::cell_grid::Site;
use crate::diagnostic::{Code, Diagnostic, Place};

/// Too few places for a map.
pub static TOO_FEW_PLACES: Code = Code {
    name: "too-few-places",
    checks: "that at least three samples lie at different places, not on one line, and whether there are ten",
    why: "a map lies between samples: two, or a row of them, leave nothing between; under ten the map cannot be judged",
    example: "9 samples make a map, but hiding each in turn tells little about its error",
    mend: "add samples; a composite sample of the whole field needs no map",
};

/// Fewer places than this make no map to judge: settings are not chosen from so few (see `surface`).
const ENOUGH_PLACES: usize = 10;
/// Share of the line's length within which places count as on it.
const ON_LINE_SHARE: f64 = 1e-3;

/// At most one message. `sites` are the places of the samples to map.
pub(in crate::samples) fn check(input: &CheckInput<'_>, sites: &[Site]) -> Vec<Diagnostic> {
    let places = distinct(sites);
    let (n, file) = (places.len(), Place::File(input.settings.file.clone()));
    let of_samples = if n == sites.len() {
        counted(n, "sample")
    } else {
        format!("{} at {}", counted(sites.len(), "sample"), counted(n, "place"))
    };
    let message = if n < 3 {
        Diagnostic::error(&TOO_FEW_PLACES, format!("{of_samples} to map, expected at least 3 places"))
            .with_help("add samples; one result for the whole field needs no map")
    } else if is_one_line(&places) {
        Diagnostic::error(&TOO_FEW_PLACES, format!("{of_samples}, all on one line: nothing lies between them"))
            .with_help("add samples beside the line, or look whether a coordinate column holds one value")
    } else if n < ENOUGH_PLACES {
        Diagnostic::warning(
            &TOO_FEW_PLACES,
            format!("{of_samples}: a map is made, but fewer than {ENOUGH_PLACES} places are too few to judge it"),
        )
        .with_help("treat the zones as a sketch, or add samples")
    } else {
        return Vec::new();
    };
    vec![message.at(file)]
}

/// Places that differ by more than rounding to the millimeter.
pub(super) fn distinct(sites: &[Site]) -> Vec<Site> {
    let mm = |site: &Site| ((site.east_m * 1e3).round() as i64, (site.north_m * 1e3).round() as i64);
    let mut places = sites.to_vec();
    places.sort_by_key(mm);
    places.dedup_by_key(|site| mm(site));
    places
}

/// Whether all places lie on the line through the two farthest apart, within a thousandth of its length.
fn is_one_line(places: &[Site]) -> bool {
    // The farthest place from any place is an end of the line, if it is one; the farthest from that is the other end.
    let farthest = |from: Site| {
        places.iter().copied().max_by(|a, b| from.distance_m(*a).total_cmp(&from.distance_m(*b))).unwrap_or(from)
    };
    let Some(first) = places.first() else { return true };
    let a = farthest(*first);
    let b = farthest(a);
    let length = a.distance_m(b);
    let (east, north) = ((b.east_m - a.east_m) / length, (b.north_m - a.north_m) / length);
    places.iter().all(|place| {
        ((place.east_m - a.east_m) * north - (place.north_m - a.north_m) * east).abs() <= ON_LINE_SHARE * length
    })
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    fn run(places: &[(f64, f64)]) -> Vec<String> {
        let sites: Vec<Site> = places.iter().map(|&(east_m, north_m)| Site { east_m, north_m }).collect();
        lines(&sheet("ID,x,y,pH\nA,0,0,6\n").with_input(|input| check(input, &sites)))
    }

    #[test]
    fn two_places_are_too_few_however_many_samples() {
        assert_eq!(run(&[(0.0, 0.0), (90.0, 0.0)]), ["error: 2 samples to map, expected at least 3 places"]);
        assert_eq!(
            run(&[(0.0, 0.0), (90.0, 0.0), (90.0, 0.0)]),
            ["error: 3 samples at 2 places to map, expected at least 3 places"]
        );
        assert_eq!(run(&[]), ["error: 0 samples to map, expected at least 3 places"]);
    }

    #[test]
    fn a_row_of_samples_is_refused_even_when_a_little_crooked() {
        let row: Vec<(f64, f64)> =
            (0..12).map(|n| (f64::from(n) * 70.0, f64::from(n) * 40.0 + f64::from(n % 2) * 0.5)).collect();
        assert_eq!(run(&row), ["error: 12 samples, all on one line: nothing lies between them"]);
        let mut bent = row;
        bent[6].1 += 3.0;
        assert!(run(&bent).is_empty());
    }

    #[test]
    fn nine_are_warned_and_ten_are_not() {
        let net: Vec<(f64, f64)> = (0..10).map(|n| (f64::from(n % 4) * 100.0, f64::from(n / 4) * 100.0)).collect();
        assert_eq!(
            run(&net[..9]),
            ["warning: 9 samples: a map is made, but fewer than 10 places are too few to judge it"]
        );
        assert!(run(&net).is_empty());
    }
}
