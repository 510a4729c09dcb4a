//! Task sets as others read them: npm `isoxml`, PyPI `isoxml` (with the limits of the published schemas), GDAL's
//! `gdal_rasterize`; and random fields against `geo`'s point in polygon.
//!
//! Both readers are fetched by `scripts/outside-data`; what they print is compared here.

use std::path::{Path, PathBuf};
use std::process::Command;

use geo::{Contains as _, Coord, Intersects as _, LineString, MultiPolygon, Point, Polygon};
use holdground::boundary::FieldBoundary;
use holdground::cell_grid::CellGrid;
use holdground::coverage::{Ground, Lattice, LatticePolygon, ZoneOutlines};
use holdground::crs::WorkCrsChoice;
use holdground::export::iso11783::{
    GridFrame, RatedGround, TaskField, TaskPass, TaskProduct, TaskSet, TaskSetForm, TaskSetSettings, TaskSetVersion,
    ground_of_cells, task_set, zipped,
};
use holdground::rates::{LostPosition, RateUnit};
use holdground::setback::Setback;
use serde_json::Value;

use crate::layers::coverage;
use crate::outside;

/// Places of fields: north and west, south and east, across the border of UTM zones 15 and 16, round the places where
/// longitude or latitude is 0.
const PLACES: [(&str, f64, f64); 4] =
    [("iowa", -93.6, 41.5), ("south-east", 148.3, -33.2), ("utm-border", -90.003, 43.1), ("zero", -0.002, -0.0015)];
/// Rounding error a rate may have after its round trip, in its unit: half a count.
const BOUNDS: [(RateUnit, f64); 3] =
    [(RateUnit::LbAc, 0.0045), (RateUnit::ShortTonAc, 0.000_003), (RateUnit::GalAc, 0.000_006)];

fn bound(unit: &str) -> f64 {
    BOUNDS.into_iter().find(|(known, _)| known.name() == unit).map(|(_, bound)| bound).unwrap()
}

/// An L-shaped field with a hole and a second part, three zones by slanting lines, a well in the middle of zone 2.
fn outlines(lon: f64, lat: f64) -> (FieldBoundary, ZoneOutlines) {
    let at = |x: f64, y: f64| (lon + x * 0.001, lat + y * 0.001);
    let ring = |places: &[(f64, f64)]| -> Vec<(f64, f64)> {
        places.iter().chain(places.first()).map(|&(x, y)| at(x, y)).collect()
    };
    let rings = [
        ring(&[(0.1, 0.0), (7.9, 0.3), (7.7, 2.1), (3.2, 2.0), (3.0, 4.6), (0.0, 4.4)]),
        ring(&[(1.0, 1.0), (1.0, 1.6), (1.7, 1.7), (1.6, 1.0)]),
        ring(&[(4.0, 3.0), (6.0, 3.2), (5.5, 4.2)]),
    ];
    let boundary = FieldBoundary::from_rings(&rings, None, &WorkCrsChoice::Derived).unwrap().value;
    let grid = CellGrid::covering(boundary.bounds_m(), 5.0);
    let label = |cell: usize| {
        let (col, row) = ((cell % grid.n_cols) as f64, (cell / grid.n_cols) as f64);
        if row > 0.7 * grid.n_rows as f64 - 0.3 * col {
            3
        } else {
            1 + u16::from(col + 0.2 * row > 0.6 * grid.n_cols as f64)
        }
    };
    let labels: Vec<u16> = (0..grid.n_cells()).map(label).collect();
    let (x, y) = at(6.0, 1.2);
    let corner = |dx: f64, dy: f64| Coord { x: x + dx * 0.0004, y: y + dy * 0.0003 };
    let circle: Vec<Coord> =
        (0..=32).map(|n| f64::from(n) * std::f64::consts::TAU / 32.0).map(|a| corner(a.cos(), a.sin())).collect();
    let area = MultiPolygon::new(vec![Polygon::new(LineString::new(circle), Vec::new())]);
    let well = Setback { name: "well, 100 ft".to_owned(), area, products: vec!["POT".to_owned()] };
    let drawn = ZoneOutlines::draw(&grid, &labels, &boundary, &[well]).unwrap();
    (boundary, drawn)
}

