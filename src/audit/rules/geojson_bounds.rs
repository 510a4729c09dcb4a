//! The bounds a file states.

use super::prelude::*;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "geojson-bounds",
    checks: "that `bbox` is west, south, east, north of all corners (RFC 7946, 5)",
    why: "a loader that looks only where `bbox` says shows nothing",
    example: "`bbox` in the order south, west, north, east",
    mend: "correct `bbox`, or leave it out",
};

/// How far bounds may be off, degrees: their own rounding.
const ROOM_DEG: f64 = 2e-7;

pub(super) fn find(of: &Prescription) -> Found {
    let Some((file, stated)) = geo_json(of).and_then(|file| Some((file, file.bounds.as_ref()?))) else {
        return Found::new();
    };
    let corners = || file.features.iter().flat_map(|feature| &feature.rings).flat_map(|ring| ring.positions.iter());
    if corners().next().is_none() {
        return Found::new();
    }
    let least = |of: fn(&(f64, f64)) -> f64| corners().map(of).fold(f64::INFINITY, f64::min);
    let most = |of: fn(&(f64, f64)) -> f64| corners().map(of).fold(f64::NEG_INFINITY, f64::max);
    let is = [least(|at| at.0), least(|at| at.1), most(|at| at.0), most(|at| at.1)];
    let stated_2d = match stated.as_slice() {
        [a, b, c, d] | [a, b, _, c, d, _] => [*a, *b, *c, *d],
        _ => [f64::NAN; 4],
    };
    if is.iter().zip(stated_2d).all(|(is, stated)| (is - stated).abs() <= ROOM_DEG) {
        return Found::new();
    }
    let message = format!("`bbox` says {stated:?}, the corners reach {is:?}");
    vec![Diagnostic::warning(&CODE, message).at(Place::File(file.file.clone()))]
}
