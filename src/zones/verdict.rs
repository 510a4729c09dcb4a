//! Whether zones are worth having, by the samples.
//!
//! Zones cut from a smooth map always look good, even on noise. So each sample is predicted by the mean of the *other*
//! samples in the zone its hidden-sample map value falls in, and that is held against the mean of all other samples.
//! Groups round centers are found by the nearest center, stated classes by their edges, drawn zones by the place.

use super::candidate::Candidate;
use super::drawing::Drawing;
use super::verdict_reason::{Pick, Reason, Told};
use super::zone_count::variance_reduction_percent;
use super::zone_settings::{ZoneQuantity, ZoneSettings};
use super::zone_space::{Ground, ZoneSpace};
use crate::cell_grid::Site;
use crate::soil_surface::Quality;

/// One number of zones.
#[derive(Debug, Clone, PartialEq)]
pub struct VerdictRow {
    /// Zones drawn.
    pub count: usize,
    /// Zones left when patches a machine cannot follow have joined their neighbors.
    pub n_left: usize,
    /// How much better than one rate for all the zones tell hidden samples, 0 = no better, 1 = perfectly; mean over the
    /// soil quantities judged. `None` where it cannot be told.
    pub efficiency: Option<f64>,
    /// Standard error of it.
    pub standard_error: Option<f64>,
    /// Variance of the variable zones are ordered by (CEC where mapped) that the zones take out of the cells, percent.
    /// Shown, never deciding: it always rises with the number of zones.
    pub variance_reduction_percent: Option<f64>,
    /// Mean silhouette of the cells. Shown, never deciding.
    pub silhouette: Option<f64>,
    /// Calinski-Harabasz index of the cells. Shown, never deciding.
    pub calinski_harabasz: Option<f64>,
    /// Partition coefficient of fuzzy zones, 1/count to 1 = crisp. Shown, never deciding.
    pub partition_coefficient: Option<f64>,
    /// Partition entropy of fuzzy zones, natural logarithm, 0 = crisp to ln count. Shown, never deciding.
    pub partition_entropy: Option<f64>,
}

/// What the samples say about each number of zones, and which was drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// One row a number of zones.
    pub rows: Vec<VerdictRow>,
    /// Fewest zones within one standard error of the best; 1 when zones are no better than one rate.
    pub suggested: usize,
    /// Why.
    pub reason: Reason,
    /// Zones drawn.
    pub drawn: usize,
    /// Who picked their number.
    pub pick: Pick,
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

    /// Whether other zones were drawn than the samples suggest.
    pub fn is_overridden(&self) -> bool {
        self.drawn != self.suggested
    }

    /// The pick and its reason in one sentence, lower case, no full stop.
    pub fn sentence(&self) -> String {
        let mut text = self.reason.to_string();
        if self.is_overridden() {
            text += match self.pick {
                Pick::Samples => "",
                Pick::Count => "; your count is kept",
                Pick::Drawn => "; your zones are kept",
            };
        }
        text
    }
}

/// Standard errors above 0 from which zones are worth having. The best of five counts is taken, which favors luck: with
/// one standard error 2 of 20 fields of dealt-out samples were called worth zoning, with two none (`tests/it/zones.rs`).
const WORTH_STANDARD_ERRORS: f64 = 2.0;
/// Fewest samples on which anything is said about zones.
pub(super) const MIN_SAMPLES: usize = 5;

