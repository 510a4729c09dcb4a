//! Fields, rasters and setbacks by seed: holes, islands in holes, parts, thin rotated shapes, outlines on and hardly
//! beside cell edges. Nothing here is a real field.

use geo::{Coord, LineString, MultiPolygon, Polygon};

use crate::cell_grid::{CellGrid, Site};
use crate::coverage::{Coverage, CoverageError, CoverageInput, Plane};

const METERS_PER_DEG: f64 = 111_320.0;
const ORIGIN_DEG: (f64, f64) = (-93.612_345_67, 42.012_345_67);
/// Turn of the plane against north, as of a UTM zone's edge, radians.
const CONVERGENCE: f64 = 0.021;
/// Share by which the plane is bent, 1/m: 1 km is 0.02 m off straight.
const BEND_PER_M: f64 = 8e-8;

/// A generator of even random numbers; the same seed gives the same numbers.
pub(super) struct Random(u64);

impl Random {
    pub(super) fn new(seed: u64) -> Self {
        Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5851_F42D_4C95_7F2D)
    }

    pub(super) fn share(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(super) fn below(&mut self, n: usize) -> usize {
        (self.share() * n as f64) as usize
    }

    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + self.share() * (high - low)
    }
}

pub(super) fn to_lon_lat(site: Site) -> Option<(f64, f64)> {
    let (east, north) = (site.east_m + BEND_PER_M * site.north_m * site.north_m, site.north_m);
    let (sin, cos) = CONVERGENCE.sin_cos();
    let (east, north) = (east * cos - north * sin, east * sin + north * cos);
    let per_lon = METERS_PER_DEG * ORIGIN_DEG.1.to_radians().cos();
    Some((ORIGIN_DEG.0 + east / per_lon, ORIGIN_DEG.1 + north / METERS_PER_DEG))
}

pub(super) fn to_local((lon, lat): (f64, f64)) -> Option<Site> {
    let per_lon = METERS_PER_DEG * ORIGIN_DEG.1.to_radians().cos();
    let (east, north) = ((lon - ORIGIN_DEG.0) * per_lon, (lat - ORIGIN_DEG.1) * METERS_PER_DEG);
    let (sin, cos) = CONVERGENCE.sin_cos();
    let (east, north) = (east * cos + north * sin, -east * sin + north * cos);
    Some(Site { east_m: east - BEND_PER_M * north * north, north_m: north })
}

/// One case.
#[derive(Debug, Clone)]
pub(super) struct Scenario {
    pub(super) grid: CellGrid,
    pub(super) labels: Vec<u16>,
    pub(super) boundary: MultiPolygon<f64>,
    pub(super) setbacks: Vec<MultiPolygon<f64>>,
    pub(super) tolerance_m: f64,
}

impl Scenario {
    pub(super) fn coverage(&self) -> Result<Coverage, CoverageError> {
        let input = CoverageInput {
            grid: &self.grid,
            labels: &self.labels,
            boundary: &self.boundary,
            setbacks: &self.setbacks,
            tolerance_m: self.tolerance_m,
        };
        Coverage::new(&input, Plane { to_lon_lat: &to_lon_lat, to_local: &to_local })
    }

    /// A field of about 60 ha with four slanted edges, smooth zones, a strip along an edge and a circle over the border.
    pub(super) fn whole_field(seed: u64) -> Self {
        let mut random = Random::new(seed + 77);
        let grid = CellGrid { west_m: 0.0, south_m: 0.0, cell_m: 5.0, n_cols: 164, n_rows: 164 };
        let mut corner = |east: f64, north: f64| (east + random.between(0.0, 20.0), north + random.between(0.0, 20.0));
        let ring = vec![corner(0.0, 0.0), corner(800.0, 0.0), corner(800.0, 800.0), corner(0.0, 800.0)];
        let strip = vec![ring[0], ring[1], (ring[1].0, ring[1].1 + 9.0), (ring[0].0, ring[0].1 + 9.0)];
        let circle = star(ring[2], (60.0, 60.0), 64, 0.0, &mut random);
        let waves: Vec<f64> = (0..4).map(|_| random.between(0.01, 0.09)).collect();
        let label = |cell: usize| {
            let (col, row) = ((cell % 164) as f64, (cell / 164) as f64);
            let height = (col * waves[0]).sin() + (row * waves[1]).sin() + (col * waves[2] - row * waves[3]).sin();
            1 + ((height + 3.0) / 1.6) as u16
        };
        Scenario {
            grid,
            labels: (0..grid.n_cells()).map(label).collect(),
            boundary: lon_lat(&vec![vec![ring]]),
            setbacks: vec![lon_lat(&vec![vec![strip]]), lon_lat(&vec![vec![circle]])],
            tolerance_m: 4.0,
        }
    }

