//! Management zones: ground that is alike, ordered by what it holds.
//!
//! A [`ZoneMethod`] draws one raster of labels a number of zones; every one is numbered, may be fitted to the machine,
//! and is summed up as a [`Candidate`]; the samples judge them ([`Verdict`]) and one is picked: the [`ZoneMap`].

mod bounded_lloyd;
mod candidate;
mod class_breaks;
mod covariate;
mod drawing;
pub mod fuzzy_c_means;
mod inscribed_circle;
pub mod k_means;
pub mod need_classes;
mod notes;
pub mod patch_fit;
mod patch_length;
mod patches;
mod stated_zones;
mod verdict;
mod verdict_reason;
pub mod zone_count;
mod zone_map;
mod zone_settings;
mod zone_space;

pub use crate::fields::HoldingClass;
pub use candidate::{Candidate, ZoneSummary};
pub use class_breaks::{combination_of, combination_words};
pub use covariate::{Covariate, CovariateReading, CovariateSettings, on_cells};
pub use notes::{BREAK_BEYOND_MAP, CODES, DRAWN_ZONES_OVERLAP, GROUND_WITHOUT_COVARIATE, GROUND_WITHOUT_DRAWN_ZONE};
pub use patch_fit::{FittedLabels, Lack, PatchLimits, PatchMoves, fit_patches};
pub use stated_zones::StatedZones;
pub use verdict::{Verdict, VerdictRow};
pub use verdict_reason::{Pick, Reason, Told};
pub use zone_map::{ZoneError, ZoneMap};
pub use zone_settings::{ClassBreaks, DEFAULT_FUZZINESS, ZoneMethod, ZonePolygonsFile, ZoneQuantity, ZoneSettings};
pub use zone_space::ZoneInputs;
