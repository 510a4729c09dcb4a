//! The pieces the net of edges parts the field into, as sets of triangles.
//!
//! A constrained Delaunay triangulation of the net serves three ends: it refuses edges that still cross, flooding it
//! over unconstrained sides finds the faces, and its triangles say what lies in them.

use spade::handles::{FixedVertexHandle, InnerTag};
use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation};

use super::error::CoverageError;
use super::lattice::Vertex;

/// Faces of a net.
pub(super) struct Faces {
    /// Number of faces.
    pub(super) count: usize,
    /// The face on the left of each edge of the net.
    pub(super) left_of: Vec<usize>,
    /// Triangles, counter-clockwise, with their face.
    pub(super) triangles: Vec<(usize, [Vertex; 3])>,
}

/// What keeps a net from parting the plane.
#[derive(Debug, PartialEq)]
pub(super) enum NetFault {
    /// So many edges cross others or run through vertices.
    Crossing(usize),
    /// No triangulation, or faces with the field on both sides of their border.
    Other(CoverageError),
}

type Mesh = ConstrainedDelaunayTriangulation<Point2<f64>>;
type FaceHandle = spade::handles::FixedFaceHandle<InnerTag>;

/// Faces of a net, numbered in no stated order, but the same for the same net.
///
/// # Errors
/// [`NetFault::Crossing`] if edges meet anywhere but in their ends.
pub(super) fn faces(net: &[[Vertex; 2]]) -> Result<Faces, NetFault> {
    let mut vertices: Vec<Vertex> = net.iter().flatten().copied().collect();
    vertices.sort_unstable();
    vertices.dedup();
    let (mesh, vertices) = mesh(&vertices, net)?;
    let flooded = flood(&mesh);

    // Whether a piece is field is read off its border: the net has the field on its left.
    let n_pieces = flooded.iter().map(|&piece| piece + 1).max().unwrap_or(0);
    let (mut is_field, mut is_open) = (vec![false; n_pieces], vec![false; n_pieces]);
    let mut left_of = vec![0; net.len()];
    for edge in mesh.directed_edges() {
        let ends = [edge.from(), edge.to()].map(|end| vertices[end.fix().index()]);
        let in_net = if edge.is_constraint_edge() { net.binary_search(&ends).ok() } else { None };
        let piece = edge.face().as_inner().map(|face| flooded[face.fix().index() - 1]);
        match (in_net, piece) {
            (Some(at), Some(piece)) => {
                is_field[piece] = true;
                left_of[at] = piece;
            }
            // Field on the left of an edge that has nothing on its left.
            (Some(_), None) => return Err(NetFault::Other(CoverageError::Sides { faces: 1, of: n_pieces })),
            (None, Some(piece)) => {
                let ends_here = edge.is_constraint_edge() || edge.rev().face().is_outer();
                is_open[piece] |= ends_here;
            }
            (None, None) => {}
        }
    }
    let in_doubt = (0..n_pieces).filter(|&piece| is_field[piece] && is_open[piece]).count();
    if in_doubt > 0 {
        return Err(NetFault::Other(CoverageError::Sides { faces: in_doubt, of: n_pieces }));
    }
    let mut number = vec![usize::MAX; n_pieces];
    let mut count = 0;
    for piece in (0..n_pieces).filter(|&piece| is_field[piece]) {
        number[piece] = count;
        count += 1;
    }
    left_of.iter_mut().for_each(|piece| *piece = number[*piece]);
    let triangles = mesh.inner_faces().filter(|face| is_field[flooded[face.fix().index() - 1]]).map(|face| {
        let corners = face.vertices().map(|corner| vertices[corner.fix().index()]);
        (number[flooded[face.fix().index() - 1]], corners)
    });
    Ok(Faces { count, left_of, triangles: triangles.collect() })
}

