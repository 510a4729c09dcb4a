//! Rasters and packages: written, read back, and one thing expected otherwise at a time.

use holdground::export::{
    Column, ColumnKind, GeoPackage, GisContent, OutputFile, PointLayer, RasterCells, RasterLayer, RasterPlace, Value,
};

use super::tests::{layer, told};
use crate::cli::gis_file::make;

fn raster() -> RasterLayer {
    let cells = (0..7 * 5).map(|cell| if cell % 6 == 0 { holdground::export::NO_NUMBER } else { cell as f32 / 3.0 });
    RasterLayer {
        path: "gis/cec.tif".to_owned(),
        title: "CEC".to_owned(),
        product: Some("Kalk für Böden".to_owned()),
        unit: "meq/100 g".to_owned(),
        place: RasterPlace {
            crs: "EPSG:32615".to_owned(),
            west: 449_000.0,
            south: 4_650_005.0,
            cell_east: 5.0,
            cell_north: 5.0,
            n_cols: 7,
            n_rows: 5,
        },
        cells: RasterCells::Numbers(cells.collect()),
    }
}

fn package() -> GeoPackage {
    let columns = vec![
        Column { name: "sample".to_owned(), kind: ColumnKind::Text { width: 254 } },
        Column { name: "cec".to_owned(), kind: ColumnKind::Number { width: 12, decimals: 2 } },
    ];
    let record = |lon: f64, name: &str, value| ((lon, 42.012_345_6), vec![Value::Text(name.to_owned()), value]);
    let records = vec![record(-93.61, "A-1", Value::Number(12.345)), record(-93.611, "é", Value::Unknown)];
    GeoPackage {
        path: "gis/field.gpkg".to_owned(),
        issued: Some("2026-03-02".to_owned()),
        points: PointLayer { name: "samples", columns, records },
        areas: vec![("zones".to_owned(), layer())],
    }
}

fn files(content: GisContent) -> Vec<OutputFile> {
    make(vec![content]).unwrap_or_else(|failure| panic!("{:#?}", failure.diagnostics))
}

#[test]
fn what_was_made_reads_back_and_is_the_same_again() {
    let classes = RasterLayer {
        cells: RasterCells::Classes((0..35).map(|cell| cell % 4).collect()),
        unit: String::new(),
        ..raster()
    };
    let stated = RasterLayer {
        place: RasterPlace {
            crs: "+proj=tmerc +lat_0=0 +lon_0=-93 +datum=WGS84 +units=m +no_defs".to_owned(),
            ..raster().place
        },
        ..raster()
    };
    let lon_lat = RasterLayer {
        place: RasterPlace {
            crs: "EPSG:4326".to_owned(),
            west: -93.6,
            south: 42.0,
            cell_east: 0.000_060_5,
            cell_north: 0.000_045,
            ..raster().place
        },
        ..raster()
    };
    for content in
        [raster(), classes, stated, lon_lat].map(GisContent::Raster).into_iter().chain([GisContent::Package(package())])
    {
        let made = files(content.clone());
        assert_eq!(told(&made), None);
        assert_eq!(made, files(content), "no clock, no name of a temporary file");
    }
}

#[test]
fn coarser_views_of_classes_hold_no_class_in_between() {
    // Columns of 3 cells of class 1 and 3 of class 3: a mean would give 2.
    let (n_cols, n_rows) = (1200, 700);
    let cells = (0..n_cols * n_rows).map(|cell| if cell % n_cols / 3 % 2 == 0 { 1 } else { 3 }).collect();
    let large = RasterLayer {
        cells: RasterCells::Classes(cells),
        place: RasterPlace { n_cols, n_rows, ..raster().place },
        ..raster()
    };
    let made = files(GisContent::Raster(large));
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("large.tif");
    std::fs::write(&path, &made[0].bytes).unwrap();
    let dataset = gdal::Dataset::open(path).unwrap();
    let band = dataset.rasterband(1).unwrap();
    assert!(band.overview_count().unwrap() >= 2);
    for index in 0..2 {
        let view = band.overview(index).unwrap().read_band_as::<u8>().unwrap();
        assert!(view.data().iter().all(|class| [1, 3].contains(class)), "view {index}");
    }
}

