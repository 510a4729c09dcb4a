//! Classic inverse-distance weighting: a mean of all samples, or of the nearest few, weighted by 1/d^p.
//!
//! Clusters outvote lone samples and far samples always pull; the mesh method exists because of that.

use super::mesh_setting::Power;
use crate::cell_grid::Site;

/// Weights (not summing to 1) of all sites, or of the `nearest` few, but the hidden one; ascending by site.
///
/// Where several sites tie for the last place among the nearest, the first by (easting, northing) are taken.
pub(super) fn weights(
    sites: &[Site],
    at: Site,
    hidden: Option<u32>,
    power: Power,
    nearest: Option<usize>,
) -> Vec<(u32, f64)> {
    let d_m2 = |place: &Site| (at.east_m - place.east_m).powi(2) + (at.north_m - place.north_m).powi(2);
    let mut found: Vec<(u32, f64)> =
        (0u32..).zip(sites.iter().map(d_m2)).filter(|(site, _)| Some(*site) != hidden).collect();
    if let Some(nearest) = nearest.filter(|&nearest| nearest < found.len()) {
        found.select_nth_unstable_by(nearest, |a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
        found.truncate(nearest);
        found.sort_unstable_by_key(|(site, _)| *site);
    }
    for (_, w) in &mut found {
        *w = power.weight(*w);
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_few_are_taken_and_the_hidden_one_never() {
        let sites = [0.0, 10.0, 30.0].map(|east_m| Site { east_m, north_m: 0.0 });
        let at = Site { east_m: 8.0, north_m: 0.0 };
        let of = |hidden, nearest| weights(&sites, at, hidden, Power::P2, nearest);
        assert_eq!(of(None, Some(2)), [(0, 1.0 / 64.0), (1, 1.0 / 4.0)]);
        assert_eq!(of(Some(1), Some(2)), [(0, 1.0 / 64.0), (2, 1.0 / 484.0)]);
        assert_eq!(of(None, Some(9)), of(None, None));
    }
}
