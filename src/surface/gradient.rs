//! The slope a sample carries: a damped least-squares plane through its mesh neighbors.

use crate::cell_grid::Site;

/// Damping of the normal matrix, as a share of half its trace. Source: tried on open data, `docs/method.md`.
const DAMPING: f64 = 0.3;

/// Slope at a site, value unit per meter east and per meter north, for each variable.
///
/// Weighted least squares over the mesh neighbors, weights 1/d^2 normalised to 1:
/// `A = sum w D D^T + 0.3 * trace/2 * I`, `b = sum w D (z - z_j)`, slope `A^-1 b`.
///
/// # Shape
/// `variables[v][site]`; returns one `[east, north]` a variable.
pub(super) fn slopes(site: u32, neighbors: &[u32], sites: &[Site], variables: &[&[f64]]) -> Vec<[f64; 2]> {
    let at = sites[site as usize];
    let mut total = 0.0;
    let (mut a_ee, mut a_en, mut a_nn) = (0.0, 0.0, 0.0);
    for &other in neighbors {
        let (de, dn) = offset(at, sites[other as usize]);
        // With weight 1/d^2 each product w D D^T is that of the unit vector.
        let w = 1.0 / (de * de + dn * dn);
        total += w;
        a_ee += w * de * de;
        a_en += w * de * dn;
        a_nn += w * dn * dn;
    }
    if total == 0.0 {
        return vec![[0.0; 2]; variables.len()];
    }
    let (mut a_ee, a_en, mut a_nn) = (a_ee / total, a_en / total, a_nn / total);
    let damping = DAMPING * (a_ee + a_nn) / 2.0;
    a_ee += damping;
    a_nn += damping;
    let determinant = a_ee * a_nn - a_en * a_en;
    variables
        .iter()
        .map(|values| {
            let (mut b_e, mut b_n) = (0.0, 0.0);
            for &other in neighbors {
                let (de, dn) = offset(at, sites[other as usize]);
                let w = 1.0 / ((de * de + dn * dn) * total);
                let rise = values[other as usize] - values[site as usize];
                b_e += w * de * rise;
                b_n += w * dn * rise;
            }
            [(a_nn * b_e - a_en * b_n) / determinant, (a_ee * b_n - a_en * b_e) / determinant]
        })
        .collect()
}

fn offset(from: Site, to: Site) -> (f64, f64) {
    (to.east_m - from.east_m, to.north_m - from.north_m)
}
