//! Triangle-linear: a plane over each triangle of the net. No value beyond the outermost samples.

use crate::mesh::Position;

/// The shares of the corners, or none beyond the outermost samples.
pub(super) fn weights(position: Position) -> Vec<(u32, f64)> {
    if position.extrapolated { Vec::new() } else { position.shares }
}
