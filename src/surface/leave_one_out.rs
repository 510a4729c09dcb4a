//! Each sample hidden in turn: what the mesh method says of it, for all 60 settings in one pass.

use rayon::prelude::*;

use super::gradient::slopes;
use super::mesh_setting::{MeshSetting, Power};
use crate::mesh::{Mesh, ReducedMesh};

/// Sites hidden one after the other on one copy of the mesh. Fixed, so that results do not depend on the threads.
pub(super) const SITES_A_COPY: usize = 64;
/// Above this many sites only every n-th is hidden, so that about this many are.
const MAX_HIDDEN: usize = 5_000;
/// Below this many sites no setting is chosen.
const MIN_SITES_TO_TUNE: usize = 10;

/// Predictions of hidden samples.
#[derive(Debug, Clone)]
pub struct LeaveOneOut {
    /// The settings tried, plainest first.
    pub settings: Vec<MeshSetting>,
    /// Sites that were hidden, ascending.
    pub hidden: Vec<u32>,
    /// `predictions[setting][variable][i]` for site `hidden[i]`; NaN where the other sites lie on one line.
    pub predictions: Vec<Vec<Vec<f64>>>,
}

/// Hides each site in turn and predicts it from the others, with the mesh as it would have been without it.
///
/// # Shape
/// `values[variable][site]`; see [`LeaveOneOut`].
///
/// # Guarantees
/// The same as laying the mesh anew without the site, to rounding; the same for any number of threads.
pub fn leave_one_out(mesh: &Mesh, values: &[&[f64]], settings: Vec<MeshSetting>) -> LeaveOneOut {
    let n_sites = mesh.sites().len();
    let hidden = hidden_sites(n_sites);
    let with_trend = settings.iter().any(|s| s.trend_share > 0.0);
    let full_slopes: Vec<Slopes> = if with_trend {
        (0..n_sites as u32).map(|site| slopes(site, mesh.neighbors(site), mesh.sites(), values)).collect()
    } else {
        Vec::new()
    };
    let pass = OnePass { mesh, values, settings: &settings, full_slopes: &full_slopes };
    // results[i][setting * n_variables + variable]
    let results: Vec<Vec<f64>> = hidden
        .par_chunks(SITES_A_COPY)
        .map(|chunk| mesh.hiding_each(chunk, |site, reduced| pass.predict(site, reduced)))
        .collect::<Vec<_>>()
        .concat();
    let n_variables = values.len();
    let predictions = (0..settings.len())
        .map(|s| (0..n_variables).map(|v| results.iter().map(|r| r[s * n_variables + v]).collect()).collect())
        .collect();
    LeaveOneOut { settings, hidden, predictions }
}

/// The sites that are hidden in turn: all of them, above 5,000 every n-th.
pub(super) fn hidden_sites(n_sites: usize) -> Vec<u32> {
    (0..n_sites as u32).step_by(n_sites.div_ceil(MAX_HIDDEN)).collect()
}

/// The setting for a group of variables that must share one, chosen by hiding each sample in turn.
///
/// [`MeshSetting::PLAIN`] below ten sites: too few to tell settings apart.
///
/// # Shape
/// `values[variable][site]`.
pub fn tuned_setting(mesh: &Mesh, values: &[&[f64]]) -> MeshSetting {
    if mesh.sites().len() < MIN_SITES_TO_TUNE {
        return MeshSetting::PLAIN;
    }
    let left = leave_one_out(mesh, values, MeshSetting::all_plainest_first());
    let (chosen, _) = choose_setting(&left, values);
    left.settings[chosen]
}

struct OnePass<'a> {
    mesh: &'a Mesh,
    values: &'a [&'a [f64]],
    settings: &'a [MeshSetting],
    full_slopes: &'a [Slopes],
}

/// `[east, north]` a variable.
type Slopes = Vec<[f64; 2]>;

/// Running sums of one neighborhood for one power: weight, weighted value and weighted carried slope a variable.
#[derive(Clone)]
struct Sums {
    w: f64,
    wz: Vec<f64>,
    wg: Vec<f64>,
}

