//! The account while it is open: what is still owed, and what each product of each pass is to bring.

use std::collections::BTreeMap;

use super::{Allotment, Credited, SeasonRules, Surplus, SurplusCause, YearNeed, ZoneToFeed};
use crate::fields::HoldingClass;
use crate::rates::{GroundToFeed, Limit, Pass, Product, RateLimits, Supply};

/// Amounts under this, lb/ac, are arithmetic dust.
pub(super) const DUST_LB_AC: f64 = 1e-6;

/// One product of one pass.
#[derive(Debug, Clone)]
pub(super) struct Slot {
    pub(super) pass: usize,
    pub(super) product: usize,
    /// Product wanted before rounding, lb/ac.
    pub(super) wanted_lb_ac: f64,
    /// Product as rounded, in its rate unit.
    pub(super) rate: f64,
    /// The same, lb/ac.
    pub(super) rate_lb_ac: f64,
    pub(super) limit: Option<Limit>,
    /// Of each supply of [`Supply::ALL`], how much of what the rate brings is in the account, lb/ac.
    counted_lb_ac: [f64; 5],
}

/// Why a product of a pass took less of a need than was left.
#[derive(Debug, Clone)]
pub(super) enum Refusal {
    Limit(Limit),
    /// So many lb/ac of product are under the machine's least.
    UnderLeast(f64),
}

/// Need met by a slot.
#[derive(Debug, Clone, Copy)]
pub(super) struct Met {
    pub(super) slot: usize,
    pub(super) of: Allotment,
}

/// What placing changes; kept to go back to.
#[derive(Debug, Clone)]
pub(super) struct State {
    pub(super) slots: Vec<Slot>,
    owed: BTreeMap<(Supply, usize), f64>,
    pub(super) met: Vec<Met>,
    /// By supply, year and slot.
    pub(super) refusals: BTreeMap<(Supply, usize, usize), Refusal>,
}

pub(super) struct Books<'a> {
    pub(super) rules: &'a SeasonRules<'a>,
    pub(super) ground: GroundToFeed,
    pub(super) class: Option<HoldingClass>,
    pub(super) needs: Vec<YearNeed>,
    pub(super) credited: Vec<Credited>,
    pub(super) state: State,
    pub(super) surplus: Vec<Surplus>,
    /// What the split of nitrogen wants known.
    pub(super) told_of_nitrogen: Vec<String>,
}

impl<'a> Books<'a> {
    /// Opens the account: needs less credits.
    pub(super) fn open(rules: &'a SeasonRules<'a>, zone: &ZoneToFeed) -> Self {
        let mut owed: BTreeMap<(Supply, usize), f64> = BTreeMap::new();
        for need in &zone.needs {
            *owed.entry((need.supply, need.year)).or_insert(0.0) += need.lb_ac;
        }
        let needs = owed.iter().map(|(&(supply, year), &lb_ac)| YearNeed { year, supply, lb_ac }).collect();
        let (mut credited, mut surplus) = (Vec::new(), Vec::new());
        for credit in &zone.credits {
            let owed = owed.entry((credit.supply, credit.year)).or_insert(0.0);
            let used = credit.lb_ac.min(*owed);
            *owed -= used;
            let (supply, year, source) = (credit.supply, credit.year, credit.source.clone());
            if credit.lb_ac - used > DUST_LB_AC {
                let (cause, source) = (SurplusCause::Credit, source.clone());
                surplus.push(Surplus { supply, year, lb_ac: credit.lb_ac - used, cause, source });
            }
            if used > 0.0 {
                credited.push(Credited { supply, year, lb_ac: used, source });
            }
        }
        let mut slots = Vec::new();
        for (pass, of) in rules.passes.iter().enumerate() {
            for (index, short) in of.products.iter().enumerate() {
                if of.products[..index].contains(short) {
                    continue;
                }
                let Some(product) = rules.products.iter().position(|product| product.short == *short) else { continue };
                let counted_lb_ac = [0.0; 5];
                slots.push(Slot {
                    pass,
                    product,
                    wanted_lb_ac: 0.0,
                    rate: 0.0,
                    rate_lb_ac: 0.0,
                    limit: None,
                    counted_lb_ac,
                });
            }
        }
        Books {
            rules,
            ground: zone.ground,
            class: zone.ground.class(rules.hold),
            needs,
            credited,
            state: State { slots, owed, met: Vec::new(), refusals: BTreeMap::new() },
            surplus,
            told_of_nitrogen: Vec::new(),
        }
    }