fn product(outlines: &ZoneOutlines, short: &str, name: &str, unit: RateUnit, rates: [f64; 3]) -> TaskProduct {
    let ground = |ground: holdground::coverage::ZoneGround| {
        let is_kept_off = ground.ground == Ground::SetBack;
        RatedGround {
            name: format!("zone {}", ground.zone),
            rate: if is_kept_off { 0.0 } else { rates[ground.zone - 1] },
            is_kept_off,
            area_m2: ground.area_m2,
            polygons: ground.polygons,
        }
    };
    let grounds = outlines.for_product(short).unwrap().into_iter().map(ground).collect();
    TaskProduct { name: name.to_owned(), unit, grounds }
}

/// A lime pass, then one of potash and a liquid together.
fn field(name: &str, lon: f64, lat: f64) -> TaskField {
    let (boundary, outlines) = outlines(lon, lat);
    let pass = |number: usize, name: &str, products| TaskPass { number, name: name.to_owned(), products };
    let potash = product(&outlines, "POT", "Potash <0-0-60> & \"more\"", RateUnit::LbAc, [75.0, 115.5, 0.0]);
    TaskField {
        name: name.to_owned(),
        short: name.chars().take(6).collect(),
        lattice: *outlines.lattice(),
        boundary: outlines.field_outline().unwrap(),
        area_m2: boundary.area_m2(),
        cell_m: 5.0,
        passes: vec![
            pass(
                1,
                "Lime, fall, after harvest and before the ground freezes",
                vec![product(&outlines, "LIM", "Kalk für Böden", RateUnit::ShortTonAc, [1.25, 0.0, 2.0])],
            ),
            pass(2, "Before planting", vec![potash.clone()]),
            pass(3, "Sidedress", vec![potash, product(&outlines, "UAN", "UAN 28", RateUnit::GalAc, [12.5, 8.0, 20.0])]),
        ],
    }
}

fn settings(version: TaskSetVersion, form: TaskSetForm) -> TaskSetSettings {
    TaskSetSettings { version, form, lost_position: LostPosition::Mean }
}

/// Polygons in degrees.
fn degrees(lattice: &Lattice, polygons: &[LatticePolygon]) -> MultiPolygon<f64> {
    let ring = |ring: &[_]| LineString::from(ring.iter().map(|vertex| lattice.lon_lat(*vertex)).collect::<Vec<_>>());
    let polygon = |polygon: &LatticePolygon| {
        Polygon::new(ring(&polygon.exterior), polygon.interiors.iter().map(|hole| ring(hole)).collect())
    };
    MultiPolygon::new(polygons.iter().map(polygon).collect())
}

/// The rate at a place by `geo`; `None` on an edge.
fn rate_at(grounds: &[(f64, MultiPolygon)], place: Point) -> Option<f64> {
    let mut rate = 0.0;
    for (of_ground, polygons) in grounds {
        if polygons.contains(&place) {
            rate = *of_ground;
        } else if polygons.intersects(&place) {
            return None;
        }
    }
    Some(rate)
}

fn in_degrees(field: &TaskField, product: &TaskProduct) -> Vec<(f64, MultiPolygon)> {
    product.grounds.iter().map(|ground| (ground.rate, degrees(&field.lattice, &ground.polygons))).collect()
}

fn put(folder: &Path, set: &TaskSet) -> (PathBuf, PathBuf) {
    for file in &set.files {
        let path = folder.join(&file.path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, &file.bytes).unwrap();
    }
    let archive = zipped("set.zip", &set.files);
    std::fs::write(folder.join("set.zip"), archive.bytes).unwrap();
    (folder.join("TASKDATA"), folder.join("set.zip"))
}

/// What a reader prints of a task set; `None` where it is not installed.
fn read(program: &str, script: &str, install: &str, marker: &str, set: &Path) -> Option<Value> {
    outside::path(marker, None)?;
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let arguments = [root.join("tests/it/readers").join(script), root.join(install), set.to_owned()];
    let output =
        Command::new(program).args(&arguments).output().expect("the reader's interpreter is installed with it");
    assert!(output.status.success(), "{program}: {}", String::from_utf8_lossy(&output.stderr));
    Some(serde_json::from_slice(&output.stdout).unwrap())
}

