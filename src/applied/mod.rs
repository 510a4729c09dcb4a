//! What was spread against what was asked: a log of points held against a layer of rates.
//!
//! Ground is looked at in cells of a tenth of the width spread, at most 2 m. A cell is covered where its center lies within
//! half a width of the way driven, and got the rate of the nearest logged point. Points one after another on one way are a
//! pass; ground well within two passes was covered twice.

mod driven;
mod held;
mod log;
#[cfg(test)]
mod tests;

pub use held::{AppliedMap, Held, HeldCells, WITHIN_SHARE, ZoneHeld, hold_against};
pub use log::{LOG_UNREADABLE, LogColumns, LogPoint, LogRow, LogRows, Width, points_of, read_log};

use crate::diagnostic::Code;

/// Messages of this stage, for `holdground explain`.
pub static CODES: &[&Code] = &[&LOG_UNREADABLE];
