//! [`Comparison`]: the zoned programme held against one flat rate, in product, money and ground fed past or short of need.
//!
//! A loss is a loss: nothing here is floored at 0.

use super::hold_cap::k2o_cap;
use super::rate_plan::{FedGround, PassPlan, RateGround};
use super::{FlatProgramme, Pass, Product, RateSettings, Supply};
use crate::fields::HoldingClass;
use crate::units::M2_PER_ACRE;

/// Feeding off the need by more than this share is counted. Source: the share within 10 % is how as-applied logs are
/// judged (Colaco, Rosa and Molin: 30.6 % of points were more than 10 % off) \[R\].
pub const OFF_SHARE: f64 = 0.10;

/// Less than this off is not told, lb/ac. Source: heuristic, what a spreader does not hold.
const LEAST_OFF_LB_AC: f64 = 5.0;
/// The same of lime, lb/ac: a tenth of a short ton, the step lime tables are printed in.
const LEAST_OFF_LIME_LB_AC: f64 = 200.0;

/// One product, flat against zoned.
#[derive(Debug, Clone, PartialEq)]
pub struct ProductComparison {
    /// Short name.
    pub short: String,
    /// Printed name.
    pub name: String,
    /// Flat rate, in the product's rate unit.
    pub flat_rate: f64,
    /// Whether the flat rate is the user's, or the mean of what is spread by zones.
    pub flat_is_stated: bool,
    /// Product for the field, lb.
    pub flat_lb: f64,
    /// Product for the field, lb.
    pub zoned_lb: f64,
    /// Cost of the product, USD; `None` without a price.
    pub flat_usd: Option<f64>,
    /// Cost of the product, USD; `None` without a price.
    pub zoned_usd: Option<f64>,
    /// Pounds of product in its rate unit.
    pub lb_per_unit: f64,
}

/// What the trips cost.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TripComparison {
    /// Flat programme, USD.
    pub flat_usd: f64,
    /// Zoned programme, USD: surcharge and extra passes in it.
    pub zoned_usd: f64,
    /// Of the zoned: what varying the rate costs more, USD.
    pub surcharge_usd: f64,
    /// Of the zoned: passes the flat programme does not drive, USD.
    pub extra_pass_usd: f64,
    /// Passes without a stated cost.
    pub n_unknown: usize,
}

/// Ground fed past or short of what it needs by more than a tenth, acres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FedComparison {
    /// Of this supply.
    pub supply: Supply,
    /// Under the flat rate: over, under.
    pub flat_ac: [f64; 2],
    /// By zones: over, under.
    pub zoned_ac: [f64; 2],
}

/// The zoned programme held against a flat one.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// One entry a product that either of them spreads.
    pub products: Vec<ProductComparison>,
    /// Trips.
    pub trips: TripComparison,
    /// What sampling for zones costs more, USD; `None` = not stated.
    pub sampling_usd: Option<f64>,
    /// One entry a supply that is needed and brought.
    pub fed: Vec<FedComparison>,
    /// K2O that the flat rate would put on ground that holds little beyond what one pass may bring there, lb; `None`
    /// without such a limit, such ground, or potash. A rule of thumb, not a measurement.
    pub past_the_limit_k2o_lb: Option<f64>,
    /// What zones save, USD, everything above counted; below 0 they cost more. `None` where a price is unknown.
    pub saved_usd: Option<f64>,
    /// Ground inside the outline, acres.
    pub field_ac: f64,
}

/// One line of what both programmes cost, USD; `None` = not known.
#[derive(Debug, Clone, PartialEq)]
pub struct CostLine {
    /// Of what.
    pub of: CostOf,
    /// By the flat rates.
    pub flat_usd: Option<f64>,
    /// By zone.
    pub zoned_usd: Option<f64>,
}

/// What a line of costs is of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CostOf {
    /// A product, by its printed name.
    Product(String),
    /// All trips driven.
    Trips,
    /// Sampling for zones.
    Sampling,
    /// All lines together.
    All,
}

impl CostOf {
    /// As printed.
    pub fn words(&self) -> &str {
        match self {
            CostOf::Product(name) => name,
            CostOf::Trips => "trips",
            CostOf::Sampling => "sampling for zones",
            CostOf::All => "in all",
        }
    }
}

