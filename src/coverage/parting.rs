//! The field parted by zone borders and setback outlines: from lines to faces.

use super::border_nodes::{Crossing, SETBACK_SHIFT, ZONE_BORDER_SHIFT, apart_from, lead_to_boundary};
use super::error::CoverageError;
use super::faces::{Faces, NetFault, faces};
use super::lattice::Vertex;
use super::noding::{Net, node, node_again};

/// Rounded crossings may cross other lines again; noding the result once more mends that.
const MAX_NODINGS: usize = 5;

/// Parts the field by borders and outlines. Leading them along the boundary may cut off the tip of a sharp corner; then
/// they end where they cross.
///
/// # Errors
/// [`CoverageError::NotNoded`] and [`CoverageError::Sides`].
pub(super) fn part(
    boundary: &[Vec<Vertex>],
    borders: &[Vec<Vertex>],
    outlines: &[Vec<Vertex>],
) -> Result<(Vec<[Vertex; 2]>, Faces), CoverageError> {
    let led = noded_faces(net_of(boundary, borders, outlines, [ZONE_BORDER_SHIFT, SETBACK_SHIFT]))?;
    if n_lost(boundary, &led.0) == 0 {
        return Ok(led);
    }
    match noded_faces(net_of(boundary, borders, outlines, [0, 0])) {
        Ok(straight) if n_lost(boundary, &straight.0) < n_lost(boundary, &led.0) => Ok(straight),
        _ => Ok(led),
    }
}

fn net_of(boundary: &[Vec<Vertex>], borders: &[Vec<Vertex>], outlines: &[Vec<Vertex>], shifts: [i32; 2]) -> Net {
    let mut boundary_led = boundary.to_vec();
    let [mut borders, mut outlines] = [borders, outlines].map(|lines| apart_from(boundary, lines));
    let mut crossings = [
        Crossing { lines: &mut borders, shift: shifts[0] }, //
        Crossing { lines: &mut outlines, shift: shifts[1] },
    ];
    lead_to_boundary(&mut boundary_led, &mut crossings);
    node(&boundary_led, &[borders, outlines].concat())
}

/// How many vertices of the boundary are in no edge.
fn n_lost(boundary: &[Vec<Vertex>], edges: &[[Vertex; 2]]) -> usize {
    // Edges are sorted by their first vertex.
    let is_in = |vertex: &&Vertex| edges.binary_search_by(|edge| edge[0].cmp(vertex)).is_ok();
    boundary.iter().flatten().filter(|vertex| !is_in(vertex)).count()
}

/// Edges and faces of a net, which is noded again as long as rounding has left crossings.
fn noded_faces(mut net: Net) -> Result<(Vec<[Vertex; 2]>, Faces), CoverageError> {
    let mut attempts = 1;
    loop {
        match faces(&net.edges) {
            Ok(faces) => return Ok((net.edges, faces)),
            Err(NetFault::Crossing(crossing)) if attempts == MAX_NODINGS => {
                return Err(CoverageError::NotNoded { crossing, edges: net.edges.len(), attempts });
            }
            Err(NetFault::Crossing(_)) => net = node_again(&net),
            Err(NetFault::Other(error)) => return Err(error),
        }
        attempts += 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn path(places: &[(i32, i32)]) -> Vec<Vertex> {
        places.iter().map(|&(x, y)| Vertex { x, y }).collect()
    }

    #[test]
    fn the_tip_of_a_sharp_corner_is_kept() {
        // A tip of 3 degrees, crossed some steps before its end.
        let boundary = [path(&[(0, 0), (2000, 51), (7, 105), (0, 0)])];
        for at in (1900..1999).step_by(3) {
            let border = [path(&[(at, -500), (at + 1, 500)])];
            let (edges, _) = part(&boundary, &border, &[]).unwrap();
            assert_eq!(n_lost(&boundary, &edges), 0, "{at}");
        }
    }

    #[test]
    fn a_setback_along_the_boundary_leaves_its_edges_straight() {
        let boundary = [path(&[(0, 0), (90_001, 1403), (88_000, 70_000), (0, 0)])];
        let border = [path(&[(45_000, -5), (45_017, 90_000)])];
        let alone = part(&boundary, &border, &[]).unwrap().0;
        assert_eq!(part(&boundary, &border, &boundary).unwrap().0, alone);
    }
}
