//! What was spread against what was asked: a log of points held against a layer of rates.
//!
//! Ground is looked at in cells of 5 m. A cell is covered where its center lies within half a width of a logged point,
//! and got the rate of the nearest one. Points one after another on one way are a pass; ground well within two passes was
//! covered twice.

mod held;
mod log;
#[cfg(test)]
mod tests;

pub use held::{AppliedMap, Held, ZoneHeld, hold_against};
pub use log::{LOG_UNREADABLE, LogColumns, LogPoint, Width, read_log};

use crate::diagnostic::Code;

/// Messages of this stage, for `holdground explain`.
pub static CODES: &[&Code] = &[&LOG_UNREADABLE];
