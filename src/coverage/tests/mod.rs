//! What [`Coverage`](super::Coverage) guarantees, on awkward fields made by seed.

mod guarantees;
mod scenario;
mod whole_fields;