pub(crate) fn by_node(set: &Path) -> Option<Value> {
    let marker = "isoxml-js/node_modules/isoxml/package.json";
    read("node", "task_set.cjs", ".outside/isoxml-js", marker, set)
}

pub(crate) fn by_python(set: &Path) -> Option<Value> {
    read("python3", "task_set.py", ".outside/isoxml-py", "isoxml-py/isoxml/__init__.py", set)
}

fn bytes_of(grid: &Value) -> Vec<u8> {
    let text = grid["bytes"].as_str().unwrap();
    (0..text.len()).step_by(2).map(|at| u8::from_str_radix(&text[at..at + 2], 16).unwrap()).collect()
}

/// The value a reader shows in a cell, for a product: what the zone orders, or the cell's own count, times the scale.
pub(crate) fn shown(task: &Value, cell: usize, at: usize) -> f64 {
    let grid = &task["grid"];
    let bytes = bytes_of(grid);
    let zones = task["zones"].as_array().unwrap();
    let values = |code: u64| {
        let zone = zones.iter().find(|zone| zone["code"].as_u64() == Some(code)).expect("the code of a cell is a zone");
        zone["values"].as_array().unwrap()
    };
    let count = match grid["type"].as_u64() {
        Some(1) => values(u64::from(bytes[cell]))[at]["value"].as_f64().unwrap(),
        _ => {
            let n = zones[0]["values"].as_array().unwrap().len();
            let start = 4 * (cell * n + at);
            f64::from(i32::from_le_bytes(bytes[start..start + 4].try_into().unwrap()))
        }
    };
    count * zones[0]["values"][at]["scale"].as_f64().unwrap()
}

/// 50 places by a fixed rule, then the four corners.
fn some_cells(n_cols: usize, n_rows: usize) -> Vec<(usize, usize)> {
    let mut state = 7_u64;
    let mut next = |n: usize| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((state >> 33) % n as u64) as usize
    };
    let mut cells: Vec<(usize, usize)> = (0..50).map(|_| (next(n_cols), next(n_rows))).collect();
    cells.extend([(0, 0), (n_cols - 1, 0), (0, n_rows - 1), (n_cols - 1, n_rows - 1)]);
    cells
}

/// Holds what a reader tells against the field's own polygons.
fn compare(told: &Value, field: &TaskField, version: TaskSetVersion) {
    assert_eq!(told["warnings"].as_array().map(Vec::len), Some(0), "{:#?}", told["warnings"]);
    assert_eq!(told["fields"][0]["name"], field.name.as_str());
    assert_eq!(told["fields"][0]["area_m2"].as_f64().unwrap(), field.area_m2.round());
    let tasks = told["tasks"].as_array().unwrap();
    assert_eq!(tasks.len(), 3);
    assert_eq!(tasks[0]["name"], "1 Lime, fall, after harvest and", "{version:?}");
    for (task, pass) in tasks.iter().zip(&field.passes) {
        let zones = task["zones"].as_array().unwrap();
        let values = |code: &Value| {
            let zone = zones.iter().find(|zone| zone["code"] == *code).expect("special zones are zones");
            zone["values"].as_array().unwrap()
        };
        for (at, product) in pass.products.iter().enumerate() {
            let value = |code: &Value| {
                values(code)[at]["value"].as_f64().unwrap() * values(code)[at]["scale"].as_f64().unwrap()
            };
            assert_eq!(value(&task["outside"]), 0.0);
            for code in [&task["lost"], &task["default"]] {
                let unit = product.unit.name();
                assert!((value(code) - product.lost_position_rate(LostPosition::Mean)).abs() <= bound(unit));
                assert_eq!(values(code)[at]["unit"], unit);
            }
            assert_eq!(values(&task["outside"])[at]["product"], product.name.as_str());
            if !task["grid"].is_null() {
                compare_cells(task, field, (at, product));
            }
        }
    }
}

