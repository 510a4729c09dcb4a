//! What every way to find values between samples must hold to: one list of checks, run over all of them.

use holdground::cell_grid::{CellGrid, CellMask, Site};
use holdground::mesh::Mesh;
use holdground::surface::SurfaceRaster;
use holdground::surface::leave_one_out::leave_one_out;
use holdground::surface::mesh_interpolation::MeshInterpolation;
use holdground::surface::mesh_setting::{MeshSetting, Power};
use holdground::surface::method::Method;

use crate::mesh::{Draws, laid, layouts, net, rounded, scattered, site, turned};

/// Rounding, as a share of the range of the samples.
const ROUNDING: f64 = 1e-9;
/// Sites rounded to the millimeter elsewhere on the map.
const AFTER_SHIFT: f64 = 1e-6;

fn mesh_methods() -> Vec<Method> {
    let setting = |rings, power, trend_share| Method::Mesh(Some(MeshSetting { power, rings, trend_share }));
    vec![
        setting(1, Power::P2, 0.0),
        setting(1, Power::P1, 0.75),
        setting(1, Power::P4, 0.0),
        setting(2, Power::P1_5, 0.25),
        setting(2, Power::P1, 0.0),
        setting(3, Power::P3, 0.5),
        setting(3, Power::P2, 0.0),
    ]
}

fn all_methods() -> Vec<Method> {
    let mut methods = mesh_methods();
    methods.extend([Method::Mean, Method::Nearest, Method::Triangle, Method::NaturalNeighbor]);
    for power in Power::ALL {
        methods.extend([None, Some(5)].map(|nearest| Method::Distance { power, nearest }));
    }
    methods
}

/// A value that rises, waves and has noise; the same at a place whatever the order of the sites.
fn soil(at: Site) -> f64 {
    let noise = (at.east_m * 12.9898 + at.north_m * 78.233).sin() * 43_758.545;
    100.0 + 0.05 * at.east_m + 30.0 * (at.north_m / 130.0).sin() + 20.0 * (noise - noise.floor())
}

fn soils(mesh: &Mesh) -> Vec<f64> {
    mesh.sites().iter().map(|s| soil(*s)).collect()
}

fn range(values: &[f64]) -> (f64, f64) {
    values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), z| (least.min(*z), most.max(*z)))
}

fn some_places(n: usize, seed: u64) -> Vec<Site> {
    let mut draws = Draws(seed);
    (0..n).map(|_| site(draws.between(-250.0, 900.0), draws.between(-150.0, 800.0))).collect()
}

fn value(method: Method, mesh: &Mesh, values: &[f64], at: Site) -> Option<f64> {
    method.value_at(mesh, &[values], at).map(|values| values[0])
}

/// Both nothing, or both a value and alike within a share of `scale`.
fn check_alike(a: Option<f64>, b: Option<f64>, scale: f64, tolerance: f64, what: &dyn std::fmt::Debug) {
    match (a, b) {
        (None, None) => {}
        (Some(a), Some(b)) => assert!((a - b).abs() <= tolerance * scale, "{a} and {b}: {what:?}"),
        _ => panic!("{a:?} and {b:?}: {what:?}"),
    }
}

#[test]
fn exact_at_the_samples() {
    for (name, sites) in layouts() {
        let mesh = laid(&sites);
        let values = soils(&mesh);
        for method in all_methods().into_iter().filter(|method| *method != Method::Mean) {
            for (&at, &z) in mesh.sites().iter().zip(&values) {
                // A sample on the hull may lie beyond it by rounding, and in a sliver's chain it does.
                let found = value(method, &mesh, &values, at);
                let may_lack = matches!(method, Method::Triangle | Method::NaturalNeighbor);
                check_alike(found.or(may_lack.then_some(z)), Some(z), z, ROUNDING, &(name, method, at));
            }
        }
    }
}

#[test]
fn a_constant_stays() {
    for (name, sites) in layouts() {
        let mesh = laid(&sites);
        let values = vec![7.25; sites.len()];
        for method in all_methods() {
            for at in some_places(40, 2) {
                let found = value(method, &mesh, &values, at);
                check_alike(found, found.map(|_| 7.25), 7.25, ROUNDING, &(name, method, at));
            }
        }
    }
}

#[test]
fn never_beyond_the_range_of_the_samples() {
    for (name, sites) in layouts() {
        let mesh = laid(&sites);
        let values = soils(&mesh);
        let (least, most) = range(&values);
        let slack = ROUNDING * (most - least);
        for method in all_methods() {
            for at in some_places(60, 3) {
                if let Some(z) = value(method, &mesh, &values, at) {
                    assert!(least - slack <= z && z <= most + slack, "{name} {method} {at:?}: {z}");
                }
            }
        }
    }
}

