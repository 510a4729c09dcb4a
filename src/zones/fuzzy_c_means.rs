//! Fuzzy c-means: every row belongs to every group by a share, the more the nearer its center.
//!
//! In: row-major values of the field's cells. Out: shares, centers, and the label of the largest share. The search starts
//! from the best k-means partition, so it needs no random starts of its own. Sums are taken over fixed chunks of rows in
//! row order: the same bytes for any number of threads.

use rayon::prelude::*;

use super::bounded_lloyd::d2;
use super::k_means::{KMeansError, KMeansSettings, k_means, spread_rows};

/// Rows whose sums are added up by one thread.
const CHUNK_ROWS: usize = 4096;
/// Up to this many rows centers come to rest to the last digits; above, a seeded sample of this many comes to rest first
/// and all rows finish from there.
const SAMPLE_ROWS: usize = 2_000;
/// Centers that move less than this share of the largest value's size are at rest.
const AT_REST: f64 = 1e-11;
/// The same on a sample and on all rows after it: standardized cells keep their label, except on the very border.
const AT_REST_ON_MANY: f64 = 1e-5;
/// Least and most fuzziness.
const FUZZINESS: [f64; 2] = [1.0, 10.0];

/// What fuzzy c-means is asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FuzzySettings {
    /// The k-means search it starts from; `k` is the number of groups, `max_iter` bounds the rounds here too.
    pub start: KMeansSettings,
    /// Exponent of the shares, above 1; near 1 groups are sharp, 2 is usual.
    pub fuzziness: f64,
}

/// A fuzzy partition of rows.
#[derive(Debug, Clone, PartialEq)]
pub struct FuzzyFit {
    /// `shares[row * k + group]`, 0 to 1; each row sums to 1.
    pub shares: Vec<f64>,
    /// Group of the largest share, the first of equal ones. A group may be the largest nowhere.
    pub labels: Vec<u16>,
    /// `k` rows of `n_vars`.
    pub centers: Vec<f64>,
    /// Sum over rows and groups of share^fuzziness times squared distance, squared units of the data.
    pub objective: f64,
    /// Rounds over all rows, counting the one in which nothing moved.
    pub n_iter: usize,
    /// Whether the centers came to rest.
    pub converged: bool,
}

/// Why rows cannot be grouped.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum FuzzyError {
    /// The search for a start failed.
    #[error(transparent)]
    Start(#[from] KMeansError),
    /// The exponent does not make shares.
    #[error("fuzziness is {0}; expected above 1, at most 10")]
    Fuzziness(f64),
}

/// Groups rows by fuzzy c-means from the best k-means partition.
///
/// Rounds give every row its shares of the centers, then move each center to the mean of all rows weighted by
/// share^fuzziness. Every third step leaps ahead along the last two, and is taken back where it would raise the
/// objective. With more than 2,000 rows the centers come to rest on a seeded sample of 2,000, spread evenly over the
/// rows, and finish on all; there they are at rest when they move less than 1e-5 of the largest value (1e-11 below). The
/// result is a local optimum: the one nearest to the best k-means partition, not proven best.
///
/// # Units
/// Distances mix the variables: standardize them first.
///
/// # Shape
/// `data[row * n_vars + variable]`. All rows weigh the same (cells of one size).
///
/// # Guarantees
/// - the same input gives the same bytes, for any number of threads
/// - shares are 0 to 1 and sum to 1 in every row; a row on a center belongs to it alone (to the first of equal centers)
/// - one group: every share is 1 and the center is the mean
///
/// # Errors
/// [`FuzzyError`]: those of [`k_means`]; a fuzziness not above 1, or above 10.
///
/// # References
/// Bezdek (1981), *Pattern Recognition with Fuzzy Objective Function Algorithms*, Plenum. The leap: Varadhan & Roland
/// (2008), "Simple and globally convergent methods for accelerating the convergence of any EM algorithm", Scand. J. Stat.
/// 35:335-353 (from memory).
pub fn fuzzy_c_means(data: &[f64], n_vars: usize, settings: &FuzzySettings) -> Result<FuzzyFit, FuzzyError> {
    let FuzzySettings { start, fuzziness } = *settings;
    if !(fuzziness > FUZZINESS[0] && fuzziness <= FUZZINESS[1]) {
        return Err(FuzzyError::Fuzziness(fuzziness));
    }
    let mut centers = k_means(data, n_vars, &start)?.centers;
    let size = data.iter().fold(0.0_f64, |most, value| most.max(value.abs()));
    let n_rows = data.len() / n_vars;
    let search = |at_rest| Search { n_vars, fuzziness, at_rest: at_rest * size, max_iter: start.max_iter };
    let mut last = search(AT_REST);
    if n_rows > SAMPLE_ROWS.max(start.k) {
        last = search(AT_REST_ON_MANY);
        let rows = spread_rows(n_rows, SAMPLE_ROWS.max(start.k), start.seed);
        let sample: Vec<f64> = rows.iter().flat_map(|row| &data[row * n_vars..][..n_vars]).copied().collect();
        centers = last.run(&sample, centers).centers;
    }
    let Rest { centers, n_iter, converged } = last.run(data, centers);

    let mut shares = vec![0.0; n_rows * start.k];
    let mut labels = vec![0_u16; n_rows];
    let chunks = data.par_chunks(n_vars * CHUNK_ROWS).zip(shares.par_chunks_mut(start.k * CHUNK_ROWS));
    let parts = chunks.zip(labels.par_chunks_mut(CHUNK_ROWS)).map(|((data, shares), labels)| {
        let rows = data.chunks_exact(n_vars).zip(shares.chunks_exact_mut(start.k)).zip(labels);
        rows.map(|((row, shares), label)| {
            let part = last.shares_of(row, &centers, shares);
            *label =
                (1..shares.len()).fold(0, |best, group| if shares[group] > shares[best] { group } else { best }) as u16;
            part
        })
        .sum()
    });
    let parts: Vec<f64> = parts.collect();
    Ok(FuzzyFit { shares, labels, centers, objective: parts.iter().sum(), n_iter, converged })
}

