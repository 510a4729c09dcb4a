//! [`RatePlan`]: product and rate of each zone, each with its reason.

use super::Crop;
use super::Supply;
use super::machine::{Machine, MachineTravel, RateLimits};
use super::need::{GoalYield, KNeed, Needs, ZoneNeed};
use super::pass::Pass;
use super::product::Product;
use crate::coverage::{Ground, NOTHING_LEFT_TO_TREAT, ZoneGround, ZoneOutlines};
use crate::diagnostic::{Code, Diagnostic, Place};
use crate::units::M2_PER_ACRE;

/// The machine cannot bring the need.
pub static LEFT_OVER: Code = Code {
    name: "left-over",
    checks: "that the rate needed is neither above the most nor under the least the machine can spread",
    why: "what is held back is still needed",
    example: "512 lb/ac needed, 400 lb/ac at most",
    mend: "bring the rest in another pass, or write `below_least = \"least\"`",
};
/// Messages of this stage, for `holdground explain`.
pub static CODES: &[&Code] = &[&LEFT_OVER];

/// Settings of the rate stage.
#[derive(Debug, Clone, PartialEq)]
pub struct RateSettings {
    /// Crop.
    pub crop: Option<Crop>,
    /// Yield goal.
    pub goal: Option<GoalYield>,
    /// How the need is found; `None` = zones only.
    pub need: Option<KNeed>,
    /// Classes of potassium's own need that rates follow in the place of zones; `None` = rates follow zones.
    pub own_classes: Option<usize>,
    /// Products.
    pub products: Vec<Product>,
    /// Passes; this version plans one.
    pub passes: Vec<Pass>,
    /// The machine.
    pub machine: Option<Machine>,
    /// How the machine covers the ground.
    pub travel: MachineTravel,
}

/// Rate of a zone in the pass.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneRate {
    /// Zone, from 1.
    pub zone: usize,
    /// Ground treated, acres.
    pub area_ac: f64,
    /// Ground of the zone the product keeps off, acres.
    pub kept_off_ac: f64,
    /// Product, lb/ac, as the machine will hold it.
    pub product_lb_ac: f64,
    /// Product needed before rounding, lb/ac.
    pub wanted_lb_ac: f64,
    /// K2O the rate brings, lb/ac.
    pub k2o_lb_ac: f64,
    /// K2O the machine's least or most keeps back, lb/ac.
    pub left_over_k2o_lb_ac: f64,
    /// Product for the zone, lb.
    pub total_lb: f64,
    /// Why, with the numbers.
    pub why: String,
}

/// Needs, and rates of one pass as far as the answers go.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RatePlan {
    /// What is needed where.
    pub needs: Needs,
    /// The pass, its product and one rate a zone; `None` without product, pass or machine.
    pub pass: Option<PassPlan>,
}

/// One pass.
#[derive(Debug, Clone, PartialEq)]
pub struct PassPlan {
    /// Number in the season, from 1.
    pub number: usize,
    /// The pass.
    pub pass: Pass,
    /// Its product.
    pub product: Product,
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

    /// Cost of product, USD; `None` when the price is unknown.
    pub fn product_usd(&self) -> Option<f64> {
        self.product.usd_lb.map(|price| self.total_lb() * price)
    }
}

/// Plans the pass for needs already found; `None` without product, pass or machine.
///
/// Totals rest on the outlines' areas, without what the product keeps off. `ground` is what rates follow, in a word
/// (zone or class); `field_file` is named in faults.
///
/// # Errors
/// A product that keeps off the whole field.
pub fn plan(
    needs: &[ZoneNeed],
    outlines: &ZoneOutlines,
    settings: &RateSettings,
    ground: &str,
    field_file: &str,
) -> Result<(Option<PassPlan>, Vec<Diagnostic>), Box<Diagnostic>> {
    let mut found = Vec::new();
    let (Some(pass), Some(machine)) = (settings.passes.first(), settings.machine.and_then(|machine| machine.lb_ac))
    else {
        return Ok((None, found));
    };
    let product = settings.products.iter().find(|product| Some(&product.short) == pass.products.first());
    let Some(product) = product.filter(|_| !needs.is_empty()) else { return Ok((None, found)) };
    let plan = pass_plan(needs, pass, product, &machine, (outlines, ground), &mut found)
        .map_err(|fault| Box::new(fault.at(Place::File(field_file.to_owned()))))?;
    Ok((Some(plan), found))
}

fn pass_plan(
    needs: &[ZoneNeed],
    pass: &Pass,
    product: &Product,
    machine: &RateLimits,
    (outlines, ground): (&ZoneOutlines, &str),
    found: &mut Vec<Diagnostic>,
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
    let rate = |need: &ZoneNeed| {
        let ground_ac = [area_ac(need.zone, Ground::Open), area_ac(need.zone, Ground::SetBack)];
        zone_rate(need, (ground, ground_ac), product, machine, found)
    };
    let rates = needs.iter().map(rate).collect();
    Ok(PassPlan { number: 1, pass: pass.clone(), product: product.clone(), rates, grounds, kept_off })
}

/// A place is a zone; a class of own need is named in the message alone.
fn at_ground(warning: Diagnostic, ground: &str, number: usize) -> Diagnostic {
    if ground == "zone" { warning.at(Place::Zone(number)) } else { warning }
}

fn zone_rate(
    need: &ZoneNeed,
    (ground, [area_ac, kept_off_ac]): (&str, [f64; 2]),
    product: &Product,
    machine: &RateLimits,
    found: &mut Vec<Diagnostic>,
) -> ZoneRate {
    let wanted_lb_ac = product.product_lb_ac(Supply::K2o, need.k2o_lb_ac);
    let rate = machine.rate(wanted_lb_ac);
    let left_over_k2o_lb_ac = product.supply_lb_ac(Supply::K2o, rate.left_over);
    let mut why = need.why.clone();
    if wanted_lb_ac > 0.0 && rate.rate == 0.0 {
        let least = machine.least;
        why += &format!("; {wanted_lb_ac:.0} lb/ac of product is under the machine's least of {least:.0}: none");
        let message = format!(
            "{ground} {} needs {wanted_lb_ac:.0} lb/ac of {}, under the machine's least of {least:.0}: {left_over_k2o_lb_ac:.0} lb K2O/ac left over",
            need.zone, product.name
        );
        found.push(at_ground(Diagnostic::warning(&LEFT_OVER, message), ground, need.zone));
    } else if rate.rate > wanted_lb_ac + machine.step {
        why += &format!("; raised to the machine's least of {:.0}", machine.least);
    } else if rate.left_over > 0.0 {
        why += &format!("; the machine's most keeps back {left_over_k2o_lb_ac:.0} lb K2O");
        let message = format!(
            "{ground} {} needs {wanted_lb_ac:.0} lb/ac of {}, the machine spreads {:.0} at most: {left_over_k2o_lb_ac:.0} lb K2O/ac left over",
            need.zone, product.name, machine.most
        );
        found.push(at_ground(Diagnostic::warning(&LEFT_OVER, message), ground, need.zone));
    }
    ZoneRate {
        zone: need.zone,
        area_ac,
        kept_off_ac,
        product_lb_ac: rate.rate,
        wanted_lb_ac,
        k2o_lb_ac: product.supply_lb_ac(Supply::K2o, rate.rate),
        left_over_k2o_lb_ac,
        total_lb: rate.rate * area_ac,
        why,
    }
}