/// Follows a line, halves the steepest part until it is a nanometer long, and looks what jump is left.
fn largest_jump(of: &dyn Fn(Site) -> f64, from: Site, to: Site) -> f64 {
    let at = |t: f64| {
        let part = |a: f64, b: f64| a + t * (b - a);
        of(site(part(from.east_m, to.east_m), part(from.north_m, to.north_m)))
    };
    let n = 200;
    let steep = (0..n).max_by(|&a, &b| {
        let rise = |i: i32| (at(f64::from(i + 1) / f64::from(n)) - at(f64::from(i) / f64::from(n))).abs();
        rise(a).total_cmp(&rise(b))
    });
    let start = f64::from(steep.unwrap_or(0)) / f64::from(n);
    let (mut low, mut high) = (start, start + 1.0 / f64::from(n));
    while (high - low) * from.distance_m(to) > 1e-9 {
        let middle = 0.5 * (low + high);
        if (at(middle) - at(low)).abs() > (at(high) - at(middle)).abs() {
            high = middle;
        } else {
            low = middle;
        }
    }
    (at(high) - at(low)).abs()
}

#[test]
fn the_mesh_surface_is_continuous_inside_across_and_beyond_the_hull() {
    for (name, sites) in layouts() {
        let mesh = laid(&sites);
        let values = soils(&mesh);
        for method in mesh_methods() {
            let Method::Mesh(Some(setting)) = method else { continue };
            let surface = MeshInterpolation::new(&mesh, setting, vec![&values]);
            let of = |at: Site| surface.at(at).0[0];
            let places = some_places(40, 4);
            for pair in places.chunks_exact(2) {
                let jump = largest_jump(&of, pair[0], pair[1]);
                assert!(jump < 1e-5, "{name}, {method}: {jump} between {pair:?}");
            }
            // Across the hull, and along both its sides 2 mm off, where peeled slivers begin and end.
            for edge in mesh.hull() {
                let [a, b] = [edge.chain[0], edge.chain[edge.chain.len() - 1]].map(|s| mesh.sites()[s as usize]);
                let (east, north) =
                    ((b.east_m - a.east_m) / a.distance_m(b), (b.north_m - a.north_m) / a.distance_m(b));
                let beside = |s: Site, off_m: f64| site(s.east_m + off_m * north, s.north_m - off_m * east);
                for off_m in [-0.002, 0.002] {
                    let jump = largest_jump(&of, beside(a, off_m), beside(b, off_m));
                    assert!(jump < 1e-5, "{name}, {method}: {jump} along hull {edge:?}");
                }
                let middle = site(0.6 * a.east_m + 0.4 * b.east_m, 0.6 * a.north_m + 0.4 * b.north_m);
                let jump = largest_jump(&of, beside(middle, -0.5), beside(middle, 0.5));
                assert!(jump < 1e-5, "{name}, {method}: {jump} across hull {edge:?}");
            }
        }
    }
}

#[test]
fn a_shift_of_500_km_changes_nothing() {
    let far = |s: Site| site(s.east_m + 500_000.0, s.north_m + 4_500_000.0);
    let home = |s: Site| site(s.east_m - 500_000.0, s.north_m - 4_500_000.0);
    for (name, sites) in layouts() {
        let mesh = laid(&sites);
        let values = soils(&mesh);
        // As the program does it: the origin, whole meters, is taken off first and the rest rounded to the millimeter.
        let again = laid(&rounded(sites.iter().map(|s| home(far(*s)))));
        // Without taking the origin off.
        let away = laid(&sites.iter().map(|s| far(*s)).collect::<Vec<_>>());
        for method in all_methods() {
            // Which of equally near samples count is settled by the last bit.
            let has_ties = matches!(method, Method::Nearest | Method::Distance { nearest: Some(_), .. });
            for at in some_places(30, 6) {
                let found = value(method, &mesh, &values, at);
                check_alike(found, value(method, &again, &values, at), 100.0, AFTER_SHIFT, &(name, method, at));
                if !has_ties && method != Method::NaturalNeighbor {
                    check_alike(found, value(method, &away, &values, far(at)), 100.0, AFTER_SHIFT, &(name, method, at));
                }
            }
        }
    }
}

