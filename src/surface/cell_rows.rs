//! Which raster cells a convex mesh cell covers, and its corners' shares at eight of them.
//!
//! Crossings are always computed from a side's south end to its north end, so neighboring mesh cells meet without a gap
//! or a raster cell done twice.
#![expect(clippy::needless_range_loop, reason = "loops over lanes read several arrays alike")]

use super::mesh_kernel::{LANES, Lanes, MAX_CORNERS, Places};
use crate::cell_grid::{CellGrid, Site};

/// Rows of a band whose center line a cell may cross, counted from the band's first row.
pub(super) fn rows_of(places: &[Site], grid: &CellGrid, first_row: usize, n_rows: usize) -> std::ops::Range<usize> {
    let (south, north) =
        places.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(s, n), p| (s.min(p.north_m), n.max(p.north_m)));
    let row_of = |north_m: f64| (north_m - grid.south_m) / grid.cell_m - 0.5;
    let start = (row_of(south).floor() - first_row as f64).clamp(0.0, n_rows as f64) as usize;
    let end = (row_of(north).ceil() + 1.0 - first_row as f64).clamp(0.0, n_rows as f64) as usize;
    start..end
}

/// Columns (half open) whose centers a convex cell covers in a row.
pub(super) fn columns_of(corners: &[u32], places: &[Site], grid: &CellGrid, north_m: f64) -> Option<(usize, usize)> {
    let (mut left, mut right) = (None, None);
    for from in 0..places.len() {
        let to = (from + 1) % places.len();
        let (a, b) = (places[from], places[to]);
        // Half open in north: a side counts from its south end up to, not including, its north end.
        let (south, north, upward) = match a.north_m.total_cmp(&b.north_m).then(corners[from].cmp(&corners[to])) {
            std::cmp::Ordering::Less => (a, b, true),
            _ => (b, a, false),
        };
        if !(south.north_m <= north_m && north_m < north.north_m) {
            continue;
        }
        let t = (north_m - south.north_m) / (north.north_m - south.north_m);
        let crossing = south.east_m + t * (north.east_m - south.east_m);
        // Counter-clockwise corners: the side that runs north is the east one.
        if upward { right = Some(crossing) } else { left = Some(crossing) }
    }
    let column =
        |east_m: f64| ((east_m - grid.west_m) / grid.cell_m - 0.5).ceil().clamp(0.0, grid.n_cols as f64) as usize;
    let (start, end) = (column(left?), column(right?));
    (start < end).then_some((start, end))
}

/// Corner shares of a cell of three or four corners at any place in it: twice a plane over each half of the cell.
pub(super) enum CellShares {
    /// Barycentric: the share of the second and of the third corner.
    Triangle([Plane; 2]),
    /// The mean over both diagonals.
    Quad([Diagonal; 2]),
}

/// `east * (east_m - from.east_m) + north * (north_m - from.north_m)`
#[derive(Clone, Copy)]
pub(super) struct Plane {
    from: Site,
    east: f64,
    north: f64,
}

/// One diagonal of a cell of four. Off it only the corner on that side counts, by its height over the diagonal.
pub(super) struct Diagonal {
    /// 1 at the corner left and right of the diagonal, 0 on it.
    sides: [Plane; 2],
    /// 0 at the diagonal's start, 1 at its end, level across.
    along: Plane,
    /// `along` at the corners left and right.
    feet: [f64; 2],
}

impl Plane {
    /// Height over the line from `from` to `to`, 1 at `top`.
    fn over_line(from: Site, to: Site, top: Site) -> Self {
        let (de, dn) = (to.east_m - from.east_m, to.north_m - from.north_m);
        let at_top = de * (top.north_m - from.north_m) - dn * (top.east_m - from.east_m);
        Plane { from, east: -dn / at_top, north: de / at_top }
    }

    /// Position along the line from `from` to `to`.
    fn along_line(from: Site, to: Site) -> Self {
        let (de, dn) = (to.east_m - from.east_m, to.north_m - from.north_m);
        let length_m2 = de * de + dn * dn;
        Plane { from, east: de / length_m2, north: dn / length_m2 }
    }

    #[inline(always)]
    fn at(&self, east_m: f64, north_m: f64) -> f64 {
        self.east * (east_m - self.from.east_m) + self.north * (north_m - self.from.north_m)
    }
}

impl CellShares {
    /// `None` for cells of more than four corners.
    pub(super) fn of(corners: &[Site]) -> Option<Self> {
        match *corners {
            [a, b, c] => Some(CellShares::Triangle([Plane::over_line(a, c, b), Plane::over_line(a, b, c)])),
            [a, b, c, d] => {
                let diagonal = |[p, q, r, s]: [Site; 4]| {
                    let along = Plane::along_line(p, r);
                    let feet = [q, s].map(|side| along.at(side.east_m, side.north_m));
                    Diagonal { sides: [Plane::over_line(p, r, q), Plane::over_line(p, r, s)], along, feet }
                };
                Some(CellShares::Quad([diagonal([a, b, c, d]), diagonal([b, c, d, a])]))
            }
            _ => None,
        }
    }

    /// Shares of the corners at eight places.
    #[inline(always)]
    pub(super) fn at(&self, places: &Places) -> [Lanes; MAX_CORNERS] {
        let mut shares = [[0.0; LANES]; MAX_CORNERS];
        match self {
            CellShares::Triangle([second, third]) => {
                for lane in 0..LANES {
                    let (east_m, north_m) = (places.east_m[lane], places.north_m[lane]);
                    let (of_b, of_c) = (second.at(east_m, north_m), third.at(east_m, north_m));
                    shares[0][lane] = 1.0 - of_b - of_c;
                    shares[1][lane] = of_b;
                    shares[2][lane] = of_c;
                }
            }
            CellShares::Quad(diagonals) => {
                for (first, diagonal) in diagonals.iter().enumerate() {
                    for lane in 0..LANES {
                        let (east_m, north_m) = (places.east_m[lane], places.north_m[lane]);
                        let of_q = diagonal.sides[0].at(east_m, north_m).max(0.0);
                        let of_s = diagonal.sides[1].at(east_m, north_m).max(0.0);
                        let of_r =
                            diagonal.along.at(east_m, north_m) - of_q * diagonal.feet[0] - of_s * diagonal.feet[1];
                        shares[first][lane] += 0.5 * (1.0 - of_q - of_s - of_r);
                        shares[first + 1][lane] += 0.5 * of_q;
                        shares[first + 2][lane] += 0.5 * of_r;
                        shares[(first + 3) % 4][lane] += 0.5 * of_s;
                    }
                }
            }
        }
        shares
    }
}
