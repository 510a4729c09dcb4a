//! One binary for all tests over the public API and the command line. By capability:
//!
//! - `architecture`: house rules on the sources; `docs`: what the documents promise
//! - `applied`: logs of the demo's rates as CSV, shapefile and GeoPackage, with a swath left out
//! - `as_driven`: the demo as its machine drives it
//! - `audit`, `audit_against`: broken and sound prescriptions, and rates held against a plan
//! - `fields`: fields side by side as text, table and picture
//! - `chemistry`, `field_file`, `samples`, `boundary`, `mesh`, `surface`: one stage each
//! - `layouts`, `headers`: what columns of lab sheets mean; open sheets, any order, any text
//! - `contracts`, `zone_contracts`: one list of promises for every interpolator, one for every zone method
//! - `reference_values`, `iris`: outside figures
//! - `decide`: the page of six questions as a browser sees it
//! - `demo`: the invented fields against their own truth; `cli`, `messages`: the program as typed
//! - `season`: needs, passes, limits, totals and money of a whole programme
//! - `desk`, `start_layouts`, `start`, `start_open`: `new`, the answers, `check` and `run` on untidy sheets
//! - `guides`: recommendation guides as typed and as pages
//! - `keep_off`: ground to keep off, from the files named to the run record
//! - `sharing`: how cations share the ground, and that no rate comes from it
//! - `side_by_side`: `fields` as typed; `damage`: a damaged sheet never moves a surviving row's numbers
//! - `outlines`: validity of zone outlines by GEOS; `geo_json`, `shapefile`: files as other readers see them
//! - `stick`: several fields in one task set, as two public readers see it
//! - `task_set`: ISO 11783-10 task sets as two public readers and GDAL see them
//! - `gis_files`: GeoTIFF and GeoPackage as GDAL's programs, `listgeo` and `sqlite3` see them
//! - `pages`: the grower's page and the cab sheets against the run record
//! - `pictures`: whole maps of a run, kept to be looked at
//! - `zone_chain`: from zones to files: drawn zones, surveys, the machine, keep-off ground, own need
//! - `browser`: the grower's page in Chromium, its numbers against the run record, hostile names
//! - `outside_judges`: whole results before a GeoJSON linter, shapely, GeographicLib and pngcheck
//! - `outside`: open data fetched by `scripts/test`, never by tests

mod applied;
mod architecture;
mod as_driven;
mod audit;
mod audit_against;
mod boundary;
mod browser;
mod chemistry;
mod cli;
mod contracts;
mod damage;
mod decide;
mod demo;
mod desk;
mod docs;
mod field_file;
mod fields;
mod fixture;
mod geo_json;
mod gis_files;
mod guides;
mod headers;
mod iris;
mod keep_off;
mod layers;
mod layouts;
mod mesh;
mod messages;
mod open_field;
mod outlines;
mod outside;
mod outside_judges;
mod pages;
mod pictures;
mod point_file;
mod reference_values;
mod samples;
/// Random fields, shared with the coverage's own tests.
#[path = "../../src/coverage/tests/scenario.rs"]
mod scenario;
mod season;
mod shapefile;
mod sharing;
mod side_by_side;
mod start;
mod start_layouts;
mod start_open;
mod stick;
mod surface;
mod task_set;
mod zone_chain;
mod zone_contracts;
mod zones;

// Under these names `scenario` knows them.
use holdground::{cell_grid, coverage};

/// Asserts `|actual - expected| <= tolerance`, naming both.
#[track_caller]
fn check_close(actual: f64, expected: f64, tolerance: f64) {
    assert!((actual - expected).abs() <= tolerance, "{actual} is not within {tolerance} of {expected}");
}
