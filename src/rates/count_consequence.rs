//! What one more zone changes: rates, ground and money, for each number of zones.
//!
//! Indices of how apart zones are do not tell whether a further zone is worth a border; what it does to the rates does.

use super::feeding::{Asked, Feeding, asked, ground_of, zone_needs, zone_season};
use super::need_settings::{NeedSource, SupplyNeed};
use super::season::SeasonPlacement;
use super::{Crop, GoalYield, RateSettings, RateUnit};
use crate::zones::{Candidate, ZoneSummary};

/// What a number of zones comes to, and what it changes against the next smaller number.
#[derive(Debug, Clone, PartialEq)]
pub struct CountConsequence {
    /// Zones.
    pub count: usize,
    /// Cost of all products, USD; `None` where there is no rate, or a price is unknown.
    pub product_usd: Option<f64>,
    /// Against the next smaller number; `None` for the smallest, or without rates.
    pub change: Option<CountChange>,
}

/// What the further zones change.
#[derive(Debug, Clone, PartialEq)]
pub struct CountChange {
    /// Number of zones it is held against.
    pub against: usize,
    /// The largest change of a rate anywhere, that of the product it costs most to change.
    pub most: RateChange,
    /// Ground on which any rate changes by at least one step of the machine, acres.
    pub changed_ac: f64,
    /// Product more (or less, below 0), USD; `None` without a price.
    pub more_usd: Option<f64>,
}

/// A change of a rate.
#[derive(Debug, Clone, PartialEq)]
pub struct RateChange {
    /// Printed name of the product; empty where no rate changes.
    pub product: String,
    /// Unit of the rate.
    pub unit: RateUnit,
    /// By how much, in that unit.
    pub rate: f64,
}

/// Rates and money of every candidate, fewest zones first.
///
/// Goals and figures stated one a zone of the zones drawn hold for the ground under them: another number of zones takes
/// their mean over its cells. Credits of named zones cannot be carried over; then there are no rates. Only treated ground counts; a zone's rate there stands for its ground that has no zone, too. `treated_ac` is the
/// area of treated ground, acres.
///
/// # Shape
/// `treated` is one a cell of the raster.
pub fn consequences(feeding: &Feeding<'_>, (treated, treated_ac): (&[bool], f64)) -> Vec<CountConsequence> {
    let settings = feeding.settings;
    let candidates = feeding.zones.candidates();
    let chosen = feeding.zones.labels();
    let asked = asked(feeding, &mut Vec::new());
    let is_by_zone = |need: &&SupplyNeed| need.own_classes.is_none();
    let asked = Asked { needs: asked.needs.into_iter().filter(is_by_zone).collect() };
    let can_carry = settings.credits.iter().all(|(_, zones)| zones.is_none());
    let seasons: Vec<Option<Vec<SeasonPlacement>>> = candidates
        .iter()
        .map(|candidate| {
            let of_zone = |zone: &ZoneSummary| season_of(feeding, &asked, candidate, zone, chosen);
            if can_carry { candidate.zones.iter().map(of_zone).collect() } else { None }
        })
        .collect();
    let mut told: Vec<CountConsequence> = Vec::new();
    for (index, candidate) in candidates.iter().enumerate() {
        let own = seasons[index].as_deref();
        let product_usd = own.and_then(|own| total_usd(candidate, own, settings, (treated, treated_ac)));
        let before = index.checked_sub(1).and_then(|at| Some((&candidates[at], seasons[at].as_deref()?)));
        let change = before.zip(own).map(|((fewer, theirs), own)| {
            let (most, changed_ac) = changes((candidate, own), (fewer, theirs), settings, (treated, treated_ac));
            let before_usd = told.last().and_then(|last| last.product_usd);
            let more_usd = product_usd.zip(before_usd).map(|(own, before)| own - before);
            CountChange { against: fewer.count, most, changed_ac, more_usd }
        });
        told.push(CountConsequence { count: candidate.count, product_usd, change });
    }
    told
}

fn season_of(
    feeding: &Feeding<'_>,
    asked: &Asked<'_>,
    candidate: &Candidate,
    zone: &ZoneSummary,
    chosen: &[u16],
) -> Option<SeasonPlacement> {
    let crops = goals(feeding.settings, candidate, zone, chosen);
    let carried: Vec<SupplyNeed> =
        asked.needs.iter().map(|need| carried(need, candidate, zone.zone, chosen)).collect::<Option<_>>()?;
    let carried: Vec<&SupplyNeed> = carried.iter().collect();
    let needs = zone_needs(feeding, zone, &carried, crops.as_deref(), &mut Vec::new());
    zone_season(feeding, ground_of(feeding, zone), &needs, zone.zone)
}

/// A need with figures stated one a zone brought to a zone of a candidate; others as they are.
fn carried(need: &SupplyNeed, candidate: &Candidate, zone: usize, chosen: &[u16]) -> Option<SupplyNeed> {
    let mut carried = need.clone();
    if let NeedSource::Stated(list) = &need.source
        && list.len() > 1
    {
        carried.source = NeedSource::Stated(vec![mean_goal(candidate, zone, chosen, list)?]);
    }
    Some(carried)
}