/// The triangulation, and the net's vertices in its order.
fn mesh(vertices: &[Vertex], net: &[[Vertex; 2]]) -> Result<(Mesh, Vec<Vertex>), NetFault> {
    let fault = |edges| NetFault::Crossing(edges);
    let points = vertices.iter().map(|vertex| Point2::new(f64::from(vertex.x), f64::from(vertex.y))).collect();
    let mut mesh = Mesh::bulk_load(points).map_err(|_| fault(net.len()))?;
    let as_in_mesh = |place: Point2<f64>| Vertex { x: place.x as i32, y: place.y as i32 };
    let order: Vec<Vertex> = mesh.vertices().map(|vertex| as_in_mesh(vertex.position())).collect();
    let mut handles = vec![FixedVertexHandle::from_index(0); vertices.len()];
    for (index, vertex) in order.iter().enumerate() {
        let at = vertices.binary_search(vertex).map_err(|_| fault(net.len()))?;
        handles[at] = FixedVertexHandle::from_index(index);
    }
    let mut n_crossing = 0;
    for edge in net {
        // Edges with field on both sides are there twice.
        if edge[0] > edge[1] && net.binary_search(&[edge[1], edge[0]]).is_ok() {
            continue;
        }
        let handle = |end: &Vertex| vertices.binary_search(end).map(|at| handles[at]);
        let (Ok(from), Ok(to)) = (handle(&edge[0]), handle(&edge[1])) else { return Err(fault(net.len())) };
        if mesh.can_add_constraint(from, to) {
            mesh.add_constraint(from, to);
        }
        n_crossing += usize::from(!mesh.exists_constraint(from, to));
    }
    if n_crossing > 0 { Err(fault(n_crossing)) } else { Ok((mesh, order)) }
}

/// Number of the piece of each triangle; pieces are joined over sides that are no edge of the net.
fn flood(mesh: &Mesh) -> Vec<usize> {
    let mut piece_of = vec![usize::MAX; mesh.num_inner_faces()];
    let mut n_pieces = 0;
    let mut open: Vec<FaceHandle> = Vec::new();
    for seed in mesh.inner_faces() {
        if piece_of[seed.fix().index() - 1] != usize::MAX {
            continue;
        }
        piece_of[seed.fix().index() - 1] = n_pieces;
        open.push(seed.fix());
        while let Some(face) = open.pop() {
            for edge in mesh.face(face).adjacent_edges() {
                let Some(next) = edge.rev().face().as_inner() else { continue };
                let at = next.fix().index() - 1;
                if !edge.is_constraint_edge() && piece_of[at] == usize::MAX {
                    piece_of[at] = n_pieces;
                    open.push(next.fix());
                }
            }
        }
        n_pieces += 1;
    }
    piece_of
}

#[cfg(test)]
mod tests {
    use super::super::segments::turn;
    use super::*;

    fn ring(places: &[(i32, i32)]) -> Vec<[Vertex; 2]> {
        let vertex = |at: usize| Vertex { x: places[at % places.len()].0, y: places[at % places.len()].1 };
        (0..places.len()).map(|at| [vertex(at), vertex(at + 1)]).collect()
    }

    fn net(rings: &[&[(i32, i32)]]) -> Vec<[Vertex; 2]> {
        let mut net: Vec<[Vertex; 2]> = rings.iter().flat_map(|places| ring(places)).collect();
        net.sort_unstable();
        net
    }

    #[test]
    fn two_rectangles_side_by_side_are_two_faces() {
        let net = net(&[&[(0, 0), (5, 0), (5, 9), (0, 9)], &[(5, 0), (9, 0), (9, 9), (5, 9)]]);
        let faces = faces(&net).unwrap();
        assert_eq!(faces.count, 2);
        let mut areas = vec![0; 2];
        for (face, [a, b, c]) in &faces.triangles {
            areas[*face] += turn(*a, *b, *c);
        }
        areas.sort_unstable();
        assert_eq!(areas, [72, 90]);
    }

    #[test]
    fn a_hole_is_no_face() {
        let net = net(&[&[(0, 0), (9, 0), (9, 9), (0, 9)], &[(3, 3), (3, 6), (6, 6), (6, 3)]]);
        let faces = faces(&net).unwrap();
        assert_eq!(faces.count, 1);
        assert_eq!(faces.triangles.iter().map(|(_, [a, b, c])| turn(*a, *b, *c)).sum::<i64>(), 2 * 72);
    }

    #[test]
    fn faults_are_told() {
        let crossing = net(&[&[(0, 0), (9, 0), (9, 9), (0, 9)], &[(3, 3), (30, 4), (6, 6)]]);
        assert!(matches!(faces(&crossing), Err(NetFault::Crossing(1..))));
        let clockwise = net(&[&[(0, 0), (0, 9), (9, 9), (9, 0)]]);
        assert!(matches!(faces(&clockwise), Err(NetFault::Other(CoverageError::Sides { .. }))));
    }
}
