//! Indices of how apart zones are, to be shown beside each number of zones.
//!
//! In: values of the field's cells and a zone label for each. Zones cut from a smooth surface score well even on pure
//! noise, so these indices never decide how many zones a field deserves.

use rayon::prelude::*;

use super::bounded_lloyd::d2;
use super::k_means::spread_rows;

/// Most rows the silhouette is taken over; its cost grows with their square.
const SILHOUETTE_ROWS: usize = 1_000;

/// Share of a variable's variance that goes away when the field is split into zones, percent.
///
/// `VR = 100 * (1 - sum(w_i * s_i^2) / s^2)`: `w_i` is a zone's share of the area (of the cells, all of one size),
/// `s_i^2` its population variance, `s^2` that of the field. 0: zones explain nothing; 100: no spread is left in them.
///
/// # Shape
/// One finite value and one label a cell; any labels.
///
/// # Returns
/// `None` if the field does not vary or has no cells.
///
/// # Panics
/// If there is not one label a cell.
///
/// # References
/// Ping & Dobermann (2003), "Creating spatially contiguous yield classes for site-specific management", Agron. J. 95.
pub fn variance_reduction_percent(values: &[f64], labels: &[u16]) -> Option<f64> {
    let Scatter { within, between, .. } = Scatter::of(values, 1, labels);
    let whole = within + between;
    (whole > 0.0).then(|| 100.0 * (1.0 - within / whole))
}

/// Calinski-Harabasz index: spread between zones over spread within, each by its degrees of freedom; higher is better.
///
/// `CH = (B / (k - 1)) / (W / (n - k))`: `B` sums the cells' squared distances of zone mean to field mean, `W` of cell
/// to zone mean, over `n` cells in `k` zones.
///
/// # Shape
/// `data[cell * n_vars + variable]`, finite and standardized; one label a cell, any labels.
///
/// # Returns
/// `None` with fewer than two zones, with as many zones as cells, or if the zones have no spread.
///
/// # Panics
/// If there is not one label a row of `n_vars`.
///
/// # References
/// Calinski & Harabasz (1974), "A dendrite method for cluster analysis", Commun. Stat. 3(1):1-27.
pub fn calinski_harabasz(data: &[f64], n_vars: usize, labels: &[u16]) -> Option<f64> {
    let Scatter { n_zones, within, between } = Scatter::of(data, n_vars, labels);
    let is_defined = n_zones >= 2 && n_zones < labels.len() && within > 0.0;
    is_defined.then(|| between / (n_zones as f64 - 1.0) / (within / (labels.len() - n_zones) as f64))
}

/// Mean silhouette, -1 to 1: how much nearer cells are to their own zone than to the next one.
///
/// `s = (b - a) / max(a, b)`: `a` is the mean distance of a cell to the other cells of its zone, `b` the least mean
/// distance to the cells of another zone. A cell alone in its zone counts 0. Above 1,000 cells it is taken over a
/// seeded sample of 1,000 spread evenly over the cells, distances among them only.
///
/// # Shape
/// `data[cell * n_vars + variable]`, finite and standardized; one label a cell, any labels.
///
/// # Returns
/// `None` with fewer than two zones (in the sample).
///
/// # Guarantees
/// The same seed gives the same bytes, for any number of threads; up to 1,000 cells the seed does not matter.
///
/// # Panics
/// If there is not one label a row of `n_vars`.
///
/// # References
/// Rousseeuw (1987), "Silhouettes: a graphical aid to the interpretation and validation of cluster analysis", J. Comput.
/// Appl. Math. 20:53-65.
pub fn silhouette_mean(data: &[f64], n_vars: usize, labels: &[u16], seed: u64) -> Option<f64> {
    assert_eq!(data.len(), labels.len() * n_vars, "one label a row");
    let rows = spread_rows(labels.len(), SILHOUETTE_ROWS, seed);
    let values = |row: usize| &data[row * n_vars..][..n_vars];
    let mut counts = vec![0usize; zone_slots(labels)];
    rows.iter().for_each(|&row| counts[usize::from(labels[row])] += 1);
    if counts.iter().filter(|&&count| count > 0).count() < 2 {
        return None;
    }
    let silhouette_of = |&row: &usize| {
        let own = usize::from(labels[row]);
        if counts[own] == 1 {
            return 0.0;
        }
        let mut sums = vec![0.0; counts.len()];
        for &other in &rows {
            sums[usize::from(labels[other])] += d2(values(row), values(other)).sqrt();
        }
        let a = sums[own] / (counts[own] - 1) as f64; // its distance to itself is 0
        let others = sums.iter().zip(&counts).enumerate().filter(|&(zone, (_, &count))| zone != own && count > 0);
        let b = others.map(|(_, (sum, &count))| sum / count as f64).fold(f64::INFINITY, f64::min);
        if a == b { 0.0 } else { (b - a) / a.max(b) }
    };
    let silhouettes: Vec<f64> = rows.par_iter().map(silhouette_of).collect();
    Some(silhouettes.iter().sum::<f64>() / rows.len() as f64)
}

/// Length of a table indexed by label.
fn zone_slots(labels: &[u16]) -> usize {
    labels.iter().max().map_or(0, |&highest| usize::from(highest) + 1)
}

/// Sums of squares within zones and between them; together those of the whole field.
struct Scatter {
    n_zones: usize,
    within: f64,
    between: f64,
}

