//! The only user of the triangulation library: a Delaunay triangulation read as cells, neighbors and hull chains.
//!
//! Two things differ from the bare triangulation:
//! - **Ties.** Four sites on one circle have two Delaunay triangulations and nothing but rounding chooses between them.
//!   Triangles that share such a circle are read as one convex cell; all its corners are each other's neighbors.
//! - **Slivers.** Sites along a straight field edge, a hand's breadth off the line, make needle triangles on the hull
//!   that would join sites at opposite ends of the row. They are peeled: the hull edge becomes a chain of sites.

use std::collections::HashSet;

use spade::handles::{FixedVertexHandle, InnerTag};
use spade::{DelaunayTriangulation, HasPosition, Point2, PositionInTriangulation, Triangulation as _};

use super::site_lists::SiteLists;
use crate::cell_grid::Site;

/// A fourth site this close to the circle of three, as a share of its radius, is on it.
/// Source: measured on nets with millimeter noise, `docs/method.md`.
const COCIRCULAR_SHARE: f64 = 3e-4;
/// Sites of one co-circular cell lie farther apart than this share of the radius; nets up to 1 : 19 do.
const COCIRCULAR_APART_SHARE: f64 = 0.1;
/// A hull triangle lower than this share of its base is a sliver.
const SLIVER_SHARE: f64 = 1e-3;

/// A place nearer to a hull edge than this share of its length is on it for natural neighbors.
const NEAR_HULL_SHARE: f64 = 1e-9;

#[derive(Debug, Clone, Copy)]
pub(super) struct MeshVertex {
    position: Point2<f64>,
    site: u32,
}

impl HasPosition for MeshVertex {
    type Scalar = f64;
    fn position(&self) -> Point2<f64> {
        self.position
    }
}

type Triangulation = DelaunayTriangulation<MeshVertex>;
type Face<'a> = spade::handles::FaceHandle<'a, InnerTag, MeshVertex, (), (), ()>;
type Edge<'a> = spade::handles::DirectedEdgeHandle<'a, MeshVertex, (), (), ()>;

/// A triangulation from which single sites can be taken out and put back.
#[derive(Debug, Clone)]
pub(super) struct Delaunay {
    triangulation: Triangulation,
    /// Where each site sits inside the library's vertex list; removal moves the last vertex into the gap.
    vertex_of: Vec<u32>,
}

impl Delaunay {
    /// `sites` must be finite and pairwise distinct.
    pub(super) fn new(sites: &[Site]) -> Self {
        let vertices = sites
            .iter()
            .enumerate()
            .map(|(site, at)| MeshVertex { position: Point2::new(at.east_m, at.north_m), site: site as u32 })
            .collect();
        let triangulation =
            Triangulation::bulk_load_stable(vertices).expect("sites are finite, distinct and of ordinary size");
        let vertex_of = (0..sites.len() as u32).collect();
        Delaunay { triangulation, vertex_of }
    }

    /// Takes one site out.
    pub(super) fn take_out(&mut self, site: u32) {
        let vertex = self.vertex_of[site as usize];
        self.triangulation.remove(FixedVertexHandle::from_index(vertex as usize));
        if (vertex as usize) < self.triangulation.num_vertices() {
            let moved = self.triangulation.vertex(FixedVertexHandle::from_index(vertex as usize)).data().site;
            self.vertex_of[moved as usize] = vertex;
        }
        self.vertex_of[site as usize] = u32::MAX;
    }

    /// Puts a site back that was taken out.
    pub(super) fn put_back(&mut self, site: u32, at: Site) {
        let vertex = MeshVertex { position: Point2::new(at.east_m, at.north_m), site };
        let handle = self.triangulation.insert(vertex).expect("it was in the triangulation before");
        self.vertex_of[site as usize] = handle.index() as u32;
    }

