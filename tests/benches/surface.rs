//! How long surfaces take, beside the triangulation library's own interpolators on the same threads.
//!
//! `cargo bench --bench surface` prints a table. Contenders take turns, so that a busy machine slows both; times are
//! medians over the rounds, ratios medians of each round's ratio. Building the net is counted. For `scripts/bench`:
//! `-- --sites-to <folder>` writes the sites as CSV for other programs, `-- --mesh <sites> <threads>` prints only the
//! median milliseconds of the mesh method.
#![expect(clippy::print_stdout, reason = "a table on standard output is what a bench is for")]

use std::fmt::Write as _;
use std::path::Path;
use std::time::Instant;

use holdground::cell_grid::{CellGrid, CellMask, Site};
use holdground::mesh::Mesh;
use holdground::surface::leave_one_out::leave_one_out;
use holdground::surface::mesh_interpolation::MeshInterpolation;
use holdground::surface::mesh_setting::{MeshSetting, Power};
use rayon::ThreadPool;
use rayon::prelude::*;
use spade::{DelaunayTriangulation, FloatTriangulation as _, HasPosition, Point2};

/// Side of the field, meters, and cells a side: one million cells of 1 m.
const SIDE_M: f64 = 1000.0;
const N_SIDE: usize = 1000;

struct Sample {
    at: Point2<f64>,
    value: f64,
}

impl HasPosition for Sample {
    type Scalar = f64;
    fn position(&self) -> Point2<f64> {
        self.at
    }
}

/// Seeded scatter (SplitMix64), rounded to the millimeter: easting, northing.
fn sites(n: usize) -> Vec<Site> {
    let mut state = n as u64;
    let mut draw = || {
        state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    };
    let mut mm = || (draw() * SIDE_M * 1000.0).round() / 1000.0;
    let mut sites: Vec<Site> = (0..n).map(|_| Site { east_m: mm(), north_m: mm() }).collect();
    sites.sort_by(|a, b| a.east_m.total_cmp(&b.east_m).then(a.north_m.total_cmp(&b.north_m)));
    sites.dedup();
    sites
}

fn value(at: Site, variable: usize) -> f64 {
    let wave = (at.east_m / 90.0 + variable as f64).sin() * (at.north_m / 130.0).cos();
    100.0 + 10.0 * variable as f64 + 20.0 * wave
}

fn grid() -> CellGrid {
    CellGrid { west_m: 0.0, south_m: 0.0, cell_m: SIDE_M / N_SIDE as f64, n_cols: N_SIDE, n_rows: N_SIDE }
}

/// The mesh method from bare sites to rasters.
fn mesh_method(sites: &[Site], setting: MeshSetting, values: &[Vec<f64>], mask: &CellMask) -> f64 {
    let mesh = Mesh::new(sites.to_vec()).expect("a net");
    let values = values.iter().map(Vec::as_slice).collect();
    let raster = MeshInterpolation::new(&mesh, setting, values).raster(mask);
    raster.values.iter().map(|v| v[v.len() / 2]).sum()
}

#[derive(Clone, Copy)]
enum Library {
    Barycentric,
    NaturalNeighbor,
}

