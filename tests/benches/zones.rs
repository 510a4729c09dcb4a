//! How long zoning, zone outlines and fitting patches to the machine take, beside other programs on the same raster.
//!
//! `cargo bench --bench zones` prints our own times on the demo and on the demo's field in a million cells. For
//! `scripts/bench`: `-- --python <program> --folder <folder>` also runs, in turns with ours so that a busy machine slows
//! both, scikit-learn's k-means (by `scripts/bench-kmeans.py`) and `gdal_polygonize.py`, both as processes. Times are
//! least and median over the rounds, ratios medians of each round's ratio.
//!
//! What is compared:
//! - Zoning is [`ZoneMap::draw`]: k-means for 1 to 6 zones, 20 starts each of at most 300 rounds, plus all indices and
//!   the samples' verdict. Our starts run on a sample of 2,000 cells; the three best go on to 40,000 and the best of those
//!   to all. The peer runs each of its 20 k-means++ starts on all cells; it ends a start once centers hardly move (its
//!   `tol`, 1e-4), ours when none moves. It makes no index. Its time counts the fits only, not starting or reading. What
//!   both leave unexplained (inertia) is printed beside the times, for the faster way must not be the worse one.
//! - Outlines are [`Coverage::new`]: polygons cut at the boundary, vertices taken off, rounded to the lattice. The peer
//!   outlines cells as they are. Its time counts starting, reading a GeoTIFF and writing GeoJSON; what it takes for a
//!   raster of four cells is printed beside it.
#![expect(clippy::print_stdout, reason = "a table on standard output is what a bench is for")]

use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

use gdal::DriverManager;
use gdal::raster::Buffer;
use holdground::boundary::FieldBoundary;
use holdground::cell_grid::CellGrid;
use holdground::coverage::{Coverage, CoverageInput, Plane};
use holdground::crs::WorkCrsChoice;
use holdground::field_file::FieldFile;
use holdground::pipeline::{GroundReadings, Inputs, Outcome, run};
use holdground::samples::SampleTable;
use holdground::zones::k_means::{KMeansSettings, k_means};
use holdground::zones::{PatchLimits, ZoneInputs, ZoneMap, ZoneSettings, fit_patches};
use rayon::ThreadPool;

/// Cells of 0.8 m part the demo's field into about a million.
const FINE_CELL_M: &str = "0.8";
/// Numbers of zones that are tried.
const COUNTS: std::ops::RangeInclusive<usize> = 1..=6;
/// Starts and rounds of the zone stage.
const K_MEANS: KMeansSettings = KMeansSettings { k: 1, n_starts: 20, seed: 20_260_301, max_iter: 300 };

/// The demo's folder through the library, with cells of another size.
fn demo(cell_m: &str) -> Outcome {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/demo");
    let read = |file: &str| std::fs::read_to_string(folder.join(file)).expect("the demo is there");
    let text = read("field.toml").replace("cell_m = 5 ", &format!("cell_m = {cell_m} "));
    let field_file = FieldFile::parse("field.toml", &text).expect("the demo's field file");
    let outline = read(&field_file.field.outline).parse::<geojson::GeoJson>().expect("GeoJSON");
    let mut rings: Vec<Vec<(f64, f64)>> = Vec::new();
    for feature in geojson::FeatureCollection::try_from(outline).expect("features") {
        if let Some(geojson::GeometryValue::Polygon { coordinates }) = feature.geometry.map(|shape| shape.value) {
            rings.extend(coordinates.iter().map(|ring| ring.iter().map(|place| (place[0], place[1])).collect()));
        }
    }
    let boundary = FieldBoundary::from_rings(&rings, None, &WorkCrsChoice::Derived).expect("an outline");
    let table = SampleTable::read_csv("lab.csv", read(&field_file.samples.file).as_bytes()).expect("a sheet");
    let inputs = Inputs {
        field_file,
        boundary: boundary.value,
        table,
        points: None,
        keep_off: Vec::new(),
        ground: GroundReadings::default(),
    };
    run(inputs, &|_| {}).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

fn zoned(outcome: &Outcome) -> &ZoneMap {
    outcome.zones.as_ref().expect("the demo has zones")
}

fn settings(outcome: &Outcome) -> &ZoneSettings {
    outcome.inputs.field_file.zones.as_ref().expect("the demo has zones")
}

fn zoning(outcome: &Outcome) -> usize {
    let mut as_drawn = |_: usize, labels: &[u16]| labels.to_vec();
    let drawn = ZoneMap::draw(&outcome.surfaces, &ZoneInputs::default(), settings(outcome), &mut as_drawn);
    drawn.expect("zones").value.zones().len()
}

/// Outlines of the zones, borders moved by at most a cell.
fn outlines(outcome: &Outcome) -> usize {
    let (zones, boundary) = (zoned(outcome), &outcome.inputs.boundary);
    let grid = zones.mask().grid();
    let input = CoverageInput {
        grid,
        labels: zones.labels(),
        boundary: boundary.lon_lat(),
        setbacks: &[],
        tolerance_m: grid.cell_m,
    };
    let (to_lon_lat, to_local) =
        (|site| boundary.work_crs().to_lon_lat(site), |place| boundary.work_crs().to_local(place));
    Coverage::new(&input, Plane { to_lon_lat: &to_lon_lat, to_local: &to_local }).expect("a coverage").faces.len()
}

/// Zones with `n` seeded squares (SplitMix64) of one to nine cells a side dealt over them.
fn speckled(zones: &ZoneMap, n: usize) -> Vec<u16> {
    let grid = zones.mask().grid();
    let mut labels = zones.labels().to_vec();
    let mut state = 7_u64;
    let mut draw = |below: usize| {
        state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) % below as u64) as usize
    };
    for _ in 0..n {
        let (side, label) = (1 + draw(9), 1 + draw(zones.zones().len()) as u16);
        let (col, row) = (draw(grid.n_cols - 9), draw(grid.n_rows - 9));
        for cell in (row..row + side).flat_map(|row| (col..col + side).map(move |col| grid.index(col, row))) {
            if labels[cell] != 0 {
                labels[cell] = label;
            }
        }
    }
    labels
}

