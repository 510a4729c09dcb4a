//! [`Mesh`]: sites with their cells, neighbors and hull, and the mesh with one site hidden.

use super::delaunay::{Delaunay, Hull, Located, Topology};
use super::shares::{cell_shares, chain_shares, cross, nearest_hull_edge};
use super::site_lists::SiteLists;
use crate::cell_grid::Site;

/// Why no mesh can be laid over the sites.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MeshError {
    /// Fewer than three distinct places.
    #[error("{n_sites} distinct places, but a net of samples needs at least 3")]
    TooFewSites {
        /// Distinct places given.
        n_sites: usize,
    },
    /// All places on one line (or within a thousandth of its length of it).
    #[error("all {n_sites} places lie on one line; a net of samples needs places on both sides of it")]
    Collinear {
        /// Distinct places given.
        n_sites: usize,
    },
}

/// An edge of the convex hull: its sites from corner to corner, counter-clockwise (field on the left).
///
/// Two sites as a rule; more where slivers were peeled.
#[derive(Debug, Clone, PartialEq)]
pub struct HullEdge {
    /// Sites along the edge.
    pub chain: Vec<u32>,
}

/// A place as its position in the mesh: which sites' neighborhoods speak for it, and how much each.
#[derive(Debug, Clone, PartialEq)]
pub struct Position {
    /// (site, share); shares are at least 0 and sum to 1.
    pub shares: Vec<(u32, f64)>,
    /// The place lies beyond the outermost samples.
    pub extrapolated: bool,
}

/// A Delaunay mesh over distinct sites.
///
/// # Units
/// Local meters.
///
/// # Guarantees
/// - sites are sorted by (easting, northing) and distinct; at least three, not on one line
/// - the mesh does not depend on the order of the sites given
/// - co-circular sites (square nets) form one cell, so no rounding decides who is a neighbor of whom
#[derive(Debug, Clone)]
pub struct Mesh {
    sites: Vec<Site>,
    cells: SiteLists,
    neighbors: SiteLists,
    hull_edges: Vec<HullEdge>,
    n_triangles: usize,
    delaunay: Delaunay,
    hull: Hull,
}

impl Mesh {
    /// Lays the mesh. `sites` are finite and distinct; they are sorted here by (easting, northing).
    ///
    /// # Errors
    /// [`MeshError::TooFewSites`] below three, [`MeshError::Collinear`] when all lie on one line.
    ///
    /// # Panics
    /// If two sites are the same or one is not finite: the caller merges and checks them first.
    pub fn new(mut sites: Vec<Site>) -> Result<Self, MeshError> {
        let n_sites = sites.len();
        if n_sites < 3 {
            return Err(MeshError::TooFewSites { n_sites });
        }
        sites.sort_by(|a, b| a.east_m.total_cmp(&b.east_m).then(a.north_m.total_cmp(&b.north_m)));
        assert!(sites.windows(2).all(|pair| pair[0] != pair[1]), "sites at one place are merged before the mesh");
        let delaunay = Delaunay::new(&sites);
        let Some(hull) = delaunay.hull() else { return Err(MeshError::Collinear { n_sites }) };
        let topology = Topology { delaunay: &delaunay, hull: &hull };
        let (cells, n_triangles) = topology.cells();
        let cells = cells.sorted();
        let neighbors = cells.sharing(n_sites);
        let hull_edges = hull.chains().iter().map(|chain| HullEdge { chain: chain.to_vec() }).collect();
        Ok(Mesh { sites, cells, neighbors, hull_edges, n_triangles, delaunay, hull })
    }

    /// The sites, sorted by (easting, northing), local meters.
    pub fn sites(&self) -> &[Site] {
        &self.sites
    }

    /// Convex cells as corner sites, counter-clockwise, smallest site first; in ascending order.
    pub fn cells(&self) -> impl ExactSizeIterator<Item = &[u32]> {
        self.cells.iter()
    }