impl OnePass<'_> {
    fn predict(&self, hidden: u32, reduced: Option<ReducedMesh<'_>>) -> Vec<f64> {
        let n_variables = self.values.len();
        let mut result = vec![0.0; self.settings.len() * n_variables];
        let Some(reduced) = reduced else { return vec![f64::NAN; result.len()] };
        let at = self.mesh.sites()[hidden as usize];
        let max_rings = self.settings.iter().map(|s| s.rings).max().unwrap_or(1);
        let mut known_slopes: Vec<Option<Slopes>> = vec![None; reduced.touched().len()];
        for (corner, share) in reduced.position(at).shares {
            let (members, reach) = reduced.by_ring(corner, max_rings);
            let mut sums =
                vec![Sums { w: 0.0, wz: vec![0.0; n_variables], wg: vec![0.0; n_variables] }; Power::ALL.len()];
            let mut least = vec![f64::INFINITY; n_variables];
            let mut most = vec![f64::NEG_INFINITY; n_variables];
            let mut start = 1; // ring 0 is taken with ring 1
            for rings in 1..=max_rings {
                let from = if start == 1 { 0 } else { start };
                for &site in &members[from..reach[rings]] {
                    let place = self.mesh.sites()[site as usize];
                    let (de, dn) = (at.east_m - place.east_m, at.north_m - place.north_m);
                    let weights = Power::ALL.map(|power| power.weight(de * de + dn * dn));
                    let slope = self.slope(site, &reduced, &mut known_slopes);
                    for variable in 0..n_variables {
                        let z = self.values[variable][site as usize];
                        least[variable] = least[variable].min(z);
                        most[variable] = most[variable].max(z);
                        let carried = slope.map_or(0.0, |g| g[variable][0] * de + g[variable][1] * dn);
                        for (sum, w) in sums.iter_mut().zip(weights) {
                            sum.wz[variable] += w * z;
                            sum.wg[variable] += w * carried;
                        }
                    }
                    for (sum, w) in sums.iter_mut().zip(weights) {
                        sum.w += w;
                    }
                }
                start = reach[rings];
                for (index, setting) in self.settings.iter().enumerate().filter(|(_, s)| s.rings == rings) {
                    let sum = &sums[setting.power as usize];
                    for variable in 0..n_variables {
                        let value = (sum.wz[variable] + setting.trend_share * sum.wg[variable]) / sum.w;
                        result[index * n_variables + variable] += share * value.clamp(least[variable], most[variable]);
                    }
                }
            }
        }
        result
    }

    /// Slopes of the touched sites are found anew, and only where their neighbors did change.
    fn slope<'m>(
        &'m self,
        site: u32,
        reduced: &ReducedMesh<'_>,
        known: &'m mut [Option<Slopes>],
    ) -> Option<&'m Slopes> {
        if self.full_slopes.is_empty() {
            return None;
        }
        match reduced.touched().binary_search(&site) {
            Ok(index) if reduced.neighbors(site) != self.mesh.neighbors(site) => {
                let anew = || slopes(site, reduced.neighbors(site), self.mesh.sites(), self.values);
                Some(known[index].get_or_insert_with(anew))
            }
            _ => Some(&self.full_slopes[site as usize]),
        }
    }
}

/// Leave-one-out mean of the other values, one a hidden site.
pub fn leave_one_out_mean(values: &[f64], hidden: &[u32]) -> Vec<f64> {
    let sum: f64 = values.iter().sum();
    let n_others = values.len() as f64 - 1.0;
    hidden.iter().map(|&site| (sum - values[site as usize]) / n_others).collect()
}

/// A map's miss against the leave-one-out field mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MapError {
    /// Samples hidden and predicted.
    pub n: usize,
    /// Mean of predicted minus measured.
    pub error_mean: f64,
    /// Mean absolute miss.
    pub error_mae: f64,
    /// Root mean square miss of the map.
    pub error_rmse: f64,
    /// Root mean square miss of the mean of the other samples.
    pub mean_rmse: f64,
}

