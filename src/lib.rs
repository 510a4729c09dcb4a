//! From a soil-test sheet with places to management zones by what the ground holds, and a rate file.
//!
//! ```text
//! lab sheet ─► SampleTable ─► SampleSet ─► Mesh ─► SurfaceSet ─► ZoneMap ─► ZoneOutlines ─► RatePlan ─► OutputFile(s)
//!              text cells      checked,     who is   values and    zone 1     no gap, no      a rate and   names and bytes
//!                              projected    whose    how far they  holds      overlap         its reason
//! outline  ─► FieldBoundary ─┘ neighbor     neighbor miss          least                      per zone
//! ```
//!
//! The library reads and writes nothing: it takes values and gives values. The binary holds the only code that touches
//! files, terminal and environment.
//!
//! | to ... | look at |
//! |---|---|
//! | read a lab sheet in any form | [`sheet`] |
//! | check its samples | [`samples`], one check a file in [`samples::checks`] |
//! | turn readings into CEC and saturations | [`chemistry`], [`units`] |
//! | prove a field outline | [`boundary`], [`crs`] |
//! | lay the fields of a sheet side by side, without places | [`fields`] |
//! | find values between samples, and how far they miss | [`mesh`], [`surface`], [`soil_surface`] |
//! | draw zones and judge them | [`zones`] |
//! | outline zones without gap and overlap | [`coverage`], [`setback`] |
//! | find need and rate | [`rates`] |
//! | see what the ground gets as the machine drives it | [`drive`] |
//! | read the field file | [`field_file`] |
//! | look at any prescription as a controller would | [`audit`], one rule a file in [`audit::rules`] |
//! | hold what was spread against what was asked | [`applied`] |
//! | write results | [`export`] |
//! | see the whole line | [`pipeline`] |
//! | answer the field file on a page | [`decide`] |
//! | explain a message | [`messages`], [`diagnostic`] |

pub mod applied;
pub mod audit;
pub mod boundary;
pub mod cell_grid;
pub mod chemistry;
pub mod columns;
pub mod coverage;
pub mod crs;
pub mod decide;
pub mod diagnostic;
pub mod drive;
pub mod export;
pub mod field_file;
pub mod fields;
pub mod mesh;
pub mod messages;
pub mod pipeline;
pub mod rates;
pub mod samples;
pub mod setback;
pub mod sheet;
pub mod soil_surface;
pub mod start;
pub mod surface;
pub mod units;
pub mod zones;
