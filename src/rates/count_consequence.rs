//! What one more zone changes: rates, ground and money, for each number of zones.
//!
//! Indices of how apart zones are do not tell whether a further zone is worth a border; what it does to the rates does.

use super::Supply;
use super::need::{GoalYield, KNeed};
use super::rate_plan::RateSettings;
use super::tri_state_1995::{self, ADDED_K2O_LB_AC};
use crate::chemistry::Cation;
use crate::soil_surface::Variable;
use crate::zones::{Candidate, ZoneSummary};

/// What a number of zones comes to, and what it changes against the next smaller number.
#[derive(Debug, Clone, PartialEq)]
pub struct CountConsequence {
    /// Zones.
    pub count: usize,
    /// Product for the field, lb; `None` where no rate can be worked out.
    pub product_lb: Option<f64>,
    /// Its cost, USD; `None` where there is no rate or no price.
    pub product_usd: Option<f64>,
    /// Against the next smaller number; `None` for the smallest, or without rates.
    pub change: Option<CountChange>,
}

/// What the further zones change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CountChange {
    /// Number of zones it is held against.
    pub against: usize,
    /// Largest change of a rate anywhere, lb/ac of product.
    pub most_lb_ac: f64,
    /// Ground on which the rate changes by at least one step of the machine, acres.
    pub changed_ac: f64,
    /// Product more (or less, below 0), USD; `None` without a price.
    pub more_usd: Option<f64>,
}

/// Rates and money of every candidate, fewest zones first.
///
/// Goals stated one a zone of `chosen` (labels of the zones drawn) hold for the ground under them: another number of
/// zones takes their mean over its cells. Figures stated one a zone cannot be carried over; then there are no rates.
///
/// Only treated ground counts; a zone's rate there stands for its ground that has no zone, too. `treated_ac` is the
/// area of treated ground, acres. Without `has_rates` (a guide that was refused) no rates are worked out.
///
/// # Shape
/// `chosen`, `treated` and the labels of each candidate are one a cell.
pub fn consequences(
    candidates: &[Candidate],
    chosen: &[u16],
    settings: &RateSettings,
    has_rates: bool,
    (treated, treated_ac): (&[bool], f64),
) -> Vec<CountConsequence> {
    // Rates by classes of their own need do not follow the zones.
    let follows = has_rates && settings.own_classes.is_none();
    let rates: Vec<Option<Vec<f64>>> =
        candidates.iter().map(|candidate| rates_of(candidate, chosen, settings).filter(|_| follows)).collect();
    let product = settings
        .passes
        .first()
        .and_then(|pass| settings.products.iter().find(|p| Some(&p.short) == pass.products.first()));
    let price = product.and_then(|product| product.usd_lb);
    let step_lb_ac = settings.machine.and_then(|machine| machine.lb_ac).map_or(0.0, |limits| limits.step);
    let usd = |lb: f64| price.map(|price| lb * price);
    let rate = |label: u16, rates: &[f64]| rates[usize::from(label) - 1];
    let total = |candidate: &Candidate, rates: &[f64]| {
        let cells = candidate.labels.iter().zip(treated).filter(|(label, treated)| **label > 0 && **treated);
        let (sum, n) = cells.fold((0.0, 0_usize), |(sum, n), (label, _)| (sum + rate(*label, rates), n + 1));
        sum / n.max(1) as f64 * treated_ac
    };
    let mut told: Vec<CountConsequence> = Vec::new();
    for (index, candidate) in candidates.iter().enumerate() {
        let own = rates[index].as_deref();
        let product_lb = own.map(|rates| total(candidate, rates));
        let before = index.checked_sub(1).and_then(|at| Some((&candidates[at], rates[at].as_deref()?)));
        let change = before.zip(own).map(|((fewer, their_rates), own)| {
            let (mut most_lb_ac, mut n_changed, mut n) = (0.0_f64, 0_usize, 0_usize);
            let pairs = candidate.labels.iter().zip(&fewer.labels).zip(treated);
            for ((&label, &theirs), _) in pairs.filter(|((a, b), treated)| **a > 0 && **b > 0 && **treated) {
                let apart = (rate(label, own) - rate(theirs, their_rates)).abs();
                most_lb_ac = most_lb_ac.max(apart);
                n_changed += usize::from(apart > 0.0 && apart >= step_lb_ac - 1e-9);
                n += 1;
            }
            let changed_ac = n_changed as f64 / n.max(1) as f64 * treated_ac;
            let more = total(candidate, own) - total(fewer, their_rates);
            CountChange { against: fewer.count, most_lb_ac, changed_ac, more_usd: usd(more) }
        });
        told.push(CountConsequence {
            count: candidate.count,
            product_lb,
            product_usd: product_lb.and_then(usd),
            change,
        });
    }
    told
}

