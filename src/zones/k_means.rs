//! k-means: rows of standardized values fall into `k` groups around `k` centers.
//!
//! In: row-major values of the field's cells. Out: a label a row, the centers and what they leave unexplained. Whether
//! the groups deserve to be zones is not judged here (see [`super::zone_count`] for the indices). The result is the same
//! to the last byte for any number of threads: sums are taken over fixed chunks of rows and added in row order.

use std::collections::HashSet;

use rayon::prelude::*;

use super::bounded_lloyd::{d2, run_lloyd};

/// Most rows of a sample, and how many of its best unlike outcomes go on to the next stage; the last is all rows.
///
/// A sample that holds all rows ends the search. Starts on few rows lead to the same partitions at a small part of the
/// cost: on smooth and noisy surfaces of 26,000 rows the winner was within 0.01 % of the best known in most runs.
const STAGES: [(usize, usize); 2] = [(2_000, 3), (40_000, 1)];
/// The largest size of a value; its square, summed over a billion rows, is still a finite number.
const LARGEST_VALUE: f64 = 1e100;

/// What k-means is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KMeansSettings {
    /// Number of groups, 1..=65535.
    pub k: usize,
    /// Number of seeded starts, at least 1.
    pub n_starts: usize,
    /// Seed of the generator; the same seed gives the same bytes.
    pub seed: u64,
    /// Most rounds of one run of Lloyd's algorithm, at least 1.
    pub max_iter: usize,
}

/// A partition of rows into groups.
#[derive(Debug, Clone, PartialEq)]
pub struct KMeansFit {
    /// One group a row, `0..k`; every group has a row. The numbering has no meaning.
    pub labels: Vec<u16>,
    /// `k` rows of `n_vars`: the means of the groups.
    pub centers: Vec<f64>,
    /// Sum over rows of the squared distance to the own center, squared units of the data.
    pub sse: f64,
    /// Rounds of the run that gave this result, counting the one in which nothing moved.
    pub n_iter: usize,
    /// Whether the last round moved no center. If not, some rows may lie nearer to another center.
    pub converged: bool,
}

/// Why rows cannot be grouped.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum KMeansError {
    /// The data are not whole rows.
    #[error("{n_values} values are not whole rows of {n_vars} variables")]
    NotWholeRows {
        /// Number of values given.
        n_values: usize,
        /// Values a row.
        n_vars: usize,
    },
    /// A value is NaN, infinite or too large to square.
    #[error(
        "value {value} in row {row}, variable {variable} (both from 0); expected a number of at most 1e100 in size"
    )]
    BadValue {
        /// Row from 0.
        row: usize,
        /// Variable from 0.
        variable: usize,
        /// What was found.
        value: f64,
    },
    /// A setting is outside its range.
    #[error("{setting} is {found}; expected {lowest} to {highest}")]
    SettingOutOfRange {
        /// Name in [`KMeansSettings`].
        setting: &'static str,
        /// What was found.
        found: usize,
        /// Least allowed.
        lowest: usize,
        /// Most allowed.
        highest: usize,
    },
    /// More groups than unlike rows.
    #[error("{k} groups asked, but only {n_distinct} of the {n_rows} rows are distinct")]
    TooFewDistinctRows {
        /// Groups asked.
        k: usize,
        /// Distinct rows found.
        n_distinct: usize,
        /// Rows given.
        n_rows: usize,
    },
}