impl MapError {
    /// `None` when nothing could be predicted.
    ///
    /// # Shape
    /// `predicted[i]` is for site `hidden[i]`; NaN is left out on both sides.
    pub fn of(values: &[f64], hidden: &[u32], predicted: &[f64]) -> Option<Self> {
        let means = leave_one_out_mean(values, hidden);
        let mut n = 0;
        let (mut sum, mut abs, mut square, mut square_mean) = (0.0, 0.0, 0.0, 0.0);
        for ((&site, &guess), mean) in hidden.iter().zip(predicted).zip(means) {
            if guess.is_nan() {
                continue;
            }
            let miss = guess - values[site as usize];
            n += 1;
            sum += miss;
            abs += miss.abs();
            square += miss * miss;
            square_mean += (mean - values[site as usize]).powi(2);
        }
        let count = n as f64;
        (n > 0).then(|| MapError {
            n,
            error_mean: sum / count,
            error_mae: abs / count,
            error_rmse: (square / count).sqrt(),
            mean_rmse: (square_mean / count).sqrt(),
        })
    }

    /// Prediction efficiency, percent: `100 * (MSE_mean - MSE_map) / MSE_mean`; 0 or less means the map is no better than
    /// the field mean. `None` where all samples are alike.
    ///
    /// Source: definition as in agronomy texts on map quality \[M\]; check: MSE 400 and 320 give 20 %.
    pub fn prediction_efficiency_percent(&self) -> Option<f64> {
        let (map, mean) = (self.error_rmse.powi(2), self.mean_rmse.powi(2));
        (mean > 0.0).then(|| 100.0 * (mean - map) / mean)
    }
}

/// The setting to use for a group of variables that must share one: the plainest within one standard error of the best.
///
/// Score of a setting = mean over the group of RMSE / RMSE of the leave-one-out mean. The standard error is that of the
/// best setting's score, from the spread of its squared misses over the samples (delta method for the root).
///
/// Returns the index into `left.settings` and each setting's score (NaN where no variable varies).
pub fn choose_setting(left: &LeaveOneOut, values: &[&[f64]]) -> (usize, Vec<f64>) {
    let varying: Vec<(usize, f64)> = values
        .iter()
        .enumerate()
        .filter_map(|(variable, v)| {
            let error = MapError::of(v, &left.hidden, &leave_one_out_mean(v, &left.hidden))?;
            (error.mean_rmse > 0.0).then_some((variable, error.mean_rmse))
        })
        .collect();
    if varying.is_empty() {
        return (0, vec![f64::NAN; left.settings.len()]);
    }
    let score = |setting: usize| {
        let ratios = varying.iter().filter_map(|&(variable, mean_rmse)| {
            let error = MapError::of(values[variable], &left.hidden, &left.predictions[setting][variable])?;
            Some(error.error_rmse / mean_rmse)
        });
        ratios.sum::<f64>() / varying.len() as f64
    };
    let scores: Vec<f64> = (0..left.settings.len()).map(score).collect();
    let best = (0..scores.len()).min_by(|&a, &b| scores[a].total_cmp(&scores[b])).unwrap_or(0);
    let losses: Vec<f64> = left
        .hidden
        .iter()
        .enumerate()
        .map(|(i, &site)| {
            let of_variable = |&(variable, mean_rmse): &(usize, f64)| {
                let miss = left.predictions[best][variable][i] - values[variable][site as usize];
                (miss / mean_rmse).powi(2)
            };
            varying.iter().map(of_variable).sum::<f64>() / varying.len() as f64
        })
        .filter(|loss| !loss.is_nan())
        .collect();
    let n = losses.len() as f64;
    let mean = losses.iter().sum::<f64>() / n;
    let variance = losses.iter().map(|loss| (loss - mean).powi(2)).sum::<f64>() / (n - 1.0).max(1.0);
    let standard_error = if mean > 0.0 { (variance / n).sqrt() / (2.0 * mean.sqrt()) } else { 0.0 };
    let chosen = (0..scores.len()).find(|&s| scores[s] <= scores[best] + standard_error).unwrap_or(best);
    (chosen, scores)
}
