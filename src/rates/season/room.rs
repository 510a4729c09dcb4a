//! Where a need may go, and how much room is there.

use super::books::{Books, DUST_LB_AC, Refusal};
use super::{Allotment, PlacingOrder};
use crate::fields::HoldingClass;
use crate::rates::hold_cap::{k2o_cap, lime_cap};
use crate::rates::{Limit, NitrogenStage, Pass, Supply};

impl Books<'_> {
    /// Whether a year's need may come in an earlier year.
    pub(super) fn may_come_early(&self, supply: Supply) -> bool {
        may_come_early(supply, self.class)
    }

    /// Whether a pass may bring a supply for a year at all: its year, its ground, no bought nitrogen in the fall on
    /// ground that holds little.
    pub(super) fn may_bring(&self, pass: &Pass, supply: Supply, year: usize) -> bool {
        pass.year <= year
            && (pass.year == year || self.may_come_early(supply))
            && pass.is_open_to(self.class) == Some(true)
            && !(supply == Supply::N && self.refuses_fall_nitrogen(pass))
    }

    pub(super) fn refuses_fall_nitrogen(&self, pass: &Pass) -> bool {
        pass.nitrogen_stage() == NitrogenStage::Fall
            && self.class == Some(HoldingClass::Little)
            && !self.rules.hold.fall_n_on_little
    }

    /// Slots that may bring a supply for a year, best first: products bought for it, or, without any, others that
    /// serve it.
    pub(super) fn candidates(&self, supply: Supply, year: usize) -> Vec<usize> {
        let may: Vec<usize> = (0..self.state.slots.len())
            .filter(|&slot| self.may_bring(self.pass_of(slot), supply, year) && self.limits_of(slot).is_some())
            .collect();
        let is_bought = |slot: &usize| self.product_of(*slot).bought_for() == Some(supply);
        let mut slots: Vec<usize> = may.iter().copied().filter(is_bought).collect();
        if slots.is_empty() {
            slots = may.into_iter().filter(|slot| self.product_of(*slot).serves(supply)).collect();
        }
        // Stable: within a pass the order of its list is the user's preference.
        slots.sort_by_key(|slot| self.rank(self.state.slots[*slot].pass, supply, year));
        slots
    }

    /// Place of a pass in the order of placing, lowest first.
    fn rank(&self, index: usize, supply: Supply, year: usize) -> (usize, usize, usize) {
        let (pass, count) = (&self.rules.passes[index], self.rules.passes.len());
        let back = year - pass.year;
        let late = match pass.nitrogen_stage() {
            NitrogenStage::Planting => 0,
            NitrogenStage::Standing if supply == Supply::N => 1,
            NitrogenStage::Fall => {
                if supply == Supply::N {
                    2
                } else {
                    0
                }
            }
            // Potash and phosphate work in the soil; a standing crop takes them only if nothing else can.
            NitrogenStage::Standing => 1,
        };
        match self.rules.order {
            PlacingOrder::Latest if supply == Supply::Lime => (back, late, index),
            PlacingOrder::Latest => (back, late, count - index),
            PlacingOrder::Earliest => (usize::from(late == 1), usize::MAX - back, index),
        }
    }

    /// Highest rate of a slot, lb of product/ac, that keeps to every cap beside what the pass brings already; and what
    /// keeps it there. `n_most_lb_ac` is a cap of nitrogen of the pass.
    fn most_lb_ac(&self, slot: usize, n_most_lb_ac: Option<&(f64, Limit)>) -> (f64, Limit) {
        let (product, pass) = (self.product_of(slot), self.pass_of(slot));
        let limits = self.limits_of(slot).expect("slots without machine limits are no candidates");
        let beside = |supply: Supply| -> f64 {
            let same_pass =
                |other: &usize| *other != slot && self.state.slots[*other].pass == self.state.slots[slot].pass;
            (0..self.state.slots.len()).filter(same_pass).fold(0.0, |sum, other| sum + self.brings(other, supply))
        };
        let mut caps = vec![(
            product.lb_ac_of_rate(limits.most),
            Limit::MachineMost { unit: product.rate_unit(), most: limits.most },
        )];
        let travel = self.rules.travel;
        if let (Some(flow_lb_min), Some(swath_ft), Some(speed_mph)) =
            (self.rules.machine.flow_lb_min, travel.swath_ft, travel.speed_mph)
            && let Some(product_lb_ac) = travel.most_lb_ac_at(flow_lb_min)
        {
            caps.push((product_lb_ac, Limit::Flow { flow_lb_min, swath_ft, speed_mph, product_lb_ac }));
        }
        let k2o = (product.share(Supply::K2o) > 0.0).then(|| k2o_cap(&self.ground, pass, self.rules.hold)).flatten();
        if let Some((most, limit)) = k2o {
            caps.push((product.product_lb_ac(Supply::K2o, most - beside(Supply::K2o)), limit));
        }
        if product.bought_for() == Some(Supply::Lime)
            && let Some((most, limit)) = lime_cap(pass, self.rules.hold)
        {
            let is_other_lime = |other: &usize| {
                *other != slot
                    && self.state.slots[*other].pass == self.state.slots[slot].pass
                    && self.product_of(*other).bought_for() == Some(Supply::Lime)
            };
            let others = (0..self.state.slots.len()).filter(is_other_lime);
            caps.push((others.fold(most, |left, other| left - self.state.slots[other].rate_lb_ac), limit));
        }
        if let Some((most, limit)) = n_most_lb_ac {
            caps.push((product.product_lb_ac(Supply::N, most - beside(Supply::N)), limit.clone()));
        }
        let (cap, limit) =
            caps.into_iter().reduce(|least, cap| if cap.0 < least.0 { cap } else { least }).expect("a cap");
        (product.lb_ac_of_rate(limits.most_rate(product.rate_of_lb_ac(cap))), limit)
    }

    /// Puts as much of a need as fits into a slot; how much did, before rounding, lb/ac of supply.
    pub(super) fn take(
        &mut self,
        slot: usize,
        of: (Supply, usize),
        wanted_lb_ac: f64,
        n_most_lb_ac: Option<&(f64, Limit)>,
    ) -> f64 {
        let (supply, year) = of;
        let (most_lb_ac, limit) = self.most_lb_ac(slot, n_most_lb_ac);
        let (product, limits) = (self.product_of(slot), self.limits_of(slot).expect("candidates have limits"));
        let share = product.share(supply);
        let is_bought = self.is_bought_for(slot, supply);
        // A slot topped up for a second supply starts from what it spreads already: that is counted as carried.
        let state = &self.state.slots[slot];
        let base_lb_ac = if is_bought { state.wanted_lb_ac } else { state.rate_lb_ac };
        let room = ((most_lb_ac - base_lb_ac) * share).max(0.0);
        let taken = wanted_lb_ac.min(room);
        if wanted_lb_ac - taken > DUST_LB_AC {
            self.state.refusals.insert((supply, year, slot), Refusal::Limit(limit.clone()));
        }
        let own = &mut self.state.slots[slot];
        if wanted_lb_ac - taken > DUST_LB_AC {
            own.limit = Some(limit);
        }
        if taken <= 0.0 {
            return 0.0;
        }
        own.wanted_lb_ac = base_lb_ac + taken / share;
        let wanted = product.rate_of_lb_ac(own.wanted_lb_ac);
        own.rate = limits.rate_within(wanted, product.rate_of_lb_ac(most_lb_ac)).rate;
        own.rate_lb_ac = product.lb_ac_of_rate(own.rate);
        self.meet(slot, Allotment { supply, year, lb_ac: taken, is_carried: false });
        taken
    }
}

/// Whether a year's need may come in an earlier year: lime and phosphate stay; potash stays where ground holds more than
/// little (or it is not known); sulfate and nitrate move with water, whatever the CEC.
pub(super) fn may_come_early(supply: Supply, class: Option<HoldingClass>) -> bool {
    match supply {
        Supply::Lime | Supply::P2o5 => true,
        Supply::K2o => class != Some(HoldingClass::Little),
        Supply::S | Supply::N => false,
    }
}
