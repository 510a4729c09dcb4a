//! The side of the hull nearest to a place beyond it, found by walking on from the side of the place before.

use crate::cell_grid::Site;
use crate::mesh::Mesh;

/// A straight piece of the hull: between two hull corners, or between the feet of two sites of a peeled chain.
#[derive(Debug, Clone, Copy)]
pub(super) struct HullSide {
    /// The two sites that speak for it.
    pub(super) sites: [u32; 2],
    from: Site,
    east_m: f64,
    north_m: f64,
    length_m2: f64,
}

impl HullSide {
    /// Position along the side times its squared length, m2.
    fn along_m2(&self, at: Site) -> f64 {
        (at.east_m - self.from.east_m) * self.east_m + (at.north_m - self.from.north_m) * self.north_m
    }

    /// Position of the foot of a place, 0 at the first site, 1 at the second; clipped to those.
    pub(super) fn share(&self, at: Site) -> f64 {
        (self.along_m2(at) / self.length_m2).clamp(0.0, 1.0)
    }

    fn is_outward(&self, at: Site) -> bool {
        self.east_m * (at.north_m - self.from.north_m) - self.north_m * (at.east_m - self.from.east_m) <= 0.0
    }

    fn distance_m2(&self, at: Site) -> f64 {
        let share = self.share(at);
        let de = at.east_m - self.from.east_m - share * self.east_m;
        let dn = at.north_m - self.from.north_m - share * self.north_m;
        de * de + dn * dn
    }
}

/// The sides of the hull, counter-clockwise.
pub(super) struct HullWalk<'a> {
    mesh: &'a Mesh,
    sides: Vec<HullSide>,
}

impl<'a> HullWalk<'a> {
    pub(super) fn new(mesh: &'a Mesh) -> Self {
        let mut sides = Vec::new();
        for edge in mesh.hull() {
            let place = |site: u32| mesh.sites()[site as usize];
            let (start, end) = (place(edge.chain[0]), place(edge.chain[edge.chain.len() - 1]));
            let (east_m, north_m) = (end.east_m - start.east_m, end.north_m - start.north_m);
            let length_m2 = east_m * east_m + north_m * north_m;
            let t_of = |site: u32| {
                let at = place(site);
                ((at.east_m - start.east_m) * east_m + (at.north_m - start.north_m) * north_m) / length_m2
            };
            for pair in edge.chain.windows(2) {
                let (from_t, to_t) = (t_of(pair[0]), t_of(pair[1]));
                let part = to_t - from_t;
                sides.push(HullSide {
                    sites: [pair[0], pair[1]],
                    from: Site { east_m: start.east_m + from_t * east_m, north_m: start.north_m + from_t * north_m },
                    east_m: part * east_m,
                    north_m: part * north_m,
                    length_m2: part * part * length_m2,
                });
            }
        }
        HullWalk { mesh, sides }
    }

    pub(super) fn side(&self, side: usize) -> &HullSide {
        &self.sides[side]
    }

    /// The side nearest to a place, starting the search at another; `None` inside the hull.
    ///
    /// Whatever the start, the answer is the nearest: a place straight out from a side of a convex hull has its nearest
    /// point there, and a place past the end of one side and before the start of the next has it at their corner (either
    /// of the two will do).
    pub(super) fn nearest(&self, start: usize, at: Site) -> Option<usize> {
        let n = self.sides.len();
        let mut here = start;
        for _ in 0..n {
            let side = &self.sides[here];
            let along = side.along_m2(at);
            if along > side.length_m2 {
                let next = (here + 1) % n;
                if self.sides[next].along_m2(at) < 0.0 {
                    return Some(here);
                }
                here = next;
            } else if along < 0.0 {
                let before = (here + n - 1) % n;
                if self.sides[before].along_m2(at) > self.sides[before].length_m2 {
                    return Some(here);
                }
                here = before;
            } else if side.is_outward(at) {
                return Some(here);
            } else {
                break;
            }
        }
        if self.mesh.encloses(at) {
            return None;
        }
        (0..n).min_by(|&a, &b| self.sides[a].distance_m2(at).total_cmp(&self.sides[b].distance_m2(at)))
    }
}