/// Crop and goal of each year for a zone of a candidate.
fn goals(
    settings: &RateSettings,
    candidate: &Candidate,
    zone: &ZoneSummary,
    chosen: &[u16],
) -> Option<Vec<(Crop, f64)>> {
    let goal = |year: &super::CropYear| {
        let goal = match year.goal.as_ref()? {
            GoalYield::Field(goal) => *goal,
            GoalYield::Zones(goals) => mean_goal(candidate, zone.zone, chosen, goals)?,
            GoalYield::Covariate(name) => zone.covariate_mean(name)?,
        };
        Some((year.crop?, goal))
    };
    settings.years.iter().map(goal).collect()
}

/// Mean, over the cells of a candidate's zone, of goals or figures of the zones drawn.
fn mean_goal(candidate: &Candidate, zone: usize, chosen: &[u16], goals: &[f64]) -> Option<f64> {
    let (mut sum, mut n) = (0.0, 0_usize);
    for (&label, &drawn) in candidate.labels.iter().zip(chosen) {
        if usize::from(label) == zone && drawn > 0 {
            sum += goals.get(usize::from(drawn) - 1)?;
            n += 1;
        }
    }
    (n > 0).then(|| sum / n as f64)
}

fn total_usd(
    candidate: &Candidate,
    seasons: &[SeasonPlacement],
    settings: &RateSettings,
    (treated, treated_ac): (&[bool], f64),
) -> Option<f64> {
    let usd_ac = |season: &SeasonPlacement| {
        let spreads = season.spreads.iter().map(|spread| {
            let product = settings.products.iter().find(|product| product.short == spread.product)?;
            Some(spread.product_lb_ac * product.usd_lb?)
        });
        spreads.sum::<Option<f64>>()
    };
    let usd_ac: Vec<f64> = seasons.iter().map(usd_ac).collect::<Option<_>>()?;
    let cells = candidate.labels.iter().zip(treated).filter(|(label, treated)| **label > 0 && **treated);
    let (sum, n) = cells.fold((0.0, 0_usize), |(sum, n), (label, _)| (sum + usd_ac[usize::from(*label) - 1], n + 1));
    Some(sum / n.max(1) as f64 * treated_ac)
}

/// The largest change of a rate, and the ground on which any changes.
fn changes(
    (candidate, own): (&Candidate, &[SeasonPlacement]),
    (fewer, theirs): (&Candidate, &[SeasonPlacement]),
    settings: &RateSettings,
    (treated, treated_ac): (&[bool], f64),
) -> (RateChange, f64) {
    let mut n_pairs = vec![vec![0_usize; theirs.len()]; own.len()];
    let cells = candidate.labels.iter().zip(&fewer.labels).zip(treated);
    for ((&a, &b), _) in cells.filter(|((a, b), treated)| **a > 0 && **b > 0 && **treated) {
        n_pairs[usize::from(a) - 1][usize::from(b) - 1] += 1;
    }
    let n_all: usize = n_pairs.iter().flatten().sum();
    let mut most = RateChange { product: String::new(), unit: RateUnit::LbAc, rate: 0.0 };
    let (mut most_weight, mut n_changed) = (0.0, 0_usize);
    for (a, row) in n_pairs.iter().enumerate() {
        for (b, n) in row.iter().enumerate().filter(|(_, n)| **n > 0) {
            let mut is_changed = false;
            for (change, weight, step) in rate_changes(&own[a], &theirs[b], settings) {
                is_changed |= change.rate > 0.0 && change.rate >= step - 1e-9;
                if weight > most_weight {
                    (most_weight, most) = (weight, change);
                }
            }
            n_changed += if is_changed { *n } else { 0 };
        }
    }
    (most, n_changed as f64 / n_all.max(1) as f64 * treated_ac)
}

/// How each product of each pass differs: the change, what it costs an acre (its pounds without a price), the step.
fn rate_changes(
    own: &SeasonPlacement,
    theirs: &SeasonPlacement,
    settings: &RateSettings,
) -> Vec<(RateChange, f64, f64)> {
    let mut found = Vec::new();
    for (index, pass) in settings.passes.iter().enumerate() {
        for short in &pass.products {
            let Some(product) = settings.products.iter().find(|product| product.short == *short) else { continue };
            let rate = |season: &SeasonPlacement| season.spread(index, short).map_or(0.0, |spread| spread.rate);
            let apart = (rate(own) - rate(theirs)).abs();
            let unit = product.rate_unit();
            let step = settings.machine.as_ref().and_then(|machine| machine.limits(unit)).map_or(0.0, |l| l.step);
            let weight = apart * product.lb_per_unit() * product.usd_lb.unwrap_or(1.0);
            found.push((RateChange { product: product.name.clone(), unit, rate: apart }, weight, step));
        }
    }
    found
}