/// Product rate of each zone of a candidate, lb/ac as the machine will hold it.
fn rates_of(candidate: &Candidate, chosen: &[u16], settings: &RateSettings) -> Option<Vec<f64>> {
    let pass = settings.passes.first()?;
    let product = settings.products.iter().find(|product| Some(&product.short) == pass.products.first())?;
    let limits = settings.machine?.lb_ac?;
    let need = settings.need.as_ref()?;
    let need_of = |zone: &ZoneSummary| match need {
        KNeed::Fixed(list) => (list.len() == 1).then(|| list[0]),
        KNeed::TriState1995 => {
            let goal = match settings.goal.as_ref()? {
                GoalYield::Field(goal) => *goal,
                GoalYield::Zones(goals) => mean_goal(candidate, zone.zone, chosen, goals)?,
            };
            let (k_ppm, cec) = (zone.mean(Variable::Amount(Cation::K))?, zone.mean(Variable::Cec)?);
            Some(tri_state_1995::recommend(k_ppm, cec, settings.crop?, goal, ADDED_K2O_LB_AC).k2o_lb_ac)
        }
    };
    let rate = |zone: &ZoneSummary| Some(limits.rate(product.product_lb_ac(Supply::K2o, need_of(zone)?)).rate);
    candidate.zones.iter().map(rate).collect()
}

