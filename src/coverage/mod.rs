//! Zone outlines for files: polygons that fill the field's boundary without gap and without overlap.
//!
//! A coverage parts the field into faces. Every border is one run of the same vertices on both of its sides, all
//! vertices lie on one lattice ([`Lattice`]) and are never rounded again, so all files carry the same numbers.
//!
//! ```text
//!   labels      grown beyond      arcs, fewer      lines met in     faces, each with
//!               the boundary      vertices         nodes            zone and setbacks
//!
//!   . 1 1 2     1 1 1 2 2 2                          __o____         __o____
//!   1 1 2 2     1 1 1 2 2 2           /             /  |    \       / 1|  2 \
//!   1 1 2 .     1 1 2 2 2 2          /             /   o---. \     /   o---. \
//!               1 1 2 2 2 2         /             (___/____|__)   (___/_2s_|__)
//! ```
//!
//! | step | where |
//! |---|---|
//! | 1. give every cell and a rim around the raster a label | `label_growth` |
//! | 2. trace borders between unlike labels, cut where they branch | `arcs` |
//! | 3. take vertices off each border once | `simplify` |
//! | 4. round boundary, borders and setback outlines to the lattice, once | [`lattice`](Lattice) |
//! | 5. end borders and setbacks on the boundary where it stays straight | `border_nodes` |
//! | 6. split all lines where they meet, in one call | `noding` |
//! | 7. triangulate the net and flood its faces; node again what still crosses | `faces`, `parting` |
//! | 8. vote on the zone of each face, ask which setbacks lie over it | `ground` |
//! | 9. trace rings around vertices; again for each product | `rings`, [`Coverage::merge`] |
//!
//! [`ZoneOutlines`] is what later stages see: the ground of each zone and product, with its area.

mod arcs;
mod border_nodes;
mod coverage_build;
mod error;
mod faces;
mod ground;
mod label_growth;
mod lattice;
mod noding;
mod parting;
mod rings;
mod segments;
mod simplify;
#[cfg(test)]
mod tests;
mod zone_outlines;

pub use coverage_build::{Coverage, CoverageInput, Face, Ground, Plane, ZonePolygons};
pub use error::CoverageError;
pub use lattice::{Lattice, Vertex};
pub use rings::LatticePolygon;
pub use zone_outlines::{CODES, NO_ZONE_OUTLINES, NOTHING_LEFT_TO_TREAT, ZoneGround, ZoneOutlines};
