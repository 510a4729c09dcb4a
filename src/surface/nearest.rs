//! Nearest sample: every place gets the value of the sample nearest to it.

use crate::cell_grid::Site;

/// The nearest site but the hidden one; of equals the one first by (easting, northing).
pub(super) fn weights(sites: &[Site], at: Site, hidden: Option<u32>) -> Vec<(u32, f64)> {
    let mut best = (u32::MAX, f64::INFINITY);
    for (site, place) in (0u32..).zip(sites) {
        let (de, dn) = (at.east_m - place.east_m, at.north_m - place.north_m);
        let d_m2 = de * de + dn * dn;
        if d_m2 < best.1 && Some(site) != hidden {
            best = (site, d_m2);
        }
    }
    vec![(best.0, 1.0)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearer_site_counts_and_the_first_of_equals() {
        let sites = [0.0, 10.0, 30.0].map(|east_m| Site { east_m, north_m: 0.0 });
        let at = |east_m| Site { east_m, north_m: 3.0 };
        assert_eq!(weights(&sites, at(21.0), None), [(2, 1.0)]);
        assert_eq!(weights(&sites, at(5.0), None), [(0, 1.0)]);
        assert_eq!(weights(&sites, at(5.0), Some(0)), [(1, 1.0)]);
    }
}
