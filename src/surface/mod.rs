//! Surfaces: values between the samples, with how far they miss.
//!
//! A [`crate::mesh::Mesh`] and one value a site go in; values anywhere, or on a raster, come out. The mesh method is
//! [`mesh_interpolation::MeshInterpolation`]; [`method::Method`] adds the reference methods it is judged against, and
//! [`leave_one_out`] says how far any of them misses a sample it was not shown.

mod cell_rows;
mod field_mean;
mod gradient;
mod hull_walk;
mod inverse_distance;
pub mod leave_one_out;
pub mod mesh_interpolation;
mod mesh_kernel;
mod mesh_raster;
pub mod mesh_setting;
pub mod method;
pub mod method_table;
mod nearest;
mod surface_raster;
mod triangle_linear;

pub use surface_raster::SurfaceRaster;