/// Mean, over the cells of a candidate's zone, of the goals of the zones drawn.
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rates::{
        BelowLeast, Crop, Form, Machine, MachineTravel, Pass, Placement, Product, RateLimits, TripCost,
    };

    fn zone(zone: usize, n_cells: usize, k_ppm: f64, cec: f64) -> ZoneSummary {
        let means = vec![(Variable::Amount(Cation::K), k_ppm), (Variable::Cec, cec)];
        ZoneSummary { zone, name: None, n_cells, n_sites: 0, holding: None, means, covariate_means: Vec::new() }
    }

    fn settings(goal: GoalYield) -> RateSettings {
        RateSettings {
            crop: Some(Crop::Corn),
            goal: Some(goal),
            need: Some(KNeed::TriState1995),
            own_classes: None,
            products: vec![Product {
                short: "POT".into(),
                name: "Potash 0-0-60".into(),
                percent: vec![(Supply::K2o, 60.0)],
                form: Form::Dry { lb_ft3: None },
                usd_lb: Some(0.2),
            }],
            passes: vec![Pass {
                name: "Before planting".into(),
                window: None,
                year: 1,
                products: vec!["POT".into()],
                placement: Placement::Tilled,
                reaches_in: 7.0,
                standing_crop: false,
                fall: false,
                holds: None,
                trip: TripCost::default(),
            }],
            machine: Some(Machine {
                lb_ac: Some(RateLimits { least: 50.0, most: 400.0, step: 5.0, below_least: BelowLeast::Zero }),
                ..Machine::default()
            }),
            travel: MachineTravel::default(),
        }
    }

    /// Four cells of 10 acres. As one zone: K 110 ppm at CEC 14 (level 110), 150 bu corn: maintenance, 40.5 + 20 = 60.5
    /// lb K2O, 100.8 lb of product, 100 by steps of 5. As two: K 60 at CEC 5 (level 87.5) needs 27.5 x 1.25 + 60.5 = 94.9
    /// lb, 158.1 of product, 160 by steps; K 160 at CEC 23 (level 132.5) is in maintenance: 100.
    fn candidates() -> Vec<Candidate> {
        vec![
            Candidate { count: 1, labels: vec![1, 1, 1, 1], zones: vec![zone(1, 4, 110.0, 14.0)] },
            Candidate {
                count: 2,
                labels: vec![1, 2, 2, 2],
                zones: vec![zone(1, 1, 60.0, 5.0), zone(2, 3, 160.0, 23.0)],
            },
        ]
    }

    /// All four cells are treated.
    const ALL: (&[bool], f64) = (&[true; 4], 40.0);

    #[test]
    fn kept_off_and_open_ground_do_not_count() {
        // The first cell is kept off, the last has no zone: two cells at 100 lb/ac stand for 30 acres.
        let mut candidates = candidates();
        candidates[1].labels[3] = 0;
        let ground: (&[bool], f64) = (&[false, true, true, true], 30.0);
        let told = consequences(&candidates, &[1, 2, 2, 0], &settings(GoalYield::Field(150.0)), true, ground);
        assert_eq!((told[0].product_lb, told[1].product_lb), (Some(3_000.0), Some(3_000.0)));
        assert_eq!((told[1].change.unwrap().most_lb_ac, told[1].change.unwrap().changed_ac), (0.0, 0.0));
        let refused = consequences(&candidates, &[1, 2, 2, 0], &settings(GoalYield::Field(150.0)), false, ground);
        assert!(refused.iter().all(|count| count.product_lb.is_none() && count.change.is_none()));
    }

    #[test]
    fn hand_case_of_two_zones_against_one() {
        let told = consequences(&candidates(), &[1, 2, 2, 2], &settings(GoalYield::Field(150.0)), true, ALL);
        assert_eq!(
            told[0],
            CountConsequence { count: 1, product_lb: Some(4_000.0), product_usd: Some(800.0), change: None }
        );
        assert_eq!(told[1].product_lb, Some(10.0 * 160.0 + 30.0 * 100.0));
        let change = told[1].change.unwrap();
        assert_eq!((change.against, change.most_lb_ac, change.changed_ac), (1, 60.0, 10.0));
        assert!((change.more_usd.unwrap() - 120.0).abs() < 1e-9);
    }

    #[test]
    fn goals_of_zones_are_carried_to_other_numbers_by_their_ground() {
        // One zone takes the mean goal of the ground: (110 + 3 x 150) / 4 = 140 bu, 37.8 + 20 = 57.8 lb, 96.3: 95 lb/ac.
        let goals = GoalYield::Zones(vec![110.0, 150.0]);
        let told = consequences(&candidates(), &[1, 2, 2, 2], &settings(goals), true, ALL);
        assert_eq!(told[0].product_lb, Some(40.0 * 95.0));
        // Figures stated a zone cannot be carried over; one figure for all can, and moves nothing.
        let fixed = |list: &[f64]| RateSettings {
            need: Some(KNeed::Fixed(list.to_vec())),
            ..settings(GoalYield::Field(150.0))
        };
        let told = consequences(&candidates(), &[1, 2, 2, 2], &fixed(&[90.0, 0.0]), true, ALL);
        assert!(told.iter().all(|count| count.product_lb.is_none() && count.change.is_none()));
        let told = consequences(&candidates(), &[1, 2, 2, 2], &fixed(&[60.0]), true, ALL);
        assert_eq!((told[1].change.unwrap().most_lb_ac, told[1].change.unwrap().changed_ac), (0.0, 0.0));
        // Rates by classes of their own need do not follow zones.
        let own = RateSettings { own_classes: Some(3), ..settings(GoalYield::Field(150.0)) };
        assert!(consequences(&candidates(), &[1, 2, 2, 2], &own, true, ALL).iter().all(|count| count.change.is_none()));
    }
}