    /// One of the cells, by its place in [`Mesh::cells`].
    pub(crate) fn cell(&self, cell: u32) -> &[u32] {
        self.cells.get(cell as usize)
    }

    /// Mesh neighbors of a site, ascending.
    pub fn neighbors(&self, site: u32) -> &[u32] {
        self.neighbors.get(site as usize)
    }

    /// The convex hull, counter-clockwise.
    pub fn hull(&self) -> &[HullEdge] {
        &self.hull_edges
    }

    /// Number of triangles that are not slivers.
    pub fn n_triangles(&self) -> usize {
        self.n_triangles
    }

    /// Sites within `rings` mesh edges of `site`, itself included, ascending.
    pub fn within_rings(&self, site: u32, rings: usize) -> Vec<u32> {
        if rings == 1 {
            let mut found = Vec::with_capacity(self.neighbors(site).len() + 1);
            found.extend_from_slice(self.neighbors(site));
            found.insert(found.partition_point(|&other| other < site), site);
            return found;
        }
        let (mut found, _) = by_ring(site, rings, |s| self.neighbors(s));
        found.sort_unstable();
        found
    }

    fn topology(&self) -> Topology<'_> {
        Topology { delaunay: &self.delaunay, hull: &self.hull }
    }

    /// Position of a place inside or beyond the hull.
    pub fn position(&self, at: Site) -> Position {
        position(self.topology(), &self.sites, at)
    }

    /// Whether a place lies inside the convex hull of the sites, or on it.
    pub fn encloses(&self, at: Site) -> bool {
        self.hull
            .chains()
            .iter()
            .all(|chain| cross(self.sites[chain[0] as usize], self.sites[chain[chain.len() - 1] as usize], at) >= 0.0)
    }

    /// What one task needs to ask for natural neighbors, apart from what other tasks ask meanwhile.
    pub fn natural_neighbors(&self) -> NaturalNeighbors {
        NaturalNeighbors { delaunay: self.delaunay.settled_copy() }
    }

    /// [`Mesh::within_rings`] of every site.
    pub(crate) fn neighborhoods(&self, rings: usize) -> SiteLists {
        let n_sites = self.sites.len();
        let mut lists = SiteLists::with_capacity(n_sites, 7 * n_sites);
        (0..n_sites as u32).for_each(|site| lists.push(self.within_rings(site, rings)));
        lists
    }

    /// Calls `visit` with the mesh without site `hidden`, for each of `hidden`, in order.
    ///
    /// `None` is handed over when the other sites lie on one line.
    pub fn hiding_each<T>(&self, hidden: &[u32], mut visit: impl FnMut(u32, Option<ReducedMesh<'_>>) -> T) -> Vec<T> {
        let mut delaunay = self.delaunay.settled_copy();
        hidden
            .iter()
            .map(|&site| {
                delaunay.take_out(site);
                let reduced = delaunay.hull().map(|hull| ReducedMesh::new(&delaunay, hull, self, site));
                let result = visit(site, reduced);
                delaunay.put_back(site, self.sites[site as usize]);
                result
            })
            .collect()
    }
}

/// A mesh ready for natural-neighbor questions of one task.
#[derive(Debug, Clone)]
pub struct NaturalNeighbors {
    delaunay: Delaunay,
}

impl NaturalNeighbors {
    /// Natural-neighbor (Sibson) weights of the sites around a place, ascending by site; empty outside the hull.
    pub fn weights(&self, at: Site) -> Vec<(u32, f64)> {
        self.delaunay.natural_neighbor_weights(at)
    }
}

/// A mesh with one site hidden. Sites keep their numbers.
pub struct ReducedMesh<'a> {
    delaunay: &'a Delaunay,
    hull: Hull,
    full: &'a Mesh,
    /// Sites whose neighbors may differ from the full mesh, ascending, and their neighbors.
    touched: Vec<u32>,
    neighbors: SiteLists,
}