    /// A copy whose answers depend on nothing that was asked of the original before.
    pub(super) fn settled_copy(&self) -> Self {
        let copy = self.clone();
        // The library remembers where the last search ended and starts the next one there.
        let first = FixedVertexHandle::from_index(0);
        copy.triangulation.locate_with_hint(copy.triangulation.vertex(first).position(), first);
        copy
    }

    /// Reads the hull and peels its slivers; `None` when no triangle is left (all sites on one line).
    pub(super) fn hull(&self) -> Option<Hull> {
        if self.triangulation.all_vertices_on_line() {
            return None;
        }
        // The library lists hull edges clockwise with the outer face on their left; turned round they run
        // counter-clockwise with the field on their left.
        let mut edges: Vec<Edge<'_>> = self.triangulation.convex_hull().map(|edge| edge.rev()).collect();
        edges.reverse();
        // Where two edges could peel the same site the earlier does, so the order must not depend on the past.
        let first = (0..edges.len()).min_by_key(|&edge| edges[edge].from().data().site).unwrap_or(0);
        edges.rotate_left(first);
        let chains = SiteLists::with_capacity(edges.len(), 2 * edges.len());
        let mut hull = Hull { peeled: Vec::new(), chains };
        let (mut chain, mut inner) = (Vec::new(), HashSet::new());
        for edge in edges {
            hull.peel(edge, &inner, &mut chain);
            inner.extend(&chain[1..chain.len() - 1]);
            hull.chains.push(chain.drain(..));
        }
        hull.peeled.sort_unstable();
        let is_flat = hull.peeled.len() == self.triangulation.num_inner_faces() || self.is_narrow();
        (!is_flat).then_some(hull)
    }

    /// Whether all sites lie within a sliver's height of one line.
    fn is_narrow(&self) -> bool {
        let corners: Vec<Point2<f64>> = self.triangulation.convex_hull().map(|edge| edge.from().position()).collect();
        let farthest_from = |from: Point2<f64>| {
            let d_m2 = |p: &Point2<f64>| (p.x - from.x).powi(2) + (p.y - from.y).powi(2);
            corners.iter().copied().max_by(|a, b| d_m2(a).total_cmp(&d_m2(b))).unwrap_or(from)
        };
        // On a narrow strip the corner farthest from any corner is one end, and the farthest from that the other.
        let end = farthest_from(farthest_from(corners[0]));
        let start = farthest_from(end);
        let (dx, dy) = (end.x - start.x, end.y - start.y);
        let sides = corners.iter().map(|p| dx * (p.y - start.y) - dy * (p.x - start.x));
        let (least, most) = sides.fold((0.0_f64, 0.0_f64), |(least, most), side| (least.min(side), most.max(side)));
        most - least < SLIVER_SHARE * (dx * dx + dy * dy)
    }

    /// Sibson weights of the sites around a place, by site; empty outside the hull.
    pub(super) fn natural_neighbor_weights(&self, at: Site) -> Vec<(u32, f64)> {
        let at = Point2::new(at.east_m, at.north_m);
        let mut of_sites = self.weights_on_hull(at).unwrap_or_else(|| {
            let mut weights = Vec::new();
            self.triangulation.natural_neighbor().get_weights(at, &mut weights);
            let site_of = |vertex: FixedVertexHandle| self.triangulation.vertex(vertex).data().site;
            weights.into_iter().map(|(vertex, w)| (site_of(vertex), w)).collect()
        });
        of_sites.sort_unstable_by_key(|(site, _)| *site);
        of_sites
    }

    /// On the hull the weights are linear between the edge's ends; the areas they follow from are boundless there and
    /// leave nothing but rounding.
    fn weights_on_hull(&self, at: Point2<f64>) -> Option<Vec<(u32, f64)>> {
        let touching = self.touching(at);
        if touching.iter().any(|face| face.positions().contains(&at)) {
            return None;
        }
        touching.into_iter().flat_map(|face| face.adjacent_edges()).find_map(|edge| {
            let [from, to] = edge.positions();
            let (dx, dy) = (to.x - from.x, to.y - from.y);
            let length_m2 = dx * dx + dy * dy;
            let height_m2 = dx * (at.y - from.y) - dy * (at.x - from.x);
            let is_on_hull = edge.rev().is_outer_edge() && height_m2 < NEAR_HULL_SHARE * length_m2;
            is_on_hull.then(|| {
                let t = (((at.x - from.x) * dx + (at.y - from.y) * dy) / length_m2).clamp(0.0, 1.0);
                vec![(edge.from().data().site, 1.0 - t), (edge.to().data().site, t)]
            })
        })
    }

