//! Rates: what each zone needs of each nutrient and of lime, which pass brings it, and what that comes to.
//!
//! Need (by guide or as stated) -> season (passes within what ground holds and the machine can do) -> rate files.

pub mod comparison;
mod count_consequence;
mod crop;
mod crop_year;
pub mod feeding;
mod flat_programme;
pub mod guide;
mod guide_need;
mod hold;
pub mod hold_cap;
pub mod lime_need;
pub mod lime_quality;
mod limit;
pub mod loads;
pub mod machine;
pub mod need;
pub mod need_settings;
pub mod nitrogen_split;
pub mod own_need;
mod pass;
mod product;
pub mod rate_plan;
pub mod season;
pub mod sharing;
mod supply;

pub use count_consequence::{CountChange, CountConsequence, RateChange, consequences};
pub use crop::Crop;
pub use crop_year::{CropYear, GoalYield};
pub use flat_programme::FlatProgramme;
pub use hold::HoldSettings;
pub use hold_cap::GroundToFeed;
pub use limit::Limit;
pub use machine::{BelowLeast, LostPosition, Machine, MachineRate, MachineTravel, RateLimits};
pub use need_settings::{GuideChoice, LimeByGuide, NeedSource, RateSettings, SupplyNeed};
pub use pass::{NitrogenStage, Pass, Placement, TripCost};
pub use product::{Form, Product, RateUnit};
pub use rate_plan::{RatePlan, ZoneRate};
pub use season::{SeasonPlacement, SeasonRules, YearNeed, ZoneToFeed};
pub use supply::Supply;