impl CostLine {
    /// By zone less flat.
    pub fn difference_usd(&self) -> Option<f64> {
        Some(self.zoned_usd? - self.flat_usd?)
    }
}

impl Comparison {
    /// What both programmes cost, a line a product, the trips and the sampling where it is stated; last all of them. Trips
    /// of which one has no stated cost are not known, and with them no sum.
    pub fn cost_lines(&self) -> Vec<CostLine> {
        let line = |of, flat_usd, zoned_usd| CostLine { of, flat_usd, zoned_usd };
        let product = |one: &ProductComparison| line(CostOf::Product(one.name.clone()), one.flat_usd, one.zoned_usd);
        let mut lines: Vec<CostLine> = self.products.iter().map(product).collect();
        let trips = (self.trips.n_unknown == 0).then_some(self.trips);
        lines.push(line(CostOf::Trips, trips.map(|trips| trips.flat_usd), trips.map(|trips| trips.zoned_usd)));
        lines.extend(self.sampling_usd.map(|usd| line(CostOf::Sampling, Some(0.0), Some(usd))));
        let flat_usd = lines.iter().map(|line| line.flat_usd).sum();
        let zoned_usd = lines.iter().map(|line| line.zoned_usd).sum();
        lines.push(line(CostOf::All, flat_usd, zoned_usd));
        lines
    }

    /// What the products alone save, USD; `None` where a price is unknown.
    pub fn product_saved_usd(&self) -> Option<f64> {
        self.products.iter().map(|product| Some(product.flat_usd? - product.zoned_usd?)).sum()
    }
}

/// Holds the plan against the flat programme stated, or against the mean of its own rates.
///
/// `treated_ac` is what each product may treat, by its short name; the whole field where it is not named.
pub fn compare(
    grounds: &[RateGround],
    plans: &[PassPlan],
    settings: &RateSettings,
    flat: &FlatProgramme,
    field_m2: f64,
) -> Comparison {
    let field_ac = field_m2 / M2_PER_ACRE;
    let products: Vec<ProductComparison> =
        settings.products.iter().filter_map(|product| product_line(product, plans, flat, field_ac)).collect();
    let trips = trips(plans, &products, settings, field_ac);
    let sampling_usd = flat.sampling_usd_ac.map(|usd_ac| usd_ac * field_ac);
    let fed = Supply::ALL.into_iter().filter_map(|supply| fed_line(supply, grounds, plans, settings, &products));
    let fed = fed.collect();
    let mut comparison =
        Comparison { products, trips, sampling_usd, fed, past_the_limit_k2o_lb: None, saved_usd: None, field_ac };
    comparison.past_the_limit_k2o_lb = past_the_limit(grounds, plans, settings, &comparison.products);
    comparison.saved_usd = (trips.n_unknown == 0).then_some(()).and_then(|()| {
        let products = comparison.product_saved_usd()?;
        Some(products + trips.flat_usd - trips.zoned_usd - sampling_usd.unwrap_or(0.0))
    });
    comparison
}

/// Ground a product may treat, acres: that of its rate file, the whole field without one.
fn treated_ac(short: &str, plans: &[PassPlan], field_ac: f64) -> f64 {
    let plan = plans.iter().find(|plan| plan.product.short == short);
    plan.map_or(field_ac, |plan| plan.rates.iter().fold(0.0, |sum, rate| sum + rate.area_ac))
}

fn product_line(
    product: &Product,
    plans: &[PassPlan],
    flat: &FlatProgramme,
    field_ac: f64,
) -> Option<ProductComparison> {
    let own = plans.iter().filter(|plan| plan.product.short == product.short);
    let zoned_lb: f64 = own.map(PassPlan::total_lb).sum();
    let ground_ac = treated_ac(&product.short, plans, field_ac);
    let stated = flat.rates.iter().find(|(short, _)| *short == product.short).map(|(_, rate)| *rate);
    let lb_per_unit = product.lb_per_unit();
    let flat_rate = match stated {
        Some(rate) => rate,
        None => zoned_lb / ground_ac / lb_per_unit,
    };
    let flat_lb = flat_rate * lb_per_unit * ground_ac;
    let usd = |lb: f64| product.usd_lb.map(|usd_lb| lb * usd_lb);
    (flat_lb > 0.0 || zoned_lb > 0.0).then(|| ProductComparison {
        short: product.short.clone(),
        name: product.name.clone(),
        flat_rate,
        flat_is_stated: stated.is_some(),
        flat_lb,
        zoned_lb,
        flat_usd: usd(flat_lb),
        zoned_usd: usd(zoned_lb),
        lb_per_unit,
    })
}