fn compare_cells(task: &Value, field: &TaskField, (at, product): (usize, &TaskProduct)) {
    let grid = &task["grid"];
    let number = |name: &str| grid[name].as_f64().unwrap();
    let (n_cols, n_rows) = (number("cols") as usize, number("rows") as usize);
    assert!(n_cols <= 350 && n_rows <= 350 && n_cols != n_rows);
    let grounds = in_degrees(field, product);
    let (mut n_some, mut seen) = (0, Vec::new());
    for (col, row) in some_cells(n_cols, n_rows) {
        let lon = number("east") + (col as f64 + 0.5) * number("cell_east");
        let lat = number("north") + (row as f64 + 0.5) * number("cell_north");
        let Some(expected) = rate_at(&grounds, Point::new(lon, lat)) else { continue };
        let read = shown(task, row * n_cols + col, at);
        assert!(
            (read - expected).abs() <= bound(product.unit.name()),
            "{}: {read} at {lon} {lat}, {expected}",
            product.name
        );
        n_some += 1;
        seen.push(expected as i64);
    }
    seen.sort_unstable();
    seen.dedup();
    assert!(n_some >= 50 && seen.len() >= 3, "{seen:?}");
}

fn compare_outlines(told: &Value, field: &TaskField) {
    let area = |polygons: &Value| -> f64 {
        let ring = |ring: &Value| {
            let places = ring.as_array().unwrap().iter().map(|at| (at[0].as_f64().unwrap(), at[1].as_f64().unwrap()));
            LineString::from(places.collect::<Vec<_>>())
        };
        let polygon = |polygon: &Value| {
            let rings: Vec<LineString> = polygon.as_array().unwrap().iter().map(ring).collect();
            Polygon::new(rings[0].clone(), rings[1..].to_vec())
        };
        geo::Area::unsigned_area(&MultiPolygon::new(polygons.as_array().unwrap().iter().map(polygon).collect()))
    };
    let outline = &told["fields"][0]["polygons"];
    let expected = geo::Area::unsigned_area(&degrees(&field.lattice, &field.boundary));
    assert!((area(outline) / expected - 1.0).abs() < 1e-9, "{} {expected}", area(outline));
    assert_eq!(outline.as_array().unwrap().len(), field.boundary.len());
    // Outlines of zones, where there are any, part the field.
    for task in told["tasks"].as_array().unwrap().iter().filter(|task| task["grid"].is_null()) {
        let zones = task["zones"].as_array().unwrap().iter();
        let sum: f64 = zones.map(|zone| area(&zone["polygons"])).sum();
        assert!((sum / expected - 1.0).abs() < 1e-9, "{sum} {expected}");
    }
}

#[test]
fn npm_isoxml_reads_every_task_set_without_a_warning_and_every_rate_where_it_belongs() {
    for (name, lon, lat) in PLACES {
        let field = field(name, lon, lat);
        for version in [TaskSetVersion::V3, TaskSetVersion::V4] {
            for form in [TaskSetForm::Grid, TaskSetForm::Polygons] {
                let set = task_set(std::slice::from_ref(&field), &settings(version, form)).unwrap();
                let folder = tempfile::tempdir().unwrap();
                let Some(told) = by_node(&put(folder.path(), &set).1) else { return };
                compare(&told, &field, version);
                compare_outlines(&told, &field);
                compare_own_cells(&told["tasks"][2], &field);
            }
        }
    }
}

/// Cells of a grid of rates where the reader itself says they lie.
fn compare_own_cells(task: &Value, field: &TaskField) {
    let cells = task["grid"]["cells"].as_array().unwrap();
    let n_some = cells.iter().step_by(cells.len() / 60).filter(|cell| {
        let number = |at: usize| cell[at].as_f64().unwrap();
        let place = Point::new(number(0), number(1));
        for (at, product) in field.passes[2].products.iter().enumerate() {
            let Some(expected) = rate_at(&in_degrees(field, product), place) else { return false };
            let scale = task["zones"][0]["values"][at]["scale"].as_f64().unwrap();
            assert!((number(2 + at) * scale - expected).abs() <= bound(product.unit.name()), "{place:?} {expected}");
        }
        true
    });
    assert!(n_some.count() >= 50);
}