/// Judges each drawing and picks one.
pub(super) fn judge(
    ground: Ground<'_>,
    from: &[ZoneQuantity],
    space: &ZoneSpace,
    drawings: &[Drawing],
    candidates: &[Candidate],
    order: Option<&[f64]>,
    settings: &ZoneSettings,
) -> Verdict {
    let mut samples = hidden_samples(ground, from);
    let groups_of = |sample: &HiddenSample| -> Option<Vec<usize>> {
        drawings.iter().map(|drawing| drawing.membership.group_of(space, &sample.place, sample.cell)).collect()
    };
    samples.retain(|sample| groups_of(sample).is_some());
    let groups: Vec<Vec<usize>> = samples.iter().filter_map(groups_of).collect();
    let mut rows = Vec::new();
    for (index, (drawing, candidate)) in drawings.iter().zip(candidates).enumerate() {
        let follow = followed(drawing, candidate);
        let zone_of = |groups: &Vec<usize>| follow.get(groups[index]).copied().unwrap_or(follow.len() + groups[index]);
        let zone_of: Vec<usize> = groups.iter().map(zone_of).collect();
        let told = if samples.len() >= MIN_SAMPLES { efficiency(&samples, &zone_of) } else { None };
        let is_whole = drawing.count == 1;
        let [silhouette, calinski_harabasz] = if is_whole { [None; 2] } else { space.indices(&candidate.labels) };
        let taken_out = order.filter(|_| !is_whole).and_then(|order| variance_taken_out(order, &candidate.labels));
        rows.push(VerdictRow {
            count: drawing.count,
            n_left: candidate.zones.len(),
            efficiency: told.map(|told| told.0),
            standard_error: told.map(|told| told.1),
            variance_reduction_percent: taken_out,
            silhouette,
            calinski_harabasz,
            partition_coefficient: drawing.partition.map(|[coefficient, _]| coefficient),
            partition_entropy: drawing.partition.map(|[_, entropy]| entropy),
        });
    }
    let (suggested, reason) = suggestion(&rows, samples.len());
    let (drawn, pick) = match (settings.method.states_its_zones(), settings.count) {
        (true, _) => (rows.last().map_or(1, |row| row.count), Pick::Drawn),
        (false, Some(count)) => (count, Pick::Count),
        (false, None) => (suggested, Pick::Samples),
    };
    Verdict { rows, suggested, reason, drawn, pick, n_samples: samples.len() }
}

/// Where the ground of each zone drawn went when it was fitted to the machine: the zone that holds most of its cells.
fn followed(drawing: &Drawing, candidate: &Candidate) -> Vec<usize> {
    let mut n_cells = vec![vec![0_usize; candidate.zones.len() + 1]; drawing.count];
    for (&drawn, &fitted) in drawing.labels.iter().zip(&candidate.labels) {
        if drawn > 0 {
            n_cells[usize::from(drawn) - 1][usize::from(fitted)] += 1;
        }
    }
    let most = |row: &Vec<usize>| (0..row.len()).rev().max_by_key(|&zone| row[zone]).unwrap_or(0);
    n_cells.iter().map(most).collect()
}

/// The number of zones the samples suggest, and why. Numbers of which a machine cannot follow each zone are set aside.
fn suggestion(rows: &[VerdictRow], n_samples: usize) -> (usize, Reason) {
    let told = |row: &VerdictRow| {
        let (efficiency, standard_error) = row.efficiency.zip(row.standard_error)?;
        Some(Told { count: row.count, efficiency, standard_error })
    };
    let fits = |row: &&VerdictRow| row.n_left == row.count;
    let zoned: Vec<Told> = rows.iter().filter(|row| row.count > 1).filter(fits).filter_map(told).collect();
    let any_told = rows.iter().skip(1).any(|row| row.efficiency.is_some());
    let best_of =
        |told: &mut dyn Iterator<Item = Told>| told.reduce(|a, b| if b.efficiency > a.efficiency { b } else { a });
    if rows.len() == 1 {
        return (1, Reason::NothingToPart);
    }
    let Some(best) = best_of(&mut zoned.iter().copied()) else {
        let reason = match n_samples < MIN_SAMPLES {
            true => Reason::TooFewSamples { n_samples, least: MIN_SAMPLES },
            false if any_told => Reason::NoneFitsMachine,
            false => Reason::NothingVaries,
        };
        return (1, reason);
    };
    let is_worth = |told: &Told| told.efficiency > WORTH_STANDARD_ERRORS * told.standard_error;
    let Some(best) = best_of(&mut zoned.iter().copied().filter(is_worth)) else {
        return (1, Reason::NotWorthZoning { best });
    };
    let least = best.efficiency - best.standard_error;
    let fewest = zoned.iter().copied().filter(is_worth).find(|told| told.efficiency >= least).unwrap_or(best);
    let reason = match (rows.len(), fewest.count == best.count) {
        (2, _) => Reason::WorthZoning { zones: best },
        (_, true) => Reason::Best { best },
        (_, false) => Reason::FewestWithinOneError { picked: fewest, best },
    };
    (fewest.count, reason)
}

