//! What the season of a zone says: why a rate, why none, what is left over and what would place it.

use super::books::{Books, Refusal};
use super::{Allotment, LeftOver, SeasonPlacement, Spread, Surplus, SurplusCause};
use crate::rates::nitrogen_split::NitrogenRule;
use crate::rates::{NitrogenStage, Supply};
use crate::units::LB_PER_SHORT_TON;

/// An amount of a supply in words: "88 lb K2O", "0.65 short ton of lime of the guide's quality".
pub fn supply_text(supply: Supply, lb_ac: f64) -> String {
    match supply {
        Supply::Lime => format!("{:.2} short ton of lime of the guide's quality", lb_ac / LB_PER_SHORT_TON),
        _ => format!("{lb_ac:.0} lb {}", supply.name()),
    }
}

/// A rate in words: "147 lb/ac", "0.93 short ton/ac".
fn rate_text(product: &crate::rates::Product, product_lb_ac: f64) -> String {
    let unit = product.rate_unit();
    format!("{:.*} {}", unit.decimals(), product.rate_of_lb_ac(product_lb_ac), unit.name())
}

impl Books<'_> {
    /// Why a need is left over.
    pub(super) fn why_left(&self, supply: Supply, year: usize) -> String {
        let mut parts: Vec<String> = Vec::new();
        let mut say = |part: String| {
            if !parts.contains(&part) {
                parts.push(part);
            }
        };
        for slot in 0..self.slots().len() {
            let (pass, product) = (self.pass_of(slot), self.product_of(slot));
            if !product.serves(supply) || pass.year > year {
                continue;
            }
            if pass.is_open_to(self.class) != Some(true) {
                let ground = pass.ground_words().unwrap_or_default();
                say(match self.class {
                    Some(_) => format!("`{}` is only for {ground}", pass.name),
                    None => {
                        format!("`{}` is only for {ground}, and how much this ground holds is not known", pass.name)
                    }
                });
            } else if pass.year < year && !self.may_come_early(supply) {
                say(match supply {
                    Supply::K2o => "ground that holds little does not keep potash brought a year early".to_owned(),
                    _ => format!("{} moves with water: it is not brought a year early", supply.name()),
                });
            } else if supply == Supply::N && self.refuses_fall_nitrogen(pass) {
                say(format!("`{}`: 20 to 50 % of nitrogen brought in the fall is lost on such ground", pass.name));
            } else if self.limits_of(slot).is_none() {
                say(format!("the machine's rates in {} are not stated", product.rate_unit().name()));
            } else {
                match self.refusals().get(&(supply, year, slot)) {
                    Some(Refusal::Limit(limit)) => say(format!("`{}`: {limit}", pass.name)),
                    Some(Refusal::UnderLeast(product_lb_ac)) => say(format!(
                        "`{}`: {} of {} is under the machine's least of {}",
                        pass.name,
                        rate_text(product, *product_lb_ac),
                        product.name,
                        self.limits_of(slot).map_or(0.0, |limits| limits.least)
                    )),
                    None => {}
                }
            }
        }
        if supply == Supply::N && *self.rules.nitrogen.rule(self.class) != NitrogenRule::AsCapacityAllows {
            say("what a pass cannot take only moves to later passes of the year".to_owned());
        }
        if parts.is_empty() { format!("no pass up to year {year} brings {}", supply.name()) } else { parts.join("; ") }
    }

    /// The pass that would place what is left over.
    pub(super) fn proposal(&self, supply: Supply, year: usize, lb_ac: f64) -> Option<String> {
        let is_bought = |product: &&crate::rates::Product| product.bought_for() == Some(supply);
        let all = || self.rules.products.iter();
        let product = all().find(is_bought).or_else(|| all().find(|product| product.serves(supply)))?;
        let Some(limits) = self.rules.machine.limits(product.rate_unit()) else {
            return Some(format!("state the machine's rates in {}", product.rate_unit().name()));
        };
        let product_lb_ac = product.product_lb_ac(supply, lb_ac);
        let amount = format!("{} of {}", rate_text(product, product_lb_ac), product.name);
        if product.rate_of_lb_ac(product_lb_ac) < limits.least {
            return Some(format!(
                "{amount} is under the machine's least of {}: too little for a pass of its own; the next soil test shows it",
                limits.least
            ));
        }
        let stage = if supply == Supply::N { ", in the standing crop" } else { "" };
        Some(format!("a further pass of year {year}{stage} with {} would place it: {amount}", product.short))
    }

    /// Why a pass spreads nothing on the zone.
    pub(super) fn why_not_spread(&self, index: usize) -> String {
        let pass = &self.rules.passes[index];
        if pass.is_open_to(self.class) != Some(true) {
            return format!("nothing: this pass is only for {}", pass.ground_words().unwrap_or_default());
        }
        let of_pass = |(_, _, slot): &(Supply, usize, usize)| self.slots()[*slot].pass == index;
        if let Some(((_, _, slot), refusal)) = self.refusals().iter().find(|(key, _)| of_pass(key)) {
            return match refusal {
                Refusal::Limit(limit) => format!("nothing: {limit}, under the machine's least"),
                Refusal::UnderLeast(product_lb_ac) => {
                    let (product, limits) = (self.product_of(*slot), self.limits_of(*slot));
                    let least = limits.map_or(0.0, |limits| limits.least);
                    format!("nothing: {} is under the machine's least of {least}", rate_text(product, *product_lb_ac))
                }
            };
        }
        let slots = (0..self.slots().len()).filter(|slot| self.slots()[*slot].pass == index);
        let mut supplies: Vec<Supply> = slots.filter_map(|slot| self.product_of(slot).bought_for()).collect();
        supplies.sort_unstable();
        supplies.dedup();
        if supplies.contains(&Supply::N) && self.refuses_fall_nitrogen(pass) {
            return "nothing: 20 to 50 % of nitrogen brought in the fall is lost on such ground".to_owned();
        }
        let names: Vec<&str> = supplies.iter().map(|supply| supply.name()).collect();
        format!("nothing: no {} is needed here that this pass would bring", names.join(", "))
    }

    /// Whether a pass of the year spreads nitrogen in the standing crop.
    pub(super) fn stage_of(&self, pass: usize) -> NitrogenStage {
        self.rules.passes[pass].nitrogen_stage()
    }
}