    pub(super) fn of(seed: u64) -> Self {
        let mut random = Random::new(seed);
        let random = &mut random;
        let cell_m = [1.0, 3.0, 5.0, 10.0][random.below(4)];
        let (n_cols, n_rows) = (3 + random.below(26), 3 + random.below(26));
        let grid = CellGrid { west_m: 5.0 * cell_m, south_m: 7.0 * cell_m, cell_m, n_cols, n_rows };
        // Cell edges, and places hardly beside them.
        let nudge_m = [0.0, 1e-9, 1e-6, 1e-3, 0.005, 0.011, 0.02][random.below(7)];
        let local = boundary(&grid, nudge_m, random);
        let labels = labels(&grid, random);
        let n_setbacks = random.below(4);
        let setbacks = (0..n_setbacks).map(|_| lon_lat(&setback(&grid, &local, random))).collect();
        let tolerance_m = cell_m * [0.0, 0.5, 0.75, 1.5, 4.0][random.below(5)];
        Scenario { grid, labels, boundary: lon_lat(&local), setbacks, tolerance_m }
    }
}

type Local = Vec<Vec<Vec<(f64, f64)>>>;

pub(super) fn lon_lat(local: &Local) -> MultiPolygon<f64> {
    let place = |&(east_m, north_m): &(f64, f64)| {
        let (x, y) = to_lon_lat(Site { east_m, north_m }).unwrap();
        Coord { x, y }
    };
    let ring = |places: &Vec<(f64, f64)>| -> LineString<f64> {
        places.iter().chain(places.first()).map(place).collect::<Vec<_>>().into()
    };
    let polygon = |rings: &Vec<Vec<(f64, f64)>>| Polygon::new(ring(&rings[0]), rings[1..].iter().map(ring).collect());
    MultiPolygon::new(local.iter().map(polygon).collect())
}

fn rectangle(west: f64, south: f64, east: f64, north: f64) -> Vec<(f64, f64)> {
    vec![(west, south), (east, south), (east, north), (west, north)]
}

/// A ring around a place, star-shaped, so it never crosses itself.
fn star(center: (f64, f64), radius: (f64, f64), n: usize, rough: f64, random: &mut Random) -> Vec<(f64, f64)> {
    let turn = random.share();
    let vertex = |index: usize| {
        let angle = (index as f64 + turn) / n as f64 * std::f64::consts::TAU;
        let share = 1.0 - rough * random.share();
        (center.0 + radius.0 * share * angle.cos(), center.1 + radius.1 * share * angle.sin())
    };
    (0..n).map(vertex).collect()
}

fn rotated(ring: Vec<(f64, f64)>, about: (f64, f64), angle: f64) -> Vec<(f64, f64)> {
    let (sin, cos) = angle.sin_cos();
    let turned = |(east, north): (f64, f64)| {
        let (east, north) = (east - about.0, north - about.1);
        (about.0 + east * cos - north * sin, about.1 + east * sin + north * cos)
    };
    ring.into_iter().map(turned).collect()
}

/// An outline within the raster.
fn boundary(grid: &CellGrid, nudge_m: f64, random: &mut Random) -> Local {
    let (wide, high) = (grid.n_cols as f64 * grid.cell_m, grid.n_rows as f64 * grid.cell_m);
    let middle = (grid.west_m + wide / 2.0, grid.south_m + high / 2.0);
    let at = |east: f64, north: f64| (grid.west_m + east * wide, grid.south_m + north * high);
    let on_edges = |random: &mut Random| {
        let col = random.below(grid.n_cols / 2 + 1) as f64 * grid.cell_m + nudge_m;
        let row = random.below(grid.n_rows / 2 + 1) as f64 * grid.cell_m - nudge_m;
        rectangle(grid.west_m + col, grid.south_m + row, grid.west_m + wide - nudge_m, grid.south_m + high)
    };
    let scaled = |ring: &[(f64, f64)], share: f64| -> Vec<(f64, f64)> {
        ring.iter().map(|at| (middle.0 + (at.0 - middle.0) * share, middle.1 + (at.1 - middle.1) * share)).collect()
    };
    match random.below(8) {
        0 => vec![vec![on_edges(random)]],
        1 => vec![vec![star(middle, (wide / 2.0, high / 2.0), 3 + random.below(40), 0.7, random)]],
        2 => {
            // A thin rotated L, here and there thinner than a lattice step.
            let arm = 0.6 * wide.min(high);
            let width = (grid.cell_m * [0.001, 0.01, 0.1, 0.7, 2.0][random.below(5)]).min(0.3 * arm);
            let (west, south) = (middle.0 - arm / 2.0, middle.1 - arm / 2.0);
            let ring = vec![
                (west, south),
                (west + arm, south),
                (west + arm, south + width),
                (west + width, south + width),
                (west + width, south + arm),
                (west, south + arm),
            ];
            vec![vec![rotated(ring, middle, random.between(0.0, 6.3))]]
        }
        3 => {
            let outer = star(middle, (wide / 2.0, high / 2.0), 5 + random.below(20), 0.3, random);
            let hole = scaled(&outer, 0.5);
            vec![vec![outer, hole]]
        }
        4 => {
            // An island in the hole, with a hole of its own on cell edges.
            let outer = rectangle(grid.west_m, grid.south_m, grid.west_m + wide, grid.south_m + high);
            let hole = scaled(&outer, 0.8);
            let island = star(middle, (wide * 0.35, high * 0.35), 12, 0.3, random);
            vec![vec![outer, hole], vec![island, star(middle, (wide * 0.1, high * 0.1), 5, 0.5, random)]]
        }
        5 => {
            // Parts, two of which meet in a vertex.
            let part = |a: (f64, f64), b: (f64, f64)| vec![rectangle(a.0, a.1, b.0, b.1)];
            vec![
                part(at(0.0, 0.0), at(0.4, 0.5)),
                part(at(0.4, 0.5), at(0.9, 0.8)),
                vec![star(at(0.8, 0.2), (wide * 0.15, high * 0.15), 9, 0.5, random)],
            ]
        }
        6 => {
            // Vertices on corners of the cells, where borders meet.
            let corner = |col: usize, row: usize| {
                let corner = grid.corner(col, row);
                (corner.east_m + nudge_m, corner.north_m)
            };
            let (cols, rows) = (grid.n_cols, grid.n_rows);
            let dent = corner(1 + random.below(cols - 1), 1 + random.below(rows - 1));
            vec![vec![vec![corner(0, 0), corner(cols, 0), corner(cols, rows), dent, corner(0, rows)]]]
        }
        _ => {
            let radius = wide.min(high) / 2.0;
            let slim = star(middle, (radius, radius), 4, 0.9, random);
            vec![vec![rotated(slim, middle, random.share())]]
        }
    }
}

