//! The chemistry of a soil sample: acidity from a buffer reading, CEC, saturations, ratios. Plain numbers in and out.

mod acidity;
mod cation;
mod exchange;
mod share_evidence;

pub use acidity::Buffer;
pub use cation::Cation;
pub use exchange::{Exchange, expected_cec_meq_100g};
pub use share_evidence::{NO_RATE_FROM_SHARES, SHARE_EVIDENCE};