/// The pass a flat programme would take a product in: the first on all ground, else the first.
fn flat_pass<'p>(short: &str, passes: &'p [Pass]) -> Option<(usize, &'p Pass)> {
    let brings = |(_, pass): &(usize, &Pass)| pass.products.iter().any(|product| product == short);
    let all = || passes.iter().enumerate().filter(brings);
    all().find(|(_, pass)| pass.holds.is_none()).or_else(|| all().next())
}

fn trips(plans: &[PassPlan], products: &[ProductComparison], settings: &RateSettings, field_ac: f64) -> TripComparison {
    let mut trips = TripComparison::default();
    let spread_flat = products.iter().filter(|product| product.flat_lb > 0.0);
    let mut flat: Vec<usize> =
        spread_flat.filter_map(|product| flat_pass(&product.short, &settings.passes)).map(|(index, _)| index).collect();
    flat.sort_unstable();
    flat.dedup();
    for (index, pass) in settings.passes.iter().enumerate() {
        let is_flat = flat.contains(&index);
        let of_pass: Vec<&PassPlan> = plans.iter().filter(|plan| plan.number == index + 1).collect();
        let driven_ac = driven_ac(&of_pass);
        let cost = pass.trip;
        if (is_flat && cost.flat_usd_ac.is_none()) || (driven_ac > 0.0 && cost.variable_usd_ac.is_none()) {
            trips.n_unknown += 1;
            continue;
        }
        let (flat_usd_ac, variable_usd_ac) = (cost.flat_usd_ac.unwrap_or(0.0), cost.variable_usd_ac.unwrap_or(0.0));
        if is_flat {
            trips.flat_usd += flat_usd_ac * field_ac;
        }
        trips.zoned_usd += variable_usd_ac * driven_ac;
        match is_flat {
            true => trips.surcharge_usd += (variable_usd_ac - flat_usd_ac) * driven_ac,
            false => trips.extra_pass_usd += variable_usd_ac * driven_ac,
        }
    }
    trips
}

/// Ground one trip drives over: wherever any of its products is spread, acres.
fn driven_ac(plans: &[&PassPlan]) -> f64 {
    let Some(first) = plans.first() else { return 0.0 };
    // Products of one trip follow the same zones as a rule; where they do not, the widest of them is driven.
    if plans.iter().any(|plan| plan.follows != first.follows) {
        return plans.iter().map(|plan| plan.driven_ac()).fold(0.0, f64::max);
    }
    let zones = first.rates.iter().map(|rate| rate.zone);
    zones
        .map(|zone| {
            let of_zone = plans.iter().flat_map(|plan| &plan.rates).filter(|rate| rate.zone == zone && rate.rate > 0.0);
            of_zone.fold(0.0, |widest: f64, rate| widest.max(rate.area_ac))
        })
        .sum()
}

/// Area of a zone that is treated at all, acres: the widest of its products.
fn zone_ac(zone: usize, follows: usize, plans: &[PassPlan]) -> f64 {
    let of_ground = plans.iter().filter(|plan| plan.follows == follows);
    let of_zone = of_ground.flat_map(|plan| &plan.rates).filter(|rate| rate.zone == zone);
    of_zone.fold(0.0, |widest: f64, rate| widest.max(rate.area_ac))
}

