//! GeoTIFF and GeoPackage of a run as other programs see them: `gdalinfo`, `listgeo`, `ogrinfo`, `sqlite3`.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

use crate::check_close;
use crate::fixture::folder;
use crate::outside::printed;

/// The demo with all formats, run once for all tests here.
fn demo() -> &'static Path {
    static RUN: OnceLock<PathBuf> = OnceLock::new();
    RUN.get_or_init(|| {
        let place = Path::new(env!("CARGO_TARGET_TMPDIR")).join("gis_files");
        let _ = std::fs::remove_dir_all(&place);
        std::fs::create_dir_all(&place).unwrap();
        run_in(&place, |text| text);
        place
    })
}

/// Runs the demo with all formats, and more.
fn run_demo(edit: impl Fn(String) -> String) -> tempfile::TempDir {
    let place = tempfile::tempdir().unwrap();
    run_in(place.path(), edit);
    place
}

fn run_in(place: &Path, edit: impl Fn(String) -> String) {
    for entry in std::fs::read_dir(folder("demo")).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            std::fs::copy(&path, place.join(path.file_name().unwrap())).unwrap();
        }
    }
    let field = place.join("field.toml");
    let text = std::fs::read_to_string(&field).unwrap();
    std::fs::write(&field, edit(all_formats(text))).unwrap();
    let out = place.join("out");
    let output = Command::new(env!("CARGO_BIN_EXE_holdground"))
        .args(["run".as_ref(), field.as_os_str(), "--out".as_ref(), out.as_os_str()])
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
}

/// The field file with all formats but GeoJSON for the cab.
fn all_formats(text: String) -> String {
    let formats = "controller = [\"task-set-3\", \"shapefile\", \"geotiff\"]\n";
    let stated = text.lines().find(|line| line.starts_with("controller = ")).expect("the demo states its formats");
    text.replace(&format!("{stated}\n"), formats)
}

fn json(program: &str, arguments: &[&std::ffi::OsStr]) -> Option<serde_json::Value> {
    printed(program, arguments).map(|text| serde_json::from_str(&text).unwrap())
}

#[test]
fn gdalinfo_finds_place_crs_unit_and_values_of_every_raster() {
    let place = demo();
    let gis = place.join("out/gis");
    let rasters: Vec<_> = std::fs::read_dir(&gis)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "tif"))
        .collect();
    assert!(rasters.len() > 5, "{rasters:?}");
    for path in rasters.iter().chain([&place.join("out/for-the-cab/THREE_2_POT.tif")]) {
        let Some(told) = json("gdalinfo", &["-json".as_ref(), path.as_ref()]) else { return };
        let is_rate = path.ends_with("THREE_2_POT.tif");
        let is_zones = path.ends_with("zones.tif");
        assert_eq!(told["metadata"]["IMAGE_STRUCTURE"]["LAYOUT"], "COG", "{path:?}");
        let wkt = told["coordinateSystem"]["wkt"].as_str().unwrap();
        let code = if is_rate { "ID[\"EPSG\",4326]]" } else { "ID[\"EPSG\",32615]]" };
        assert!(wkt.trim_end().ends_with(code), "{wkt}");
        let band = &told["bands"][0];
        assert_eq!(band["type"], if is_zones { "Byte" } else { "Float32" });
        assert_eq!(band["noDataValue"].as_f64(), Some(if is_zones { 0.0 } else { -9999.0 }));
        let numbers = |value: &serde_json::Value| -> Vec<f64> {
            value.as_array().unwrap().iter().map(|number| number.as_f64().unwrap()).collect()
        };
        let affine = numbers(&told["geoTransform"]);
        assert!(affine[1] > 0.0 && affine[5] < 0.0 && affine[2] == 0.0 && affine[4] == 0.0, "{affine:?}");
        if !is_rate {
            assert_eq!((affine[1], affine[5]), (5.0, -5.0));
        }
    }
}

