//! One binary for all tests over the public API and the command line. By capability:
//!
//! - `architecture`: house rules on the sources; `docs`: what the documents promise
//! - `fields`: fields side by side as text, table and picture
//! - `chemistry`, `field_file`, `samples`, `boundary`, `mesh`, `surface`: one stage each
//! - `layouts`, `headers`: what columns of lab sheets mean; open sheets, any order, any text
//! - `contracts`: one list of promises for every interpolator; `reference_values`, `iris`: outside figures
//! - `demo`: the invented fields against their own truth; `cli`, `messages`: the program as typed
//! - `desk`, `start_layouts`, `start`, `start_open`: `new`, the answers, `check` and `run` on untidy sheets
//! - `side_by_side`: `fields` as typed; `damage`: a damaged sheet never moves a surviving row's numbers
//! - `outside`: open data fetched by `scripts/test`, never by tests

mod architecture;
mod boundary;
mod chemistry;
mod cli;
mod contracts;
mod damage;
mod demo;
mod desk;
mod docs;
mod field_file;
mod fields;
mod fixture;
mod geo_json;
mod headers;
mod iris;
mod layouts;
mod mesh;
mod messages;
mod open_field;
mod outside;
mod point_file;
mod reference_values;
mod samples;
mod side_by_side;
mod start;
mod start_layouts;
mod start_open;
mod surface;
mod zones;

/// Asserts `|actual - expected| <= tolerance`, naming both.
#[track_caller]
fn check_close(actual: f64, expected: f64, tolerance: f64) {
    assert!((actual - expected).abs() <= tolerance, "{actual} is not within {tolerance} of {expected}");
}
