//! Rates: nutrient need of a zone, product for it, and what the machine can do.
//!
//! Season totals, several passes and the holding limit of a pass are not here yet.

mod crop;
mod machine;
mod product;
pub mod rate_plan;
pub mod tri_state_1995;

pub use crop::Crop;
pub use machine::{BelowLeast, Machine, MachineRate};
pub use product::{Pass, Product};
pub use rate_plan::{GoalYield, KNeed, RatePlan, RateSettings, ZoneNeed, ZoneRate};
