//! Lloyd's algorithm from given centers, the inner part of [`super::k_means`].

use rayon::prelude::*;

use super::k_means::KMeansFit;

/// Rows summed as one piece; fixed, so that sums do not depend on how the work is shared out.
const CHUNK_ROWS: usize = 4096;
/// Lloyd's algorithm with bounds on distances, so that most rows need no distance in most rounds: Hamerly (2010),
/// "Making k-means even faster", SIAM Int. Conf. Data Mining:130-140.
///
/// Bounds and running sums only save work: a result counts as converged after a round that looked at every row and
/// summed anew.
pub(super) fn run_lloyd(data: &[f64], n_vars: usize, mut centers: Vec<f64>, max_iter: usize) -> KMeansFit {
    let (n_rows, k) = (data.len() / n_vars, centers.len() / n_vars);
    let mut labels = vec![0u16; n_rows];
    let mut bounds = vec![UNKNOWN; n_rows];
    let mut totals = GroupSums::zero(k, n_vars);
    let mut shifts = Shifts::between(&centers, &centers, n_vars);
    let mut n_iter = 0;
    let mut rests = true;
    let mut converged = false;
    while n_iter < max_iter && !converged {
        n_iter += 1;
        let looks_at_all = rests;
        if looks_at_all {
            label_all(data, &centers, &mut labels, &mut bounds, n_vars);
            totals = GroupSums::of(data, &labels, k, n_vars);
        } else {
            totals.add(&relabel(data, &centers, &shifts, &mut labels, &mut bounds, n_vars));
        }
        if totals.counts.contains(&0.0) {
            fill_empty_groups(data, &centers, &mut labels, &mut bounds, &mut totals.counts);
            totals = GroupSums::of(data, &labels, k, n_vars);
        }
        let means = totals.means();
        rests = means == centers;
        converged = rests && looks_at_all;
        shifts = Shifts::between(&centers, &means, n_vars);
        centers = means;
    }
    if !converged {
        centers = GroupSums::of(data, &labels, k, n_vars).means();
    }
    let sse = sum_of_squares(data, &labels, &centers, n_vars);
    KMeansFit { labels, centers, sse, n_iter, converged }
}

/// Squared distance of two rows. Three variables, the usual number, are written out: the loop takes twice as long.
pub(super) fn d2(a: &[f64], b: &[f64]) -> f64 {
    match (a, b) {
        ([a0, a1, a2], [b0, b1, b2]) => (a0 - b0) * (a0 - b0) + (a1 - b1) * (a1 - b1) + (a2 - b2) * (a2 - b2),
        _ => a.iter().zip(b).map(|(a, b)| (a - b) * (a - b)).sum(),
    }
}

/// What is known of a row's distances without looking.
#[derive(Clone, Copy)]
struct Bounds {
    /// The own center is at most this far.
    own: f64,
    /// Every other center is at least this far.
    other: f64,
}

const UNKNOWN: Bounds = Bounds { own: f64::INFINITY, other: 0.0 };

/// Room for rounding in the bounds; a closer call is looked at.
const BOUND_MARGIN: f64 = 1.0 + 1e-9;

/// How centers moved in a round, and how far apart they are now.
struct Shifts {
    /// Of each center.
    by_center: Vec<f64>,
    /// The largest over all other centers.
    most_of_others: Vec<f64>,
    /// Half the distance to the nearest other center: a row nearer than this to its own has no nearer one.
    half_gap: Vec<f64>,
}

impl Shifts {
    fn between(before: &[f64], after: &[f64], n_vars: usize) -> Self {
        let by_center: Vec<f64> =
            before.chunks_exact(n_vars).zip(after.chunks_exact(n_vars)).map(|(a, b)| d2(a, b).sqrt()).collect();
        let (mut most, mut second, mut most_at) = (0.0, 0.0, 0);
        for (center, &shift) in by_center.iter().enumerate() {
            if shift > most {
                (most, second, most_at) = (shift, most, center);
            } else if shift > second {
                second = shift;
            }
        }
        let most_of_others = (0..by_center.len()).map(|center| if center == most_at { second } else { most }).collect();
        let half_gap = (0..by_center.len()).map(|center| {
            let own = &after[center * n_vars..][..n_vars];
            let others = after.chunks_exact(n_vars).enumerate().filter(|&(other, _)| other != center);
            others.map(|(_, other)| d2(own, other)).fold(f64::INFINITY, f64::min).sqrt() / 2.0
        });
        Shifts { half_gap: half_gap.collect(), by_center, most_of_others }
    }
}