#[test]
fn listgeo_reads_the_keys_of_the_geotiff_standard() {
    // `listgeo` of libgeotiff: keys by OGC 19-008. It warns of GDAL's own tags (42112, 42113), and of nothing else.
    let place = demo();
    let listed = |name: &str| {
        let output = Command::new("listgeo").arg(place.join("out").join(name)).output();
        let Ok(output) = output else {
            assert!(printed("listgeo", &[]).is_none());
            return None;
        };
        let warnings = String::from_utf8_lossy(&output.stderr).into_owned();
        let is_known = |line: &str| line.is_empty() || line.contains("tag 42112") || line.contains("tag 42113");
        assert!(output.status.success() && warnings.lines().all(is_known), "{warnings}");
        Some(String::from_utf8_lossy(&output.stdout).into_owned())
    };
    let Some(rates) = listed("for-the-cab/THREE_2_POT.tif") else { return };
    let Some(zones) = listed("gis/zones.tif") else { return };
    for (text, words) in [
        (&rates, "GTModelTypeGeoKey (Short,1): ModelTypeGeographic"),
        (&rates, "GTRasterTypeGeoKey (Short,1): RasterPixelIsArea"),
        (&rates, "GCS: 4326/WGS 84"),
        (&zones, "GTModelTypeGeoKey (Short,1): ModelTypeProjected"),
        (&zones, "PCS = 32615"),
        (&zones, "ModelPixelScaleTag (1,3):\n         5                 5"),
    ] {
        assert!(text.contains(words), "{words} not in\n{text}");
    }
}

#[test]
fn ogrinfo_and_sqlite_find_a_whole_package() {
    let place = demo();
    let path = place.join("out/gis/field.gpkg");
    let bytes = std::fs::read(&path).unwrap();
    // SQLite's header: user version at 60, application id at 68; OGC 12-128, requirement 2: `GPKG` and 10200 for 1.2.
    assert_eq!((&bytes[68..72], &bytes[60..64]), (&b"GPKG"[..], &10_200_u32.to_be_bytes()[..]));
    let Some(said) = printed("ogrinfo", &["-ro".as_ref(), "-so".as_ref(), "-al".as_ref(), path.as_ref()]) else {
        return;
    };
    for words in [
        "Layer name: samples",
        "Geometry: Point",
        "Layer name: boundary",
        "Layer name: zones",
        "Layer name: rates",
        "Geometry: Multi Polygon",
        "rate: Real (0.0)",
        "ID[\"EPSG\",4326]",
        "zone: Integer64 (0.0)",
    ] {
        assert!(said.contains(words), "{words} not in\n{said}");
    }
    let ask = |sql: &str| printed("sqlite3", &[path.as_ref(), sql.as_ref()]);
    let Some(whole) = ask("PRAGMA integrity_check") else { return };
    assert_eq!(whole.trim(), "ok");
    // Requirement 11 of the standard: three reference systems.
    let systems = ask("SELECT srs_id FROM gpkg_spatial_ref_sys WHERE srs_id IN (-1, 0, 4326) ORDER BY srs_id").unwrap();
    assert_eq!(systems.split_whitespace().collect::<Vec<_>>(), ["-1", "0", "4326"]);
    let contents = ask("SELECT table_name, srs_id, last_change FROM gpkg_contents ORDER BY rowid").unwrap();
    // Samples, boundary, zones, and one layer for each of six rate files.
    assert_eq!(contents.lines().count(), 9);
    assert!(contents.lines().all(|line| line.contains("|4326|") && line.ends_with("T00:00:00.000Z")), "{contents}");
    // 160.5 ac, and the tons of the rate table: fixtures/demo/SOURCE.md and tables/rates.csv.
    let area: f64 = ask("SELECT sum(area_ac) FROM zones").unwrap().trim().parse().unwrap();
    check_close(area, 160.5, 0.1);
    let n_samples: usize = ask("SELECT count(*) FROM samples").unwrap().trim().parse().unwrap();
    assert!(n_samples > 30);
}

#[test]
fn the_rates_of_raster_task_set_and_table_order_the_same_product() {
    let place = demo();
    let out = place.join("out");
    let record: serde_json::Value =
        serde_json::from_slice(&std::fs::read(out.join("run_record.json")).unwrap()).unwrap();
    let listed: Vec<&str> =
        record["files"].as_array().unwrap().iter().map(|file| file["file"].as_str().unwrap()).collect();
    for name in [
        "READ-ME-FIRST.txt",
        "for-the-cab/TASKDATA/GRD00001.bin",
        "for-the-cab/TASKDATA/TASKDATA.XML",
        "gis/field.gpkg",
    ] {
        assert!(listed.contains(&name), "{name} not in {listed:?}");
    }
    let about: serde_json::Value =
        serde_json::from_slice(&std::fs::read(out.join("gis/THREE_2_POT.geojson")).unwrap()).unwrap();
    let total_lb = about["holdground"]["total_lb"].as_f64().unwrap();
    // Cells of 2.5 m in longitude and latitude: the sum of rate times area differs by what their edges cut off.
    let dataset = gdal::Dataset::open(out.join("for-the-cab/THREE_2_POT.tif")).unwrap();
    let cells = dataset.rasterband(1).unwrap().read_band_as::<f32>().unwrap();
    let sum: f64 = cells.data().iter().filter(|cell| **cell > 0.0).map(|cell| f64::from(*cell)).sum();
    check_close(sum * 2.5 * 2.5 / 4_046.856_422_4 / total_lb, 1.0, 0.005);
}

