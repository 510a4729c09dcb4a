//! Nitrogen over the passes of a year, by a published set or the user's own shares.

use super::books::{Books, DUST_LB_AC, Refusal, State};
use super::{FALL_NITROGEN, SeasonRules, ZoneToFeed};
use crate::diagnostic::Diagnostic;
use crate::fields::HoldingClass;
use crate::rates::nitrogen_split::{NitrogenPass, NitrogenRule, PassShare};
use crate::rates::{Limit, NitrogenStage, Supply};

/// One pass of a year, as nitrogen sees it.
struct YearPass {
    index: usize,
    stage: NitrogenStage,
    /// Slots nitrogen may be bought in, in the order of the pass's list.
    slots: Vec<usize>,
    /// Carried by what is placed already, lb N/ac.
    carried_lb_ac: f64,
}

impl Books<'_> {
    /// Places nitrogen by the rule for the ground. What a pass cannot take, or carries beyond its part, goes into later
    /// passes of the year, never into earlier ones.
    pub(super) fn place_nitrogen(&mut self) {
        let rule = self.rules.nitrogen.rule(self.class).clone();
        if rule == NitrogenRule::AsCapacityAllows {
            self.place_by_order(Supply::N);
            return;
        }
        let years: Vec<usize> = self
            .needs
            .iter()
            .filter(|need| need.supply == Supply::N && need.lb_ac > 0.0)
            .map(|need| need.year)
            .collect();
        for year in years {
            self.split_year(year, &rule);
        }
        self.settle(Supply::N);
    }

    fn split_year(&mut self, year: usize, rule: &NitrogenRule) {
        let of_year = |credit: &&super::Credited| credit.supply == Supply::N && credit.year == year;
        let need = self.needs.iter().find(|need| need.supply == Supply::N && need.year == year);
        let credited = self.credited.iter().filter(of_year).fold(0.0, |sum, credit| sum + credit.lb_ac);
        let n_lb_ac = (need.map_or(0.0, |need| need.lb_ac) - credited).max(0.0);
        let passes = self.year_passes(year);
        let (shares, told) = match rule {
            NitrogenRule::Set(set) => {
                let seen = |pass: &YearPass| NitrogenPass { stage: pass.stage, is_open: !pass.slots.is_empty() };
                set.split(n_lb_ac, &passes.iter().map(seen).collect::<Vec<_>>())
            }
            NitrogenRule::Shares(shares) => (self.own_shares(shares, n_lb_ac, &passes), Vec::new()),
            NitrogenRule::AsCapacityAllows => unreachable!("placed by order"),
        };
        self.told_of_nitrogen.extend(told.into_iter().filter(|_| n_lb_ac > 0.0));
        // What each pass is to buy: its part less what is carried there; the difference goes on to later passes, and
        // only what no later pass can make up is taken off earlier ones.
        let mut ahead = 0.0;
        let mut to_buy: Vec<f64> = Vec::new();
        for (share, pass) in shares.iter().zip(&passes) {
            ahead += share.n_lb_ac - pass.carried_lb_ac;
            let lb_ac = if pass.slots.is_empty() { 0.0 } else { f64::max(ahead, 0.0) };
            ahead -= lb_ac;
            to_buy.push(lb_ac);
        }
        let mut beyond = f64::max(-ahead, 0.0);
        for lb_ac in to_buy.iter_mut().rev() {
            let less = lb_ac.min(beyond);
            *lb_ac -= less;
            beyond -= less;
        }
        self.buy_in_turn(year, &to_buy, &shares, &passes, rule);
    }

    /// Buys pass by pass. Where a later pass would stay under the machine's least, the parts of earlier ones are tried
    /// there, latest first; what meets most counts.
    fn buy_in_turn(
        &mut self,
        year: usize,
        to_buy: &[f64],
        shares: &[PassShare],
        passes: &[YearPass],
        rule: &NitrogenRule,
    ) {
        let (before, mut closed) = (self.state.clone(), Vec::new());
        let mut best: Option<(f64, State)> = None;
        loop {
            let (mut due, mut bought) = (0.0, vec![0.0; passes.len()]);
            for (index, pass) in passes.iter().enumerate() {
                due += to_buy[index];
                if !closed.contains(&index) {
                    bought[index] = self.buy(pass, year, due, &shares[index], rule);
                    due -= bought[index];
                }
            }
            let owed = self.owed(Supply::N, year);
            let refused = |pass: &YearPass| {
                let refusal = |slot: &usize| self.refusals().get(&(Supply::N, year, *slot));
                pass.slots.iter().filter_map(refusal).any(|of| matches!(of, Refusal::UnderLeast(_)))
            };
            let last_refused = passes.iter().rposition(refused).filter(|_| owed > DUST_LB_AC).unwrap_or(0);
            if best.as_ref().is_none_or(|(least_owed, _)| owed < least_owed - DUST_LB_AC) {
                best = Some((owed, self.state.clone()));
            }
            let Some(earlier) = bought[..last_refused].iter().rposition(|lb_ac| *lb_ac > 0.0) else { break };
            closed.push(earlier);
            self.state = before.clone();
        }
        if let Some((_, state)) = best {
            self.state = state;
        }
    }

    /// Buys as much of `due_lb_ac` in a pass as fits; how much that is, lb N/ac.
    fn buy(&mut self, pass: &YearPass, year: usize, due_lb_ac: f64, share: &PassShare, rule: &NitrogenRule) -> f64 {
        let most = share.most_lb_ac.map(|n_lb_ac| {
            let set = if let NitrogenRule::Set(set) = rule { set.name.clone() } else { String::new() };
            (n_lb_ac, Limit::NitrogenSet { set, n_lb_ac })
        });
        let mut bought = 0.0;
        for slot in &pass.slots {
            let wanted = (due_lb_ac - bought).min(self.owed(Supply::N, year));
            if wanted <= DUST_LB_AC {
                break;
            }
            let taken = self.take(*slot, (Supply::N, year), wanted, most.as_ref());
            if self.slots()[*slot].rate_lb_ac == 0.0 && taken > 0.0 {
                self.give_back(*slot, (Supply::N, year));
            } else {
                bought += taken;
            }
        }
        bought
    }

    fn year_passes(&self, year: usize) -> Vec<YearPass> {
        let candidates = self.candidates(Supply::N, year);
        let passes = self.rules.passes.iter().enumerate().filter(|(_, pass)| pass.year == year);
        passes
            .map(|(index, pass)| {
                let of_pass = |slot: &usize| self.slots()[*slot].pass == index;
                YearPass {
                    index,
                    stage: pass.nitrogen_stage(),
                    slots: candidates.iter().copied().filter(of_pass).collect(),
                    carried_lb_ac: (0..self.slots().len())
                        .filter(of_pass)
                        .fold(0.0, |sum, slot| sum + self.brings(slot, Supply::N)),
                }
            })
            .collect()
    }

    /// The user's shares go to the passes whose list has a product bought for nitrogen, whatever the zone.
    fn own_shares(&self, shares: &[f64], n_lb_ac: f64, passes: &[YearPass]) -> Vec<PassShare> {
        let total: f64 = shares.iter().sum();
        let mut next = shares.iter();
        let lists_nitrogen = |index: usize| lists_nitrogen(self.rules, index);
        passes
            .iter()
            .map(|pass| {
                let share = if lists_nitrogen(pass.index) { next.next().copied().unwrap_or(0.0) } else { 0.0 };
                PassShare { n_lb_ac: if total > 0.0 { share / total * n_lb_ac } else { 0.0 }, most_lb_ac: None }
            })
            .collect()
    }
}