/// Variance of the order variable the zones take out of the cells that have both, percent.
fn variance_taken_out(order: &[f64], labels: &[u16]) -> Option<f64> {
    let known = order.iter().zip(labels).filter(|(value, label)| **label > 0 && value.is_finite());
    let (values, labels): (Vec<f64>, Vec<u16>) = known.map(|(value, label)| (*value, *label)).unzip();
    variance_reduction_percent(&values, &labels)
}

/// One place with samples, as it looks while it is hidden.
struct HiddenSample {
    /// Measured values of the soil quantities judged.
    measured: Vec<f64>,
    /// Values of what zones are drawn from: of soil that of the map without this place, of a covariate that of the cell.
    place: Vec<f64>,
    cell: Option<usize>,
}

/// Places with all quantities judged and zoned by. Zones of covariates alone are judged by CEC and the shares of calcium
/// and magnesium, as far as they are mapped.
fn hidden_samples(ground: Ground<'_>, from: &[ZoneQuantity]) -> Vec<HiddenSample> {
    let mut judged: Vec<&Quality> = from
        .iter()
        .filter_map(|quantity| match quantity {
            ZoneQuantity::Soil(variable) => ground.surfaces.quality_of(*variable),
            ZoneQuantity::Covariate(_) => None,
        })
        .collect();
    if judged.is_empty() {
        let default = ZoneSettings::DEFAULT_FROM.iter();
        judged = default.filter_map(|variable| ground.surfaces.quality_of(*variable)).collect();
    }
    let Some(first) = judged.first() else { return Vec::new() };
    let grid = ground.surfaces.mask().grid();
    let row_of = |quality: &Quality, site: &Site| quality.sites.iter().position(|other| other == site);
    let at = |site: &Site| -> Option<HiddenSample> {
        let cell = grid.cell_at(*site).map(|(col, row)| grid.index(col, row));
        let measured =
            judged.iter().map(|quality| Some(quality.measured[row_of(quality, site)?])).collect::<Option<Vec<_>>>()?;
        let value = |quantity: &ZoneQuantity| match quantity {
            ZoneQuantity::Soil(variable) => {
                let quality = ground.surfaces.quality_of(*variable)?;
                Some(quality.predicted[row_of(quality, site)?])
            }
            ZoneQuantity::Covariate(name) => {
                let covariate = ground.inputs.covariates.iter().find(|covariate| covariate.name == *name)?;
                Some(covariate.values[cell?])
            }
        };
        let place = from.iter().map(value).collect::<Option<Vec<f64>>>()?;
        place.iter().all(|value| value.is_finite()).then_some(HiddenSample { measured, place, cell })
    };
    first.sites.iter().filter_map(at).collect()
}

