//! The inner loop of the mesh method: blended neighborhood means at eight places at once.
//!
//! Samples of the corners' neighborhoods are merged and grouped by whose neighborhoods they are in, so that each weight
//! is computed once and shared by all corners and all variables.
#![expect(clippy::needless_range_loop, reason = "loops over lanes read several arrays alike")]

use super::mesh_interpolation::MeshInterpolation;

/// Places done at once.
pub(super) const LANES: usize = 8;
pub(super) type Lanes = [f64; LANES];
/// Corners a cell may have here; larger cells are rare and done place by place.
pub(super) const MAX_CORNERS: usize = 4;
const MAX_GROUPS: usize = 1 << MAX_CORNERS;

/// Places to blend at, local meters.
pub(super) struct Places {
    pub(super) east_m: Lanes,
    pub(super) north_m: Lanes,
}

/// Samples of the neighborhoods of a few corners, grouped by which corners' neighborhoods they are in.
#[derive(Default)]
pub(super) struct Merged {
    n_corners: usize,
    /// (bit mask of corners, end of the group in `sites`)
    groups: Vec<(usize, usize)>,
    /// easting and northing, local meters
    sites: Vec<[f64; 2]>,
    /// `values[site * n_variables + variable]`
    values: Vec<f64>,
    /// share * slope, same order as `values`; empty without trend
    slopes: Vec<[f64; 2]>,
    /// least and most value a corner's neighborhood holds: `[corner * n_variables + variable]`; empty without trend
    ranges: Vec<[f64; 2]>,
    /// working space: the corners' neighborhoods, each ended by `u32::MAX`
    lists: Vec<u32>,
    /// working space: (bit mask, site)
    members: Vec<(usize, u32)>,
}

/// Working space and result of [`blend`].
pub(super) struct Blended {
    /// weight of each site, then its share in the result
    weights: Vec<Lanes>,
    /// `result[variable]`
    pub(super) result: Vec<Lanes>,
}

impl Blended {
    pub(super) fn new(n_variables: usize) -> Self {
        Blended { weights: Vec::new(), result: vec![[0.0; LANES]; n_variables] }
    }
}

impl Merged {
    /// Merges the neighborhoods of at most [`MAX_CORNERS`] corners, in place of what was merged before.
    pub(super) fn gather(&mut self, of: &MeshInterpolation<'_>, corners: &[u32]) {
        self.n_corners = corners.len();
        match corners.len() {
            2 => self.merge::<2>(of, corners),
            3 => self.merge::<3>(of, corners),
            _ => self.merge::<4>(of, corners),
        }
        let mut ends = [0usize; MAX_GROUPS + 1];
        self.members.iter().for_each(|&(mask, _)| ends[mask + 1] += 1);
        self.groups.clear();
        for mask in 1..1 << corners.len() {
            ends[mask + 1] += ends[mask];
            if ends[mask + 1] > ends[mask] {
                self.groups.push((mask, ends[mask + 1]));
            }
        }
        let (n_sites, n_variables) = (self.members.len(), of.values.len());
        self.sites.resize(n_sites, [0.0; 2]);
        self.values.resize(n_sites * n_variables, 0.0);
        self.slopes.resize(if of.slopes.is_empty() { 0 } else { n_sites * n_variables }, [0.0; 2]);
        for &(mask, site) in &self.members {
            let place = ends[mask];
            ends[mask] += 1;
            let at = of.mesh.sites()[site as usize];
            self.sites[place] = [at.east_m, at.north_m];
            let of_place = place * n_variables..(place + 1) * n_variables;
            for (value, values) in self.values[of_place.clone()].iter_mut().zip(&of.values) {
                *value = values[site as usize];
            }
            if let Some(slopes) = of.slopes.get(site as usize) {
                for (share, slope) in self.slopes[of_place].iter_mut().zip(slopes) {
                    *share = slope.map(|part| part * of.setting.trend_share);
                }
            }
        }
        self.ranges.clear();
        if of.slopes.is_empty() {
            return;
        }
        for &corner in corners {
            for values in &of.values {
                let of_members = of.neighborhoods.get(corner as usize).iter().map(|&site| values[site as usize]);
                let range = of_members.fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], z| [a.min(z), b.max(z)]);
                self.ranges.push(range);
            }
        }
    }

    /// Merges the ascending neighborhoods into `members`, ascending, without a branch on what the lists hold.
    fn merge<const N: usize>(&mut self, of: &MeshInterpolation<'_>, corners: &[u32]) {
        self.members.clear();
        self.lists.clear();
        let mut next = [0; N];
        for (next, &corner) in next.iter_mut().zip(corners) {
            *next = self.lists.len();
            self.lists.extend(of.neighborhoods.get(corner as usize));
            self.lists.push(u32::MAX);
        }
        loop {
            let heads = next.map(|next| self.lists[next]);
            let site = heads.into_iter().fold(u32::MAX, u32::min);
            if site == u32::MAX {
                return;
            }
            let mut mask = 0;
            for corner in 0..N {
                let is_in = usize::from(heads[corner] == site);
                mask |= is_in << corner;
                next[corner] += is_in;
            }
            self.members.push((mask, site));
        }
    }
}

