//! The net of samples: cells, neighbors, hull, and hiding one site. Holds the layouts other tests use too.

use holdground::cell_grid::Site;
use holdground::mesh::{Mesh, MeshError};

use crate::outside;

/// Rounding of shares and areas in these tests.
const ROUNDING: f64 = 1e-9;

/// A small seeded generator (SplitMix64), so that tests run alike everywhere.
pub(crate) struct Draws(pub(crate) u64);

impl Draws {
    /// Evenly between two numbers.
    pub(crate) fn between(&mut self, least: f64, most: f64) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^= z >> 31;
        least + (most - least) * (z >> 11) as f64 / (1u64 << 53) as f64
    }
}

pub(crate) fn site(east_m: f64, north_m: f64) -> Site {
    Site { east_m, north_m }
}

/// To the millimeter, as sites are before a mesh is laid.
pub(crate) fn rounded(sites: impl IntoIterator<Item = Site>) -> Vec<Site> {
    let mm = |m: f64| (m * 1000.0).round() / 1000.0;
    sites.into_iter().map(|s| site(mm(s.east_m), mm(s.north_m))).collect()
}

pub(crate) fn turned(sites: &[Site], degrees: f64) -> Vec<Site> {
    let (sin, cos) = degrees.to_radians().sin_cos();
    sites.iter().map(|s| site(cos * s.east_m - sin * s.north_m, sin * s.east_m + cos * s.north_m)).collect()
}

pub(crate) fn scattered(n: usize, seed: u64) -> Vec<Site> {
    let mut draws = Draws(seed);
    rounded((0..n).map(|_| site(draws.between(0.0, 800.0), draws.between(0.0, 600.0))))
}

pub(crate) fn net(n_east: usize, n_north: usize, east_m: f64, north_m: f64) -> Vec<Site> {
    let node = |i: usize| site((i % n_east) as f64 * east_m, (i / n_east) as f64 * north_m);
    (0..n_east * n_north).map(node).collect()
}

fn triangular_net() -> Vec<Site> {
    let row_m = 80.0 * 0.75f64.sqrt();
    let node = |i: usize| site((i % 7) as f64 * 80.0 + (i / 7 % 2) as f64 * 40.0, (i / 7) as f64 * row_m);
    rounded((0..49).map(node))
}

/// A triangular net without every third node: each cell is a ring of six.
fn honeycomb() -> Vec<Site> {
    let row_m = 70.0 * 0.75f64.sqrt();
    let nodes = (0..9).flat_map(|row: i32| (0..9).map(move |col: i32| (col, row)));
    let kept = nodes.filter(|(col, row)| (col - row).rem_euclid(3) != 0);
    let places: Vec<Site> =
        kept.map(|(col, row)| site(70.0 * (f64::from(col) + 0.5 * f64::from(row)), f64::from(row) * row_m)).collect();
    rounded(turned(&places, 5.0))
}

/// Rings of five, seven and eight unevenly spaced sites on circles, with sites between.
fn rings() -> Vec<Site> {
    let mut places = Vec::new();
    let rings: [(f64, f64, &[f64]); 3] = [
        (0.0, 0.0, &[10.0, 75.0, 150.0, 215.0, 300.0]),
        (330.0, 20.0, &[0.0, 40.0, 95.0, 140.0, 200.0, 250.0, 310.0]),
        (150.0, 300.0, &[20.0, 60.0, 100.0, 150.0, 185.0, 230.0, 270.0, 330.0]),
    ];
    for (east_m, north_m, degrees) in rings {
        for degree in degrees {
            let (sin, cos) = degree.to_radians().sin_cos();
            places.push(site(east_m + 90.0 * cos, north_m + 90.0 * sin));
        }
    }
    places.extend([site(165.0, 115.0), site(-80.0, 250.0), site(380.0, 240.0), site(170.0, -60.0)]);
    rounded(places)
}