/// Whether a pass lists a product bought for nitrogen.
fn lists_nitrogen(rules: &SeasonRules, pass: usize) -> bool {
    let is_bought = |short: &String| {
        rules.products.iter().any(|product| product.short == *short && product.bought_for() == Some(Supply::N))
    };
    rules.passes[pass].products.iter().any(is_bought)
}

/// How many passes of a year the user's own shares are for: those whose list has a product bought for nitrogen.
pub fn n_share_passes(rules: &SeasonRules, year: usize) -> usize {
    (0..rules.passes.len()).filter(|&pass| rules.passes[pass].year == year && lists_nitrogen(rules, pass)).count()
}

/// Faults: passes that would buy nitrogen in the fall for ground that holds little and needs it. [`super::place`] never
/// does so unless overridden.
pub fn fall_nitrogen_faults(rules: &SeasonRules, zones: &[ZoneToFeed]) -> Vec<Diagnostic> {
    if rules.hold.fall_n_on_little {
        return Vec::new();
    }
    let mut faults = Vec::new();
    for (index, pass) in rules.passes.iter().enumerate() {
        let is_open = pass.is_open_to(Some(HoldingClass::Little)) == Some(true);
        if pass.nitrogen_stage() != NitrogenStage::Fall || !is_open || !lists_nitrogen(rules, index) {
            continue;
        }
        let hit = |zone: &&ZoneToFeed| {
            let needs_it =
                |need: &super::YearNeed| need.supply == Supply::N && need.year == pass.year && need.lb_ac > 0.0;
            zone.ground.class(rules.hold) == Some(HoldingClass::Little) && zone.needs.iter().any(needs_it)
        };
        let numbers: Vec<String> = zones.iter().filter(hit).map(|zone| zone.ground.zone.to_string()).collect();
        if numbers.is_empty() {
            continue;
        }
        let (zones, hold) = if numbers.len() == 1 { ("zone", "holds") } else { ("zones", "hold") };
        let message = format!(
            "pass `{}` would bring nitrogen in the fall to {zones} {}, which {hold} little: 20 to 50 % of it is lost there",
            pass.name,
            numbers.join(", ")
        );
        faults.push(
            Diagnostic::error(&FALL_NITROGEN, message)
                .with_note("University of Illinois Extension: loss of fall nitrogen 10 to 20 % on fine and medium, 20 to 50 % on coarse ground [R]; class by CEC stands in for texture")
                .with_help("write `holds = [\"some\", \"much\"]` on the pass, move it to spring, or set `hold.fall_n_on_little = true`"),
        );
    }
    faults
}