#[test]
fn each_difference_of_a_raster_is_told() {
    type Change = fn(&mut RasterLayer);
    let changes: [(&str, Change, &str); 9] = [
        ("unit", |layer| layer.unit = "lb/ac".to_owned(), "its UNIT is `meq/100 g`"),
        ("product", |layer| layer.product = None, "its PRODUCT is `Kalk für Böden`, `` expected"),
        (
            "a cell",
            |layer| {
                if let RasterCells::Numbers(cells) = &mut layer.cells {
                    cells[8] = 2.7
                }
            },
            "row 4 from north, column 2",
        ),
        (
            "no value",
            |layer| {
                if let RasterCells::Numbers(cells) = &mut layer.cells {
                    cells[0] = 0.0
                }
            },
            "row 5 from north, column 1",
        ),
        ("kind", |layer| layer.cells = RasterCells::Classes(vec![0; 35]), "`no value` is"),
        ("place", |layer| layer.place.west += 0.01, "it lies at"),
        ("size of cells", |layer| layer.place.cell_north = 5.01, "it lies at"),
        ("number of cells", |layer| (layer.place.n_cols, layer.place.n_rows) = (5, 7), "7 by 5 cells, 5 by 7 expected"),
        ("CRS", |layer| layer.place.crs = "EPSG:32616".to_owned(), "its CRS is WGS 84 / UTM zone 15N"),
    ];
    for (name, change, expected) in changes {
        let mut made = files(GisContent::Raster(raster()));
        if let Some(GisContent::Raster(layer)) = &mut made[0].gis {
            change(layer);
        }
        let message = told(&made).unwrap_or_default();
        assert!(message.contains(expected), "{name}: {message}");
    }
}

#[test]
fn each_difference_of_a_package_is_told() {
    type Change = fn(&mut GeoPackage);
    let changes: [(&str, Change, &str); 9] = [
        ("a sample's place", |package| package.points.records[0].0.0 += 1e-7, "point 1 at"),
        (
            "a sample's name",
            |package| package.points.records[1].1[0] = Value::Text("e".to_owned()),
            "point 2: `sample`",
        ),
        ("a value", |package| package.points.records[0].1[1] = Value::Number(12.36), "point 1: `cec`"),
        ("a value that is not known", |package| package.points.records[1].1[1] = Value::Number(0.0), "point 2: `cec`"),
        (
            "a sample more",
            |package| package.points.records.push(package.points.records[0].clone()),
            "2 points, 3 expected",
        ),
        ("a layer", |package| package.areas[0].0 = "rates".to_owned(), "layers `samples`, `zones`"),
        ("a rate", |package| package.areas[0].1.records[1].values[1] = Value::Number(75.5), "record 2: `rate`"),
        ("a vertex", |package| package.areas[0].1.records[0].polygons[0].exterior[1].x += 1, "a vertex at"),
        ("a zone", |package| package.areas[0].1.records.truncate(1), "2 records, 1 expected"),
    ];
    for (name, change, expected) in changes {
        let mut made = files(GisContent::Package(package()));
        if let Some(GisContent::Package(package)) = &mut made[0].gis {
            change(package);
        }
        let message = told(&made).unwrap_or_default();
        assert!(message.contains(expected), "{name}: {message}");
    }
}

#[test]
fn a_file_that_was_cut_is_told() {
    for content in [GisContent::Raster(raster()), GisContent::Package(package())] {
        let mut made = files(content);
        let half = made[0].bytes.len() / 2;
        made[0].bytes.truncate(half);
        assert!(told(&made).is_some());
    }
}