#[test]
fn pypi_isoxml_and_the_limits_of_the_schemas_take_every_task_set() {
    for (name, lon, lat) in PLACES {
        let field = field(name, lon, lat);
        for version in [TaskSetVersion::V3, TaskSetVersion::V4] {
            for form in [TaskSetForm::Grid, TaskSetForm::Polygons] {
                let set = task_set(std::slice::from_ref(&field), &settings(version, form)).unwrap();
                let folder = tempfile::tempdir().unwrap();
                let Some(told) = by_python(&put(folder.path(), &set).0) else { return };
                compare(&told, &field, version);
                // The data dictionary as that package carries it: units and the size of a count.
                let entry = |task: usize, at: usize| told["tasks"][task]["zones"][0]["values"][at].clone();
                for (value, ddi, unit, size) in
                    [(entry(0, 0), "0006", "mg/m²", 1.0), (entry(2, 1), "0001", "mm³/m²", 0.01)]
                {
                    assert_eq!((value["ddi"].as_str(), value["dictionary_unit"].as_str()), (Some(ddi), Some(unit)));
                    assert_eq!(value["dictionary_size"].as_f64(), Some(size));
                }
            }
        }
    }
}

#[test]
fn gdal_rasterize_gives_the_same_cells() {
    // GDAL burns a polygon into the cells whose center it holds.
    for (name, lon, lat) in PLACES {
        let field = field(name, lon, lat);
        let frame = GridFrame::covering(&field);
        let product = &field.passes[1].products[0];
        let grounds: Vec<&[LatticePolygon]> = product.grounds.iter().map(|ground| &ground.polygons[..]).collect();
        let cells = ground_of_cells(&frame, &field.lattice, &grounds);
        let folder = tempfile::tempdir().unwrap();
        let (source, target) = (folder.path().join("grounds.geojson"), folder.path().join("cells.tif"));
        let features: Vec<geojson::Feature> = (1..)
            .zip(&product.grounds)
            .map(|(index, ground)| {
                let geometry = geojson::GeometryValue::from(&degrees(&field.lattice, &ground.polygons));
                let mut feature = geojson::Feature::from(geometry);
                feature.set_property("ground", index);
                feature
            })
            .collect();
        std::fs::write(&source, geojson::FeatureCollection::from_iter(features).to_string()).unwrap();
        let degrees = |e9: i64| format!("{:.9}", e9 as f64 / 1e9);
        let east = frame.west_e9 + frame.cell_east_e9 * frame.n_cols as i64;
        let north = frame.south_e9 + frame.cell_north_e9 * frame.n_rows as i64;
        let output = Command::new("gdal_rasterize")
            .args(["-q", "-a", "ground", "-ot", "Byte", "-init", "0", "-te"])
            .args([degrees(frame.west_e9), degrees(frame.south_e9), degrees(east), degrees(north)])
            .args(["-ts".to_owned(), frame.n_cols.to_string(), frame.n_rows.to_string()])
            .args([&source, &target])
            .output();
        let Ok(output) = output else {
            assert!(outside::printed("gdal_rasterize", &["--version".as_ref()]).is_none());
            return;
        };
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        let burnt = gdal::Dataset::open(&target).unwrap().rasterband(1).unwrap().read_band_as::<u8>().unwrap();
        let from_south: Vec<u16> =
            burnt.data().chunks_exact(frame.n_cols).rev().flatten().map(|&code| u16::from(code)).collect();
        let n_unlike = from_south.iter().zip(&cells).filter(|(burnt, cell)| burnt != cell).count();
        assert_eq!(n_unlike, 0, "{name}: {n_unlike} of {} cells", cells.len());
    }
}