/// Values of all variables at eight places, into `out.result`. `shares[corner]` are the corners' shares.
#[inline(always)]
pub(super) fn blend(
    merged: &Merged,
    places: &Places,
    shares: &[Lanes; MAX_CORNERS],
    out: &mut Blended,
    weight: impl Fn(f64) -> f64 + Copy,
) {
    // One copy of the loops a number of corners, so that loops over corners unroll.
    match merged.n_corners {
        2 => blend_corners::<2>(merged, places, shares, out, weight),
        3 => blend_corners::<3>(merged, places, shares, out, weight),
        _ => blend_corners::<4>(merged, places, shares, out, weight),
    }
}

#[inline(always)]
fn blend_corners<const N: usize>(
    merged: &Merged,
    places: &Places,
    shares: &[Lanes; MAX_CORNERS],
    out: &mut Blended,
    weight: impl Fn(f64) -> f64 + Copy,
) {
    if !merged.slopes.is_empty() {
        blend_carried::<N>(merged, places, shares, out, weight);
    } else if let [result] = &mut out.result[..] {
        *result = blend_one::<N>(merged, places, shares, weight);
    } else {
        blend_several::<N>(merged, places, shares, out, weight);
    }
}

/// Weights of one sample at the places.
#[inline(always)]
fn weights_at(site: &[f64; 2], places: &Places, weight: impl Fn(f64) -> f64 + Copy) -> Lanes {
    let mut w = [0.0; LANES];
    for lane in 0..LANES {
        let (de, dn) = (places.east_m[lane] - site[0], places.north_m[lane] - site[1]);
        w[lane] = weight(de * de + dn * dn);
    }
    w
}

#[inline(always)]
fn add(total: &mut Lanes, part: &Lanes) {
    for lane in 0..LANES {
        total[lane] += part[lane];
    }
}

/// One variable: each corner's weighted mean, blended.
#[inline(always)]
fn blend_one<const N: usize>(
    merged: &Merged,
    places: &Places,
    shares: &[Lanes; MAX_CORNERS],
    weight: impl Fn(f64) -> f64 + Copy,
) -> Lanes {
    let mut corner_w = [[0.0; LANES]; N];
    let mut corner_wz = [[0.0; LANES]; N];
    let mut start = 0;
    for &(mask, end) in &merged.groups {
        let (mut sum_w, mut sum_wz) = ([0.0; LANES], [0.0; LANES]);
        for (site, z) in merged.sites[start..end].iter().zip(&merged.values[start..end]) {
            for lane in 0..LANES {
                let (de, dn) = (places.east_m[lane] - site[0], places.north_m[lane] - site[1]);
                let w = weight(de * de + dn * dn);
                sum_w[lane] += w;
                sum_wz[lane] += w * z;
            }
        }
        for corner in 0..N {
            if mask & (1 << corner) != 0 {
                add(&mut corner_w[corner], &sum_w);
                add(&mut corner_wz[corner], &sum_wz);
            }
        }
        start = end;
    }
    let mut result = [0.0; LANES];
    for corner in 0..N {
        for lane in 0..LANES {
            result[lane] += shares[corner][lane] * corner_wz[corner][lane] / corner_w[corner][lane];
        }
    }
    result
}

