//! What the ground will really get: the machine driven over its own rate file, swath by swath.
//!
//! ```text
//! heading ─► swaths ─► runs ─► order under the machine ─► delay, slow change ─► rate put down ─► by ground
//! ```
//!
//! A file changes its rate along a line; a machine takes seconds, and puts one rate over its whole swath. Spinner
//! spreaders took 3 to 5 s from one rate to another (UGA 2024 \[R]). Measured changes are S-shaped with a delay of each
//! machine's own (Fulton et al. 1999, ASAE paper 991101 \[R]); here they are a dead time and a first-order lag, which is
//! a simplification. Turns, headlands, overlap of passes and the pattern across the swath are not simulated: each run
//! starts at the rate ordered where it starts.

mod as_driven;
mod heading;
mod rate_change;
mod simulation;
mod swaths;
#[cfg(test)]
mod tests;

pub use as_driven::{AsDriven, GroundAsDriven, PassAsDriven, as_driven};
pub use heading::longest_side_deg;
pub use rate_change::RateChange;
pub use simulation::{Course, GroundDriven, WITHIN_SHARE, drive};
pub use swaths::{Run, Swath, swaths};

/// What this simulation leaves out, for every page that shows its figures.
pub const NOT_SIMULATED: &str = "A first-order change with a dead time: measured ones are S-shaped, with a delay of each \
                                 machine's own (Fulton et al. 1999); spinner spreaders took 3 to 5 s (UGA 2024). Headlands, \
                                 turns, overlap and the pattern across the swath are not simulated.";

/// Limits of a pattern test, for every page that shows figures of this simulation. Sources: tests of the University of
/// Kentucky, Teagasc \[R].
pub const PATTERN_TEST: &str = "Test the pattern at the least and at the most rate, and keep the CV with the field's papers: \
                                Univ. of Kentucky tests call under 20 % satisfactory and over 25 % poor; Teagasc takes 15 % as \
                                acceptable and sees yield lost over 20 %.";