#[test]
fn scale_changes_nothing() {
    for (name, sites) in layouts() {
        let mesh = laid(&sites);
        let values = soils(&mesh);
        for scale in [0.001, 1000.0] {
            let scaled = |s: Site| site(scale * s.east_m, scale * s.north_m);
            let other = laid(&sites.iter().map(|s| scaled(*s)).collect::<Vec<_>>());
            for method in mesh_methods() {
                for at in some_places(30, 7) {
                    let (a, b) = (value(method, &mesh, &values, at), value(method, &other, &values, scaled(at)));
                    check_alike(a, b, 100.0, ROUNDING, &(name, method, at));
                }
            }
        }
    }
}

#[test]
fn the_order_of_the_samples_changes_nothing() {
    for (name, mut sites) in layouts() {
        let mesh = laid(&sites);
        let values = soils(&mesh);
        sites.reverse();
        sites.rotate_left(5);
        let other = laid(&sites);
        for method in all_methods() {
            for at in some_places(30, 8) {
                let (a, b) = (value(method, &mesh, &values, at), value(method, &other, &soils(&other), at));
                // Natural neighbor starts its sums wherever the triangulation does.
                let tolerance = if method == Method::NaturalNeighbor { ROUNDING } else { 0.0 };
                check_alike(a, b, 100.0, tolerance, &(name, method, at));
            }
        }
    }
}

#[test]
fn a_quarter_turn_of_a_square_net_changes_nothing() {
    let quarter = |s: Site| site(600.0 - s.north_m, s.east_m);
    let sites = net(7, 6, 100.0, 100.0);
    let mesh = laid(&sites);
    let values = soils(&mesh);
    let other = laid(&sites.iter().map(|s| quarter(*s)).collect::<Vec<_>>());
    let back = |s: Site| site(s.north_m, 600.0 - s.east_m);
    let other_values: Vec<f64> = other.sites().iter().map(|s| soil(back(*s))).collect();
    for method in mesh_methods().into_iter().chain([Method::Triangle, Method::NaturalNeighbor]) {
        for at in some_places(200, 9) {
            let (a, b) = (value(method, &mesh, &values, at), value(method, &other, &other_values, quarter(at)));
            check_alike(a, b, 100.0, ROUNDING, &(method, at));
        }
    }
}

#[test]
fn a_millimeter_of_noise_moves_a_net_by_little() {
    // Bound: 0.01 % of the samples' range, some ten times what moving every sample by a millimeter does to the weights.
    let nets = [net(7, 6, 100.0, 100.0), net(5, 9, 100.0, 30.0), turned(&net(7, 6, 100.0, 100.0), 17.0)];
    for (number, sites) in nets.into_iter().enumerate() {
        let mesh = laid(&sites);
        let values = soils(&mesh);
        let (least, most) = range(&values);
        for seed in 0..5 {
            let mut draws = Draws(seed);
            // Values stay with their sites: noise of a millimeter does not change the order of a net's columns, except
            // that equal eastings part; so each value is found by place.
            let noisy: Vec<Site> = sites
                .iter()
                .map(|s| site(s.east_m + draws.between(-0.001, 0.001), s.north_m + draws.between(-0.001, 0.001)))
                .collect();
            let other = laid(&noisy);
            let of_nearest = |s: &Site| {
                let near = (0..noisy.len()).find(|&i| mesh.sites()[i].distance_m(*s) < 0.01).expect("its own place");
                values[near]
            };
            let other_values: Vec<f64> = other.sites().iter().map(of_nearest).collect();
            for method in mesh_methods() {
                for at in some_places(40, 100 + seed) {
                    let (a, b) = (value(method, &mesh, &values, at), value(method, &other, &other_values, at));
                    check_alike(a, b, most - least, 1e-4, &(number, seed, method, at));
                }
            }
        }
    }
}

#[test]
fn hiding_a_site_equals_a_mesh_laid_without_it() {
    for (name, sites) in layouts() {
        let mesh = laid(&sites);
        let values = soils(&mesh);
        let left = leave_one_out(&mesh, &[&values], MeshSetting::all_plainest_first());
        assert_eq!((left.hidden.len(), left.settings.len()), (sites.len(), 60));
        for hidden in 0..sites.len() {
            let mut others = mesh.sites().to_vec();
            let at = others.remove(hidden);
            let rebuilt = laid(&others);
            let other_values = soils(&rebuilt);
            for (index, setting) in left.settings.iter().enumerate() {
                let expected = MeshInterpolation::new(&rebuilt, *setting, vec![&other_values]).at(at).0[0];
                let found = left.predictions[index][0][hidden];
                check_alike(Some(found), Some(expected), expected, ROUNDING, &(name, hidden, setting));
            }
        }
    }
}

