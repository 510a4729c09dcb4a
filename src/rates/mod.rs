//! Rates: nutrient need of a zone, product for it, and what the machine can do.
//!
//! Season totals, several passes and the holding limit of a pass are not here yet.

mod count_consequence;
mod crop;
mod hold;
mod machine;
pub mod need;
pub mod own_need;
mod pass;
mod product;
pub mod rate_plan;
mod supply;
pub mod tri_state_1995;

pub use count_consequence::{CountChange, CountConsequence, consequences};
pub use crop::Crop;
pub use hold::HoldSettings;
pub use machine::{BelowLeast, Machine, MachineRate, MachineTravel, RateLimits};
pub use need::{GoalYield, KNeed, Needs, ZoneNeed};
pub use pass::{NitrogenStage, Pass, Placement, TripCost};
pub use product::{Form, Product, RateUnit};
pub use rate_plan::{RatePlan, RateSettings, ZoneRate};
pub use supply::Supply;
