//! Whether zones are worth having, by the samples.
//!
//! Zones cut from a smooth map always look good, even on noise. So each sample is predicted by the mean of the *other*
//! samples in the zone its hidden-sample map value falls in, and that is held against the mean of all other samples.

use super::k_means::KMeansFit;
use super::zone_map::{ZoneSettings, ZoneSpace};
use crate::soil_surface::SurfaceSet;

/// One number of zones.
#[derive(Debug, Clone, PartialEq)]
pub struct VerdictRow {
    /// Zones.
    pub count: usize,
    /// How much better than one rate for all the zones tell hidden samples, 0 = no better, 1 = perfectly; mean over the
    /// zoning variables. `None` where it cannot be told.
    pub efficiency: Option<f64>,
    /// Standard error of it.
    pub standard_error: Option<f64>,
    /// Variance of the first zoning variable (CEC where mapped) that the zones take out of the cells, percent.
    /// Shown, never deciding: it always rises with the number of zones.
    pub variance_reduction_percent: Option<f64>,
    /// Mean silhouette of the cells. Shown, never deciding.
    pub silhouette: Option<f64>,
    /// Calinski-Harabasz index of the cells. Shown, never deciding.
    pub calinski_harabasz: Option<f64>,
}

/// What the samples say about 1 to 6 zones.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// One row a number of zones.
    pub rows: Vec<VerdictRow>,
    /// Fewest zones within one standard error of the best; 1 when zones are no better than one rate.
    pub suggested: usize,
    /// Samples it rests on.
    pub n_samples: usize,
}

impl Verdict {
    /// Whether zones tell hidden samples better than one rate, by more than two standard errors.
    pub fn worth_zoning(&self) -> bool {
        self.suggested > 1
    }

    /// Whether zones are worth having; `None` where too few samples tell.
    pub fn told(&self) -> Option<bool> {
        self.rows.iter().skip(1).any(|row| row.efficiency.is_some()).then_some(self.worth_zoning())
    }

    /// The row of a number of zones.
    pub fn row(&self, count: usize) -> Option<&VerdictRow> {
        self.rows.iter().find(|row| row.count == count)
    }
}

/// Standard errors above 0 from which zones are worth having. The best of five counts is taken, which favors luck: with
/// one standard error 2 of 20 fields of dealt-out samples were called worth zoning, with two none (`tests/it/zones.rs`).
const WORTH_STANDARD_ERRORS: f64 = 2.0;
/// Fewest samples on which anything is said about zones.
const MIN_SAMPLES: usize = 5;

pub(super) fn judge(
    surfaces: &SurfaceSet,
    settings: &ZoneSettings,
    space: &ZoneSpace,
    fits: &[Option<KMeansFit>],
    order: &[f64],
) -> Verdict {
    let samples = hidden_samples(surfaces, settings);
    let mut rows = Vec::new();
    for (index, fit) in fits.iter().enumerate() {
        let Some(fit) = fit else { continue };
        let [variance_reduction_percent, silhouette, calinski_harabasz] =
            if index == 0 { [None; 3] } else { space.indices(&fit.labels, order) };
        let told = if samples.len() >= MIN_SAMPLES { efficiency(&samples, space, &fit.centers) } else { None };
        rows.push(VerdictRow {
            count: index + 1,
            efficiency: told.map(|told| told.0),
            standard_error: told.map(|told| told.1),
            variance_reduction_percent,
            silhouette,
            calinski_harabasz,
        });
    }
    let worth = |row: &&VerdictRow| {
        row.efficiency.zip(row.standard_error).is_some_and(|(e, se)| e > WORTH_STANDARD_ERRORS * se)
    };
    let best = rows
        .iter()
        .skip(1)
        .filter(worth)
        .max_by(|a, b| a.efficiency.partial_cmp(&b.efficiency).unwrap_or(std::cmp::Ordering::Equal));
    let suggested = best.map_or(1, |best| {
        let least = best.efficiency.unwrap_or(0.0) - best.standard_error.unwrap_or(0.0);
        rows.iter()
            .skip(1)
            .filter(worth)
            .find(|row| row.efficiency.is_some_and(|e| e >= least))
            .map_or(best.count, |row| row.count)
    });
    Verdict { rows, suggested, n_samples: samples.len() }
}

/// Measured and hidden-sample map values of the zoning variables at one place.
struct HiddenSample {
    measured: Vec<f64>,
    predicted: Vec<f64>,
}

fn hidden_samples(surfaces: &SurfaceSet, settings: &ZoneSettings) -> Vec<HiddenSample> {
    let qualities: Vec<_> = settings.from.iter().filter_map(|variable| surfaces.quality_of(*variable)).collect();
    let Some(first) = qualities.first() else { return Vec::new() };
    let at = |site: &crate::cell_grid::Site| {
        let mut sample = HiddenSample { measured: Vec::new(), predicted: Vec::new() };
        for quality in &qualities {
            let index = quality.sites.iter().position(|other| other == site)?;
            if quality.predicted[index].is_nan() {
                return None;
            }
            sample.measured.push(quality.measured[index]);
            sample.predicted.push(quality.predicted[index]);
        }
        Some(sample)
    };
    first.sites.iter().filter_map(at).collect()
}

/// Efficiency of zones at telling hidden samples, and its standard error.
fn efficiency(samples: &[HiddenSample], space: &ZoneSpace, centers: &[f64]) -> Option<(f64, f64)> {
    let n = samples.len();
    let zone_of: Vec<usize> = samples.iter().map(|s| space.nearest_center(&s.predicted, centers)).collect();
    let n_variables = space.means.len();
    let mut gains = vec![0.0; n];
    let mut n_varying = 0.0;
    for variable in 0..n_variables {
        let values: Vec<f64> = samples.iter().map(|s| s.measured[variable]).collect();
        let sum: f64 = values.iter().sum();
        let mean_of_others = |i: usize| (sum - values[i]) / (n as f64 - 1.0);
        let square_mean = (0..n).map(|i| (values[i] - mean_of_others(i)).powi(2)).sum::<f64>() / n as f64;
        if square_mean <= 0.0 {
            continue;
        }
        n_varying += 1.0;
        for i in 0..n {
            let others = (0..n).filter(|&j| j != i && zone_of[j] == zone_of[i]);
            let (count, zone_sum) = others.fold((0.0, 0.0), |(c, s), j| (c + 1.0, s + values[j]));
            // Alone in its zone: nothing but the field is left to go by.
            let guess = if count > 0.0 { zone_sum / count } else { mean_of_others(i) };
            gains[i] += ((values[i] - mean_of_others(i)).powi(2) - (values[i] - guess).powi(2)) / square_mean;
        }
    }
    if n_varying == 0.0 {
        return None;
    }
    gains.iter_mut().for_each(|gain| *gain /= n_varying);
    let mean = gains.iter().sum::<f64>() / n as f64;
    let variance = gains.iter().map(|gain| (gain - mean).powi(2)).sum::<f64>() / (n as f64 - 1.0);
    Some((mean, (variance / n as f64).sqrt()))
}