    pub(super) fn slots(&self) -> &[Slot] {
        &self.state.slots
    }

    pub(super) fn refusals(&self) -> &BTreeMap<(Supply, usize, usize), Refusal> {
        &self.state.refusals
    }

    pub(super) fn pass_of(&self, slot: usize) -> &'a Pass {
        &self.rules.passes[self.state.slots[slot].pass]
    }

    pub(super) fn product_of(&self, slot: usize) -> &'a Product {
        &self.rules.products[self.state.slots[slot].product]
    }

    pub(super) fn limits_of(&self, slot: usize) -> Option<&'a RateLimits> {
        self.rules.machine.limits(self.product_of(slot).rate_unit())
    }

    pub(super) fn owed(&self, supply: Supply, year: usize) -> f64 {
        self.state.owed.get(&(supply, year)).copied().unwrap_or(0.0)
    }

    pub(super) fn years_owed(&self, supply: Supply) -> Vec<usize> {
        self.state
            .owed
            .iter()
            .filter(|((of, _), lb)| *of == supply && **lb > DUST_LB_AC)
            .map(|(key, _)| key.1)
            .collect()
    }

    /// What a slot brings of a supply, as rounded, lb/ac.
    pub(super) fn brings(&self, slot: usize, supply: Supply) -> f64 {
        self.product_of(slot).supply_lb_ac(supply, self.state.slots[slot].rate_lb_ac)
    }

    /// Whether a slot was given some of a supply in its own right.
    pub(super) fn is_bought_for(&self, slot: usize, supply: Supply) -> bool {
        self.state.met.iter().any(|met| met.slot == slot && met.of.supply == supply && !met.of.is_carried)
    }

    pub(super) fn meet(&mut self, slot: usize, of: Allotment) {
        *self.state.owed.entry((of.supply, of.year)).or_insert(0.0) -= of.lb_ac;
        self.state.met.push(Met { slot, of });
    }

    /// Counts what products already placed carry of a supply, before any is bought for it.
    pub(super) fn count_carried(&mut self, supply: Supply) {
        for slot in 0..self.state.slots.len() {
            let carried = self.brings(slot, supply) - self.state.slots[slot].counted_lb_ac[supply as usize];
            if carried <= DUST_LB_AC {
                continue;
            }
            self.state.slots[slot].counted_lb_ac[supply as usize] += carried;
            let (pass_year, early) = (self.pass_of(slot).year, self.may_come_early(supply));
            let mut left = carried;
            for year in self.years_owed(supply) {
                if year == pass_year || (year > pass_year && early) {
                    let lb_ac = left.min(self.owed(supply, year));
                    self.meet(slot, Allotment { supply, year, lb_ac, is_carried: true });
                    left -= lb_ac;
                }
            }
            self.more_than_needed(slot, supply, left, SurplusCause::Carried);
        }
    }

    fn more_than_needed(&mut self, slot: usize, supply: Supply, lb_ac: f64, cause: SurplusCause) {
        if lb_ac > DUST_LB_AC {
            let source = format!("{} in `{}`", self.product_of(slot).name, self.pass_of(slot).name);
            self.surplus.push(Surplus { supply, year: self.pass_of(slot).year, lb_ac, cause, source });
        }
    }

    /// Places a supply year by year, each into its passes in order. A product that falls under the machine's least is
    /// closed and its part tried elsewhere.
    pub(super) fn place_by_order(&mut self, supply: Supply) {
        let before = self.state.clone();
        let mut closed: Vec<(usize, f64)> = Vec::new();
        loop {
            for year in self.years_owed(supply) {
                for slot in self.candidates(supply, year) {
                    let owed = self.owed(supply, year);
                    match closed.iter().find(|(of, _)| *of == slot) {
                        Some((_, lb_ac)) if owed > DUST_LB_AC => {
                            self.state.refusals.insert((supply, year, slot), Refusal::UnderLeast(*lb_ac));
                        }
                        Some(_) => {}
                        None if owed > DUST_LB_AC => drop(self.take(slot, (supply, year), owed, None)),
                        None => {}
                    }
                }
            }
            let dropped = |slot: &&Slot| slot.wanted_lb_ac > 0.0 && slot.rate_lb_ac == 0.0;
            // Nitrogen moves to later passes, all else to earlier ones.
            let found = match supply {
                Supply::N => self.state.slots.iter().position(|slot| dropped(&slot)),
                _ => self.state.slots.iter().rposition(|slot| dropped(&slot)),
            };
            let Some(slot) = found else { break };
            closed.push((slot, self.state.slots[slot].wanted_lb_ac));
            self.state = before.clone();
        }
        self.settle(supply);
    }

    /// Puts a part back that would not be spread.
    pub(super) fn give_back(&mut self, slot: usize, of: (Supply, usize)) {
        let (supply, year) = of;
        let wanted = self.state.slots[slot].wanted_lb_ac;
        self.state.refusals.insert((supply, year, slot), Refusal::UnderLeast(wanted));
        self.state.slots[slot].wanted_lb_ac = 0.0;
        let is_it = |met: &Met| met.slot == slot && (met.of.supply, met.of.year) == of && !met.of.is_carried;
        let lb_ac = self.state.met.iter().filter(|met| is_it(met)).fold(0.0, |sum, met| sum + met.of.lb_ac);
        self.state.met.retain(|met| !is_it(met));
        *self.state.owed.entry(of).or_insert(0.0) += lb_ac;
    }

    /// Ends the placing of a supply: what the machine's least adds, and what rounding alone misses, is not owed; what
    /// the least adds beyond that is told.
    pub(super) fn settle(&mut self, supply: Supply) {
        for year in self.years_owed(supply) {
            for slot in self.candidates(supply, year) {
                let (product, owed) = (self.product_of(slot), self.owed(supply, year));
                let (state, limits) = (&self.state.slots[slot], self.limits_of(slot).expect("candidates have limits"));
                let step_lb_ac = product.lb_ac_of_rate(limits.step);
                let above_lb_ac = state.rate_lb_ac - state.wanted_lb_ac;
                let owed_lb_ac = product.product_lb_ac(supply, owed);
                let taken_lb_ac = if state.rate_lb_ac == 0.0 || owed <= DUST_LB_AC || !self.is_bought_for(slot, supply)
                {
                    0.0
                } else if owed_lb_ac - above_lb_ac < step_lb_ac * 0.999 {
                    owed_lb_ac
                } else if above_lb_ac >= step_lb_ac {
                    above_lb_ac
                } else {
                    0.0
                };
                if taken_lb_ac > 0.0 {
                    self.state.slots[slot].wanted_lb_ac += taken_lb_ac;
                    let lb_ac = product.supply_lb_ac(supply, taken_lb_ac);
                    self.meet(slot, Allotment { supply, year, lb_ac, is_carried: false });
                }
            }
        }
        for slot in 0..self.state.slots.len() {
            if !self.is_bought_for(slot, supply) {
                continue;
            }
            let (state, limits) = (&self.state.slots[slot], self.limits_of(slot).expect("placed slots have limits"));
            let above_lb_ac = state.rate_lb_ac - state.wanted_lb_ac;
            if above_lb_ac >= self.product_of(slot).lb_ac_of_rate(limits.step) {
                let lb_ac = self.product_of(slot).supply_lb_ac(supply, above_lb_ac);
                let unit = self.product_of(slot).rate_unit();
                self.state.slots[slot].limit = Some(Limit::MachineLeast { unit, least: limits.least });
                self.more_than_needed(slot, supply, lb_ac, SurplusCause::RaisedToLeast);
            }
            self.state.slots[slot].counted_lb_ac[supply as usize] = self.brings(slot, supply);
        }
    }
}