/// The library's interpolators from bare sites to a raster, rows spread over the threads.
fn library_method(sites: &[Site], values: &[f64], grid: &CellGrid, library: Library) -> f64 {
    let samples = sites.iter().zip(values);
    let samples = samples.map(|(s, value)| Sample { at: Point2::new(s.east_m, s.north_m), value: *value }).collect();
    let net = DelaunayTriangulation::<Sample>::bulk_load_stable(samples).expect("a net");
    let mut raster = vec![f64::NAN; grid.n_cells()];
    raster.par_chunks_mut(grid.n_cols).enumerate().for_each(|(row, cells)| {
        let (barycentric, natural) = (net.barycentric(), net.natural_neighbor());
        for (col, cell) in cells.iter_mut().enumerate() {
            let at = Point2::new(grid.center_east_m(col), grid.center_north_m(row));
            let found = match library {
                Library::Barycentric => barycentric.interpolate(|vertex| vertex.data().value, at),
                Library::NaturalNeighbor => natural.interpolate(|vertex| vertex.data().value, at),
            };
            *cell = found.unwrap_or(f64::NAN);
        }
    });
    raster[raster.len() / 2]
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// Runs the contenders in turn, `n_rounds` times after one to warm up; milliseconds of each round and contender.
fn rounds(n_rounds: usize, contenders: &[&(dyn Fn() -> f64 + Sync)], pool: &ThreadPool) -> Vec<Vec<f64>> {
    let run = |contender: &(dyn Fn() -> f64 + Sync)| {
        let start = Instant::now();
        std::hint::black_box(pool.install(contender));
        start.elapsed().as_secs_f64() * 1e3
    };
    contenders.iter().for_each(|contender| {
        run(contender);
    });
    (0..n_rounds).map(|_| contenders.iter().map(|contender| run(contender)).collect()).collect()
}

fn column(rounds: &[Vec<f64>], contender: usize) -> f64 {
    median(rounds.iter().map(|round| round[contender]).collect())
}

fn ratio(rounds: &[Vec<f64>], contender: usize, to: usize) -> f64 {
    median(rounds.iter().map(|round| round[contender] / round[to]).collect())
}

fn line(name: &str, pool: &ThreadPool, ms: f64, note: &str) {
    let n_threads = pool.current_num_threads();
    println!("{name:<64} {n_threads} thread{}  {ms:>7.1} ms  {note}", if n_threads == 1 { " " } else { "s" });
}

fn one_raster(pool: &ThreadPool, n_sites: usize, n_rounds: usize) {
    let (sites, mask) = (sites(n_sites), CellMask::all(grid()));
    let values = [sites.iter().map(|s| value(*s, 0)).collect::<Vec<f64>>()];
    let mesh = || mesh_method(&sites, MeshSetting::PLAIN, &values, &mask);
    let barycentric = || library_method(&sites, &values[0], mask.grid(), Library::Barycentric);
    let natural = || library_method(&sites, &values[0], mask.grid(), Library::NaturalNeighbor);
    let times = rounds(n_rounds, &[&mesh, &barycentric, &natural], pool);
    line(&format!("{n_sites} sites, mesh"), pool, column(&times, 0), "");
    for (contender, name) in [(1, "library barycentric"), (2, "library natural neighbor")] {
        let note = format!("{:.2} x the mesh", ratio(&times, contender, 0));
        line(&format!("{n_sites} sites, {name}"), pool, column(&times, contender), &note);
    }
}

/// Every power, rings and trend, one variable.
fn settings(pool: &ThreadPool, n_sites: usize) {
    let (sites, mask) = (sites(n_sites), CellMask::all(grid()));
    let values = [sites.iter().map(|s| value(*s, 0)).collect::<Vec<f64>>()];
    let plain = MeshSetting::PLAIN;
    for setting in [
        MeshSetting { power: Power::P1, ..plain },
        MeshSetting { power: Power::P1_5, ..plain },
        MeshSetting { power: Power::P3, ..plain },
        MeshSetting { power: Power::P4, ..plain },
        MeshSetting { rings: 2, ..plain },
        MeshSetting { rings: 3, ..plain },
        MeshSetting { trend_share: 0.5, ..plain },
    ] {
        let (of_plain, of_setting) =
            (|| mesh_method(&sites, plain, &values, &mask), || mesh_method(&sites, setting, &values, &mask));
        let times = rounds(5, &[&of_plain, &of_setting], pool);
        let note = format!("{:.2} x 1 ring, power 2", ratio(&times, 1, 0));
        line(&format!("{n_sites} sites, mesh, {setting}"), pool, column(&times, 1), &note);
    }
}

fn eight_variables(pool: &ThreadPool) {
    let (sites, mask) = (sites(178), CellMask::all(grid()));
    let values: Vec<Vec<f64>> = (0..8).map(|v| sites.iter().map(|s| value(*s, v)).collect()).collect();
    for setting in [MeshSetting::PLAIN, MeshSetting { trend_share: 0.5, ..MeshSetting::PLAIN }] {
        let together = || mesh_method(&sites, setting, &values, &mask);
        let single = || values.iter().map(|v| mesh_method(&sites, setting, std::slice::from_ref(v), &mask)).sum();
        let times = rounds(7, &[&together, &single], pool);
        let note = format!("{:.2} of eight single runs", ratio(&times, 0, 1));
        line(&format!("178 sites, 8 variables together, {setting}"), pool, column(&times, 0), &note);
    }
}

fn hidden_in_turn(pool: &ThreadPool, n_sites: usize) {
    let mesh = Mesh::new(sites(n_sites)).expect("a net");
    let values: Vec<f64> = mesh.sites().iter().map(|s| value(*s, 0)).collect();
    let all = || leave_one_out(&mesh, &[&values], MeshSetting::all_plainest_first()).predictions[0][0][0];
    let times = rounds(9, &[&all], pool);
    let name = format!("{n_sites} sites, each hidden in turn, 60 settings");
    line(&name, pool, column(&times, 0), "");
}

fn write_sites(folder: &Path) {
    for n in [178, 100_000] {
        let mut text = String::from("east_m,north_m,value\n");
        for at in sites(n) {
            writeln!(text, "{:.3},{:.3},{:.6}", at.east_m, at.north_m, value(at, 0)).expect("text");
        }
        std::fs::write(folder.join(format!("sites-{n}.csv")), text).expect("the folder can be written to");
    }
}

fn pool(n_threads: usize) -> ThreadPool {
    rayon::ThreadPoolBuilder::new().num_threads(n_threads).build().expect("threads")
}

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let after = |flag: &str| arguments.iter().position(|a| a == flag).map(|at| &arguments[at + 1..]);
    if let Some([folder, ..]) = after("--sites-to") {
        write_sites(Path::new(folder));
        return;
    }
    if let Some([n_sites, n_threads, ..]) = after("--mesh") {
        let (sites, mask) = (sites(n_sites.parse().expect("a number")), CellMask::all(grid()));
        let values = [sites.iter().map(|s| value(*s, 0)).collect::<Vec<f64>>()];
        let mesh = || mesh_method(&sites, MeshSetting::PLAIN, &values, &mask);
        println!("{:.2}", column(&rounds(5, &[&mesh], &pool(n_threads.parse().expect("a number"))), 0));
        return;
    }
    println!("1,000,000 cells; medians; building the net is counted");
    for n_threads in [1, 2] {
        let pool = pool(n_threads);
        one_raster(&pool, 178, 11);
        one_raster(&pool, 100_000, 5);
        eight_variables(&pool);
        hidden_in_turn(&pool, 155);
        hidden_in_turn(&pool, 2_000);
        settings(&pool, 178);
    }
}