/// Rounds until centers rest.
#[derive(Clone, Copy)]
struct Search {
    n_vars: usize,
    fuzziness: f64,
    /// A shift of a center's value up to this is rest.
    at_rest: f64,
    max_iter: usize,
}

/// Where a search stopped.
struct Rest {
    centers: Vec<f64>,
    n_iter: usize,
    converged: bool,
}

/// What a round makes of centers: the next ones, and the objective of those it was given.
struct Round {
    centers: Vec<f64>,
    objective: f64,
}

impl Search {
    fn run(&self, data: &[f64], mut centers: Vec<f64>) -> Rest {
        let mut n_iter = 0;
        // Centers to go back to and the objective a leap must not exceed.
        let mut before_leap: Option<(Vec<f64>, f64)> = None;
        while n_iter < self.max_iter {
            let mut first = self.round(data, &centers);
            n_iter += 1;
            if let Some((safe, most)) = before_leap.take()
                && (first.objective.is_nan() || first.objective > most)
            {
                centers = safe;
                first = self.round(data, &centers);
                n_iter += 1;
            }
            if shift(&centers, &first.centers) <= self.at_rest {
                return Rest { centers: first.centers, n_iter, converged: true };
            }
            let second = self.round(data, &first.centers);
            n_iter += 1;
            if shift(&first.centers, &second.centers) <= self.at_rest {
                return Rest { centers: second.centers, n_iter, converged: true };
            }
            centers = leap(&centers, &first.centers, &second.centers);
            before_leap = Some((second.centers, second.objective));
        }
        // A leap that no round has looked at is not to be trusted.
        let centers = before_leap.map_or(centers, |(safe, _)| safe);
        Rest { centers, n_iter, converged: false }
    }

    /// Means of all rows, weighted by their shares.
    fn round(&self, data: &[f64], centers: &[f64]) -> Round {
        let n_vars = self.n_vars;
        let k = centers.len() / n_vars;
        // Per group: the weighted values, then the weight; at the end the objective.
        let width = n_vars + 1;
        let sums = data.par_chunks(n_vars * CHUNK_ROWS).map(|chunk| {
            let mut sums = vec![0.0; k * width + 1];
            let mut shares = vec![0.0; k];
            for row in chunk.chunks_exact(n_vars) {
                sums[k * width] += self.shares_of(row, centers, &mut shares);
                for (share, sum) in shares.iter().zip(sums.chunks_exact_mut(width)) {
                    let weight = self.weight(*share);
                    for (sum, value) in sum.iter_mut().zip(row) {
                        *sum += weight * value;
                    }
                    sum[n_vars] += weight;
                }
            }
            sums
        });
        let mut total = vec![0.0; k * width + 1];
        for part in sums.collect::<Vec<_>>() {
            total.iter_mut().zip(part).for_each(|(total, part)| *total += part);
        }
        let groups = total.chunks_exact(width).zip(centers.chunks_exact(n_vars));
        let moved = groups.flat_map(|(sum, center)| {
            let weight = sum[n_vars];
            // A group without weight stays where it is.
            (0..n_vars).map(move |variable| if weight > 0.0 { sum[variable] / weight } else { center[variable] })
        });
        Round { centers: moved.collect(), objective: total[k * width] }
    }