fn fed_line(
    supply: Supply,
    grounds: &[RateGround],
    plans: &[PassPlan],
    settings: &RateSettings,
    products: &[ProductComparison],
) -> Option<FedComparison> {
    let (follows, ground) = grounds.iter().enumerate().find(|(_, ground)| ground.supplies.contains(&supply))?;
    let flat_lb_ac: f64 = products
        .iter()
        .filter_map(|line| {
            let product = settings.products.iter().find(|product| product.short == line.short)?;
            Some(product.supply_lb_ac(supply, line.flat_rate * line.lb_per_unit))
        })
        .sum();
    let is_brought = plans.iter().flat_map(|plan| &plan.rates).any(|rate| brought(rate, supply) > 0.0);
    if flat_lb_ac == 0.0 && !is_brought {
        return None;
    }
    let (mut flat_ac, mut zoned_ac) = ([0.0; 2], [0.0; 2]);
    for fed in &ground.fed {
        let Some(need_lb_ac) = need_lb_ac(fed, supply) else { continue };
        let zoned_lb_ac: f64 = plans
            .iter()
            .filter(|plan| plan.follows == follows)
            .flat_map(|plan| &plan.rates)
            .filter(|rate| rate.zone == fed.zone)
            .map(|rate| brought(rate, supply))
            .sum();
        let area_ac = zone_ac(fed.zone, follows, plans);
        for (lb_ac, sum_ac) in [(flat_lb_ac, &mut flat_ac), (zoned_lb_ac, &mut zoned_ac)] {
            let [over, under] = off(supply, lb_ac, need_lb_ac);
            sum_ac[0] += if over { area_ac } else { 0.0 };
            sum_ac[1] += if under { area_ac } else { 0.0 };
        }
    }
    Some(FedComparison { supply, flat_ac, zoned_ac })
}

fn brought(rate: &super::ZoneRate, supply: Supply) -> f64 {
    rate.brings_lb_ac.iter().filter(|(of, _)| *of == supply).map(|(_, lb_ac)| lb_ac).sum()
}

/// What a zone needs of a supply over all years; `None` where nobody asked.
fn need_lb_ac(fed: &FedGround, supply: Supply) -> Option<f64> {
    let needs: Vec<f64> = fed.needs.iter().filter(|need| need.supply == supply).map(|need| need.lb_ac()).collect();
    (!needs.is_empty()).then(|| needs.iter().sum())
}

/// Whether `lb_ac` is over, and under, `need_lb_ac` by more than a tenth of the need and by an amount worth telling.
fn off(supply: Supply, lb_ac: f64, need_lb_ac: f64) -> [bool; 2] {
    let least_lb_ac = if supply == Supply::Lime { LEAST_OFF_LIME_LB_AC } else { LEAST_OFF_LB_AC };
    let allowed_lb_ac = (need_lb_ac * OFF_SHARE).max(least_lb_ac);
    [lb_ac > need_lb_ac + allowed_lb_ac, lb_ac < need_lb_ac - allowed_lb_ac]
}

/// K2O of the flat rate on ground that holds little beyond what one pass may bring there, lb.
fn past_the_limit(
    grounds: &[RateGround],
    plans: &[PassPlan],
    settings: &RateSettings,
    products: &[ProductComparison],
) -> Option<f64> {
    let (follows, ground) = grounds.iter().enumerate().find(|(_, ground)| ground.supplies.contains(&Supply::K2o))?;
    let line = products.iter().find(|line| {
        let product = settings.products.iter().find(|product| product.short == line.short);
        line.flat_lb > 0.0 && product.is_some_and(|product| product.bought_for() == Some(Supply::K2o))
    })?;
    let product = settings.products.iter().find(|product| product.short == line.short)?;
    let (_, pass) = flat_pass(&line.short, &settings.passes)?;
    let flat_k2o_lb_ac = product.supply_lb_ac(Supply::K2o, line.flat_rate * line.lb_per_unit);
    let mut sum = None;
    for fed in &ground.fed {
        if fed.ground.class(&settings.hold) != Some(HoldingClass::Little) {
            continue;
        }
        let Some((limit_lb_ac, _)) = k2o_cap(&fed.ground, pass, &settings.hold) else { continue };
        let past_lb_ac = (flat_k2o_lb_ac - limit_lb_ac).max(0.0);
        *sum.get_or_insert(0.0) += past_lb_ac * zone_ac(fed.zone, follows, plans);
    }
    sum
}