impl Scatter {
    fn of(data: &[f64], n_vars: usize, labels: &[u16]) -> Self {
        assert_eq!(data.len(), labels.len() * n_vars, "one label a row");
        let mut counts = vec![0usize; zone_slots(labels)];
        let mut means = vec![0.0; counts.len() * n_vars]; // sums until divided
        let mut field_mean = vec![0.0; n_vars];
        for (row, &label) in data.chunks_exact(n_vars).zip(labels) {
            counts[usize::from(label)] += 1;
            let zone = &mut means[usize::from(label) * n_vars..][..n_vars];
            for ((zone, field), value) in zone.iter_mut().zip(&mut field_mean).zip(row) {
                *zone += value;
                *field += value;
            }
        }
        field_mean.iter_mut().for_each(|sum| *sum /= labels.len() as f64);
        for (zone, &count) in means.chunks_exact_mut(n_vars).zip(&counts) {
            zone.iter_mut().for_each(|sum| *sum /= count.max(1) as f64);
        }
        let mean_of = |zone: usize| &means[zone * n_vars..][..n_vars];
        let rows = data.chunks_exact(n_vars).zip(labels);
        let within = rows.map(|(row, &label)| d2(row, mean_of(usize::from(label)))).sum();
        let zones = counts.iter().enumerate().filter(|&(_, &count)| count > 0);
        let between = zones.clone().map(|(zone, &count)| count as f64 * d2(mean_of(zone), &field_mean)).sum();
        Scatter { n_zones: zones.count(), within, between }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const VALUES: [f64; 6] = [2.0, 3.0, 4.0, 10.0, 12.0, 14.0];
    const LABELS: [u16; 6] = [1, 1, 1, 2, 2, 2];

    /// Within: 2 + 8; field mean 7.5, whole 131.5; so VR = 100 * 121.5 / 131.5 and CH = 121.5 / (10 / 4).
    #[test]
    fn hand_case_of_two_zones() {
        let vr = variance_reduction_percent(&VALUES, &LABELS).unwrap();
        assert!((vr - 100.0 * 121.5 / 131.5).abs() < 1e-12, "{vr}");
        let ch = calinski_harabasz(&VALUES, 1, &LABELS).unwrap();
        assert!((ch - 48.6).abs() < 1e-12, "{ch}");
        // a: 1.5, 1, 1.5 | 3, 2, 3; b: 10, 9, 8 | 7, 9, 11.
        let by_hand = (8.5 / 10.0 + 8.0 / 9.0 + 6.5 / 8.0 + 4.0 / 7.0 + 7.0 / 9.0 + 8.0 / 11.0) / 6.0;
        let silhouette = silhouette_mean(&VALUES, 1, &LABELS, 1).unwrap();
        assert!((silhouette - by_hand).abs() < 1e-12, "{silhouette}");
        assert!((silhouette - 0.771).abs() < 0.001, "{silhouette}");
    }

    #[test]
    fn row_order_and_zone_numbers_change_nothing() {
        let values: Vec<f64> = VALUES.iter().rev().copied().collect();
        let labels = [7, 7, 7, 0, 0, 0];
        let close = |a: Option<f64>, b: Option<f64>| (a.unwrap() - b.unwrap()).abs() < 1e-12;
        assert!(close(variance_reduction_percent(&values, &labels), variance_reduction_percent(&VALUES, &LABELS)));
        assert!(close(calinski_harabasz(&values, 1, &labels), calinski_harabasz(&VALUES, 1, &LABELS)));
        assert!(close(silhouette_mean(&values, 1, &labels, 1), silhouette_mean(&VALUES, 1, &LABELS, 2)));
    }

    #[test]
    fn what_is_not_defined_is_none() {
        assert_eq!(variance_reduction_percent(&[], &[]), None);
        assert_eq!(variance_reduction_percent(&[5.0; 6], &LABELS), None);
        assert_eq!(calinski_harabasz(&VALUES, 1, &[1; 6]), None);
        assert_eq!(calinski_harabasz(&VALUES, 1, &[1, 2, 3, 4, 5, 6]), None);
        assert_eq!(calinski_harabasz(&[1.0, 1.0, 2.0], 1, &[1, 1, 2]), None);
        assert_eq!(silhouette_mean(&VALUES, 1, &[1; 6], 1), None);
        assert_eq!(silhouette_mean(&[], 1, &[], 1), None);
    }

    #[test]
    fn a_cell_alone_in_its_zone_counts_0() {
        // Cells 0 and 1 in zone 1, 10 alone: s = 9 / 10 and 8 / 9 and 0... with b = 10 and 9, a = 1.
        let silhouette = silhouette_mean(&[0.0, 1.0, 10.0], 1, &[1, 1, 2], 1).unwrap();
        assert!((silhouette - (0.9 + 8.0 / 9.0) / 3.0).abs() < 1e-12, "{silhouette}");
        assert_eq!(silhouette_mean(&[3.0; 4], 1, &[1, 1, 2, 2], 1), Some(0.0));
    }

    /// Two equal halves on a line, far more cells than are sampled: the sample must come close to the whole.
    #[test]
    fn a_sample_stands_for_many_cells() {
        let n = 5_000usize;
        let values: Vec<f64> =
            (0..n).map(|cell| cell as f64 / n as f64 + if cell < n / 2 { 0.0 } else { 2.0 }).collect();
        let labels: Vec<u16> = (0..n).map(|cell| u16::from(cell >= n / 2)).collect();
        let sampled = silhouette_mean(&values, 1, &labels, 1).unwrap();
        assert_eq!(Some(sampled), silhouette_mean(&values, 1, &labels, 1));
        assert_ne!(Some(sampled), silhouette_mean(&values, 1, &labels, 2));
        // Every fifth cell of the same two halves, taken in full.
        let every_fifth: Vec<f64> = values.iter().step_by(5).copied().collect();
        let its_labels: Vec<u16> = labels.iter().step_by(5).copied().collect();
        let whole = silhouette_mean(&every_fifth, 1, &its_labels, 1).unwrap();
        assert!((sampled - whole).abs() < 0.002, "{sampled} {whole}");
    }
}
