//! The chemistry of a soil sample: acidity from a buffer reading, CEC, saturations, ratios. Plain numbers in and out.

mod acidity;
mod cation;
mod exchange;

pub use acidity::Buffer;
pub use cation::Cation;
pub use exchange::{Exchange, expected_cec_meq_100g};
