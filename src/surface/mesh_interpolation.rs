//! Inverse-distance weighting over a Delaunay mesh, at one place.
//!
//! For a place `x` in a cell with corners `v`: `value(x) = sum lambda_v(x) * F_v(x)`, where `F_v(x)` is the
//! inverse-distance weighted mean, at `x`, of the samples within `rings` mesh edges of `v`. On a side of a cell only its
//! two ends count, so the surface is continuous; at a sample it is the sample's value.

use super::gradient::slopes;
use super::mesh_setting::MeshSetting;
use crate::cell_grid::Site;
use crate::mesh::{Mesh, Position, SiteLists};

/// Samples' values on a mesh, ready to be asked for values anywhere.
///
/// # Guarantees
/// - exact at the samples
/// - a constant stays that constant
/// - never leaves the range of the samples used
/// - continuous everywhere, across cell sides and the hull too
/// - shifting, scaling or re-ordering the samples changes nothing but rounding
///
/// # Limits
/// No smooth first derivative. Beyond the hull the two ends of the nearest hull edge speak: `extrapolated` says so.
#[derive(Debug, Clone)]
pub struct MeshInterpolation<'a> {
    pub(super) mesh: &'a Mesh,
    pub(super) setting: MeshSetting,
    /// `values[variable][site]`
    pub(super) values: Vec<&'a [f64]>,
    /// `neighborhoods[site]`, ascending
    pub(super) neighborhoods: SiteLists,
    /// `slopes[site][variable]`, empty without trend
    pub(super) slopes: Vec<Vec<[f64; 2]>>,
}

impl<'a> MeshInterpolation<'a> {
    /// Prepares neighborhoods and slopes.
    ///
    /// # Shape
    /// `values[variable][site]`, sites as in `mesh.sites()`.
    ///
    /// # Panics
    /// If a variable has not one value a site.
    pub fn new(mesh: &'a Mesh, setting: MeshSetting, values: Vec<&'a [f64]>) -> Self {
        let n_sites = mesh.sites().len() as u32;
        assert!(values.iter().all(|v| v.len() == n_sites as usize), "one value a site");
        let neighborhoods = mesh.neighborhoods(setting.rings);
        let slopes = if setting.trend_share > 0.0 {
            (0..n_sites).map(|site| slopes(site, mesh.neighbors(site), mesh.sites(), &values)).collect()
        } else {
            Vec::new()
        };
        MeshInterpolation { mesh, setting, values, neighborhoods, slopes }
    }

    /// Values of all variables at a place, and whether it lies beyond the outermost samples.
    pub fn at(&self, at: Site) -> (Vec<f64>, bool) {
        let Position { shares, extrapolated } = self.mesh.position(at);
        let mut result = vec![0.0; self.values.len()];
        for (corner, share) in shares {
            for (variable, total) in result.iter_mut().enumerate() {
                *total += share * self.mean_at(corner, at, variable);
            }
        }
        (result, extrapolated)
    }

    /// `F_v(x)`: the weighted mean of a corner's neighborhood at a place.
    pub(super) fn mean_at(&self, corner: u32, at: Site, variable: usize) -> f64 {
        let (mut sum_w, mut sum_wz) = (0.0, 0.0);
        let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
        for &site in self.neighborhoods.get(corner as usize) {
            let from = self.mesh.sites()[site as usize];
            let (de, dn) = (at.east_m - from.east_m, at.north_m - from.north_m);
            let w = self.setting.power.weight(de * de + dn * dn);
            let z = self.values[variable][site as usize];
            least = least.min(z);
            most = most.max(z);
            let carried = match self.slopes.get(site as usize) {
                Some(slope) => self.setting.trend_share * (slope[variable][0] * de + slope[variable][1] * dn),
                None => 0.0,
            };
            sum_w += w;
            sum_wz += w * (z + carried);
        }
        (sum_wz / sum_w).clamp(least, most)
    }
}