/// The nearest center (ties: the first), its distance and that of the next.
fn nearest_center(row: &[f64], centers: &[f64]) -> (u16, Bounds) {
    let (mut nearest, mut least, mut next) = (0, f64::INFINITY, f64::INFINITY);
    for (label, center) in (0u16..).zip(centers.chunks_exact(row.len())) {
        let d2 = d2(row, center);
        if d2 < least {
            (nearest, least, next) = (label, d2, least);
        } else if d2 < next {
            next = d2;
        }
    }
    (nearest, Bounds { own: least.sqrt(), other: next.sqrt() })
}

fn label_all(data: &[f64], centers: &[f64], labels: &mut [u16], bounds: &mut [Bounds], n_vars: usize) {
    let chunks = data.par_chunks(CHUNK_ROWS * n_vars).zip(labels.par_chunks_mut(CHUNK_ROWS));
    chunks.zip(bounds.par_chunks_mut(CHUNK_ROWS)).for_each(|((data, labels), bounds)| {
        for ((row, label), bounds) in data.chunks_exact(n_vars).zip(labels).zip(bounds) {
            (*label, *bounds) = nearest_center(row, centers);
        }
    });
}

/// Looks only at rows whose bounds leave a doubt; returns what their moves add to the sums.
fn relabel(
    data: &[f64],
    centers: &[f64],
    shifts: &Shifts,
    labels: &mut [u16],
    bounds: &mut [Bounds],
    n_vars: usize,
) -> GroupSums {
    let k = shifts.half_gap.len();
    let chunks = data.par_chunks(CHUNK_ROWS * n_vars).zip(labels.par_chunks_mut(CHUNK_ROWS));
    let parts = chunks.zip(bounds.par_chunks_mut(CHUNK_ROWS)).map(|((data, labels), bounds)| {
        let mut moves = GroupSums::zero(k, n_vars);
        for (index, (label, bounds)) in labels.iter_mut().zip(bounds).enumerate() {
            let group = usize::from(*label);
            bounds.own += shifts.by_center[group];
            bounds.other -= shifts.most_of_others[group];
            let safe = bounds.other.max(shifts.half_gap[group]);
            if bounds.own * BOUND_MARGIN < safe {
                continue;
            }
            let row = &data[index * n_vars..][..n_vars];
            bounds.own = d2(row, &centers[group * n_vars..][..n_vars]).sqrt();
            if bounds.own * BOUND_MARGIN < safe {
                continue;
            }
            let nearest;
            (nearest, *bounds) = nearest_center(row, centers);
            if nearest != *label {
                moves.add_row(group, row, -1.0);
                moves.add_row(usize::from(nearest), row, 1.0);
                *label = nearest;
            }
        }
        moves
    });
    GroupSums::in_row_order(parts.collect(), k, n_vars)
}

/// Gives each empty group the row farthest from its own center, as [`super::k_means::lloyd`] states.
fn fill_empty_groups(data: &[f64], centers: &[f64], labels: &mut [u16], bounds: &mut [Bounds], counts: &mut [f64]) {
    let n_vars = data.len() / labels.len();
    for empty in 0..counts.len() {
        if counts[empty] > 0.0 {
            continue;
        }
        let mut farthest: Option<(usize, f64)> = None;
        for (row, values) in data.chunks_exact(n_vars).enumerate() {
            let group = usize::from(labels[row]);
            let d2 = d2(values, &centers[group * n_vars..][..n_vars]);
            if counts[group] > 1.0 && farthest.is_none_or(|(_, most)| d2 > most) {
                farthest = Some((row, d2));
            }
        }
        // With no more groups than rows, an empty group means that another has two rows.
        if let Some((row, _)) = farthest {
            counts[usize::from(labels[row])] -= 1.0;
            counts[empty] = 1.0;
            labels[row] = empty as u16;
            bounds[row] = UNKNOWN;
        }
    }
}

/// Rows and sums of each group; counts are whole numbers.
struct GroupSums {
    counts: Vec<f64>,
    sums: Vec<f64>,
}

impl GroupSums {
    fn zero(k: usize, n_vars: usize) -> Self {
        GroupSums { counts: vec![0.0; k], sums: vec![0.0; k * n_vars] }
    }

