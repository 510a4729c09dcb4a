//! Proof of a placement, worked out anew from its rates.

use super::room::may_come_early;
use super::{SeasonPlacement, SeasonRules, Spread, ZoneToFeed};
use crate::fields::HoldingClass;
use crate::rates::hold_cap::{k2o_cap, lime_cap};
use crate::rates::{BelowLeast, NitrogenStage, Supply};

/// Slack of comparisons, lb/ac: caps are floored to a step with a billionth of a step.
const SLACK_LB_AC: f64 = 1e-3;

impl SeasonPlacement {
    /// Proves the placement: every cap of ground and machine holds for every pass, nothing is negative, no need is met
    /// too early or on ground the pass is not for, and need = credited + met + left over, delivered = met + surplus but
    /// for less than a step of each spread.
    ///
    /// # Errors
    /// The first thing that does not hold.
    pub fn prove(&self, rules: &SeasonRules, zone: &ZoneToFeed) -> Result<(), String> {
        for spread in &self.spreads {
            self.prove_spread(spread, rules, zone)?;
        }
        let class = zone.ground.class(rules.hold);
        for (index, pass) in rules.passes.iter().enumerate() {
            let here = || self.spreads.iter().filter(|spread| spread.pass == index);
            let sum = |supply: Supply| -> f64 {
                here().flat_map(|spread| &spread.brings).filter(|(of, _)| *of == supply).map(|(_, lb_ac)| lb_ac).sum()
            };
            if here().next().is_some() && pass.is_open_to(class) != Some(true) {
                return Err(format!("`{}` is driven on ground it is not for", pass.name));
            }
            if let Some((most, limit)) = k2o_cap(&zone.ground, pass, rules.hold)
                && sum(Supply::K2o) > most + SLACK_LB_AC
            {
                return Err(format!("`{}` brings {} lb K2O, but {limit}", pass.name, sum(Supply::K2o)));
            }
            let is_lime =
                |spread: &&Spread| product_of(spread, rules).is_some_and(|of| of.bought_for() == Some(Supply::Lime));
            let lime_lb_ac: f64 = here().filter(is_lime).map(|spread| spread.product_lb_ac).sum();
            if let Some((most, limit)) = lime_cap(pass, rules.hold)
                && lime_lb_ac > most + SLACK_LB_AC
            {
                return Err(format!("`{}` spreads {lime_lb_ac} lb of lime, but {limit}", pass.name));
            }
        }
        self.prove_ledger(rules, zone)
    }

    fn prove_spread(&self, spread: &Spread, rules: &SeasonRules, zone: &ZoneToFeed) -> Result<(), String> {
        let what = |text: String| Err(format!("{} in pass {}: {text}", spread.product, spread.pass + 1));
        let (Some(pass), Some(product)) = (rules.passes.get(spread.pass), product_of(spread, rules)) else {
            return what("no such pass or product".to_owned());
        };
        let Some(limits) = rules.machine.limits(product.rate_unit()) else {
            return what("the machine has no such rates".to_owned());
        };
        let steps = spread.rate / limits.step;
        if (steps - steps.round()).abs() > 1e-6 || spread.rate <= 0.0 {
            return what(format!("{} is not on a step of {}", spread.rate, limits.step));
        }
        if spread.rate < limits.least * (1.0 - 1e-9) || spread.rate > limits.most * (1.0 + 1e-9) {
            return what(format!("{} is not within {} and {}", spread.rate, limits.least, limits.most));
        }
        if limits.below_least == BelowLeast::Zero && (spread.rate - spread.wanted).abs() >= limits.step * (1.0 + 1e-6) {
            return what(format!("{} was wanted, {} is spread", spread.wanted, spread.rate));
        }
        if (product.lb_ac_of_rate(spread.rate) - spread.product_lb_ac).abs() > SLACK_LB_AC {
            return what(format!("{} lb/ac are not {}", spread.product_lb_ac, spread.rate));
        }
        let flow = rules.travel.flow_lb_min(spread.product_lb_ac).zip(rules.machine.flow_lb_min);
        if let Some((flow, most)) = flow.filter(|(flow, most)| *flow > most * (1.0 + 1e-6)) {
            return what(format!("{flow} lb/min, the machine puts out {most}"));
        }
        let class = zone.ground.class(rules.hold);
        for met in &spread.meets {
            let is_in_time = met.year == pass.year || (met.year > pass.year && may_come_early(met.supply, class));
            if met.lb_ac < 0.0 || !is_in_time {
                return what(format!("{} lb {} of year {}", met.lb_ac, met.supply.name(), met.year));
            }
            let is_fall = pass.nitrogen_stage() == NitrogenStage::Fall && met.supply == Supply::N && !met.is_carried;
            if is_fall && class == Some(HoldingClass::Little) && !rules.hold.fall_n_on_little {
                return what("nitrogen bought in the fall for ground that holds little".to_owned());
            }
        }
        Ok(())
    }

    fn prove_ledger(&self, rules: &SeasonRules, zone: &ZoneToFeed) -> Result<(), String> {
        for line in &self.ledger {
            let supply = line.supply;
            let need: f64 = zone.needs.iter().filter(|need| need.supply == supply).map(|need| need.lb_ac).sum();
            let delivered: f64 = self
                .spreads
                .iter()
                .filter_map(|spread| Some(product_of(spread, rules)?.share(supply) * spread.product_lb_ac))
                .sum();
            let slack = SLACK_LB_AC + 1e-9 * need;
            let parts = [line.credited_lb_ac, line.met_lb_ac, line.left_over_lb_ac, line.surplus_lb_ac];
            if parts.iter().any(|lb_ac| *lb_ac < 0.0) {
                return Err(format!("{} is negative in {line:?}", supply.name()));
            }
            if (need - line.credited_lb_ac - line.met_lb_ac - line.left_over_lb_ac).abs() > slack {
                return Err(format!("{need} lb {} needed, but {line:?}", supply.name()));
            }
            let step_lb_ac = |spread: &Spread| {
                let product = product_of(spread, rules)?;
                let step = rules.machine.limits(product.rate_unit())?.step;
                Some(product.supply_lb_ac(supply, product.lb_ac_of_rate(step)))
            };
            let rounding: f64 = self.spreads.iter().filter_map(step_lb_ac).sum();
            if (delivered - line.met_lb_ac - line.surplus_lb_ac).abs() > rounding + slack {
                return Err(format!("{delivered} lb {} are brought, but {line:?}", supply.name()));
            }
        }
        Ok(())
    }
}

fn product_of<'a>(spread: &Spread, rules: &SeasonRules<'a>) -> Option<&'a crate::rates::Product> {
    rules.products.iter().find(|product| product.short == spread.product)
}
