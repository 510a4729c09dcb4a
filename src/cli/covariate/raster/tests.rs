use std::path::PathBuf;

use gdal::DriverManager;
use gdal::raster::Buffer;
use gdal::spatial_ref::SpatialRef;
use tempfile::TempDir;

use super::*;

/// 1 cm in degrees.
const TOL_DEG: f64 = 1e-7;
/// About 170 m by 220 m.
const FIELD: [f64; 4] = [-93.501, -93.499, 40.999, 41.001];

/// A GeoTIFF of one 32-bit band; cells count from 0, row by row.
fn geo_tiff(
    folder: &TempDir,
    size: ColumnRow,
    affine: GeoTransform,
    epsg: Option<u32>,
    no_data: Option<f64>,
) -> PathBuf {
    let path = folder.path().join("dense.tif");
    let driver = DriverManager::get_driver_by_name("GTiff").expect("built in");
    let mut dataset = driver.create_with_band_type::<f32, _>(&path, size.0, size.1, 1).expect("made");
    dataset.set_geo_transform(&affine).expect("set");
    if let Some(code) = epsg {
        dataset.set_spatial_ref(&SpatialRef::from_epsg(code).expect("in the register")).expect("set");
    }
    let mut band = dataset.rasterband(1).expect("one band");
    band.set_no_data_value(no_data).expect("set");
    let cells: Vec<f32> = (0..size.0 * size.1).map(|cell| cell as f32).collect();
    band.write((0, 0), size, &mut Buffer::new(size, cells)).expect("written");
    path
}

fn folder() -> TempDir {
    tempfile::tempdir().expect("a folder")
}

fn codes(faults: &[Diagnostic]) -> Vec<&'static str> {
    faults.iter().map(|fault| fault.code.name).collect()
}

#[test]
fn only_the_window_round_the_field_is_read_at_cell_centers() {
    let folder = folder();
    // Cells of 10 m; the center of column 200, row 300 is easting 457949.159038, northing 4538877.438193:
    // lon -93.5, lat 41.0 [project reference table].
    let (west, north) = (457_949.159_038 - 2005.0, 4_538_877.438_193 + 3005.0);
    let path = geo_tiff(&folder, (400, 600), [west, 10.0, 0.0, north, 0.0, -10.0], Some(32615), None);
    let file = read_covariate_raster(&path, FIELD, None).expect("readable");
    let middle = file.values.iter().find(|(_, _, value)| *value == (300 * 400 + 200) as f64).expect("in the window");
    assert!((middle.0 + 93.5).abs() < 1e-9 && (middle.1 - 41.0).abs() < 1e-9, "{middle:?}");
    // 0.002 degree are 168.4 m of longitude and 222.1 m of latitude here: 17 by 23 cells, 1 by rounding, 2 a side.
    assert!((21 * 27..=23 * 29).contains(&file.values.len()), "{}", file.values.len());
    assert_eq!(file.crs_name, "WGS 84 / UTM zone 15N (EPSG:32615)");
    assert_eq!((file.accuracy.as_str(), file.notes.len()), ("same datum as WGS 84, no shift", 0));
    // All of the field is there.
    let [west, east, south, north] = FIELD;
    let reach = |pick: fn(&(f64, f64, f64)) -> f64| {
        let values = file.values.iter().map(pick);
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
    };
    let ((w, e), (s, n)) = (reach(|cell| cell.0), reach(|cell| cell.1));
    assert!(w < west && e > east && s < south && n > north);
}

#[test]
fn a_turned_raster_is_read_by_all_six_numbers() {
    let folder = folder();
    // Degrees, turned by about 30 degrees: x = -93.5 + 4e-5 col - 2e-5 row, y = 41 - 2e-5 col - 4e-5 row.
    let affine = [-93.5, 4e-5, -2e-5, 41.0, -2e-5, -4e-5];
    let path = geo_tiff(&folder, (60, 50), affine, Some(4326), None);
    let file = read_covariate_raster(&path, [-93.5001, -93.4999, 40.9985, 40.9995], None).expect("readable");
    assert!(!file.values.is_empty());
    for (lon, lat, value) in file.values {
        let (col, row) = (value as usize % 60, value as usize / 60);
        let (col, row) = (col as f64 + 0.5, row as f64 + 0.5);
        assert!((lon - (-93.5 + 4e-5 * col - 2e-5 * row)).abs() < TOL_DEG);
        assert!((lat - (41.0 - 2e-5 * col - 4e-5 * row)).abs() < TOL_DEG);
    }
}