/// Two rows that meet at a sharp end, where two hull edges could take the same site into their chains. Found by random
/// search: hiding a site after another gave another net than before.
fn narrow_field() -> Vec<Site> {
    let places = [
        (-1.698, -0.745),
        (0.445, 0.283),
        (54.439, 27.759),
        (56.818, 25.471),
        (108.805, 51.385),
        (110.314, 50.661),
        (162.828, 75.845),
        (167.589, 72.486),
    ];
    places.map(|(east_m, north_m)| site(east_m, north_m)).to_vec()
}

/// Every layout a contract is checked on.
pub(crate) fn layouts() -> Vec<(&'static str, Vec<Site>)> {
    // A row along the south edge, each site up to 20 cm off the line: slivers some 700 m long.
    let mut row = scattered(50, 5);
    let mut draws = Draws(9);
    row.retain(|s| s.north_m > 30.0);
    row.extend(rounded((0..12).map(|i| site(50.0 + 62.0 * f64::from(i), draws.between(0.0, 0.2)))));
    vec![
        ("scattered", scattered(60, 1)),
        ("square net", net(7, 6, 100.0, 100.0)),
        ("oblong net", net(5, 9, 100.0, 30.0)),
        ("long oblong net", net(5, 9, 150.0, 25.0)),
        ("turned net", rounded(turned(&net(7, 6, 100.0, 100.0), 17.0))),
        ("turned oblong net", rounded(turned(&net(5, 9, 100.0, 30.0), 33.0))),
        ("triangular net", triangular_net()),
        ("turned triangular net", rounded(turned(&triangular_net(), 11.0))),
        ("honeycomb", honeycomb()),
        ("rings", rings()),
        ("narrow field", narrow_field()),
        ("edge row", row),
    ]
}

pub(crate) fn laid(sites: &[Site]) -> Mesh {
    Mesh::new(sites.to_vec()).expect("sites on both sides of every line")
}

fn area_m2(ring: &[Site]) -> f64 {
    let shoelace = |i: usize| {
        let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
        a.east_m * b.north_m - b.east_m * a.north_m
    };
    0.5 * (0..ring.len()).map(shoelace).sum::<f64>()
}

fn places(mesh: &Mesh, sites: &[u32]) -> Vec<Site> {
    sites.iter().map(|&s| mesh.sites()[s as usize]).collect()
}

#[test]
fn too_few_places_or_places_on_a_line_are_refused() {
    assert_eq!(Mesh::new(vec![site(0.0, 0.0), site(1.0, 0.0)]).err(), Some(MeshError::TooFewSites { n_sites: 2 }));
    let line = |off_m: f64| (0..9).map(move |i| site(100.0 * f64::from(i), off_m * f64::from(i % 2)));
    for off_m in [0.0, 0.001, 0.05] {
        assert_eq!(Mesh::new(line(off_m).collect()).err(), Some(MeshError::Collinear { n_sites: 9 }), "{off_m} m off");
    }
    assert!(Mesh::new(line(5.0).collect()).is_ok());
}

#[test]
fn squares_of_a_net_are_one_cell_each_whatever_the_rounding() {
    for (name, sites) in [
        ("straight", net(7, 6, 100.0, 100.0)),
        ("turned", rounded(turned(&net(7, 6, 100.0, 100.0), 17.0))),
        ("oblong", net(7, 6, 150.0, 25.0)),
    ] {
        let mesh = laid(&sites);
        assert_eq!(mesh.cells().len(), 30, "{name}");
        assert!(mesh.cells().all(|cell| cell.len() == 4), "{name}");
        let mut counts: Vec<usize> = (0..42).map(|s| mesh.neighbors(s).len()).collect();
        counts.sort_unstable();
        assert_eq!((counts[0], counts[3], counts[4], counts[21], counts[22], counts[41]), (3, 3, 5, 5, 8, 8), "{name}");
    }
}

#[test]
fn rings_of_more_than_four_sites_are_one_cell_each() {
    let of_size = |sites: &[Site], n: usize| laid(sites).cells().filter(|cell| cell.len() == n).count();
    assert!(of_size(&honeycomb(), 6) >= 12);
    assert_eq!([5, 7, 8].map(|n| of_size(&rings(), n)), [1, 1, 1]);
}