/// Groups rows by k-means: greedy k-means++ starts, each run to rest by [`lloyd`], the least `sse` wins.
///
/// With more than 2,000 rows the starts run on a seeded sample of 2,000, spread evenly over the rows. The three best
/// unlike outcomes go on to all rows or, above 40,000, to a sample of 40,000, whose best goes on to all. k-means finds a
/// local optimum: the result is the best found, not proven best.
///
/// # Units
/// Distances mix the variables: standardize them first.
///
/// # Shape
/// `data[row * n_vars + variable]`. All rows weigh the same (cells of one size).
///
/// # Guarantees
/// - the same input gives the same bytes, for any number of threads
/// - equal `sse`: the earlier start wins
/// - every group has at least one row; `centers` are the means of their rows
/// - `k` = number of distinct rows gives every distinct row its own group
///
/// # Errors
/// [`KMeansError`]: data not whole rows, a value not finite or above 1e100 in size, a setting out of range, fewer
/// distinct rows than `k`.
///
/// # References
/// Lloyd (1982), "Least squares quantization in PCM", IEEE Trans. Inf. Theory 28(2):129-137.
/// Arthur & Vassilvitskii (2007), "k-means++: the advantages of careful seeding", SODA '07:1027-1035.
pub fn k_means(data: &[f64], n_vars: usize, settings: &KMeansSettings) -> Result<KMeansFit, KMeansError> {
    let KMeansSettings { k, n_starts, seed, max_iter } = *settings;
    check_settings(settings)?;
    check_values(data, n_vars)?;
    let n_rows = data.len() / n_vars;
    let n_distinct = count_distinct_rows(data, n_vars, k);
    if n_distinct < k {
        return Err(KMeansError::TooFewDistinctRows { k, n_distinct, n_rows });
    }

    let mut seeds = SplitMix64::new(seed);
    let start_seeds: Vec<u64> = (0..n_starts).map(|_| seeds.next_u64()).collect();
    let mut starts: Vec<Vec<f64>> = Vec::new();
    for (most_rows, n_kept) in STAGES {
        let rows = spread_rows(n_rows, most_rows.max(k), seed);
        let sample: Vec<f64> = rows.iter().flat_map(|row| &data[row * n_vars..][..n_vars]).copied().collect();
        if starts.is_empty() {
            starts = start_seeds.par_iter().map(|&seed| plus_plus_centers(&sample, n_vars, k, seed)).collect();
        }
        let runs = starts.into_par_iter().map(|centers| run_lloyd(&sample, n_vars, centers, max_iter));
        let mut fits: Vec<KMeansFit> = runs.collect();
        fits.sort_by(|a, b| a.sse.total_cmp(&b.sse)); // stable: ties stay in the order of the starts
        if rows.len() == n_rows {
            return Ok(fits.swap_remove(0));
        }
        fits.dedup_by(|later, earlier| later.sse == earlier.sse);
        starts = fits.into_iter().take(n_kept).map(|fit| fit.centers).collect();
    }
    Ok(run_lloyd(data, n_vars, starts.swap_remove(0), max_iter))
}

/// Runs Lloyd's algorithm from given centers until no center moves, or `max_iter` rounds.
///
/// A round gives every row to its nearest center (ties: the first), then moves each center to the mean of its rows. A
/// center left without rows takes the row farthest from its own center among groups of two or more (ties: the first
/// row); several such centers do so in order.
///
/// # Shape
/// `data[row * n_vars + variable]`; `centers` holds `k` rows of `n_vars`.
///
/// # Guarantees
/// - `sse` never grows with `max_iter`
/// - no group is empty; the same bytes for any number of threads
///
/// # Panics
/// On caller faults: `data` or `centers` not whole rows of finite values up to 1e100 in size, `max_iter` 0, no center,
/// more centers than rows or than 65535. [`k_means`] checks its data and reports instead.
pub fn lloyd(data: &[f64], n_vars: usize, centers: Vec<f64>, max_iter: usize) -> KMeansFit {
    assert_eq!(check_values(data, n_vars).and_then(|()| check_values(&centers, n_vars)), Ok(()), "clean whole rows");
    let (n_rows, k) = (data.len() / n_vars, centers.len() / n_vars);
    assert!(k >= 1 && k <= n_rows.min(usize::from(u16::MAX)), "{k} centers for {n_rows} rows");
    assert!(max_iter >= 1, "at least one round");
    run_lloyd(data, n_vars, centers, max_iter)
}

fn check_settings(settings: &KMeansSettings) -> Result<(), KMeansError> {
    let ranges = [
        ("k", settings.k, usize::from(u16::MAX)),
        ("n_starts", settings.n_starts, usize::MAX),
        ("max_iter", settings.max_iter, usize::MAX),
    ];
    match ranges.into_iter().find(|&(_, found, highest)| !(1..=highest).contains(&found)) {
        Some((setting, found, highest)) => Err(KMeansError::SettingOutOfRange { setting, found, lowest: 1, highest }),
        None => Ok(()),
    }
}

fn check_values(data: &[f64], n_vars: usize) -> Result<(), KMeansError> {
    if n_vars == 0 || !data.len().is_multiple_of(n_vars) {
        return Err(KMeansError::NotWholeRows { n_values: data.len(), n_vars });
    }
    // NaN compares false, so it fails the range too.
    match data.iter().position(|value| !(-LARGEST_VALUE..=LARGEST_VALUE).contains(value)) {
        Some(at) => Err(KMeansError::BadValue { row: at / n_vars, variable: at % n_vars, value: data[at] }),
        None => Ok(()),
    }
}

