//! [`SeasonPlacement`]: what a zone gets in each pass, what is left over, and the account of each supply.

use super::{MORE_THAN_NEEDED, YearNeed};
use crate::diagnostic::{Code, Diagnostic, Place};
use crate::rates::rate_plan::LEFT_OVER;
use crate::rates::{Limit, RateUnit, Supply};

/// Part of a need that a product of a pass meets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Allotment {
    /// What is needed.
    pub supply: Supply,
    /// Crop year that needs it, from 1.
    pub year: usize,
    /// How much of it, before rounding, lb/ac.
    pub lb_ac: f64,
    /// Carried beside what the product was bought for.
    pub is_carried: bool,
}

/// One product of one pass on the zone.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    /// Index of the pass.
    pub pass: usize,
    /// Short name of the product.
    pub product: String,
    /// Unit of `wanted` and `rate`.
    pub unit: RateUnit,
    /// Product wanted before rounding.
    pub wanted: f64,
    /// Product spread: on the machine's step, above 0.
    pub rate: f64,
    /// The same, lb of product/ac.
    pub product_lb_ac: f64,
    /// What the rate brings, lb/ac.
    pub brings: Vec<(Supply, f64)>,
    /// Needs it meets.
    pub meets: Vec<Allotment>,
    /// What kept the rate down, or raised it to the machine's least.
    pub limited_by: Option<Limit>,
}

/// A need no pass could take.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftOver {
    /// What is needed.
    pub supply: Supply,
    /// Crop year, from 1.
    pub year: usize,
    /// How much, lb/ac.
    pub lb_ac: f64,
    /// Why, with the numbers.
    pub why: String,
    /// The pass that would place it; `None` = no product brings it.
    pub proposal: Option<String>,
}

/// Why there is more than needed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SurplusCause {
    /// A credit is larger than the year's need; nothing of it is spread.
    Credit,
    /// A product carries it beside what it was bought for.
    Carried,
    /// The rate was raised to the machine's least.
    RaisedToLeast,
}

/// More than needed.
#[derive(Debug, Clone, PartialEq)]
pub struct Surplus {
    /// Of what.
    pub supply: Supply,
    /// Crop year, from 1.
    pub year: usize,
    /// How much, lb/ac.
    pub lb_ac: f64,
    /// Why.
    pub cause: SurplusCause,
    /// The source of the credit, or product and pass.
    pub source: String,
}

/// A credit as far as it was needed.
#[derive(Debug, Clone, PartialEq)]
pub struct Credited {
    /// What is credited.
    pub supply: Supply,
    /// Crop year, from 1.
    pub year: usize,
    /// How much of it was needed, lb/ac.
    pub lb_ac: f64,
    /// Where it comes from.
    pub source: String,
}

/// The account of one supply over all years, lb/ac.
///
/// `need = credited + met + left_over`, and `delivered = met + surplus` but for rounding: less than one step of each
/// spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SupplyLedger {
    /// Of what.
    pub supply: Supply,
    /// Needed.
    pub need_lb_ac: f64,
    /// Met by credits.
    pub credited_lb_ac: f64,
    /// Met by spreads, before rounding.
    pub met_lb_ac: f64,
    /// Met by nothing.
    pub left_over_lb_ac: f64,
    /// Spread beyond the need.
    pub surplus_lb_ac: f64,
    /// Brought by all spreads as rounded.
    pub delivered_lb_ac: f64,
}

/// Something a person should know about the zone's passes.
#[derive(Debug, Clone, PartialEq)]
pub struct Notice {
    /// Its kind.
    pub code: &'static Code,
    /// Whether a person must look; else a fact worth knowing.
    pub is_warning: bool,
    /// The text.
    pub text: String,
}

/// The season of one zone.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonPlacement {
    /// Zone, from 1.
    pub zone: usize,
    /// Products spread, by pass, then in the order of the pass's list.
    pub spreads: Vec<Spread>,
    /// Needs as stated, summed by supply and year.
    pub needs: Vec<YearNeed>,
    /// Credits as far as they were needed.
    pub credited: Vec<Credited>,
    /// Needs no pass could take.
    pub left_over: Vec<LeftOver>,
    /// More than needed.
    pub surplus: Vec<Surplus>,
    /// One a supply that is needed or brought.
    pub ledger: Vec<SupplyLedger>,
    /// What a person should know.
    pub notices: Vec<Notice>,
    /// What is not spread in a pass, and why: (pass, text).
    pub(super) not_spread: Vec<(usize, String)>,
}

impl SeasonPlacement {
    /// A spread by pass and product.
    pub fn spread(&self, pass: usize, product: &str) -> Option<&Spread> {
        self.spreads.iter().find(|spread| spread.pass == pass && spread.product == product)
    }

    /// Brought by all spreads as rounded, lb/ac.
    pub fn delivered_lb_ac(&self, supply: Supply) -> f64 {
        self.ledger.iter().find(|line| line.supply == supply).map_or(0.0, |line| line.delivered_lb_ac)
    }

    /// Left over of a supply in all years, lb/ac.
    pub fn left_over_lb_ac(&self, supply: Supply) -> f64 {
        self.left_over.iter().filter(|left| left.supply == supply).fold(0.0, |sum, left| sum + left.lb_ac)
    }

    /// Need of a supply in a year, before credits, lb/ac.
    pub fn need_lb_ac(&self, supply: Supply, year: usize) -> f64 {
        let found = self.needs.iter().find(|need| need.supply == supply && need.year == year);
        found.map_or(0.0, |need| need.lb_ac)
    }

    /// What is left over, more than needed or worth knowing, as messages about the zone.
    pub fn diagnostics(&self) -> Vec<Diagnostic> {
        let at = |diagnostic: Diagnostic| diagnostic.at(Place::Zone(self.zone));
        let mut found = Vec::new();
        for left in &self.left_over {
            let warning = at(Diagnostic::warning(&LEFT_OVER, self.left_over_text(left))).with_note(left.why.clone());
            found.push(match &left.proposal {
                Some(proposal) => warning.with_help(proposal.clone()),
                None => warning.with_help("name a product that brings it, and a pass that spreads it"),
            });
        }
        for surplus in &self.surplus {
            found.push(at(Diagnostic::note(&MORE_THAN_NEEDED, self.surplus_text(surplus))));
        }
        for notice in &self.notices {
            let make = if notice.is_warning { Diagnostic::warning } else { Diagnostic::note };
            found.push(at(make(notice.code, notice.text.clone())));
        }
        found
    }
}
