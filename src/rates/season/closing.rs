//! The account closed: spreads, what is left over, and the ledger of each supply.

use super::books::Books;
use super::{Allotment, LeftOver, SeasonPlacement, Spread, SupplyLedger, SurplusCause};
use crate::rates::Supply;

impl Books<'_> {
    /// Closes the account. Products topped up late carry more of what was placed before: it meets what is still owed.
    pub(super) fn close(mut self) -> SeasonPlacement {
        for supply in Supply::ALL {
            self.count_carried(supply);
        }
        let spreads: Vec<Spread> = (0..self.state.slots.len()).filter_map(|slot| self.spread(slot)).collect();
        let mut left_over = Vec::new();
        for supply in Supply::ALL {
            for year in self.years_owed(supply) {
                let lb_ac = self.owed(supply, year);
                let (why, proposal) = (self.why_left(supply, year), self.proposal(supply, year, lb_ac));
                left_over.push(LeftOver { supply, year, lb_ac, why, proposal });
            }
        }
        let ledger = self.ledger(&spreads, &left_over);
        let notices = self.notices(&spreads);
        let not_spread = (0..self.rules.passes.len())
            .filter(|pass| spreads.iter().all(|spread| spread.pass != *pass))
            .map(|pass| (pass, self.why_not_spread(pass)))
            .collect();
        SeasonPlacement {
            zone: self.ground.zone,
            spreads,
            needs: self.needs,
            credited: self.credited,
            left_over,
            surplus: self.surplus,
            ledger,
            notices,
            not_spread,
        }
    }

    fn spread(&self, slot: usize) -> Option<Spread> {
        let (state, product) = (&self.state.slots[slot], self.product_of(slot));
        let mut meets: Vec<Allotment> = Vec::new();
        for met in self.state.met.iter().filter(|met| met.slot == slot) {
            let same = |of: &&mut Allotment| {
                (of.supply, of.year, of.is_carried) == (met.of.supply, met.of.year, met.of.is_carried)
            };
            match meets.iter_mut().find(same) {
                Some(of) => of.lb_ac += met.of.lb_ac,
                None => meets.push(met.of),
            }
        }
        (state.rate_lb_ac > 0.0).then(|| Spread {
            pass: state.pass,
            product: product.short.clone(),
            unit: product.rate_unit(),
            wanted: product.rate_of_lb_ac(state.wanted_lb_ac),
            rate: state.rate,
            product_lb_ac: state.rate_lb_ac,
            brings: product.percent.iter().map(|(supply, _)| (*supply, self.brings(slot, *supply))).collect(),
            meets,
            limited_by: state.limit.clone(),
        })
    }

    fn ledger(&self, spreads: &[Spread], left_over: &[LeftOver]) -> Vec<SupplyLedger> {
        let line = |supply: Supply| {
            let sum = |amounts: &mut dyn Iterator<Item = (Supply, f64)>| {
                amounts.filter(|(of, _)| *of == supply).fold(0.0, |sum, (_, lb_ac)| sum + lb_ac)
            };
            let spread_surplus = self.surplus.iter().filter(|surplus| surplus.cause != SurplusCause::Credit);
            SupplyLedger {
                supply,
                need_lb_ac: sum(&mut self.needs.iter().map(|need| (need.supply, need.lb_ac))),
                credited_lb_ac: sum(&mut self.credited.iter().map(|credit| (credit.supply, credit.lb_ac))),
                met_lb_ac: sum(&mut self.state.met.iter().map(|met| (met.of.supply, met.of.lb_ac))),
                left_over_lb_ac: sum(&mut left_over.iter().map(|left| (left.supply, left.lb_ac))),
                surplus_lb_ac: sum(&mut spread_surplus.map(|surplus| (surplus.supply, surplus.lb_ac))),
                delivered_lb_ac: sum(&mut spreads.iter().flat_map(|spread| spread.brings.iter().copied())),
            }
        };
        let is_used = |line: &SupplyLedger| line.need_lb_ac > 0.0 || line.delivered_lb_ac > 0.0;
        Supply::ALL.into_iter().map(line).filter(is_used).collect()
    }
}