/// Number of distinct rows, counted no further than `n_wanted`.
fn count_distinct_rows(data: &[f64], n_vars: usize, n_wanted: usize) -> usize {
    let mut seen: HashSet<Vec<u64>> = HashSet::new();
    let mut key = vec![0; n_vars];
    for row in data.chunks_exact(n_vars) {
        for (bits, value) in key.iter_mut().zip(row) {
            *bits = (value + 0.0).to_bits(); // -0 and 0 are one value
        }
        if !seen.contains(&key) {
            seen.insert(key.clone());
            if seen.len() == n_wanted {
                break;
            }
        }
    }
    seen.len()
}

/// One seeded row out of each of `n_wanted` runs of nearly equal length; all rows when there are no more than that.
///
/// Spread over the field like a fixed stride, but never in step with the columns of its raster.
pub(super) fn spread_rows(n_rows: usize, n_wanted: usize, seed: u64) -> Vec<usize> {
    if n_rows <= n_wanted {
        return (0..n_rows).collect();
    }
    let mut generator = SplitMix64::new(seed);
    let start_of = |run: usize| (run as u128 * n_rows as u128 / n_wanted as u128) as usize;
    (0..n_wanted)
        .map(|run| {
            let (start, end) = (start_of(run), start_of(run + 1));
            (start + (generator.next_unit() * (end - start) as f64) as usize).min(end - 1)
        })
        .collect()
}

/// Greedy k-means++: for each further center a few rows are drawn with chances in proportion to their squared distance
/// to the nearest center so far; the one that leaves the least sum of them becomes the center (ties: the first).
fn plus_plus_centers(data: &[f64], n_vars: usize, k: usize, seed: u64) -> Vec<f64> {
    let mut generator = SplitMix64::new(seed);
    let n_rows = data.len() / n_vars;
    let row = |index: usize| &data[index * n_vars..][..n_vars];
    let first = ((generator.next_unit() * n_rows as f64) as usize).min(n_rows - 1);
    let mut centers = row(first).to_vec();
    let mut nearest_d2: Vec<f64> = data.chunks_exact(n_vars).map(|values| d2(values, row(first))).collect();
    let n_drawn = 2 + (k as f64).ln() as usize;
    while centers.len() < k * n_vars {
        let total = nearest_d2.iter().sum::<f64>();
        let mut best: Option<(f64, usize, Vec<f64>)> = None;
        for _ in 0..n_drawn {
            let drawn = draw(&nearest_d2, generator.next_unit() * total);
            let rows = data.chunks_exact(n_vars).zip(&nearest_d2);
            let left_d2: Vec<f64> = rows.map(|(values, nearest)| nearest.min(d2(values, row(drawn)))).collect();
            let left = left_d2.iter().sum();
            if best.as_ref().is_none_or(|&(least, ..)| left < least) {
                best = Some((left, drawn, left_d2));
            }
        }
        if let Some((_, drawn, left_d2)) = best {
            centers.extend(row(drawn));
            nearest_d2 = left_d2;
        }
    }
    centers
}

/// The row at which the running sum of `weights` passes `target`.
fn draw(weights: &[f64], target: f64) -> usize {
    let mut reached = 0.0;
    let past_target = weights.iter().position(|weight| {
        reached += weight;
        reached > target
    });
    // Rounding can leave the target unreached: then the last row not yet a center.
    past_target.or_else(|| weights.iter().rposition(|&weight| weight > 0.0)).unwrap_or(0)
}

/// SplitMix64, a small seeded generator with the same sequence everywhere.
///
/// # References
/// Steele, Lea & Flood (2014), "Fast splittable pseudorandom number generators", OOPSLA '14:453-472,
/// <https://doi.org/10.1145/2660193.2660195>; constants of mixing variant 13 (Stafford 2011).
struct SplitMix64(u64);

impl SplitMix64 {
    fn new(seed: u64) -> Self {
        SplitMix64(seed)
    }

