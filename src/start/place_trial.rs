//! Finding the CRS of metric coordinates by where they come to lie.

use crate::boundary::FieldBoundary;
use crate::crs::InputCrs;

/// At least this share of the samples must fall inside the outline.
const LEAST_INSIDE_SHARE: f64 = 0.9;

/// Places nearer than this, in degrees, are one place: two datums of one continent lie a few meters apart.
const SAME_PLACE_DEG: f64 = 1e-4;

/// The first CRS of `candidates` under which the samples fall inside the outline, and how many do.
///
/// `None` when no candidate brings at least 90 % of them inside, or when two do at unlike places: then the user must say.
pub fn crs_by_trial(
    east: &[f64],
    north: &[f64],
    candidates: &[String],
    boundary: &FieldBoundary,
) -> Option<(String, usize)> {
    let mut fitting: Vec<(String, usize, (f64, f64))> = Vec::new();
    for name in candidates {
        let Some(crs) = InputCrs::from_text(name).ok().filter(|crs| !crs.is_geographic()) else { continue };
        let (mut xs, mut ys) = (east.to_vec(), north.to_vec());
        if crs.to_lon_lat(&mut xs, &mut ys).is_err() {
            continue;
        }
        let lon_lat: Vec<(f64, f64)> = xs.into_iter().zip(ys).collect();
        let sites = boundary.work_crs().all_to_local(&lon_lat);
        let n_inside = sites.into_iter().flatten().filter(|site| boundary.distance_outside_m(*site) <= 0.0).count();
        if n_inside as f64 >= LEAST_INSIDE_SHARE * east.len() as f64 && n_inside > 0 {
            fitting.push((name.clone(), n_inside, lon_lat[0]));
        }
    }
    let (name, n_inside, (lon, lat)) = fitting.first()?.clone();
    let is_same = |at: (f64, f64)| (at.0 - lon).abs() < SAME_PLACE_DEG && (at.1 - lat).abs() < SAME_PLACE_DEG;
    fitting.iter().all(|(_, _, at)| is_same(*at)).then_some((name, n_inside))
}
