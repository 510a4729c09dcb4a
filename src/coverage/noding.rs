//! One net of edges that meet in their ends only, from boundary, zone borders and setback outlines.
//!
//! All lines go through one call of `i_overlay`'s slicing on integers, which splits them wherever they meet and gives
//! the pieces of the field between them. Their edges are the net; what lies outside the field, and lines that end in
//! the open, are dropped.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::IntOverlayOptions;
use i_overlay::i_float::int::point::IntPoint;
use i_overlay::string::overlay::StringOverlay;
use i_overlay::string::rule::StringRule;

use super::lattice::Vertex;

/// Lines that meet in their ends only.
#[derive(Debug, PartialEq)]
pub(super) struct Net {
    /// Directed edges with the field on their left, sorted, each once. An edge with field on both sides is there in
    /// both directions.
    pub(super) edges: Vec<[Vertex; 2]>,
    /// The same as closed rings around the pieces of the field.
    pub(super) rings: Vec<Vec<Vertex>>,
}

/// Splits closed boundary rings and lines wherever they meet.
///
/// # Guarantees
/// - every vertex of the input that lies on an edge of the net is a vertex of it
/// - the order and the direction of rings and lines change nothing
pub(super) fn node(boundary: &[Vec<Vertex>], lines: &[Vec<Vertex>]) -> Net {
    let plain = |path: &Vec<Vertex>| -> Vec<IntPoint> {
        path.iter().map(|vertex| IntPoint { x: vertex.x, y: vertex.y }).collect()
    };
    let options = IntOverlayOptions {
        preserve_input_collinear: true,
        preserve_output_collinear: true,
        min_output_area: 0,
        ogc: true,
        ..IntOverlayOptions::default()
    };
    let n_edges = boundary.iter().map(|ring| 2 * ring.len()).sum::<usize>() + lines.iter().map(Vec::len).sum::<usize>();
    let mut overlay = StringOverlay::with_options(n_edges, options);
    for ring in boundary.iter().map(plain) {
        let open = &ring[..ring.len().saturating_sub(1)];
        overlay.add_shape_contour(open);
        // As a shape a ring loses vertices on straight runs; as a line it keeps them.
        overlay.add_string_path(&ring);
    }
    for line in lines.iter().map(plain) {
        overlay.add_string_path(&line);
    }
    let pieces = overlay
        .build_graph_view(FillRule::EvenOdd)
        .map(|graph| graph.extract_shapes_custom(StringRule::Slice, options))
        .unwrap_or_default();
    let vertex = |point: &IntPoint| Vertex { x: point.x, y: point.y };
    let closed = |contour: &Vec<IntPoint>| contour.iter().chain(contour.first()).map(vertex).collect();
    let rings: Vec<Vec<Vertex>> = pieces.iter().flatten().map(closed).collect();
    let mut edges: Vec<[Vertex; 2]> =
        rings.iter().flat_map(|ring| ring.windows(2)).map(|edge| [edge[0], edge[1]]).collect();
    edges.sort_unstable();
    Net { edges, rings }
}

/// Splits a net once more, where rounding has left edges that cross. Edges between two pieces are there twice, which
/// leaves the parity of the field as it is.
pub(super) fn node_again(net: &Net) -> Net {
    node(&net.rings, &[])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn path(places: &[(i32, i32)]) -> Vec<Vertex> {
        places.iter().map(|&(x, y)| Vertex { x, y }).collect()
    }

    fn square() -> Vec<Vertex> {
        path(&[(0, 0), (10, 0), (10, 10), (0, 10), (0, 0)])
    }

    #[test]
    fn a_line_through_a_square_parts_it() {
        let net = node(&[square()], &[path(&[(5, -5), (5, 15)])]).edges;
        assert_eq!(net.len(), 8);
        let [south, north] = [Vertex { x: 5, y: 0 }, Vertex { x: 5, y: 10 }];
        assert!(net.contains(&[south, north]) && net.contains(&[north, south]));
        assert!(net.contains(&[Vertex { x: 0, y: 0 }, south]), "field on the left");
    }

    #[test]
    fn lines_that_part_nothing_are_dropped() {
        let alone = node(&[square()], &[]);
        assert_eq!(alone.edges.len(), 4);
        assert_eq!(node(&[square()], &[path(&[(20, 0), (30, 0)]), path(&[(5, 5), (6, 6), (7, 9)])]), alone);
    }

    #[test]
    fn vertices_on_straight_runs_of_the_boundary_are_kept() {
        let net = node(&[path(&[(0, 0), (4, 0), (10, 0), (10, 10), (0, 10), (0, 0)])], &[]);
        assert_eq!(net.edges.len(), 5);
    }

    #[test]
    fn a_line_along_the_boundary_changes_nothing() {
        assert_eq!(node(&[square()], &[path(&[(-3, 0), (13, 0)])]).edges.len(), 4);
    }

    #[test]
    fn noding_a_sound_net_again_changes_nothing() {
        let net = node(&[square()], &[path(&[(5, -5), (5, 15)]), path(&[(-5, 2), (15, 9)])]);
        assert_eq!(node_again(&net).edges, net.edges);
    }
}