    fn next_u64(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// Evenly over [0, 1), in steps of 2^-53.
    fn next_unit(&mut self) -> f64 {
        (self.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    const SETTINGS: KMeansSettings = KMeansSettings { k: 3, n_starts: 20, seed: 1, max_iter: 300 };

    /// Rows around three corners of a triangle, corner by corner in turn, with seeded scatter.
    pub(in crate::zones) fn three_blobs(n_rows: usize, scatter: f64) -> Vec<f64> {
        let mut generator = SplitMix64::new(9);
        (0..n_rows)
            .flat_map(|row| [[0.0, 0.0], [10.0, 0.0], [0.0, 10.0]][row % 3])
            .map(|at| at + scatter * (generator.next_unit() - 0.5))
            .collect()
    }

    /// Rows 0, 1, 4, 5 from centers 0 and 1: groups {0} {1,4,5}, then {0,1} {4,5}, which rests.
    #[test]
    fn hand_case_of_four_rows() {
        let fit = lloyd(&[0.0, 1.0, 4.0, 5.0], 1, vec![0.0, 1.0], 100);
        assert_eq!((fit.labels, fit.centers), (vec![0, 0, 1, 1], vec![0.5, 4.5]));
        assert_eq!((fit.sse, fit.converged), (1.0, true));
        let one_round = lloyd(&[0.0, 1.0, 4.0, 5.0], 1, vec![0.0, 1.0], 1);
        assert_eq!((one_round.labels, one_round.centers), (vec![0, 1, 1, 1], vec![0.0, 10.0 / 3.0]));
        assert_eq!((one_round.n_iter, one_round.converged), (1, false));
    }

    #[test]
    fn a_row_between_two_centers_goes_to_the_first() {
        assert_eq!(lloyd(&[0.0, 1.0, 2.0], 1, vec![0.0, 2.0], 1).labels, vec![0, 0, 1]);
        assert_eq!(lloyd(&[0.0, 1.0, 2.0], 1, vec![2.0, 0.0], 1).labels, vec![1, 0, 0]);
    }

    #[test]
    fn sse_never_grows_with_rounds() {
        let data = three_blobs(900, 25.0);
        let sse: Vec<f64> = (1..30).map(|rounds| lloyd(&data, 2, data[..10].to_vec(), rounds).sse).collect();
        assert!(sse.windows(2).all(|pair| pair[1] <= pair[0] * (1.0 + 1e-12)), "{sse:?}");
        assert!(sse[28] < 0.9 * sse[0]);
    }

    /// Both centers at 100 and 200 lie beyond: the first takes all, so the second takes the row farthest from 100.
    #[test]
    fn an_empty_group_takes_the_farthest_row() {
        let fit = lloyd(&[3.0, 0.0, 0.0, 5.0], 1, vec![100.0, 200.0], 1);
        assert_eq!(fit.labels, vec![0, 1, 0, 0]);
        let three = lloyd(&[3.0, 0.0, 0.5, 5.0], 1, vec![100.0, 200.0, 300.0], 1);
        assert_eq!(three.labels, vec![0, 1, 2, 0]);
        // More centers than distinct rows still come to rest, with no group empty.
        let alike = lloyd(&[1.0; 5], 1, vec![1.0, 2.0, 3.0], 100);
        assert!(alike.converged);
        assert!((0..3).all(|group| alike.labels.contains(&group)));
    }

    #[test]
    fn finds_three_blobs_in_few_and_many_rows() {
        for n_rows in [9, 300, 2_001, 50_001] {
            let fit = k_means(&three_blobs(n_rows, 2.0), 2, &SETTINGS).unwrap();
            let firsts = [fit.labels[0], fit.labels[1], fit.labels[2]];
            assert!(firsts[0] != firsts[1] && firsts[1] != firsts[2] && firsts[0] != firsts[2]);
            assert!(fit.labels.iter().enumerate().all(|(row, &label)| label == firsts[row % 3]), "{n_rows} rows");
            assert!(fit.converged);
        }
    }

    #[test]
    fn same_bytes_for_any_number_of_threads() {
        let data = three_blobs(50_000, 25.0);
        let bytes_with = |n_threads: usize| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(n_threads).build().unwrap();
            let fit = pool.install(|| k_means(&data, 2, &KMeansSettings { k: 5, ..SETTINGS }).unwrap());
            let centers: Vec<u64> = fit.centers.iter().map(|center| center.to_bits()).collect();
            (fit.labels, centers, fit.sse.to_bits(), fit.n_iter)
        };
        let alone = bytes_with(1);
        assert_eq!(alone, bytes_with(2));
        assert_eq!(alone, bytes_with(7));
        assert_eq!(alone, bytes_with(1), "twice the same");
    }

    #[test]
    fn sse_and_centers_belong_to_the_labels() {
        let data = three_blobs(3_000, 25.0);
        for max_iter in [1, 2, 3, 300] {
            let fit = k_means(&data, 2, &KMeansSettings { k: 4, max_iter, ..SETTINGS }).unwrap();
            let own =
                |group: usize| data.chunks(2).zip(&fit.labels).filter(move |&(_, &label)| usize::from(label) == group);
            let mut sse = 0.0;
            for (group, center) in fit.centers.chunks(2).enumerate() {
                let n = own(group).count() as f64;
                for variable in 0..2 {
                    let mean = own(group).map(|(row, _)| row[variable]).sum::<f64>() / n;
                    assert!((mean - center[variable]).abs() < 1e-12);
                    sse += own(group).map(|(row, _)| (row[variable] - mean).powi(2)).sum::<f64>();
                }
            }
            assert!((fit.sse / sse - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn one_group_and_a_group_for_each_distinct_row() {
        let one = k_means(&[1.0, 2.0, 6.0], 1, &KMeansSettings { k: 1, ..SETTINGS }).unwrap();
        assert_eq!((one.labels, one.centers, one.sse), (vec![0; 3], vec![3.0], 14.0));
        // Few rows, more than one sample, and a value so rare that a sample misses it.
        let few = vec![4.0, 1.0, 4.0, -0.0, 0.0, 9.0];
        let many: Vec<f64> = (0..9_000).map(|row| f64::from(row % 4)).collect();
        let mut rare = vec![0.0; 90_000];
        (rare[777], rare[50_001], rare[50_002]) = (1.0, 2.0, 3.0);
        for data in [few, many, rare] {
            let fit = k_means(&data, 1, &KMeansSettings { k: 4, ..SETTINGS }).unwrap();
            assert_eq!(fit.sse, 0.0);
            assert!(data.iter().zip(&fit.labels).all(|(value, &label)| fit.centers[usize::from(label)] == *value));
        }
    }

    #[test]
    fn more_groups_than_a_sample_has_rows() {
        let data: Vec<f64> = (0..2_500).map(f64::from).collect();
        let fit = k_means(&data, 1, &KMeansSettings { k: 2_400, n_starts: 1, ..SETTINGS }).unwrap();
        assert_eq!(fit.labels.iter().collect::<HashSet<_>>().len(), 2_400);
        assert!(fit.sse > 0.0 && fit.sse < 100.0, "at best 100 pairs one apart, 0.5 each: {}", fit.sse);
    }

    #[test]
    fn asks_for_what_cannot_be_are_refused_with_their_numbers() {
        let refusal = |data: &[f64], n_vars, settings| k_means(data, n_vars, &settings).unwrap_err();
        let error = refusal(&[1.0, 1.0, 2.0, 2.0, 1.0, 1.0], 2, SETTINGS);
        assert_eq!(error, KMeansError::TooFewDistinctRows { k: 3, n_distinct: 2, n_rows: 3 });
        assert_eq!(error.to_string(), "3 groups asked, but only 2 of the 3 rows are distinct");
        assert_eq!(refusal(&[], 2, SETTINGS), KMeansError::TooFewDistinctRows { k: 3, n_distinct: 0, n_rows: 0 });
        for value in [f64::NAN, f64::INFINITY, -2e100] {
            let error = refusal(&[1.0, 2.0, 3.0, value], 2, SETTINGS);
            assert!(matches!(error, KMeansError::BadValue { row: 1, variable: 1, .. }), "{error}");
        }
        assert_eq!(refusal(&[1.0; 5], 2, SETTINGS), KMeansError::NotWholeRows { n_values: 5, n_vars: 2 });
        assert_eq!(refusal(&[1.0; 5], 0, SETTINGS), KMeansError::NotWholeRows { n_values: 5, n_vars: 0 });
        for (setting, settings) in [
            ("k", KMeansSettings { k: 0, ..SETTINGS }),
            ("k", KMeansSettings { k: 65_536, ..SETTINGS }),
            ("n_starts", KMeansSettings { n_starts: 0, ..SETTINGS }),
            ("max_iter", KMeansSettings { max_iter: 0, ..SETTINGS }),
        ] {
            let error = refusal(&[1.0, 2.0], 1, settings);
            assert!(matches!(error, KMeansError::SettingOutOfRange { setting: found, .. } if found == setting));
        }
    }

    #[test]
    fn a_spread_sample_takes_one_row_of_each_run() {
        let rows = spread_rows(10_007, 100, 5);
        assert!(rows.iter().enumerate().all(|(run, row)| (run * 10_007 / 100..(run + 1) * 10_007 / 100).contains(row)));
        assert_ne!(rows, spread_rows(10_007, 100, 6));
        assert_eq!(spread_rows(3, 100, 5), vec![0, 1, 2]);
    }

    /// First outputs for seed 1234567, as published with other implementations of SplitMix64.
    #[test]
    fn split_mix_gives_the_known_sequence() {
        let mut generator = SplitMix64::new(1_234_567);
        assert_eq!(generator.next_u64(), 6_457_827_717_110_365_317);
        assert_eq!(generator.next_u64(), 3_203_168_211_198_807_973);
        assert_eq!(generator.next_u64(), 9_817_491_932_198_370_423);
    }
}
