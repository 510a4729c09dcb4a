//! [`SeasonPlacement`]: the need of a zone over the crop years, placed into passes within what the ground can hold and
//! the machine can do.
//!
//! Lime comes first and nitrogen last ([`Supply::ALL`]), so that what a product carries beside is counted before it is
//! bought. A year's need goes into passes of that year, then into earlier ones; potash on ground that holds little,
//! sulfur and nitrogen are never brought a year early. Each rate is rounded once; what is delivered counts from the
//! rounded rate.

mod books;
mod closing;
mod nitrogen;
mod notices;
mod placement;
mod proof;
mod room;
mod words;

#[cfg(test)]
mod tests;

pub use nitrogen::{fall_nitrogen_faults, n_share_passes};
pub use placement::{
    Allotment, Credited, LeftOver, Notice, SeasonPlacement, Spread, SupplyLedger, Surplus, SurplusCause,
};
pub use words::supply_text;

use super::nitrogen_split::NitrogenPlan;
use super::{Crop, GroundToFeed, HoldSettings, Machine, MachineTravel, Pass, Product, Supply};
use crate::diagnostic::Code;

/// More is brought than is needed.
pub static MORE_THAN_NEEDED: Code = Code {
    name: "more-than-needed",
    checks: "that no pass or credit brings more of a nutrient than the zone needs",
    why: "it costs money, and nitrogen or phosphate beyond the need can reach water",
    example: "240 lb/ac of 11-52-0 for phosphate bring 26 lb N to ground that needs 20",
    mend: "choose a product that carries less of it; a credit beyond a year's need is stated for the next year by hand",
};
/// The potash cap could not be told from the CEC.
pub static CAP_NOT_FROM_CEC: Code = Code {
    name: "cap-not-from-cec",
    checks: "that the CEC a pass is limited by is known and not read too high",
    why: "a cap that follows a CEC read too high would let one pass bring more than the ground holds",
    example: "a CEC of 31 on ground with free lime",
    mend: "have the CEC measured at pH 7, or set `hold.k2o_most_lb_ac`",
};
/// A published caution about nitrogen.
pub static NITROGEN_CAUTION: Code = Code {
    name: "nitrogen-caution",
    checks: "when and how nitrogen is brought against what published guides warn of",
    why: "nitrate leaves coarse ground with the water, whatever its CEC",
    example: "one third at planting by a set for sand without irrigation",
    mend: "hold it against your local guide; the season's total and its timing are yours and your adviser's",
};
/// Nitrogen in the fall on ground that holds little.
pub static FALL_NITROGEN: Code = Code {
    name: "fall-nitrogen",
    checks: "that no nitrogen is bought for ground that holds little in the fall before the crop",
    why: "20 to 50 % of it is lost on coarse ground, 10 to 20 % on medium and fine (Illinois [R])",
    example: "a pass with `fall = true` and urea, open to all ground",
    mend: "write `holds = [\"some\", \"much\"]` on the pass, or move it to spring; `fall_n_on_little = true` overrides",
};
/// Much salt or potash in one pass.
pub static MUCH_AT_ONCE: Code = Code {
    name: "much-at-once",
    checks: "that potash before soybean or on the seed row, and bands beside the row, stay under what is known to be safe",
    why: "salt near the seed hurts the stand; potassium chloride is nearly half chloride",
    example: "180 lb K2O in one pass before soybean",
    mend: "bring part of it in another pass, or farther from the seed",
};
/// Products that should not lie together.
pub static LIME_WITH_NITROGEN: Code = Code {
    name: "lime-with-nitrogen",
    checks: "that lime and urea, ammonium sulfate or phosphate are not spread in one pass",
    why: "lime drives ammonia out of them and ties phosphate up",
    example: "a pass with lime and 46-0-0",
    mend: "make two passes of it, with tillage or rain between",
};
/// Messages of this stage, for `holdground explain`.
pub static CODES: &[&Code] = &[
    &MORE_THAN_NEEDED,
    &CAP_NOT_FROM_CEC,
    &NITROGEN_CAUTION,
    &FALL_NITROGEN,
    &MUCH_AT_ONCE,
    &LIME_WITH_NITROGEN,
    &super::machine::MORE_PRODUCTS_THAN_BINS,
];

/// Which pass takes a need first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlacingOrder {
    /// The pass nearest before the crop: passes of the crop's own year, then of the year before.
    Latest,
    /// The earliest pass that may bring it.
    Earliest,
}

/// Need of one crop year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct YearNeed {
    /// Crop year, from 1.
    pub year: usize,
    /// What is needed.
    pub supply: Supply,
    /// How much, lb/ac; lime as pounds of material of the guide's quality.
    pub lb_ac: f64,
}

/// What the ground gets otherwise: manure, a legume before, starter, nitrate in the irrigation water, recent lime.
#[derive(Debug, Clone, PartialEq)]
pub struct Credit {
    /// What is credited.
    pub supply: Supply,
    /// Crop year it counts in, from 1.
    pub year: usize,
    /// How much, lb/ac.
    pub lb_ac: f64,
    /// Where it comes from, in the user's words.
    pub source: String,
}

/// What is the same for all zones.
#[derive(Debug, Clone, Copy)]
pub struct SeasonRules<'a> {
    /// Passes in the order driven.
    pub passes: &'a [Pass],
    /// Products; a pass names them by their short names. Short names are unique.
    pub products: &'a [Product],
    /// Limits of a pass by what ground holds.
    pub hold: &'a HoldSettings,
    /// What the machine can do.
    pub machine: &'a Machine,
    /// How it covers the ground.
    pub travel: &'a MachineTravel,
    /// How nitrogen is split.
    pub nitrogen: &'a NitrogenPlan,
    /// Which pass takes a need first. Lime goes into the earliest pass of a year in either order: it needs time.
    pub order: PlacingOrder,
    /// Crop of each year, year 1 first; `None` = unknown.
    pub crops: &'a [Option<Crop>],
}

/// A zone with what it needs.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneToFeed {
    /// Its ground.
    pub ground: GroundToFeed,
    /// What it needs, each finite and not negative; several of one supply and year add up.
    pub needs: Vec<YearNeed>,
    /// What it gets otherwise, each finite and not negative.
    pub credits: Vec<Credit>,
}

/// Places the season of one zone.
///
/// # Guarantees
/// No cap is broken, no rate is off the machine's steps, nothing is negative, and the account of each supply closes:
/// checked in every run. What is met and what is delivered of a supply never fall as its own need grows, but for a step
/// of each product where one drops under the machine's least and another pass takes its part; where rates are raised to
/// the least, this holds for what is met, nitrogen aside. Each zone stands alone.
///
/// # Panics
/// If a need or credit is negative or not finite, or if the result does not prove itself: a defect of this program.
pub fn place(rules: &SeasonRules, zone: &ZoneToFeed) -> SeasonPlacement {
    let amounts = zone.needs.iter().map(|need| need.lb_ac).chain(zone.credits.iter().map(|credit| credit.lb_ac));
    assert!(amounts.clone().all(|lb_ac| lb_ac.is_finite() && lb_ac >= 0.0), "needs and credits are not negative");
    let mut books = books::Books::open(rules, zone);
    for supply in Supply::ALL {
        books.count_carried(supply);
        if supply == Supply::N { books.place_nitrogen() } else { books.place_by_order(supply) }
    }
    let placement = books.close();
    if let Err(what) = placement.prove(rules, zone) {
        panic!("internal error, please report it: the season of zone {} does not hold: {what}", placement.zone);
    }
    placement
}