    /// The triangles a place lies in or on; none outside the hull.
    fn touching(&self, at: Point2<f64>) -> Vec<Face<'_>> {
        let triangulation = &self.triangulation;
        match triangulation.locate(at) {
            PositionInTriangulation::OnFace(face) => vec![triangulation.face(face)],
            PositionInTriangulation::OnEdge(edge) => {
                let edge = triangulation.directed_edge(edge);
                [edge.face(), edge.rev().face()].into_iter().filter_map(|face| face.as_inner()).collect()
            }
            PositionInTriangulation::OnVertex(vertex) => {
                triangulation.vertex(vertex).out_edges().filter_map(|edge| edge.face().as_inner()).collect()
            }
            _ => Vec::new(),
        }
    }
}

/// Where a place lies.
#[derive(Debug, Clone, Copy)]
pub(super) enum Located<'a> {
    /// In an ordinary cell, named by one of its triangles.
    In(Face<'a>),
    /// In a peeled sliver that belongs to this hull edge.
    Sliver(u32),
    /// Outside the hull.
    Outside,
}

/// The convex hull of a triangulation and the slivers peeled from it.
#[derive(Debug, Clone)]
pub(super) struct Hull {
    /// (triangle, hull edge it was peeled from), ascending; few or none.
    peeled: Vec<(usize, u32)>,
    /// Chains of sites, counter-clockwise; the first and last of each are corners of the convex hull.
    chains: SiteLists,
}

impl Hull {
    pub(super) fn chains(&self) -> &SiteLists {
        &self.chains
    }

    /// The chains along which slivers were peeled.
    pub(super) fn peeled_chains(&self) -> impl Iterator<Item = &[u32]> {
        let chains = (!self.peeled.is_empty()).then(|| self.chains.iter().filter(|chain| chain.len() > 2));
        chains.into_iter().flatten()
    }

    /// Peels the slivers behind a hull edge: while the triangle behind a piece is flat and its third site lies between
    /// the piece's ends, the piece becomes two. A site is inside one chain only (`inner`: inside earlier ones).
    fn peel(&mut self, hull_edge: Edge<'_>, inner: &HashSet<u32>, chain: &mut Vec<u32>) {
        let number = self.chains.len() as u32;
        let [start, end] = hull_edge.positions();
        let along = |p: Point2<f64>| (p.x - start.x) * (end.x - start.x) + (p.y - start.y) * (end.y - start.y);
        chain.push(hull_edge.from().data().site);
        // Pieces still to look at, the next along the hull on top.
        let mut pieces = vec![hull_edge];
        while let Some(piece) = pieces.pop() {
            let sliver = piece.face().as_inner().filter(|face| {
                let Some(third) = piece.opposite_vertex() else { return false };
                let [from, to] = piece.positions();
                let base_m = (to.x - from.x).hypot(to.y - from.y);
                let is_flat = 2.0 * face.area() < SLIVER_SHARE * base_m * base_m;
                // Chains run onward, so that a place projects on one piece only.
                let runs_onward = along(from) < along(third.position()) && along(third.position()) < along(to);
                is_flat
                    && runs_onward
                    && !inner.contains(&third.data().site)
                    && !third.out_edges().any(|edge| edge.is_outer_edge())
            });
            match sliver {
                None => chain.push(piece.to().data().site),
                Some(face) => {
                    self.peeled.push((face.index(), number));
                    pieces.extend([piece.next().rev(), piece.prev().rev()]);
                }
            }
        }
    }
}

