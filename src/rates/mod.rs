//! Rates: nutrient need of a zone, product for it, and what the machine can do.
//!
//! Season totals, several passes and the holding limit of a pass are not here yet.

mod count_consequence;
mod crop;
mod machine;
pub mod need;
pub mod own_need;
mod product;
pub mod rate_plan;
pub mod tri_state_1995;

pub use count_consequence::{CountChange, CountConsequence, consequences};
pub use crop::Crop;
pub use machine::{BelowLeast, Machine, MachineRate, MachineTravel};
pub use need::{GoalYield, KNeed, Needs, ZoneNeed};
pub use product::{Pass, Product};
pub use rate_plan::{RatePlan, RateSettings, ZoneRate};