impl<'a> ReducedMesh<'a> {
    fn new(delaunay: &'a Delaunay, hull: Hull, full: &'a Mesh, hidden: u32) -> Self {
        // New triangles lie among the hidden site's neighbors; a circle shared within tolerance can reach one site
        // farther. Triangles that
        // are slivers in one mesh and not in the other have their corners in a chain of that one.
        let mut touched = full.within_rings(hidden, 2);
        for (some, others) in [(&hull, &full.hull), (&full.hull, &hull)] {
            let changed = some.peeled_chains().filter(|chain| !others.peeled_chains().any(|other| other == *chain));
            touched.extend(changed.flatten());
        }
        touched.sort_unstable();
        touched.dedup();
        touched.retain(|&site| site != hidden);
        let topology = Topology { delaunay, hull: &hull };
        let mut neighbors = SiteLists::with_capacity(touched.len(), 8 * touched.len());
        touched.iter().for_each(|&site| neighbors.push(topology.neighbors(site)));
        ReducedMesh { delaunay, hull, full, touched, neighbors }
    }

    fn topology(&self) -> Topology<'_> {
        Topology { delaunay: self.delaunay, hull: &self.hull }
    }

    /// Sites whose neighbors may differ from the full mesh, ascending.
    pub fn touched(&self) -> &[u32] {
        &self.touched
    }

    /// Neighbors of a site, ascending, never the hidden one.
    pub fn neighbors(&self, site: u32) -> &[u32] {
        match self.touched.binary_search(&site) {
            Ok(index) => self.neighbors.get(index),
            Err(_) => self.full.neighbors(site),
        }
    }

    /// Position of a place among the other sites.
    pub fn position(&self, at: Site) -> Position {
        position(self.topology(), &self.full.sites, at)
    }

    /// Natural-neighbor (Sibson) weights among the other sites, ascending by site; empty outside their hull.
    pub fn natural_neighbor_weights(&self, at: Site) -> Vec<(u32, f64)> {
        self.delaunay.natural_neighbor_weights(at)
    }

    /// Sites within 0, 1, .. `rings` mesh edges of `site`, nearest ring first, and how many each ring count reaches.
    ///
    /// `reach[r]` sites at the front of the list lie within `r` edges.
    pub fn by_ring(&self, site: u32, rings: usize) -> (Vec<u32>, Vec<usize>) {
        by_ring(site, rings, |s| self.neighbors(s))
    }
}

fn by_ring<'n>(site: u32, rings: usize, neighbors: impl Fn(u32) -> &'n [u32]) -> (Vec<u32>, Vec<usize>) {
    let mut found = vec![site];
    let mut reach = vec![1];
    let mut ring_start = 0;
    for _ in 0..rings {
        let ring_end = found.len();
        for member in ring_start..ring_end {
            for &other in neighbors(found[member]) {
                if !found.contains(&other) {
                    found.push(other);
                }
            }
        }
        ring_start = ring_end;
        reach.push(found.len());
    }
    (found, reach)
}

fn position(topology: Topology<'_>, sites: &[Site], at: Site) -> Position {
    match topology.locate(at) {
        Located::In(face) => {
            let (corners, _) = topology.cell(face);
            let places: Vec<Site> = corners.iter().map(|&corner| sites[corner as usize]).collect();
            let shares =
                corners.iter().copied().zip(cell_shares(&places, at)).filter(|(_, share)| *share > 0.0).collect();
            Position { shares, extrapolated: false }
        }
        Located::Sliver(hull_edge) => chain_position(topology.hull.chains().get(hull_edge as usize), sites, at),
        Located::Outside => {
            let nearest = nearest_hull_edge(topology.hull.chains().iter(), sites, at);
            chain_position(topology.hull.chains().get(nearest), sites, at)
        }
    }
}

fn chain_position(chain: &[u32], sites: &[Site], at: Site) -> Position {
    let shares = chain_shares(chain, sites, at).into_iter().filter(|(_, share)| *share > 0.0).collect();
    Position { shares, extrapolated: true }
}