fn labels(grid: &CellGrid, random: &mut Random) -> Vec<u16> {
    let k = 1 + random.below(5);
    let waves: Vec<f64> = (0..6).map(|_| random.between(0.05, 0.9)).collect();
    let kind = random.below(4);
    let mut labels: Vec<u16> = (0..grid.n_cells())
        .map(|cell| {
            let (col, row) = ((cell % grid.n_cols) as f64, (cell / grid.n_cols) as f64);
            let share = match kind {
                0 => random.share(),
                1 => (col * waves[0] + row * waves[1]).sin() * 0.5 + 0.5,
                2 => {
                    ((col * waves[0]).sin() + (row * waves[1]).sin() + (col * waves[2] - row * waves[3]).sin()) / 6.0
                        + 0.5
                }
                _ => ((col / 3.0).floor() * waves[4] + (row / 4.0).floor() * waves[5] * 7.0).fract(),
            };
            1 + ((share * k as f64) as usize).min(k - 1) as u16
        })
        .collect();
    // Cells without a label, inside and at the edge.
    let n_blank = if random.below(2) == 0 { 0 } else { random.below(labels.len() - 1) };
    for _ in 0..n_blank {
        let cell = 1 + random.below(labels.len() - 1);
        labels[cell] = 0;
    }
    labels
}

fn setback(grid: &CellGrid, field: &Local, random: &mut Random) -> Local {
    let (wide, high) = (grid.n_cols as f64 * grid.cell_m, grid.n_rows as f64 * grid.cell_m);
    let ring = &field[0][0];
    let place = ring[random.below(ring.len())];
    match random.below(6) {
        0 => {
            // A strip along an edge of the field, on it or hardly beside it.
            let first = random.below(ring.len());
            let (a, b) = (ring[first], ring[(first + 1) % ring.len()]);
            let length = (b.0 - a.0).hypot(b.1 - a.1).max(1e-9);
            let unit = ((b.0 - a.0) / length, (b.1 - a.1) / length);
            let off = [0.0, 1e-9, -0.001, 0.004, -0.01, 0.02][random.below(6)];
            let width = random.between(0.5, 2.0) * grid.cell_m;
            let side = |at: (f64, f64), away: f64| (at.0 - unit.1 * away, at.1 + unit.0 * away);
            vec![vec![vec![side(a, off), side(b, off), side(b, width), side(a, width)]]]
        }
        1 => vec![vec![star(place, (wide * 0.2, wide * 0.2), 64, 0.0, random)]],
        2 => vec![vec![rectangle(
            grid.west_m - wide,
            grid.south_m - high,
            grid.west_m + 2.0 * wide,
            grid.south_m + 2.0 * high,
        )]],
        3 => field.clone(),
        4 => {
            let ring = star(place, (wide * 0.4, high * 0.4), 20, 0.6, random);
            let hole = ring.iter().map(|at| ((at.0 + place.0) / 2.0, (at.1 + place.1) / 2.0)).collect();
            vec![vec![ring, hole]]
        }
        _ => {
            // On cell edges, or hardly beside them.
            let nudge = [0.0, 1e-9, 0.006, 0.02][random.below(4)];
            let corner = grid.corner(random.below(grid.n_cols), random.below(grid.n_rows));
            let (west, south) = (corner.east_m + nudge, corner.north_m - nudge);
            vec![vec![rectangle(west, south, west + 3.0 * grid.cell_m, south + 2.0 * grid.cell_m)]]
        }
    }
}