#[test]
fn cells_without_data_are_left_out_and_counted() {
    let folder = folder();
    let affine = [-93.501, 0.001, 0.0, 41.001, 0.0, -0.001];
    let path = geo_tiff(&folder, (2, 2), affine, Some(4326), Some(3.0));
    let file = read_covariate_raster(&path, FIELD, None).expect("readable");
    assert_eq!(file.values.iter().map(|cell| cell.2).collect::<Vec<_>>(), [0.0, 1.0, 2.0]);
    assert!((file.values[0].0 + 93.5005).abs() < TOL_DEG && (file.values[0].1 - 41.0005).abs() < TOL_DEG);
    assert_eq!(file.notes[0].message, "1 of 4 cells round the field have no data and are left out");
    // The mark of many elevation rasters, written with fewer digits than the cells have.
    let grid = "ncols 2\nnrows 2\nxllcorner -93.501\nyllcorner 40.999\ncellsize 0.001\nNODATA_value -3.4028e38\n1.5 -3.4028e38\nnan 4\n";
    let path = folder.path().join("dense.asc");
    std::fs::write(&path, grid).expect("written");
    let file = read_covariate_raster(&path, FIELD, Some("EPSG:4326")).expect("readable");
    assert_eq!(file.values.iter().map(|cell| cell.2).collect::<Vec<_>>(), [1.5, 4.0]);
}

#[test]
fn a_raster_without_crs_or_place_is_refused_and_a_stated_one_taken() {
    let folder = folder();
    let path = geo_tiff(&folder, (2, 2), [-93.501, 0.001, 0.0, 41.001, 0.0, -0.001], None, None);
    let faults = read_covariate_raster(&path, FIELD, None).expect_err("no CRS");
    assert_eq!(codes(&faults), ["raster-without-place"]);
    assert!(faults[0].message.ends_with("does not state its coordinate reference system"));
    let file = read_covariate_raster(&path, FIELD, Some("EPSG:4326")).expect("stated");
    assert_eq!((file.values.len(), file.crs_name.as_str()), (4, "WGS 84 (EPSG:4326)"));
    assert_eq!(codes(&read_covariate_raster(&path, FIELD, Some("EPSG:99999")).expect_err("none")), ["unknown-crs"]);
    let driver = DriverManager::get_driver_by_name("GTiff").expect("built in");
    let bare = folder.path().join("bare.tif");
    drop(driver.create_with_band_type::<f32, _>(&bare, 2, 2, 1).expect("made"));
    let faults = read_covariate_raster(&bare, FIELD, Some("EPSG:4326")).expect_err("no place");
    assert!(faults[0].message.ends_with("does not state where its cells lie"), "{}", faults[0].message);
}

#[test]
fn other_ground_too_many_cells_and_another_crs_are_refused() {
    let folder = folder();
    let path = geo_tiff(&folder, (2, 2), [-92.501, 0.001, 0.0, 41.001, 0.0, -0.001], Some(4326), None);
    assert_eq!(codes(&read_covariate_raster(&path, FIELD, None).expect_err("a degree east")), ["raster-beside-field"]);
    let path = geo_tiff(&folder, (2100, 2100), [-93.5011, 1e-6, 0.0, 41.0011, 0.0, -1e-6], Some(4326), None);
    let faults = read_covariate_raster(&path, FIELD, None).expect_err("a decimeter");
    assert_eq!(codes(&faults), ["raster-too-fine"]);
    let path = geo_tiff(&folder, (2, 2), [-93.501, 0.001, 0.0, 41.001, 0.0, -0.001], Some(4326), None);
    assert_eq!(
        codes(&read_covariate_raster(&path, FIELD, Some("EPSG:4267")).expect_err("NAD27")),
        ["stated-crs-differs"]
    );
    assert!(read_covariate_raster(&path, FIELD, Some("+proj=longlat +datum=WGS84")).is_ok());
    let every_cell_blank = geo_tiff(&folder, (1, 1), [-93.501, 0.002, 0.0, 41.001, 0.0, -0.002], Some(4326), Some(0.0));
    assert_eq!(
        codes(&read_covariate_raster(&every_cell_blank, FIELD, None).expect_err("blank")),
        ["covariate-without-values"]
    );
    let cut = folder.path().join("cut.tif");
    let whole = std::fs::read(&path).expect("there");
    std::fs::write(&cut, &whole[..whole.len() / 3]).expect("written");
    for (path, code) in [(cut, "unreadable-covariate"), (folder.path().join("none.tif"), "unreadable-covariate")] {
        assert_eq!(codes(&read_covariate_raster(&path, FIELD, None).expect_err("no raster")), [code]);
    }
}
