//! How much each corner of a cell, or each site of a hull chain, speaks for a place.

use crate::cell_grid::Site;

/// Twice the signed area of a triangle, m2: above 0 when `r` lies left of the line from `p` to `q`.
pub(super) fn cross(p: Site, q: Site, r: Site) -> f64 {
    (q.east_m - p.east_m) * (r.north_m - p.north_m) - (q.north_m - p.north_m) * (r.east_m - p.east_m)
}

/// The hull edge nearest to a place; the first of equals.
pub(super) fn nearest_hull_edge<'a>(chains: impl Iterator<Item = &'a [u32]>, sites: &[Site], at: Site) -> usize {
    let mut best = (0, f64::INFINITY);
    for (index, chain) in chains.enumerate() {
        let (from, to) = (sites[chain[0] as usize], sites[chain[chain.len() - 1] as usize]);
        let d = distance_to_segment_m(from, to, at);
        if d < best.1 {
            best = (index, d);
        }
    }
    best.0
}

fn distance_to_segment_m(from: Site, to: Site, at: Site) -> f64 {
    let t = along(from, to, at).clamp(0.0, 1.0);
    let foot = Site {
        east_m: from.east_m + t * (to.east_m - from.east_m),
        north_m: from.north_m + t * (to.north_m - from.north_m),
    };
    at.distance_m(foot)
}

/// Position of the foot of `at` on the line, 0 at `from`, 1 at `to`.
fn along(from: Site, to: Site, at: Site) -> f64 {
    let (dx, dy) = (to.east_m - from.east_m, to.north_m - from.north_m);
    ((at.east_m - from.east_m) * dx + (at.north_m - from.north_m) * dy) / (dx * dx + dy * dy)
}

/// The two sites of a hull chain between which a place projects, with their shares.
pub(super) fn chain_shares(chain: &[u32], sites: &[Site], at: Site) -> [(u32, f64); 2] {
    let (from, to) = (sites[chain[0] as usize], sites[chain[chain.len() - 1] as usize]);
    let t = along(from, to, at).clamp(0.0, 1.0);
    let mut start = 0.0;
    for pair in chain.windows(2) {
        let end = if pair[1] == chain[chain.len() - 1] { 1.0 } else { along(from, to, sites[pair[1] as usize]) };
        if t <= end {
            let share = if end > start { ((t - start) / (end - start)).clamp(0.0, 1.0) } else { 0.0 };
            return [(pair[0], 1.0 - share), (pair[1], share)];
        }
        start = end;
    }
    unreachable!("the last piece of a chain ends at 1")
}

/// Shares of the corners of a convex cell at a place inside it: barycentric in a triangle, in a larger cell the mean
/// over the triangulations that fan out from each corner (for four corners: the mean of both diagonals).
///
/// # Guarantees
/// Shares are at least 0 (rounding clipped), sum to 1, reproduce the place, and on a side only its two ends count.
pub(crate) fn cell_shares(corners: &[Site], at: Site) -> Vec<f64> {
    let n = corners.len();
    let mut shares = vec![0.0; n];
    if n == 3 {
        let lambda = barycentric([corners[0], corners[1], corners[2]], at);
        shares.copy_from_slice(&lambda);
        return shares;
    }
    for apex in 0..n {
        // The fan triangle whose least barycentric share is greatest holds the place, also on its sides.
        let mut best: Option<([usize; 3], [f64; 3], f64)> = None;
        for step in 1..n - 1 {
            let tri = [apex, (apex + step) % n, (apex + step + 1) % n];
            let lambda = barycentric_signed([corners[tri[0]], corners[tri[1]], corners[tri[2]]], at);
            let least = lambda[0].min(lambda[1]).min(lambda[2]);
            if best.as_ref().is_none_or(|b| least > b.2) {
                best = Some((tri, lambda, least));
            }
        }
        let (tri, lambda, _) = best.expect("a cell has at least three corners");
        let lambda = clip_shares(lambda);
        for (corner, share) in tri.into_iter().zip(lambda) {
            shares[corner] += share / n as f64;
        }
    }
    shares
}

fn barycentric(tri: [Site; 3], at: Site) -> [f64; 3] {
    clip_shares(barycentric_signed(tri, at))
}

fn clip_shares(lambda: [f64; 3]) -> [f64; 3] {
    let clipped = lambda.map(|share| share.max(0.0));
    let sum = clipped[0] + clipped[1] + clipped[2];
    clipped.map(|share| share / sum)
}

fn barycentric_signed([a, b, c]: [Site; 3], at: Site) -> [f64; 3] {
    let area = cross(a, b, c);
    [cross(at, b, c) / area, cross(a, at, c) / area, cross(a, b, at) / area]
}