#[test]
fn the_audit_finds_the_plan_in_what_goes_on_the_stick() {
    // The audit's readers share no code with the writers.
    let polygons = run_demo(|text| text.replace("[write]\n", "[write]\ntask_set = \"polygons\"\n"));
    for place in [demo(), polygons.path()] {
        let out = place.join("out");
        let output = Command::new(env!("CARGO_BIN_EXE_holdground"))
            .args(["audit".as_ref(), out.join("for-the-cab").as_os_str(), "--against".as_ref(), out.as_os_str()])
            .output()
            .unwrap();
        let told = String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success() && told.contains("Nothing found that a controller would choke on"), "{told}");
    }
}

#[test]
fn the_same_run_gives_the_same_bytes_and_a_zip_holds_the_folder() {
    let read = |place: &Path, name: &str| std::fs::read(place.join("out").join(name)).unwrap();
    let (first, second) = (demo(), run_demo(|text| text));
    for name in ["gis/field.gpkg", "gis/cec.tif", "for-the-cab/THREE_2_POT.tif", "for-the-cab/TASKDATA/TASKDATA.XML"] {
        assert!(read(first, name) == read(second.path(), name), "{name} differs");
    }
    let zipped = run_demo(|text| {
        let text = text.replace("\"geotiff\"]", "\"geojson\"]");
        text.replace("[write]\n", "[write]\ntask_set_in = \"zip\"\nlayers_in = \"zip\"\n")
    });
    let bytes = read(zipped.path(), "for-the-cab/TASKDATA.zip");
    assert!(bytes.windows(21).any(|at| at == b"TASKDATA/TASKDATA.XML"));
    assert!(!zipped.path().join("out/for-the-cab/TASKDATA").exists());
    // Layers at the top of a zip each, as GDAL opens them: the same number of zones as in the file beside the maps.
    let entries = std::fs::read_dir(zipped.path().join("out/for-the-cab")).unwrap();
    assert!(entries.map(|entry| entry.unwrap().path()).all(|path| path.extension().is_some_and(|end| end == "zip")));
    for (zip, inner) in [("THREE_2_POT.zip", "THREE_2_POT.shp"), ("THREE_2_POT.geojson.zip", "THREE_2_POT.geojson")] {
        let path = format!("/vsizip/{}/{inner}", zipped.path().join("out/for-the-cab").join(zip).display());
        let Some(found) = printed("ogrinfo", &["-so".as_ref(), "-al".as_ref(), path.as_ref()]) else { return };
        assert!(found.contains("Feature Count: 3"), "{found}");
    }
    let text = std::fs::read_to_string(zipped.path().join("out/READ-ME-FIRST.txt")).unwrap();
    for words in ["Unpack TASKDATA.zip first", "|-- THREE_2_POT.geojson.zip\n", "|-- THREE_2_POT.zip\n"] {
        assert!(text.contains(words), "{words} not in\n{text}");
    }
}

#[test]
fn the_text_for_the_stick_says_what_the_screen_should_show() {
    let place = demo();
    let text = std::fs::read_to_string(place.join("out/READ-ME-FIRST.txt")).unwrap();
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    for words in [
        "    |-- TASKDATA\n    |   |-- GRD00001.bin\n",
        "    |-- THREE_2_POT.cpg .dbf .prj .shp .shx .tif\n",
        "POTASH 0-0-60: all rates are POUNDS of PRODUCT an acre, not of nutrient.",
        "UAN 28-0-0: all rates are US GALLONS of PRODUCT an acre, not of nutrient.",
        "AG LIME: all rates are SHORT TONS (2,000 lb) of PRODUCT an acre",
        "In TASKDATA it is the task 2 Before corn.",
        "The screen should show 2 rates, least 128 lb/ac, most 135 lb/ac, and ground",
        "    at A  4",
        " lb/ac\n    at B  4",
        " lb/ac\n    at C  4",
        "The task set orders 0",
        "Outside the outline and on ground kept off: 0.",
    ] {
        assert!(text.contains(words), "{words} not in\n{text}");
    }
    // The same total as in the rate table's file.
    let rates = std::fs::read(place.join("out/gis/THREE_2_POT.geojson")).unwrap();
    let rates: serde_json::Value = serde_json::from_slice(&rates).unwrap();
    let total = holdground::units::thousands(rates["holdground"]["total_lb"].as_f64().unwrap(), 0);
    assert!(text.contains(&format!("total {total} lb")), "{total} not in\n{text}");
}