/// Efficiency of zones at telling hidden samples, and its standard error.
fn efficiency(samples: &[HiddenSample], zone_of: &[usize]) -> Option<(f64, f64)> {
    let n = samples.len();
    let mut gains = vec![0.0; n];
    let mut n_varying = 0.0;
    for variable in 0..samples.first()?.measured.len() {
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

#[cfg(test)]
mod tests {
    use super::*;

    fn sample(value: f64) -> HiddenSample {
        HiddenSample { measured: vec![value], place: Vec::new(), cell: None }
    }

    /// Values 0, 2 | 10, 12. Means of all others: 8, 22/3, 14/3, 4; squares of the misses 64, 256/9, 256/9, 64, mean
    /// 416/9. In zones every miss is 2, square 4; efficiency 1 - 4 / (416/9) = 380/416.
    #[test]
    fn hand_case_of_four_samples_in_two_zones() {
        let samples = [0.0, 2.0, 10.0, 12.0].map(sample);
        let (told, error) = efficiency(&samples, &[1, 1, 2, 2]).unwrap();
        assert!((told - 380.0 / 416.0).abs() < 1e-12, "{told}");
        // Gains (64 - 4) and (256/9 - 4) over 416/9, twice each: half their distance apart is (320/9) / (416/9) / 2 from
        // the mean; variance 4/3 of its square, over 4 samples.
        let half = 320.0 / 416.0 / 2.0;
        assert!((error - (4.0 / 3.0 * half * half / 4.0_f64).sqrt()).abs() < 1e-12, "{error}");
        // Each alone in a zone: the field mean, no better and no worse.
        assert_eq!(efficiency(&samples, &[1, 2, 3, 4]), Some((0.0, 0.0)));
        assert_eq!(efficiency(&[5.0; 4].map(sample), &[1, 1, 2, 2]), None);
    }

    fn row(count: usize, told: Option<(f64, f64)>) -> VerdictRow {
        VerdictRow {
            count,
            n_left: count,
            efficiency: told.map(|told| told.0),
            standard_error: told.map(|told| told.1),
            variance_reduction_percent: None,
            silhouette: None,
            calinski_harabasz: None,
            partition_coefficient: None,
            partition_entropy: None,
        }
    }

    fn rows(told: &[(f64, f64)]) -> Vec<VerdictRow> {
        let zoned = told.iter().enumerate().map(|(index, &told)| row(index + 2, Some(told)));
        std::iter::once(row(1, Some((0.0, 0.0)))).chain(zoned).collect()
    }

    #[test]
    fn the_fewest_within_one_standard_error_of_the_best_are_picked() {
        let (count, reason) = suggestion(&rows(&[(0.31, 0.05), (0.46, 0.06), (0.51, 0.06), (0.50, 0.07)]), 64);
        assert_eq!(count, 3);
        assert_eq!(
            reason.to_string(),
            "3 zones: the fewest within one standard error (0.06) of the best, 4 zones (0.51)"
        );
        let (count, reason) = suggestion(&rows(&[(0.31, 0.05), (0.51, 0.06)]), 64);
        assert_eq!(count, 3);
        assert_eq!(reason.to_string(), "3 zones: the best (0.51), and no fewer come within one standard error (0.06)");
    }

    #[test]
    fn one_standard_error_above_0_is_not_enough() {
        let (count, reason) = suggestion(&rows(&[(0.11, 0.06), (-0.2, 0.05)]), 64);
        assert_eq!(count, 1);
        assert_eq!(
            reason.to_string(),
            "not worth zoning: one rate is as good (the best, 2 zones: 0.11, not above 0 by two standard errors of 0.06)"
        );
    }

    #[test]
    fn what_cannot_be_told_says_so() {
        let untold = [row(1, None), row(2, None)];
        let (count, reason) = suggestion(&untold, 4);
        assert_eq!(count, 1);
        assert_eq!(reason.to_string(), "too few samples to tell whether zones are worth having (4, at least 5 needed)");
        assert!(matches!(suggestion(&untold, 40).1, Reason::NothingVaries));
        assert!(matches!(suggestion(&untold[..1], 40).1, Reason::NothingToPart));
    }

    #[test]
    fn an_overridden_count_is_told() {
        let (suggested, reason) = suggestion(&rows(&[(0.31, 0.05), (0.51, 0.06)]), 64);
        let mut verdict = Verdict { rows: Vec::new(), suggested, reason, drawn: 5, pick: Pick::Count, n_samples: 64 };
        assert!(verdict.is_overridden() && verdict.sentence().ends_with("; your count is kept"));
        verdict.drawn = 3;
        assert!(!verdict.is_overridden() && verdict.sentence().ends_with("(0.06)"));
    }
}