#[test]
fn cells_fill_the_hull_without_its_slivers() {
    for (name, sites) in layouts() {
        let mesh = laid(&sites);
        let cells: f64 = mesh.cells().map(|cell| area_m2(&places(&mesh, cell))).sum();
        let ring: Vec<u32> = mesh.hull().iter().flat_map(|edge| edge.chain[..edge.chain.len() - 1].to_vec()).collect();
        let hull = area_m2(&places(&mesh, &ring));
        assert!((cells - hull).abs() < ROUNDING * hull, "{name}: cells {cells}, hull {hull}");
    }
}

#[test]
fn sites_along_a_straight_edge_make_a_chain_not_a_needle() {
    let turned_net = laid(&rounded(turned(&net(7, 6, 100.0, 100.0), 17.0)));
    // Two sites of the outer rows are neighbors only next to each other.
    for edge in turned_net.hull() {
        for pair in edge.chain.windows(2) {
            let [a, b] = [pair[0], pair[1]].map(|s| turned_net.sites()[s as usize]);
            assert!(a.distance_m(b) < 100.1, "{a:?} {b:?}");
        }
    }
    assert!(turned_net.hull().iter().any(|edge| edge.chain.len() > 2), "rounding bends some edge inward");
}

#[test]
fn the_order_of_the_sites_does_not_matter() {
    for (name, mut sites) in layouts() {
        let before = laid(&sites);
        sites.reverse();
        sites.rotate_left(7);
        let after = laid(&sites);
        assert!(before.cells().eq(after.cells()), "{name}");
        assert_eq!(before.hull(), after.hull(), "{name}");
    }
}

#[test]
fn shares_sum_to_one_and_reproduce_the_place() {
    let mut draws = Draws(3);
    for (name, sites) in layouts() {
        let mesh = laid(&sites);
        for _ in 0..300 {
            let at = site(draws.between(-100.0, 800.0), draws.between(-100.0, 700.0));
            let position = mesh.position(at);
            assert!(position.shares.iter().all(|(_, share)| *share >= 0.0), "{name} {at:?}");
            assert!((position.shares.iter().map(|(_, share)| share).sum::<f64>() - 1.0).abs() < ROUNDING);
            if !position.extrapolated {
                let mean = |of: fn(Site) -> f64| {
                    position.shares.iter().map(|(s, share)| share * of(mesh.sites()[*s as usize])).sum::<f64>()
                };
                let again = site(mean(|s| s.east_m), mean(|s| s.north_m));
                assert!(again.distance_m(at) < 1e-6, "{name}: {at:?} became {again:?}");
                assert!(mesh.encloses(at), "{name} {at:?}");
            }
        }
    }
}

#[test]
fn hiding_a_site_leaves_the_net_of_the_others() {
    for (name, sites) in layouts() {
        let mesh = laid(&sites);
        let all: Vec<u32> = (0..sites.len() as u32).collect();
        mesh.hiding_each(&all, |hidden, reduced| {
            let mut others = mesh.sites().to_vec();
            let at = others.remove(hidden as usize);
            let (reduced, rebuilt) = (reduced.expect("not on a line"), laid(&others));
            for number in 0..others.len() as u32 {
                let full = |s: u32| if s < hidden { s } else { s + 1 };
                let expected: Vec<u32> = rebuilt.neighbors(number).iter().map(|&s| full(s)).collect();
                assert_eq!(reduced.neighbors(full(number)), expected, "{name}: {hidden} hidden, of {number}");
            }
            assert_eq!(reduced.position(at).extrapolated, rebuilt.position(at).extrapolated, "{name}: {hidden}");
        });
    }
}

/// meuse (R package sp, GPL) computed with reference implementations [project reference table].
#[test]
fn the_net_of_meuse_is_the_reference_one() {
    let Some(rows) = outside::meuse() else { return };
    let mesh = laid(&rows.iter().map(|row| site(row.0, row.1)).collect::<Vec<_>>());
    assert_eq!((mesh.n_triangles(), mesh.hull().len()), (296, 12));
    let corners: Vec<u32> = mesh.hull().iter().map(|edge| edge.chain[0]).collect();
    assert!((area_m2(&places(&mesh, &corners)) - 5_423_544.5).abs() < 0.05);
}
