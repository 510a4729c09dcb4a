//! Soil quantities on one raster: CEC, shares of the cations, amounts and readings, each with how far it misses.
//!
//! [`crate::surface`] knows places and numbers only; here they become soil.

mod surface_set;
mod variable;

pub use surface_set::{Quality, SurfaceSet, SurfaceSettings};
pub use variable::Variable;