    /// Fills in the shares of one row; returns its part of the objective.
    fn shares_of(&self, row: &[f64], centers: &[f64], shares: &mut [f64]) -> f64 {
        let mut nearest = f64::INFINITY;
        for (share, center) in shares.iter_mut().zip(centers.chunks_exact(self.n_vars)) {
            *share = d2(row, center);
            nearest = nearest.min(*share);
        }
        if nearest == 0.0 {
            let on = shares.iter().position(|distance| *distance == 0.0);
            shares.iter_mut().enumerate().for_each(|(group, share)| *share = f64::from(Some(group) == on));
            return 0.0;
        }
        // Against the nearest, so that no power overflows. With u = (nearest / d)^(1 / (fuzziness - 1)) and s the sum of
        // all u, a share is u / s and the row's part of the objective nearest / s^(fuzziness - 1).
        let mut sum = 0.0;
        for share in shares.iter_mut() {
            let ratio = nearest / *share;
            *share = if self.fuzziness == 2.0 { ratio } else { ratio.powf(1.0 / (self.fuzziness - 1.0)) };
            sum += *share;
        }
        let part_of_one = 1.0 / sum;
        shares.iter_mut().for_each(|share| *share *= part_of_one);
        if self.fuzziness == 2.0 { nearest / sum } else { nearest / sum.powf(self.fuzziness - 1.0) }
    }

    fn weight(&self, share: f64) -> f64 {
        if self.fuzziness == 2.0 { share * share } else { share.powf(self.fuzziness) }
    }
}

/// The largest move of any value of any center.
fn shift(from: &[f64], to: &[f64]) -> f64 {
    from.iter().zip(to).fold(0.0_f64, |most, (a, b)| most.max((a - b).abs()))
}

/// Where two rounds from `start` would lead if they went on the same way.
fn leap(start: &[f64], first: &[f64], second: &[f64]) -> Vec<f64> {
    let step: Vec<f64> = first.iter().zip(start).map(|(b, a)| b - a).collect();
    let bend: Vec<f64> = second.iter().zip(first).zip(&step).map(|((c, b), step)| c - b - step).collect();
    let length = |vector: &[f64]| vector.iter().map(|value| value * value).sum::<f64>().sqrt();
    let (step_length, bend_length) = (length(&step), length(&bend));
    // At 1 the leap lands on `second`; a straight path has no end to leap to.
    let reach = if bend_length > 0.0 { (step_length / bend_length).max(1.0) } else { 1.0 };
    let ahead = start.iter().zip(&step).zip(&bend);
    ahead.map(|((a, step), bend)| a + 2.0 * reach * step + reach * reach * bend).collect()
}

/// Partition coefficient: mean over rows of the sum of squared shares; 1 is crisp, 1/k says nothing.
///
/// # References
/// Bezdek (1981).
pub fn partition_coefficient(shares: &[f64], k: usize) -> f64 {
    shares.iter().map(|share| share * share).sum::<f64>() / (shares.len() / k) as f64
}

/// Partition entropy with natural logarithms: mean over rows of `-sum share ln share`; 0 is crisp, ln k says nothing.
///
/// # References
/// Bezdek (1981).
pub fn partition_entropy(shares: &[f64], k: usize) -> f64 {
    let part = |share: &f64| if *share > 0.0 { -share * share.ln() } else { 0.0 };
    shares.iter().map(part).sum::<f64>() / (shares.len() / k) as f64
}

#[cfg(test)]
mod tests {
    use super::super::k_means::tests::three_blobs;
    use super::*;

    fn settings(k: usize, fuzziness: f64) -> FuzzySettings {
        FuzzySettings { start: KMeansSettings { k, n_starts: 20, seed: 1, max_iter: 1000 }, fuzziness }
    }

    /// Rows 0 and 1 seen from centers 0 and 3 at fuzziness 2: row 0 lies on a center; row 1 at squared distances 1 and 4
    /// has shares 4/5 and 1/5, objective (4/5)^2 * 1 + (1/5)^2 * 4 = 0.8. Next centers: (0 + 0.64) / 1.64 and 0.04 / 0.04.
    #[test]
    fn hand_case_of_one_round() {
        let search = Search { n_vars: 1, fuzziness: 2.0, at_rest: 0.0, max_iter: 1 };
        let mut shares = [0.0; 2];
        assert_eq!(search.shares_of(&[0.0], &[0.0, 3.0], &mut shares), 0.0);
        assert_eq!(shares, [1.0, 0.0]);
        assert!((search.shares_of(&[1.0], &[0.0, 3.0], &mut shares) - 0.8).abs() < 1e-15);
        assert!((shares[0] - 0.8).abs() < 1e-15 && (shares[1] - 0.2).abs() < 1e-15);
        let round = search.round(&[0.0, 1.0], &[0.0, 3.0]);
        assert!((round.centers[0] - 0.64 / 1.64).abs() < 1e-15 && (round.centers[1] - 1.0).abs() < 1e-15);
        assert!((round.objective - 0.8).abs() < 1e-15);
        // Fuzziness 3: shares go with the square root of 1/d2: 2/3 and 1/3; (2/3)^3 * 1 + (1/3)^3 * 4 = 12/27.
        let search = Search { fuzziness: 3.0, ..search };
        assert!((search.shares_of(&[1.0], &[0.0, 3.0], &mut shares) - 12.0 / 27.0).abs() < 1e-15);
        assert!((shares[0] - 2.0 / 3.0).abs() < 1e-15);
    }