/// One reading of a triangulation.
#[derive(Clone, Copy)]
pub(super) struct Topology<'a> {
    pub(super) delaunay: &'a Delaunay,
    pub(super) hull: &'a Hull,
}

impl<'a> Topology<'a> {
    fn peeled_from(&self, face: Face<'_>) -> Option<u32> {
        let peeled = &self.hull.peeled;
        let found = peeled.binary_search_by_key(&face.index(), |(triangle, _)| *triangle).ok()?;
        Some(peeled[found].1)
    }

    /// Corners of all cells (counter-clockwise, smallest site first) and how many triangles they are made of.
    pub(super) fn cells(&self) -> (SiteLists, usize) {
        let n_faces = self.delaunay.triangulation.num_inner_faces();
        let mut cells = SiteLists::with_capacity(n_faces, 3 * n_faces);
        // Inner triangles are numbered from 1; 0 is the outside.
        let mut taken = vec![false; n_faces + 1];
        let mut n_triangles = 0;
        for face in self.delaunay.triangulation.inner_faces() {
            if taken[face.index()] || self.peeled_from(face).is_some() {
                continue;
            }
            if let Some(corners) = self.lone_triangle(face) {
                cells.push(corners);
                n_triangles += 1;
                continue;
            }
            let (corners, triangles) = self.cell(face);
            n_triangles += triangles.len();
            triangles.into_iter().for_each(|triangle| taken[triangle] = true);
            cells.push(corners);
        }
        (cells, n_triangles)
    }

    /// Corners of a triangle that is a cell by itself, as nearly all are on scattered sites.
    fn lone_triangle(&self, face: Face<'a>) -> Option<[u32; 3]> {
        let joins = |edge: Edge<'a>| match edge.rev().face().as_inner() {
            Some(other) => self.peeled_from(other).is_none() && shares_circle(edge),
            None => false,
        };
        if face.adjacent_edges().into_iter().any(joins) {
            return None;
        }
        let [a, b, c] = face.vertices().map(|vertex| vertex.data().site);
        Some(if a < b && a < c {
            [a, b, c]
        } else if b < c {
            [b, c, a]
        } else {
            [c, a, b]
        })
    }

    /// Corners (counter-clockwise, smallest site first) and triangles of the cell a triangle belongs to.
    pub(super) fn cell(&self, face: Face<'a>) -> (Vec<u32>, Vec<usize>) {
        if let Some(corners) = self.lone_triangle(face) {
            return (corners.to_vec(), vec![face.index()]);
        }
        let mut members = vec![face];
        let mut border: Vec<Edge<'a>> = Vec::with_capacity(4);
        let mut next = 0;
        while next < members.len() {
            for edge in members[next].adjacent_edges() {
                match edge.rev().face().as_inner() {
                    Some(other) if members.iter().any(|m| m.index() == other.index()) => {}
                    Some(other) if self.peeled_from(other).is_none() && shares_circle(edge) => members.push(other),
                    _ => border.push(edge),
                }
            }
            next += 1;
        }
        // An edge set aside before its other triangle joined is inside after all.
        border.retain(|edge| match edge.rev().face().as_inner() {
            Some(other) => !members.iter().any(|m| m.index() == other.index()),
            None => true,
        });
        let triangles = members.iter().map(|m| m.index()).collect();
        let mut corners = Vec::with_capacity(border.len());
        let start = border.iter().min_by_key(|edge| edge.from().data().site).expect("a cell has a border");
        let mut edge = *start;
        loop {
            corners.push(edge.from().data().site);
            let Some(following) = border.iter().find(|b| b.from().index() == edge.to().index()) else { break };
            if following.from().index() == start.from().index() {
                break;
            }
            edge = *following;
        }
        (corners, triangles)
    }

    /// Sites that share a cell or a piece of the hull chain with `site`, ascending, without itself.
    pub(super) fn neighbors(&self, site: u32) -> Vec<u32> {
        let vertex = FixedVertexHandle::from_index(self.delaunay.vertex_of[site as usize] as usize);
        let mut found = Vec::with_capacity(12);
        let mut seen_faces: Vec<usize> = Vec::with_capacity(8);
        for edge in self.delaunay.triangulation.vertex(vertex).out_edges() {
            let Some(face) = edge.face().as_inner() else { continue };
            if self.peeled_from(face).is_some() || seen_faces.contains(&face.index()) {
                continue;
            }
            let (corners, triangles) = self.cell(face);
            found.extend(corners);
            seen_faces.extend(triangles);
        }
        found.sort_unstable();
        found.dedup();
        found.retain(|&other| other != site);
        found
    }

    pub(super) fn locate(&self, at: Site) -> Located<'a> {
        let mut touching = self.delaunay.touching(Point2::new(at.east_m, at.north_m));
        // On an edge or site every triangle gives the same value; a fixed choice gives the same bits too.
        touching.sort_by_cached_key(|face| {
            let mut sites = face.vertices().map(|vertex| vertex.data().site);
            sites.sort_unstable();
            (self.peeled_from(*face).is_some(), sites)
        });
        match touching.first() {
            None => Located::Outside,
            Some(face) => self.peeled_from(*face).map_or(Located::In(*face), Located::Sliver),
        }
    }
}