#[test]
fn hiding_a_site_equals_leaving_it_out_for_the_reference_methods() {
    for (name, sites) in layouts() {
        let mesh = laid(&sites);
        let values = soils(&mesh);
        for method in all_methods() {
            let left = method.leave_one_out(&mesh, &[&values]);
            for (&hidden, &found) in left.hidden.iter().zip(&left.predictions[0]) {
                let mut others = mesh.sites().to_vec();
                let at = others.remove(hidden as usize);
                let rebuilt = laid(&others);
                let expected = value(method, &rebuilt, &soils(&rebuilt), at);
                let found = (!found.is_nan()).then_some(found);
                check_alike(found, expected, 100.0, ROUNDING, &(name, method, hidden));
            }
        }
    }
}

/// A raster over and around a layout, with some cells that do not count.
fn mask_over(sites: &[Site], cell_m: f64, share_inside: f64) -> CellMask {
    let (west, east) = range(&sites.iter().map(|s| s.east_m).collect::<Vec<_>>());
    let (south, north) = range(&sites.iter().map(|s| s.north_m).collect::<Vec<_>>());
    let grid = CellGrid::covering([west - 90.0, east + 130.0, south - 110.0, north + 70.0], cell_m);
    let mut draws = Draws(12);
    CellMask::new(grid, (0..grid.n_cells()).map(|_| draws.between(0.0, 1.0) < share_inside).collect())
}

fn check_raster(name: &str, surface: &MeshInterpolation<'_>, values: [&[f64]; 3], mask: &CellMask) -> SurfaceRaster {
    let raster = surface.raster(mask);
    let grid = mask.grid();
    for cell in 0..grid.n_cells() {
        let at = grid.center(cell % grid.n_cols, cell / grid.n_cols);
        if !mask.inside()[cell] {
            assert!(raster.values.iter().all(|v| v[cell].is_nan()) && !raster.extrapolated[cell], "{name}: {at:?}");
            continue;
        }
        let (expected, extrapolated) = surface.at(at);
        for (variable, expected) in expected.iter().enumerate() {
            let scale = range(values[variable]).1;
            check_alike(Some(raster.values[variable][cell]), Some(*expected), scale, ROUNDING, &(name, at, variable));
        }
        // On the hull itself either may be said.
        let is_on_hull = mesh_position_changes(surface, at);
        assert!(raster.extrapolated[cell] == extrapolated || is_on_hull, "{name}: {at:?}");
    }
    raster
}

/// Whether a nanometer decides whether a place is extrapolated.
fn mesh_position_changes(surface: &MeshInterpolation<'_>, at: Site) -> bool {
    let around = [(1e-7, 0.0), (-1e-7, 0.0), (0.0, 1e-7), (0.0, -1e-7)];
    let flags = around.map(|(de, dn)| surface.at(site(at.east_m + de, at.north_m + dn)).1);
    flags.contains(&true) && flags.contains(&false)
}

#[test]
fn the_raster_equals_single_places_in_every_layout() {
    for (name, sites) in layouts() {
        let mesh = laid(&sites);
        let one = soils(&mesh);
        let two: Vec<f64> = one.iter().map(|z| 1000.0 - z * z / 40.0).collect();
        let three: Vec<f64> = mesh.sites().iter().map(|s| 5.0 + 0.01 * s.north_m).collect();
        for method in mesh_methods() {
            let Method::Mesh(Some(setting)) = method else { continue };
            // Cells of 5 m have centers on no site; those of 20 m from 10 m on lie on sites and sides of the nets.
            for (cell_m, share_inside) in [(13.0, 1.0), (20.0, 0.7), (20.0, 1.0)] {
                let mask = mask_over(&sites, cell_m, share_inside);
                let several = MeshInterpolation::new(&mesh, setting, vec![&one, &two, &three]);
                let together = check_raster(name, &several, [&one, &two, &three], &mask);
                let alone = MeshInterpolation::new(&mesh, setting, vec![&one]);
                let alone = check_raster(name, &alone, [&one, &one, &one], &mask);
                for cell in mask.cells() {
                    let (a, b) = (together.values[0][cell], alone.values[0][cell]);
                    check_alike(Some(a), Some(b), b, ROUNDING, &(name, method, cell));
                }
            }
        }
    }
}