#[test]
fn every_cell_of_random_fields_carries_the_rate_of_the_polygon_its_center_lies_in() {
    let mut n_fields = 0;
    for (seed, coverage) in (3_000..).filter_map(|seed| Some((seed, coverage(seed)?))).take(40) {
        n_fields += 1;
        let ground = |(zone, rate): (holdground::coverage::ZonePolygons, f64)| RatedGround {
            name: format!("zone {}", zone.zone),
            rate: if zone.ground == Ground::SetBack { 0.0 } else { rate },
            is_kept_off: zone.ground == Ground::SetBack,
            area_m2: 1.0,
            polygons: zone.polygons,
        };
        let product = |setbacks: &[usize], unit, scale: f64| {
            let zones = coverage.merge(setbacks).unwrap();
            let rates = (1..).map(|index| scale * f64::from(index));
            TaskProduct { name: format!("{unit:?}"), unit, grounds: zones.into_iter().zip(rates).map(ground).collect() }
        };
        let products = vec![product(&[0], RateUnit::LbAc, 12.5), product(&[1], RateUnit::GalAc, 1.75)];
        let single = vec![product(&[0, 1], RateUnit::ShortTonAc, 0.25)];
        let pass = |number, products| TaskPass { number, name: "P".to_owned(), products };
        let field = TaskField {
            name: "F".to_owned(),
            short: "F".to_owned(),
            lattice: coverage.lattice,
            boundary: coverage.outline().unwrap(),
            area_m2: 1.0,
            cell_m: [0.7, 2.0, 4.1][seed as usize % 3],
            passes: vec![pass(1, products), pass(2, single)],
        };
        let set = task_set(std::slice::from_ref(&field), &settings(TaskSetVersion::V3, TaskSetForm::Grid)).unwrap();
        let frame = GridFrame::covering(&field);
        assert!(frame.n_cols <= 350 && frame.n_rows <= 350);
        let (rates, codes) = (&set.files[1].bytes, &set.files[2].bytes);
        assert_eq!((rates.len(), codes.len()), (frame.n_cells() * 8, frame.n_cells()));
        let xml = String::from_utf8(set.files[0].bytes.clone()).unwrap();
        let counts = zone_counts(xml.split("<TSK A=\"TSK2\"").nth(1).unwrap());
        assert!(codes.iter().all(|&code| usize::from(code) < counts.len()), "every code is a zone");
        let per_unit = [112.085_115_6, 93_539.562_3, 224_170.231];
        let grounds: Vec<_> =
            field.passes.iter().flat_map(|pass| &pass.products).map(|product| in_degrees(&field, product)).collect();
        for cell in (0..frame.n_cells()).step_by(1 + frame.n_cells() / 400) {
            let (lon, lat) = frame.center(cell % frame.n_cols, cell / frame.n_cols);
            let count = |at: usize| f64::from(i32::from_le_bytes(rates[8 * cell + 4 * at..][..4].try_into().unwrap()));
            let read = [count(0), count(1), counts[usize::from(codes[cell])]];
            for (at, grounds) in grounds.iter().enumerate() {
                if let Some(expected) = rate_at(grounds, Point::new(lon, lat)) {
                    assert!((read[at] - expected * per_unit[at]).abs() <= 0.51, "seed {seed}, cell {cell}, {expected}");
                }
            }
        }
    }
    assert_eq!(n_fields, 40);
}

/// Counts of the zones of a task, by code: `<TZN A="0" ..>` then `<PDV A=".." B="count"`.
fn zone_counts(task: &str) -> Vec<f64> {
    let attribute = |text: &str, name: &str| {
        text.split(&format!(" {name}=\"")).nth(1).unwrap().split('"').next().unwrap().to_owned()
    };
    let zones = task.split("<TZN").skip(1).enumerate().map(|(index, zone)| {
        assert_eq!(attribute(zone, "A"), index.to_string());
        attribute(zone.split("<PDV").nth(1).unwrap(), "B").parse().unwrap()
    });
    zones.collect()
}

#[test]
fn several_fields_make_one_set_with_unlike_names_and_files() {
    let fields = [field("North field", -93.6, 41.5), field("North field", 148.3, -33.2)];
    let set = task_set(&fields, &settings(TaskSetVersion::V3, TaskSetForm::Grid)).unwrap();
    let paths: Vec<&str> = set.files.iter().map(|file| file.path.as_str()).collect();
    let grids: Vec<String> = (1..=6).map(|n| format!("TASKDATA/GRD0000{n}.bin")).collect();
    assert_eq!(
        paths,
        std::iter::once("TASKDATA/TASKDATA.XML").chain(grids.iter().map(String::as_str)).collect::<Vec<_>>()
    );
    let folder = tempfile::tempdir().unwrap();
    let Some(told) = by_python(&put(folder.path(), &set).0) else { return };
    let names = |list: &Value| -> Vec<String> {
        list.as_array().unwrap().iter().map(|item| item["name"].as_str().unwrap().to_owned()).collect()
    };
    for mut names in [names(&told["fields"]), names(&told["tasks"])] {
        let n = names.len();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), n, "{names:?}");
    }
    assert_eq!(told["tasks"][3]["field"], "North field (2)");
}