/// Whether the four sites around an inner edge lie on one circle, judged alike from every three of them.
fn shares_circle(edge: Edge<'_>) -> bool {
    let (Some(left), Some(right)) = (edge.opposite_position(), edge.rev().opposite_position()) else { return false };
    let [a, b] = edge.positions();
    let four = [a, left, b, right];
    let distance_m2 = |p: Point2<f64>, q: Point2<f64>| (p.x - q.x).powi(2) + (p.y - q.y).powi(2);
    let is_on_circle = |fourth: usize, radius_m2: f64, center: Point2<f64>| {
        let share = distance_m2(four[fourth], center) / radius_m2;
        (1.0 - COCIRCULAR_SHARE).powi(2) < share && share < (1.0 + COCIRCULAR_SHARE).powi(2)
    };
    // Nearly always no; said with the least work.
    if !circle(a, left, b).is_some_and(|(center, radius_m2)| is_on_circle(3, radius_m2, center)) {
        return false;
    }
    let sides_m2: [f64; 4] = std::array::from_fn(|i| distance_m2(four[i], four[(i + 1) % 4]));
    let shortest_m2 = sides_m2.into_iter().fold(f64::INFINITY, f64::min);
    let longest_m2 = sides_m2.into_iter().fold(distance_m2(a, b).max(distance_m2(left, right)), f64::max);
    (0..4).all(|fourth| {
        let [p, q, r] = [four[(fourth + 1) % 4], four[(fourth + 2) % 4], four[(fourth + 3) % 4]];
        let Some((center, radius_m2)) = circle(p, q, r) else { return false };
        is_on_circle(fourth, radius_m2, center)
            && radius_m2 < longest_m2
            && shortest_m2 > COCIRCULAR_APART_SHARE.powi(2) * radius_m2
    })
}

/// Center and squared radius of the circle through three sites; `None` on a line.
fn circle(p: Point2<f64>, q: Point2<f64>, r: Point2<f64>) -> Option<(Point2<f64>, f64)> {
    let (bx, by, cx, cy) = (q.x - p.x, q.y - p.y, r.x - p.x, r.y - p.y);
    let twice_area = 2.0 * (bx * cy - by * cx);
    if twice_area == 0.0 {
        return None;
    }
    let (b2, c2) = (bx * bx + by * by, cx * cx + cy * cy);
    let ux = (cy * b2 - by * c2) / twice_area;
    let uy = (bx * c2 - cx * b2) / twice_area;
    Some((Point2::new(p.x + ux, p.y + uy), ux * ux + uy * uy))
}
