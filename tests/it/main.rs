//! One binary for all tests over the public API and the command line. By capability:
//!
//! - `architecture`: house rules on the sources; `docs`: what the documents promise
//! - `chemistry`, `field_file`, `samples`, `boundary`, `mesh`, `surface`: one stage each
//! - `contracts`: one list of promises for every interpolator; `reference_values`, `iris`: outside figures
//! - `demo`: the invented fields against their own truth; `cli`, `messages`: the program as typed
//! - `outside`: open data fetched by `scripts/test`, never by tests

mod architecture;
mod boundary;
mod chemistry;
mod cli;
mod contracts;
mod demo;
mod docs;
mod field_file;
mod fixture;
mod geo_json;
mod iris;
mod mesh;
mod messages;
mod open_field;
mod outside;
mod point_file;
mod reference_values;
mod samples;
mod surface;
mod zones;

/// Asserts `|actual - expected| <= tolerance`, naming both.
#[track_caller]
fn check_close(actual: f64, expected: f64, tolerance: f64) {
    assert!((actual - expected).abs() <= tolerance, "{actual} is not within {tolerance} of {expected}");
}
