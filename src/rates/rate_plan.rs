//! [`RatePlan`]: what each piece of ground needs, and the rate of each product in each pass, each with its reason.

use super::comparison::Comparison;
use super::need::GroundNeed;
use super::pass::Pass;
use super::product::{Product, RateUnit};
use super::season::{SeasonPlacement, Spread};
use super::{GroundToFeed, RateSettings, Supply};
use crate::coverage::{Ground, NOTHING_LEFT_TO_TREAT, ZoneGround, ZoneOutlines};
use crate::diagnostic::{Code, Diagnostic, Place};
use crate::units::M2_PER_ACRE;
use crate::zones::FittedLabels;

/// The passes cannot bring the need.
pub static LEFT_OVER: Code = Code {
    name: "left-over",
    checks: "that the passes named bring what is needed, within what one of them may bring and the machine can spread",
    why: "what is held back is still needed",
    example: "110 lb K2O/ac needed, 96 lb at most in the one pass that comes before the crop",
    mend: "add the pass that is proposed, allow a pass more, or write `below_least = \"least\"`",
};
/// Messages of this stage, for `holdground explain`.
pub static CODES: &[&Code] = &[&LEFT_OVER];

/// Rate of a zone in one product of one pass.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneRate {
    /// Zone or class, from 1.
    pub zone: usize,
    /// Ground treated, acres.
    pub area_ac: f64,
    /// Ground of the zone the product keeps off, acres.
    pub kept_off_ac: f64,
    /// Rate in the product's unit, as the machine will hold it.
    pub rate: f64,
    /// Rate wanted before rounding, in the product's unit.
    pub wanted: f64,
    /// The rate in pounds of product an acre.
    pub product_lb_ac: f64,
    /// What the rate brings, lb/ac of each supply.
    pub brings_lb_ac: Vec<(Supply, f64)>,
    /// Product for the zone, lb.
    pub total_lb: f64,
    /// Why, with the numbers.
    pub why: String,
}

/// One product of one pass: what becomes one rate file.
#[derive(Debug, Clone, PartialEq)]
pub struct PassPlan {
    /// Number of the pass in the season, from 1.
    pub number: usize,
    /// The pass.
    pub pass: Pass,
    /// Its product.
    pub product: Product,
    /// Which of [`RatePlan::grounds`] its rates follow.
    pub follows: usize,
    /// One a zone.
    pub rates: Vec<ZoneRate>,
    /// Outlines of what is treated and what is kept off.
    pub grounds: Vec<ZoneGround>,
    /// What is kept off, in words.
    pub kept_off: Vec<String>,
}

impl PassPlan {
    /// Product for the field, lb.
    pub fn total_lb(&self) -> f64 {
        self.rates.iter().map(|rate| rate.total_lb).sum()
    }

    /// Product for the field, in the product's unit: lb, short tons or gallons.
    pub fn total(&self) -> f64 {
        self.total_lb() / self.product.lb_per_unit()
    }

    /// Cost of product, USD; `None` when the price is unknown.
    pub fn product_usd(&self) -> Option<f64> {
        self.product.usd_lb.map(|price| self.total_lb() * price)
    }

    /// Unit of the rates.
    pub fn unit(&self) -> RateUnit {
        self.product.rate_unit()
    }

    /// Ground that gets any of it, acres.
    pub fn driven_ac(&self) -> f64 {
        self.rates.iter().filter(|rate| rate.rate > 0.0).fold(0.0, |sum, rate| sum + rate.area_ac)
    }
}

/// A zone or class: what it needs, and how the passes bring it.
#[derive(Debug, Clone, PartialEq)]
pub struct FedGround {
    /// Zone or class, from 1.
    pub zone: usize,
    /// Its ground, as the limits of a pass see it.
    pub ground: GroundToFeed,
    /// One entry a supply.
    pub needs: Vec<GroundNeed>,
    /// Where it is placed; `None` without passes, products or machine.
    pub season: Option<SeasonPlacement>,
}

/// Classes of a supply's own need.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnClasses {
    /// Class of each cell, 0 = none; class 1 needs least.
    pub labels: Vec<u16>,
    /// What fitting them to the machine took.
    pub fitted: FittedLabels,
    /// Their outlines.
    pub outlines: ZoneOutlines,
}

/// What rates follow: the zones, or classes of a supply's own need.
#[derive(Debug, Clone, PartialEq)]
pub struct RateGround {
    /// The supplies that follow it.
    pub supplies: Vec<Supply>,
    /// Classes of own need; `None` = the zones.
    pub own: Option<OwnClasses>,
    /// One entry a zone or class.
    pub fed: Vec<FedGround>,
}

impl RateGround {
    /// What it is, in a word: "zone" or "class".
    pub fn word(&self) -> &'static str {
        if self.own.is_some() { "class" } else { "zone" }
    }

    /// All needs of a supply, zone by zone.
    pub fn needs(&self, supply: Supply) -> impl Iterator<Item = &GroundNeed> {
        self.fed.iter().flat_map(|fed| &fed.needs).filter(move |need| need.supply == supply)
    }
}

/// Needs, and rates as far as the answers go.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RatePlan {
    /// What rates follow, and what is needed there; empty without an answered need.
    pub grounds: Vec<RateGround>,
    /// One entry a pass and product that spreads anything, in the order driven.
    pub passes: Vec<PassPlan>,
    /// Sentences every page with rates carries: conversions named, stand-ins, what a rule of thumb is.
    pub notes: Vec<String>,
    /// The zoned programme held against a flat one.
    pub comparison: Option<Comparison>,
}