/// Several variables: each sample's share in the result is found once, and serves all.
#[inline(always)]
fn blend_several<const N: usize>(
    merged: &Merged,
    places: &Places,
    shares: &[Lanes; MAX_CORNERS],
    out: &mut Blended,
    weight: impl Fn(f64) -> f64 + Copy,
) {
    let corner_w = weigh::<N>(merged, places, &mut out.weights, weight);
    let mut per_corner = [[0.0; LANES]; N];
    for corner in 0..N {
        for lane in 0..LANES {
            per_corner[corner][lane] = shares[corner][lane] / corner_w[corner][lane];
        }
    }
    let mut start = 0;
    for &(mask, end) in &merged.groups {
        let mut factor = [0.0; LANES];
        for (corner, part) in per_corner.iter().enumerate() {
            if mask & (1 << corner) != 0 {
                add(&mut factor, part);
            }
        }
        for w in &mut out.weights[start..end] {
            for lane in 0..LANES {
                w[lane] *= factor[lane];
            }
        }
        start = end;
    }
    let n_variables = out.result.len();
    for (variable, result) in out.result.iter_mut().enumerate() {
        let mut sum = [0.0; LANES];
        for (w, z) in out.weights.iter().zip(merged.values[variable..].iter().step_by(n_variables)) {
            for lane in 0..LANES {
                sum[lane] += w[lane] * z;
            }
        }
        *result = sum;
    }
}

/// With trend: each sample carries its slope, and each corner's mean is clipped to its own samples' range before the
/// corners are blended.
#[inline(always)]
fn blend_carried<const N: usize>(
    merged: &Merged,
    places: &Places,
    shares: &[Lanes; MAX_CORNERS],
    out: &mut Blended,
    weight: impl Fn(f64) -> f64 + Copy,
) {
    let corner_w = weigh::<N>(merged, places, &mut out.weights, weight);
    let n_variables = out.result.len();
    for (variable, result) in out.result.iter_mut().enumerate() {
        let mut corner_wz = [[0.0; LANES]; N];
        let mut start = 0;
        for &(mask, end) in &merged.groups {
            let mut sum = [0.0; LANES];
            for index in start..end {
                let (site, w) = (merged.sites[index], &out.weights[index]);
                let (z, slope) =
                    (merged.values[index * n_variables + variable], merged.slopes[index * n_variables + variable]);
                for lane in 0..LANES {
                    let (de, dn) = (places.east_m[lane] - site[0], places.north_m[lane] - site[1]);
                    sum[lane] += w[lane] * (z + slope[0] * de + slope[1] * dn);
                }
            }
            for (corner, total) in corner_wz.iter_mut().enumerate() {
                if mask & (1 << corner) != 0 {
                    add(total, &sum);
                }
            }
            start = end;
        }
        *result = [0.0; LANES];
        for corner in 0..N {
            let [least, most] = merged.ranges[corner * n_variables + variable];
            for lane in 0..LANES {
                let mean = (corner_wz[corner][lane] / corner_w[corner][lane]).max(least).min(most);
                result[lane] += shares[corner][lane] * mean;
            }
        }
    }
}

/// Weights of all samples into `weights`; returns each corner's sum.
#[inline(always)]
fn weigh<const N: usize>(
    merged: &Merged,
    places: &Places,
    weights: &mut Vec<Lanes>,
    weight: impl Fn(f64) -> f64 + Copy,
) -> [Lanes; N] {
    let mut corner_w = [[0.0; LANES]; N];
    weights.clear();
    let mut start = 0;
    for &(mask, end) in &merged.groups {
        let mut sum = [0.0; LANES];
        for site in &merged.sites[start..end] {
            let w = weights_at(site, places, weight);
            add(&mut sum, &w);
            weights.push(w);
        }
        for (corner, total) in corner_w.iter_mut().enumerate() {
            if mask & (1 << corner) != 0 {
                add(total, &sum);
            }
        }
        start = end;
    }
    corner_w
}
