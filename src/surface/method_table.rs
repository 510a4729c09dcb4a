//! How far each method misses samples it was not shown, side by side.

use super::leave_one_out::MapError;
use super::mesh_setting::Power;
use super::method::Method;
use crate::mesh::Mesh;

/// One line of the table.
#[derive(Debug, Clone, PartialEq)]
pub struct MethodError {
    /// The method with its settings: `distance, power 2, 12 nearest`.
    pub name: String,
    /// `None` where the method could predict no hidden sample. Methods without values beyond the outermost samples
    /// leave those samples out: `n` says how many remain.
    pub error: Option<MapError>,
}

/// Nearest samples that count in the table's second line of classic inverse distance.
const TABLE_NEAREST: usize = 12;

/// The methods every map is held against.
pub const REFERENCE_METHODS: [Method; 6] = [
    Method::Mean,
    Method::Nearest,
    Method::Triangle,
    Method::NaturalNeighbor,
    Method::Distance { power: Power::P2, nearest: None },
    Method::Distance { power: Power::P2, nearest: Some(TABLE_NEAREST) },
];

/// The mesh method with the setting chosen for this variable alone, then the reference methods.
///
/// The mesh line is a little too good: its setting was chosen on the same samples.
///
/// # Shape
/// `values[site]`, sites as in `mesh.sites()`.
pub fn method_table(mesh: &Mesh, values: &[f64]) -> Vec<MethodError> {
    let mut table = vec![method_error(Method::Mesh(None).settled(mesh, &[values]), mesh, values)];
    table.extend(reference_table(mesh, values));
    table
}

/// The reference methods: field mean, nearest, triangle, natural neighbor, classic inverse distance (power 2) with all
/// samples and with the 12 nearest.
///
/// # Shape
/// `values[site]`, sites as in `mesh.sites()`.
pub fn reference_table(mesh: &Mesh, values: &[f64]) -> Vec<MethodError> {
    REFERENCE_METHODS.into_iter().map(|method| method_error(method, mesh, values)).collect()
}

/// One method's line.
///
/// # Shape
/// `values[site]`, sites as in `mesh.sites()`.
pub fn method_error(method: Method, mesh: &Mesh, values: &[f64]) -> MethodError {
    let left = method.leave_one_out(mesh, &[values]);
    MethodError { name: method.to_string(), error: MapError::of(values, &left.hidden, &left.predictions[0]) }
}