#[test]
fn raster_cells_on_sites_and_sides_are_filled_once() {
    // Centers of 10 m cells at 5, 15, ..: shift the nets by 5 so that every site and every side lies on centers.
    for sites in [net(5, 5, 100.0, 100.0), net(6, 4, 50.0, 100.0), turned(&net(5, 5, 100.0, 100.0), 90.0)] {
        let sites: Vec<Site> = rounded(sites.iter().map(|s| site(s.east_m + 5.0, s.north_m + 5.0)));
        let mesh = laid(&sites);
        let values = soils(&mesh);
        let surface = MeshInterpolation::new(&mesh, MeshSetting::PLAIN, vec![&values]);
        let mask = mask_over(&sites, 10.0, 1.0);
        let raster = check_raster("net on centers", &surface, [&values, &values, &values], &mask);
        for (at, z) in mesh.sites().iter().zip(&values) {
            let (col, row) = mask.grid().cell_at(*at).expect("on the raster");
            check_alike(Some(raster.values[0][mask.grid().index(col, row)]), Some(*z), *z, ROUNDING, at);
        }
    }
}

#[test]
fn the_raster_is_right_where_slivers_and_needle_hulls_cross_it() {
    // Cells of 2 cm over a corner of the net whose edge bends inward by centimeters: many centers fall in the slivers.
    let (_, sites) = layouts().pop().expect("the edge row");
    let mesh = laid(&sites);
    let values = soils(&mesh);
    let surface = MeshInterpolation::new(&mesh, MeshSetting::PLAIN, vec![&values]);
    let grid = CellGrid { west_m: 380.0, south_m: -0.1, cell_m: 0.02, n_cols: 150, n_rows: 25 };
    let raster = check_raster("edge row", &surface, [&values, &values, &values], &CellMask::all(grid));
    let n_sliver = (0..grid.n_cells()).filter(|&cell| {
        raster.extrapolated[cell] && mesh.encloses(grid.center(cell % grid.n_cols, cell / grid.n_cols))
    });
    assert!(n_sliver.count() > 100, "the test must reach the slivers");
    // A needle thinner than a cell: centers jump from one side of it to the other.
    let mut needle = scattered(30, 21);
    needle.extend([site(2500.0, 301.0), site(-1500.0, 290.0)]);
    let mesh = laid(&needle);
    let values = soils(&mesh);
    for setting in [MeshSetting::PLAIN, MeshSetting { power: Power::P1, rings: 2, trend_share: 0.5 }] {
        let surface = MeshInterpolation::new(&mesh, setting, vec![&values]);
        let mask = mask_over(&needle, 25.0, 1.0);
        check_raster("needle", &surface, [&values, &values, &values], &mask);
    }
}

#[test]
fn the_raster_of_the_reference_methods_equals_single_places() {
    for (name, sites) in layouts() {
        let mesh = laid(&sites);
        let (one, two) = (soils(&mesh), mesh.sites().iter().map(|s| s.east_m).collect::<Vec<_>>());
        let mask = mask_over(&sites, 31.0, 0.8);
        let grid = mask.grid();
        for method in all_methods() {
            let raster = method.raster(&mesh, &[&one, &two], &mask);
            for cell in 0..grid.n_cells() {
                let at = grid.center(cell % grid.n_cols, cell / grid.n_cols);
                let expected = method.value_at(&mesh, &[&one, &two], at).filter(|_| mask.inside()[cell]);
                for variable in 0..2 {
                    let found = raster.values[variable][cell];
                    let found = (!found.is_nan()).then_some(found);
                    check_alike(found, expected.as_ref().map(|v| v[variable]), 100.0, ROUNDING, &(name, method, at));
                }
            }
        }
    }
}

#[test]
fn one_and_two_threads_give_the_same_bytes() {
    let bits = |raster: SurfaceRaster| -> (Vec<u64>, Vec<bool>) {
        (raster.values.concat().iter().map(|z| z.to_bits()).collect(), raster.extrapolated)
    };
    let with = |n_threads: usize, run: &(dyn Fn() -> (Vec<u64>, Vec<bool>) + Sync)| {
        rayon::ThreadPoolBuilder::new().num_threads(n_threads).build().expect("threads").install(run)
    };
    for (name, sites) in layouts() {
        let mesh = laid(&sites);
        let (one, two) = (soils(&mesh), mesh.sites().iter().map(|s| s.north_m).collect::<Vec<_>>());
        let mask = mask_over(&sites, 10.0, 0.9);
        for method in all_methods() {
            let run = || bits(method.raster(&mesh, &[&one, &two], &mask));
            let first = with(1, &run);
            assert!((0..3).all(|_| with(2, &run) == first), "{name}: {method}");
        }
        let predictions = || {
            let left = leave_one_out(&mesh, &[&one, &two], MeshSetting::all_plainest_first());
            let natural = Method::NaturalNeighbor.leave_one_out(&mesh, &[&one]);
            let all = left.predictions.concat().concat().into_iter().chain(natural.predictions.concat());
            (all.map(f64::to_bits).collect(), Vec::new())
        };
        assert_eq!(with(1, &predictions), with(2, &predictions), "{name}");
    }
}