    /// Shares 0.8, 0.2 and 0.5, 0.5: squares 0.68 and 0.5; entropy 0.500402 and ln 2 = 0.693147 [A].
    #[test]
    fn hand_case_of_the_indices() {
        let shares = [0.8, 0.2, 0.5, 0.5];
        assert!((partition_coefficient(&shares, 2) - 0.59).abs() < 1e-12);
        assert!((partition_entropy(&shares, 2) - (0.500_402_423_5 + 2.0_f64.ln()) / 2.0).abs() < 1e-9);
        assert_eq!((partition_coefficient(&[1.0, 0.0], 2), partition_entropy(&[1.0, 0.0], 2)), (1.0, 0.0));
    }

    #[test]
    fn one_group_is_the_mean() {
        let fit = fuzzy_c_means(&[1.0, 2.0, 6.0], 1, &settings(1, 2.0)).unwrap();
        assert_eq!((fit.labels, fit.shares), (vec![0; 3], vec![1.0; 3]));
        assert!((fit.centers[0] - 3.0).abs() < 1e-12 && (fit.objective - 14.0).abs() < 1e-9);
    }

    #[test]
    fn leaps_end_where_plain_rounds_end() {
        for (k, fuzziness) in [(2, 2.0), (3, 2.0), (4, 1.5), (5, 3.0)] {
            let data = three_blobs(600, 14.0);
            let fit = fuzzy_c_means(&data, 2, &settings(k, fuzziness)).unwrap();
            assert!(fit.converged);
            let search = Search { n_vars: 2, fuzziness, at_rest: 0.0, max_iter: 1 };
            let mut centers = k_means(&data, 2, &settings(k, fuzziness).start).unwrap().centers;
            let mut n_rounds = 0;
            loop {
                let next = search.round(&data, &centers).centers;
                let rests = shift(&centers, &next) < 1e-11;
                centers = next;
                n_rounds += 1;
                if rests {
                    break;
                }
            }
            let objective = search.round(&data, &centers).objective;
            assert!(fit.objective <= objective * (1.0 + 1e-9), "{k}: {} {objective}", fit.objective);
            assert!(fit.n_iter <= n_rounds + 10, "{k}: {} rounds, plainly {n_rounds}", fit.n_iter);
        }
    }

    /// More rows than the sample: all rows still decide.
    #[test]
    fn many_rows_come_to_rest_on_all_of_them() {
        let data = three_blobs(9_000, 14.0);
        let fit = fuzzy_c_means(&data, 2, &settings(3, 2.0)).unwrap();
        assert!(fit.converged);
        let search = Search { n_vars: 2, fuzziness: 2.0, at_rest: 0.0, max_iter: 1 };
        assert!(shift(&fit.centers, &search.round(&data, &fit.centers).centers) < 1e-4);
        assert!(fit.shares.chunks(3).all(|row| (row.iter().sum::<f64>() - 1.0).abs() < 1e-12));
    }

    #[test]
    fn same_bytes_for_any_number_of_threads() {
        let data = three_blobs(30_000, 25.0);
        let bytes_with = |n_threads: usize| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(n_threads).build().unwrap();
            let fit = pool.install(|| fuzzy_c_means(&data, 2, &settings(4, 1.6)).unwrap());
            (fit.labels, fit.centers.iter().map(|c| c.to_bits()).collect::<Vec<_>>(), fit.objective.to_bits())
        };
        assert_eq!(bytes_with(1), bytes_with(3));
    }

    #[test]
    fn asks_for_what_cannot_be_are_refused() {
        for fuzziness in [1.0, 0.5, 10.5, f64::NAN] {
            assert!(matches!(fuzzy_c_means(&[1.0, 2.0], 1, &settings(2, fuzziness)), Err(FuzzyError::Fuzziness(_))));
        }
        let refusal = fuzzy_c_means(&[1.0, f64::NAN, 2.0], 1, &settings(2, 2.0)).unwrap_err();
        assert!(matches!(refusal, FuzzyError::Start(KMeansError::BadValue { row: 1, .. })));
        let refusal = fuzzy_c_means(&[1.0; 5], 1, &settings(2, 2.0)).unwrap_err();
        assert!(matches!(refusal, FuzzyError::Start(KMeansError::TooFewDistinctRows { .. })));
    }
}
