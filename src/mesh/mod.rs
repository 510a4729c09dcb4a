//! The net of samples: a Delaunay mesh over the sites, made fit for soil tests on square nets.
//!
//! Sites go in, [`Mesh`] comes out: convex cells (triangles, or the larger cells of co-circular sites), who is whose
//! neighbor, and the hull as chains of sites. Values and weights are not here; see [`crate::surface`].

mod delaunay;
#[expect(clippy::module_inception, reason = "the file is named after the type it defines")]
mod mesh;
mod shares;
mod site_lists;

pub use mesh::{HullEdge, Mesh, MeshError, NaturalNeighbors, Position, ReducedMesh};
pub(crate) use shares::cell_shares;
pub(crate) use site_lists::SiteLists;