impl SeasonPlacement {
    /// Why a zone gets in a pass what it gets: one line, with numbers. `reason` gives the guide's own reason for the
    /// need of a supply in a year, where there is one.
    pub fn why(&self, pass: usize, reason: &dyn Fn(Supply, usize) -> Option<String>) -> String {
        let spreads: Vec<&Spread> = self.spreads.iter().filter(|spread| spread.pass == pass).collect();
        if spreads.is_empty() {
            let none = self.not_spread.iter().find(|(of, _)| *of == pass);
            return none.map_or_else(|| "nothing".to_owned(), |(_, why)| why.clone());
        }
        let lines: Vec<String> = spreads
            .iter()
            .map(|spread| match spreads.len() {
                1 => self.why_spread(spread, reason),
                _ => format!("{}: {}", spread.product, self.why_spread(spread, reason)),
            })
            .collect();
        lines.join(". ")
    }

    /// Why one product of a pass gets its rate.
    pub fn why_spread(&self, spread: &Spread, reason: &dyn Fn(Supply, usize) -> Option<String>) -> String {
        let is_one_year = self.needs.iter().all(|need| need.year == 1);
        let mut parts = Vec::new();
        let mut supplies: Vec<Supply> = Vec::new();
        for met in spread.meets.iter().filter(|met| !met.is_carried) {
            if !supplies.contains(&met.supply) {
                supplies.push(met.supply);
            }
        }
        for supply in &supplies {
            let of = |met: &&Allotment| met.supply == *supply && !met.is_carried;
            let years: Vec<String> = spread
                .meets
                .iter()
                .filter(of)
                .map(|met| {
                    let need = self.need_lb_ac(*supply, met.year);
                    let mut text = supply_text(*supply, need);
                    if !is_one_year {
                        text += &format!(" in year {}", met.year);
                    }
                    if let Some(reason) = reason(*supply, met.year) {
                        text += &format!(" ({reason})");
                    }
                    text + &self.met_elsewhere(spread, met, need)
                })
                .collect();
            parts.push(format!("needs {}", years.join(" and ")));
        }
        parts.extend(spread.limited_by.iter().map(ToString::to_string));
        let beside: Vec<String> = spread
            .brings
            .iter()
            .filter(|(supply, lb_ac)| !supplies.contains(supply) && *lb_ac >= 0.5)
            .map(|(supply, lb_ac)| supply_text(*supply, *lb_ac))
            .collect();
        if !beside.is_empty() {
            parts.push(format!("brings {} beside", beside.join(" and ")));
        }
        parts.join("; ")
    }

    /// What of a need comes otherwise: credits, what other products carry, and how much is left for this spread.
    fn met_elsewhere(&self, spread: &Spread, met: &Allotment, need_lb_ac: f64) -> String {
        let mut text = String::new();
        for credit in self.credited.iter().filter(|credit| (credit.supply, credit.year) == (met.supply, met.year)) {
            text += &format!(", {:.0} credited ({})", credit.lb_ac, credit.source);
        }
        for other in &self.spreads {
            let is_it = |of: &&Allotment| of.is_carried && (of.supply, of.year) == (met.supply, met.year);
            let carried = other.meets.iter().filter(is_it).fold(0.0, |sum, of| sum + of.lb_ac);
            if carried >= 0.5 && (other.pass, &other.product) != (spread.pass, &spread.product) {
                text += &format!(", {carried:.0} with {}", other.product);
            }
        }
        if need_lb_ac - met.lb_ac >= 0.5 {
            text += &match met.supply {
                Supply::Lime => format!(", {:.2} of it here", met.lb_ac / LB_PER_SHORT_TON),
                _ => format!(", {:.0} of it here", met.lb_ac),
            };
        }
        text
    }

    /// A left-over need in a sentence.
    pub fn left_over_text(&self, left: &LeftOver) -> String {
        format!("{} of year {} left over", supply_text_tenth(left.supply, left.lb_ac), left.year)
    }

    /// A surplus in a sentence.
    pub fn surplus_text(&self, surplus: &Surplus) -> String {
        let amount = supply_text_tenth(surplus.supply, surplus.lb_ac);
        match surplus.cause {
            SurplusCause::Credit => {
                format!("{} credits {amount} more than year {} needs: not carried over", surplus.source, surplus.year)
            }
            SurplusCause::Carried => format!("{} brings {amount} more than is needed", surplus.source),
            SurplusCause::RaisedToLeast => {
                format!("{} is raised to the machine's least: {amount} more than is needed", surplus.source)
            }
        }
    }
}

/// As [`supply_text`], with a tenth where a whole pound would read 0.
fn supply_text_tenth(supply: Supply, lb_ac: f64) -> String {
    match supply {
        Supply::Lime => supply_text(supply, lb_ac),
        _ if lb_ac < 1.0 => format!("{lb_ac:.1} lb {}/ac", supply.name()),
        _ => format!("{lb_ac:.0} lb {}/ac", supply.name()),
    }
}