    fn of(data: &[f64], labels: &[u16], k: usize, n_vars: usize) -> Self {
        let chunks = data.par_chunks(CHUNK_ROWS * n_vars).zip(labels.par_chunks(CHUNK_ROWS));
        let parts = chunks.map(|(data, labels)| {
            let mut part = GroupSums::zero(k, n_vars);
            for (row, &label) in data.chunks_exact(n_vars).zip(labels) {
                part.add_row(usize::from(label), row, 1.0);
            }
            part
        });
        GroupSums::in_row_order(parts.collect(), k, n_vars)
    }

    fn in_row_order(parts: Vec<GroupSums>, k: usize, n_vars: usize) -> Self {
        let mut totals = GroupSums::zero(k, n_vars);
        parts.iter().for_each(|part| totals.add(part));
        totals
    }

    fn add(&mut self, other: &GroupSums) {
        self.counts.iter_mut().zip(&other.counts).for_each(|(total, count)| *total += count);
        self.sums.iter_mut().zip(&other.sums).for_each(|(total, sum)| *total += sum);
    }

    fn add_row(&mut self, group: usize, row: &[f64], times: f64) {
        self.counts[group] += times;
        for (sum, value) in self.sums[group * row.len()..].iter_mut().zip(row) {
            *sum += times * value;
        }
    }

    fn means(&self) -> Vec<f64> {
        let n_vars = self.sums.len() / self.counts.len();
        let groups = self.sums.chunks_exact(n_vars).zip(&self.counts);
        groups.flat_map(|(sums, &count)| sums.iter().map(move |sum| sum / count)).collect()
    }
}

/// Sum of squared distances to the own centers.
fn sum_of_squares(data: &[f64], labels: &[u16], centers: &[f64], n_vars: usize) -> f64 {
    let chunks = data.par_chunks(CHUNK_ROWS * n_vars).zip(labels.par_chunks(CHUNK_ROWS));
    let parts: Vec<f64> = chunks
        .map(|(data, labels)| {
            let rows = data.chunks_exact(n_vars).zip(labels);
            rows.map(|(row, &label)| d2(row, &centers[usize::from(label) * n_vars..][..n_vars])).sum()
        })
        .collect();
    parts.iter().sum()
}

#[cfg(test)]
mod tests {
    use super::super::k_means::{lloyd, tests::three_blobs};

    /// Lloyd's algorithm in its plainest form; every center is assumed to keep a row.
    fn plain_lloyd(data: &[f64], n_vars: usize, mut centers: Vec<f64>) -> (Vec<u16>, Vec<f64>) {
        loop {
            let apart = |row: &[f64], label: u16| -> f64 {
                let center = &centers[usize::from(label) * n_vars..];
                row.iter().zip(center).map(|(value, at)| (value - at).powi(2)).sum()
            };
            let k = (centers.len() / n_vars) as u16;
            let nearest = |row: &[f64]| (0..k).min_by(|&a, &b| apart(row, a).total_cmp(&apart(row, b))).unwrap();
            let labels: Vec<u16> = data.chunks(n_vars).map(nearest).collect();
            let means: Vec<f64> = (0..usize::from(k))
                .flat_map(|group| {
                    let own: Vec<&[f64]> = data
                        .chunks(n_vars)
                        .zip(&labels)
                        .filter_map(|(row, &label)| (usize::from(label) == group).then_some(row))
                        .collect();
                    let mean = |variable: usize| own.iter().map(|row| row[variable]).sum::<f64>() / own.len() as f64;
                    (0..n_vars).map(mean).collect::<Vec<_>>()
                })
                .collect();
            if means.iter().zip(&centers).all(|(a, b)| (a - b).abs() < 1e-13) {
                return (labels, means);
            }
            centers = means;
        }
    }

    #[test]
    fn bounds_change_no_label() {
        for (n_vars, scatter) in [(1, 9.0), (2, 14.0), (3, 30.0), (5, 12.0)] {
            let data = three_blobs(15 * 600, scatter);
            let centers = data[..4 * n_vars].to_vec();
            let (labels, means) = plain_lloyd(&data, n_vars, centers.clone());
            let fit = lloyd(&data, n_vars, centers, 10_000);
            assert!(fit.converged);
            assert_eq!(fit.labels, labels, "{n_vars} variables");
            assert!(fit.centers.iter().zip(&means).all(|(a, b)| (a - b).abs() < 1e-12));
        }
    }
}
