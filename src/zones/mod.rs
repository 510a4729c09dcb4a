//! Management zones: ground that is alike, ordered by what it holds.

mod bounded_lloyd;
pub mod k_means;
pub mod polygonize;
mod verdict;
pub mod zone_count;
mod zone_map;

pub use crate::fields::HoldingClass;
pub use verdict::{Verdict, VerdictRow};
pub use zone_map::{ZoneError, ZoneMap, ZoneSettings, ZoneSummary};