/// Cells of the field in the space of the zoning variables, each brought to mean 0 and spread 1, as the zone stage does.
fn standardized(outcome: &Outcome) -> Vec<f64> {
    let (cells, from) = (zoned(outcome).mask(), &settings(outcome).from);
    let columns: Vec<Vec<f64>> = from
        .iter()
        .map(|quantity| {
            let values = outcome.surfaces.values(quantity.soil().expect("soil")).expect("mapped");
            let column: Vec<f64> = cells.cells().map(|cell| values[cell]).collect();
            let n = column.len() as f64;
            let mean = column.iter().sum::<f64>() / n;
            let deviation = (column.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / n).sqrt();
            column.iter().map(|value| (value - mean) / deviation).collect()
        })
        .collect();
    (0..cells.n_inside()).flat_map(|row| columns.iter().map(move |column| column[row])).collect()
}

/// Milliseconds of each round and contender; contenders time themselves.
fn rounds(n_rounds: usize, contenders: &mut [&mut dyn FnMut() -> f64]) -> Vec<Vec<f64>> {
    (0..n_rounds).map(|_| contenders.iter_mut().map(|contender| contender()).collect()).collect()
}

fn timed<T: Send>(pool: &ThreadPool, work: impl FnOnce() -> T + Send) -> f64 {
    let start = Instant::now();
    std::hint::black_box(pool.install(work));
    start.elapsed().as_secs_f64() * 1e3
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

fn line(name: &str, rounds: &[Vec<f64>], contender: usize, note: &str) {
    let times: Vec<f64> = rounds.iter().map(|round| round[contender]).collect();
    let least = times.iter().copied().fold(f64::INFINITY, f64::min);
    println!("{name:<58} least {least:>9.1} ms  median {:>9.1} ms  {note}", median(times));
}

fn ratio(rounds: &[Vec<f64>], contender: usize, to: usize) -> f64 {
    median(rounds.iter().map(|round| round[contender] / round[to]).collect())
}

fn own_times(name: &str, outcome: &Outcome, pool: &ThreadPool, n_rounds: usize) {
    let n_cells = zoned(outcome).mask().n_inside();
    let mut draw = || timed(pool, || zoning(outcome));
    let mut outline = || timed(pool, || outlines(outcome));
    let mut times = rounds(n_rounds, &mut [&mut draw, &mut outline]);
    times.iter_mut().for_each(|round| round.push(round[0] + round[1]));
    line(&format!("{name}, {n_cells} cells: zoning"), &times, 0, "");
    line(&format!("{name}, {n_cells} cells: outlines"), &times, 1, "");
    line(&format!("{name}, {n_cells} cells: both"), &times, 2, "");
}

fn fitting(outcome: &Outcome, pool: &ThreadPool) {
    let zones = zoned(outcome);
    let grid = zones.mask().grid();
    let limits = PatchLimits { smallest_m2: 2000.0, narrowest_m: 18.0, shortest_m: 32.0 };
    for n in [0, 5_000, 50_000] {
        let labels = speckled(zones, n);
        let mut n_joined = 0;
        let mut fit = || {
            timed(pool, || {
                let moves = fit_patches(grid, &labels, &limits).moves;
                n_joined = moves.iter().map(|moves| moves.n_patches).sum();
            })
        };
        let times = rounds(11, &mut [&mut fit]);
        line(&format!("fitting, {n} squares dealt over the zones"), &times, 0, &format!("{n_joined} patches joined"));
    }
}

fn beside_k_means(outcome: &Outcome, pool: &ThreadPool, python: &str, folder: &Path) {
    let rows = standardized(outcome);
    let n_vars = settings(outcome).from.len();
    let file = folder.join("zone-rows.f64");
    std::fs::write(&file, rows.iter().flat_map(|value| value.to_le_bytes()).collect::<Vec<u8>>()).expect("written");
    let n_threads = pool.current_num_threads().to_string();
    let mut inertia: Vec<f64> = Vec::new();
    let mut theirs = || {
        let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("scripts/bench-kmeans.py");
        let run = Command::new(python)
            .arg(script)
            .arg(&file)
            .arg(n_vars.to_string())
            .envs(["OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"].map(|key| (key, n_threads.as_str())))
            .output()
            .expect("Python starts");
        assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
        let text = String::from_utf8_lossy(&run.stdout).into_owned();
        let mut numbers = text.split_whitespace().map(|word| word.parse::<f64>().expect("a number"));
        let ms = numbers.next().expect("milliseconds");
        inertia = numbers.collect();
        ms
    };
    let mut ours = || timed(pool, || zoning(outcome));
    let times = rounds(3, &mut [&mut ours, &mut theirs]);
    line(&format!("zoning, 1 to {} zones, {n_threads} threads", COUNTS.end()), &times, 0, "");
    let note = format!("{:.1} x ours", ratio(&times, 1, 0));
    line(&format!("scikit-learn KMeans, the same, {n_threads} threads"), &times, 1, &note);
    for (k, theirs) in COUNTS.zip(inertia) {
        let ours = k_means(&rows, n_vars, &KMeansSettings { k, ..K_MEANS }).expect("a fit").sse;
        println!("  {k} zones: inertia {ours:.1} ours, {theirs:.1} theirs, ours / theirs {:.6}", ours / theirs);
    }
}

/// Writes labels as GeoTIFF, north row first; 0 is no data.
fn write_tiff(path: &Path, grid: &CellGrid, labels: &[u16]) {
    let driver = DriverManager::get_driver_by_name("GTiff").expect("GDAL writes GeoTIFF");
    let mut tiff = driver.create_with_band_type::<u16, _>(path, grid.n_cols, grid.n_rows, 1).expect("a file");
    let north_m = grid.south_m + grid.n_rows as f64 * grid.cell_m;
    tiff.set_geo_transform(&[grid.west_m, grid.cell_m, 0.0, north_m, 0.0, -grid.cell_m]).expect("its place");
    let mut band = tiff.rasterband(1).expect("a band");
    band.set_no_data_value(Some(0.0)).expect("no data");
    let shape = (grid.n_cols, grid.n_rows);
    let rows = labels.chunks(grid.n_cols).rev().flatten().copied().collect();
    band.write((0, 0), shape, &mut Buffer::new(shape, rows)).expect("cells");
}

fn beside_polygonize(outcome: &Outcome, pool: &ThreadPool, folder: &Path) {
    let zones = zoned(outcome);
    let (tiff, small) = (folder.join("zones.tif"), folder.join("four-cells.tif"));
    write_tiff(&tiff, zones.mask().grid(), zones.labels());
    let four = CellGrid { n_cols: 2, n_rows: 2, ..*zones.mask().grid() };
    write_tiff(&small, &four, &[1, 1, 2, 2]);
    let polygonize = |from: &PathBuf| {
        let into = folder.join("polygonize.geojson");
        if into.exists() {
            std::fs::remove_file(&into).expect("the last result goes");
        }
        let start = Instant::now();
        let run = Command::new("gdal_polygonize.py").arg("-q").arg(from).args(["-f", "GeoJSON"]).arg(&into).output();
        let ms = start.elapsed().as_secs_f64() * 1e3;
        let run = run.expect("gdal_polygonize.py starts");
        assert!(run.status.success() && into.exists(), "{}", String::from_utf8_lossy(&run.stderr));
        ms
    };
    let mut ours = || timed(pool, || outlines(outcome));
    let (mut theirs, mut starting) = (|| polygonize(&tiff), || polygonize(&small));
    let times = rounds(7, &mut [&mut ours, &mut theirs, &mut starting]);
    line("outlines, 1 thread", &times, 0, "");
    line("gdal_polygonize.py, files and starting counted", &times, 1, &format!("{:.1} x ours", ratio(&times, 1, 0)));
    line("  of which starting, and files of four cells", &times, 2, "");
    let net: Vec<Vec<f64>> = times.iter().map(|round| vec![round[0], round[1] - round[2]]).collect();
    println!("  without starting: {:.1} x ours", ratio(&net, 1, 0));
}

fn pool(n_threads: usize) -> ThreadPool {
    rayon::ThreadPoolBuilder::new().num_threads(n_threads).build().expect("threads")
}

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let after = |flag: &str| arguments.iter().position(|a| a == flag).and_then(|at| arguments.get(at + 1));
    let (one, two) = (pool(1), pool(2));
    let coarse = demo("5");
    own_times("demo, 2 threads", &coarse, &two, 21);
    own_times("demo, 1 thread", &coarse, &one, 21);
    let fine = demo(FINE_CELL_M);
    own_times("fine demo, 2 threads", &fine, &two, 7);
    fitting(&fine, &one);
    if let Some(folder) = after("--folder") {
        beside_polygonize(&fine, &one, Path::new(folder));
        if let Some(python) = after("--python") {
            beside_k_means(&fine, &two, python, Path::new(folder));
        }
    }
}