impl RatePlan {
    /// What a pass's rates follow.
    pub fn ground_of(&self, plan: &PassPlan) -> &RateGround {
        &self.grounds[plan.follows]
    }

    /// All needs.
    pub fn needs(&self) -> impl Iterator<Item = &GroundNeed> {
        self.grounds.iter().flat_map(|ground| &ground.fed).flat_map(|fed| &fed.needs)
    }

    /// Whether any pass spreads anything.
    pub fn has_rates(&self) -> bool {
        !self.passes.is_empty()
    }
}

/// The rate files of a piece of ground: each product of each pass that spreads anything anywhere.
///
/// `follows` is the place of `ground` among the plan's grounds. Totals rest on the outlines' areas, without what the
/// product keeps off. `field_file` is named in faults.
///
/// # Errors
/// A product that keeps off the whole field.
pub fn pass_plans(
    (follows, ground): (usize, &RateGround),
    outlines: &ZoneOutlines,
    settings: &RateSettings,
    field_file: &str,
) -> Result<Vec<PassPlan>, Box<Diagnostic>> {
    let mut plans = Vec::new();
    for (index, pass) in settings.passes.iter().enumerate() {
        for short in &pass.products {
            let Some(product) = settings.products.iter().find(|product| product.short == *short) else { continue };
            let is_spread = ground
                .fed
                .iter()
                .filter_map(|fed| fed.season.as_ref())
                .any(|season| season.spread(index, short).is_some_and(|spread| spread.rate > 0.0));
            if is_spread {
                let plan = pass_plan((index, pass), product, (follows, ground), outlines)
                    .map_err(|fault| Box::new(fault.at(Place::File(field_file.to_owned()))))?;
                plans.push(plan);
            }
        }
    }
    Ok(plans)
}

fn pass_plan(
    (index, pass): (usize, &Pass),
    product: &Product,
    (follows, ground): (usize, &RateGround),
    outlines: &ZoneOutlines,
) -> Result<PassPlan, Box<Diagnostic>> {
    let grounds = outlines.for_product(&product.short)?;
    let area_ac = |zone: usize, kind: Ground| {
        let of_zone = grounds.iter().filter(|ground| ground.zone == zone && ground.ground == kind);
        of_zone.fold(0.0, |sum, ground| sum + ground.area_m2) / M2_PER_ACRE
    };
    // What touches the field, in the order of the field file.
    let over = |name: &&str| grounds.iter().any(|ground| ground.kept_off.iter().any(|over| over == name));
    let kept_off: Vec<String> =
        outlines.kept_off_by(&product.short).into_iter().filter(over).map(str::to_owned).collect();
    if grounds.iter().all(|ground| ground.ground == Ground::SetBack) {
        let message = format!("{} keeps off the whole field: {}", product.name, kept_off.join("; "));
        let fault = Diagnostic::error(&NOTHING_LEFT_TO_TREAT, message);
        return Err(Box::new(fault.with_help("look at the distances and files of `[[keep_off]]`")));
    }
    let rate = |fed: &FedGround| {
        let areas_ac = [area_ac(fed.zone, Ground::Open), area_ac(fed.zone, Ground::SetBack)];
        zone_rate(fed, (index, product), areas_ac)
    };
    let rates = ground.fed.iter().map(rate).collect();
    Ok(PassPlan { number: index + 1, pass: pass.clone(), product: product.clone(), follows, rates, grounds, kept_off })
}

fn zone_rate(fed: &FedGround, (index, product): (usize, &Product), [area_ac, kept_off_ac]: [f64; 2]) -> ZoneRate {
    let season = fed.season.as_ref();
    let spread = season.and_then(|season| season.spread(index, &product.short));
    let why = match (season, spread) {
        (Some(season), Some(spread)) => why_spread(fed, season, spread),
        (Some(season), None) => why_none(season, index, product),
        (None, _) => String::new(),
    };
    let (rate, product_lb_ac) = spread.map_or((0.0, 0.0), |spread| (spread.rate, spread.product_lb_ac));
    ZoneRate {
        zone: fed.zone,
        area_ac,
        kept_off_ac,
        rate,
        wanted: spread.map_or(0.0, |spread| spread.wanted),
        product_lb_ac,
        brings_lb_ac: spread.map_or(Vec::new(), |spread| spread.brings.clone()),
        total_lb: product_lb_ac * area_ac,
        why,
    }
}

/// Why a product of a pass brings nothing to a zone.
fn why_none(season: &SeasonPlacement, index: usize, product: &Product) -> String {
    let is_driven = season.spreads.iter().any(|spread| spread.pass == index);
    match product.bought_for().filter(|_| is_driven) {
        Some(supply) => format!("nothing: no {} to bring here in this pass", supply.name()),
        None => season.why(index, &|_, _| None),
    }
}

/// What is needed and why, what comes otherwise, what limits the pass.
fn why_spread(fed: &FedGround, season: &SeasonPlacement, spread: &Spread) -> String {
    let need = |supply: Supply| fed.needs.iter().filter(move |need| need.supply == supply);
    let reason =
        |supply: Supply, year: usize| need(supply).find_map(|need| need.words_of_year(year)).map(str::to_owned);
    let mut words = season.why_spread(spread, &reason);
    let mut supplies: Vec<Supply> = spread.meets.iter().filter(|met| !met.is_carried).map(|met| met.supply).collect();
    supplies.dedup();
    for one in supplies.into_iter().flat_map(need) {
        words += &format!("; {}", one.ground_words);
    }
    words
}
