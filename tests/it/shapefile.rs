//! Shapefiles as others read them: the `shapefile` crate, GDAL, its program `ogrinfo` and the bytes themselves.

use std::collections::HashMap;
use std::path::Path;

use gdal::vector::LayerAccess as _;
use holdground::export::{OutputFile, Value, VectorLayer, WGS_84_PRJ, shapefile};
use holdground::field_file::ShapefileRecords;
use shapefile::dbase::FieldValue;
use shapefile::{Polygon, PolygonRing};

use crate::layers::{hole_and_island, number, random_layer, text};
use crate::outside::printed;

const ENDINGS: [&str; 5] = ["shp", "shx", "dbf", "prj", "cpg"];

fn files(layer: &VectorLayer, records: ShapefileRecords) -> Vec<OutputFile> {
    shapefile(layer, "TEST_1_POT", records, Some("2026-03-02")).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

fn bytes<'a>(files: &'a [OutputFile], ending: &str) -> &'a [u8] {
    &files.iter().find(|file| file.path == format!("TEST_1_POT.{ending}")).unwrap().bytes
}

fn messages(layer: &VectorLayer, stem: &str) -> Vec<(String, String)> {
    let faults = shapefile(layer, stem, ShapefileRecords::Zones, None).unwrap_err();
    faults.iter().map(|fault| (fault.code.name.to_owned(), fault.message.clone())).collect()
}

fn put(folder: &Path, files: &[OutputFile]) -> std::path::PathBuf {
    files.iter().for_each(|file| std::fs::write(folder.join(&file.path), &file.bytes).unwrap());
    folder.join("TEST_1_POT.shp")
}

fn big_endian(bytes: &[u8], at: usize) -> usize {
    u32::from_be_bytes(bytes[at..at + 4].try_into().unwrap()) as usize
}

fn double(bytes: &[u8], at: usize) -> f64 {
    f64::from_le_bytes(bytes[at..at + 8].try_into().unwrap())
}

/// Twice the area of a ring, counter-clockwise above 0, degrees from its first point.
fn doubled_area(ring: &[(f64, f64)]) -> f64 {
    let from = |at: (f64, f64)| (at.0 - ring[0].0, at.1 - ring[0].1);
    ring.windows(2).map(|pair| (from(pair[0]), from(pair[1]))).map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum()
}

#[test]
fn five_files_with_the_headers_the_format_asks_for() {
    // Offsets and values: shapefile technical description (1998), pages 2 to 9; dBASE III table header [M].
    let files = files(&hole_and_island(), ShapefileRecords::Zones);
    assert_eq!(files.iter().map(|file| &file.path[11..]).collect::<Vec<_>>(), ENDINGS);
    let (shp, shx, dbf) = (bytes(&files, "shp"), bytes(&files, "shx"), bytes(&files, "dbf"));
    for main in [shp, shx] {
        assert_eq!(big_endian(main, 0), 9994);
        assert_eq!(2 * big_endian(main, 24), main.len());
        assert_eq!(u32::from_le_bytes(main[28..32].try_into().unwrap()), 1000);
        assert_eq!(u32::from_le_bytes(main[32..36].try_into().unwrap()), 5, "polygons without heights");
        let extent = [36, 44, 52, 60].map(|at| double(main, at));
        assert_eq!(extent, [-93.6123457, 42.0123451, -93.6033457, 42.0213451]);
        assert_eq!([68, 76, 84, 92].map(|at| double(main, at)), [0.0; 4]);
    }
    // Each record where the index says, numbered from 1, of type 5.
    for record in 0..2 {
        let at = 2 * big_endian(shx, 100 + 8 * record);
        assert_eq!(big_endian(shp, at), record + 1);
        assert_eq!(big_endian(shp, at + 4), big_endian(shx, 104 + 8 * record));
        assert_eq!(shp[at + 8..at + 12], [5, 0, 0, 0]);
    }
    assert_eq!(dbf[0], 0x03, "dBASE III without memo");
    assert_eq!(dbf[1..4], [126, 3, 2], "2 March 2026");
    assert_eq!(dbf[4..8], [2, 0, 0, 0]);
    let (header, record) = (usize::from(dbf[8]) + 256 * usize::from(dbf[9]), usize::from(dbf[10]));
    assert_eq!((header, record, dbf[11]), (32 + 5 * 32 + 1, 1 + 4 + 10 + 12 + 32 + 10, 0));
    assert_eq!(dbf.len(), header + 2 * record + 1);
    assert_eq!((dbf[29], dbf[header - 1], dbf[dbf.len() - 1]), (0, 0x0D, 0x1A));
    for column in 0..5 {
        let at = 32 + 32 * column;
        assert_eq!(dbf[at + 10], 0, "NUL at byte 11 of the name");
        assert!([b'C', b'N'].contains(&dbf[at + 11]));
    }
    assert_eq!(&dbf[header..header + 15], b"    1    115.50");
    assert_eq!(&dbf[header + record..header + record + 15], b"    2          ", "unknown is blank");
    // The words GDAL 3.6 writes for WGS 84, no newline.
    let prj = "GEOGCS[\"GCS_WGS_1984\",DATUM[\"D_WGS_1984\",SPHEROID[\"WGS_1984\",6378137.0,298.257223563]],PRIMEM[\"Greenwich\",0.0],UNIT[\"Degree\",0.0174532925199433]]";
    assert_eq!((bytes(&files, "prj"), WGS_84_PRJ), (prj.as_bytes(), prj));
    assert_eq!(bytes(&files, "cpg"), b"UTF-8");
}

#[test]
fn gdal_writes_the_same_words_for_wgs_84() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("gdal.shp");
    let mut dataset =
        gdal::DriverManager::get_driver_by_name("ESRI Shapefile").unwrap().create_vector_only(&path).unwrap();
    let wgs_84 = gdal::spatial_ref::SpatialRef::from_epsg(4326).unwrap();
    let options = gdal::vector::LayerOptions {
        name: "gdal",
        srs: Some(&wgs_84),
        ty: gdal::vector::OGRwkbGeometryType::wkbPolygon,
        options: None,
    };
    dataset.create_layer(options).unwrap();
    dataset.close().unwrap();
    assert_eq!(std::fs::read_to_string(path.with_extension("prj")).unwrap(), WGS_84_PRJ);
}

#[test]
fn exteriors_run_clockwise_and_holes_follow_theirs_the_other_way() {
    let folder = tempfile::tempdir().unwrap();
    let path = put(folder.path(), &files(&hole_and_island(), ShapefileRecords::Zones));
    let mut reader = shapefile::Reader::from_path(path).unwrap();
    let records: Vec<(Polygon, shapefile::dbase::Record)> =
        reader.iter_shapes_and_records_as().collect::<Result<_, _>>().unwrap();
    assert_eq!(records.len(), 2);
    let of = |polygon: &Polygon| -> Vec<(bool, f64, usize)> {
        let ring = |ring: &PolygonRing<shapefile::Point>| {
            let places: Vec<(f64, f64)> = ring.points().iter().map(|point| (point.x, point.y)).collect();
            assert_eq!(places.first(), places.last());
            (matches!(ring, PolygonRing::Outer(_)), doubled_area(&places), places.len())
        };
        polygon.rings().iter().map(ring).collect()
    };
    // Field with hole, its hole, the island in the hole.
    let rings = of(&records[0].0);
    assert_eq!(
        rings.iter().map(|ring| (ring.0, ring.1 < 0.0, ring.2)).collect::<Vec<_>>(),
        [(true, true, 5), (false, false, 5), (true, true, 5)]
    );
    assert!(rings[0].1.abs() > rings[1].1.abs() && rings[1].1.abs() > rings[2].1.abs());
    assert_eq!(of(&records[1].0).iter().map(|ring| ring.0).collect::<Vec<_>>(), [true, false]);
}

#[test]
fn one_record_a_patch_on_demand() {
    let files = files(&hole_and_island(), ShapefileRecords::Patches);
    let folder = tempfile::tempdir().unwrap();
    let dataset = gdal::Dataset::open(put(folder.path(), &files)).unwrap();
    let mut layer = dataset.layer(0).unwrap();
    let found: Vec<(String, f64)> = layer
        .features()
        .map(|feature| {
            let area = feature.field_index("AREA_AC").unwrap();
            (feature.geometry().unwrap().geometry_name(), feature.field_as_double(area).unwrap().unwrap())
        })
        .collect();
    assert!(found.iter().all(|(kind, _)| kind == "POLYGON"), "{found:?}");
    // 12.5 ac shared by 9 x 9 - 5 x 5 = 56 to 1; the other zone's patch keeps its own.
    assert_eq!(found.iter().map(|(_, area)| *area).collect::<Vec<_>>(), [12.28, 0.22, 12.5]);
    assert_eq!(files[0].layer.as_ref().unwrap().layer, hole_and_island().by_patch());
}

#[test]
fn ogrinfo_reads_what_was_meant() {
    let folder = tempfile::tempdir().unwrap();
    let path = put(folder.path(), &files(&hole_and_island(), ShapefileRecords::Zones));
    let Some(said) = printed("ogrinfo", &["-ro".as_ref(), "-al".as_ref(), path.as_ref()]) else { return };
    for line in [
        "Feature Count: 2",
        "Extent: (-93.612346, 42.012345) - (-93.603346, 42.021345)",
        "ZONE: Integer (4.0)",
        "RATE: Real (10.2)",
        "UNIT: String (12.0)",
        "PRODUCT: String (32.0)",
        "  RATE (Real) = 115.50",
        "  RATE (Real) = (null)",
        "  PRODUCT (String) = Potash 0-0-60",
        "DBF_DATE_LAST_UPDATE=2026-03-02",
        "ID[\"EPSG\",4326]",
    ] {
        assert!(said.contains(line), "{line} not in\n{said}");
    }
}

#[test]
fn shapelib_finds_no_ring_to_turn_and_the_same_table() {
    // Debian's `shapelib`: `shpdump -validate` looks at the directions and roles of rings.
    let folder = tempfile::tempdir().unwrap();
    let path = put(folder.path(), &files(&hole_and_island(), ShapefileRecords::Zones));
    let Some(said) = printed("shpdump", &["-validate".as_ref(), path.as_ref()]) else { return };
    for words in ["Shapefile Type: Polygon   # of Shapes: 2", "0 object has invalid ring orderings"] {
        assert!(said.contains(words), "{words} not in\n{said}");
    }
    let table = path.with_extension("dbf");
    let Some(said) = printed("dbfdump", &["-h".as_ref(), table.as_ref()]) else { return };
    for words in [
        "Type=N/Integer, Title=`ZONE', Width=4, Decimals=0",
        "Type=N/Double, Title=`RATE', Width=10, Decimals=2",
        "Type=C/String, Title=`PRODUCT', Width=32, Decimals=0",
        "115.50 lb/ac",
        "(NULL) lb/ac",
    ] {
        assert!(said.contains(words), "{words} not in\n{said}");
    }
}

#[test]
fn random_fields_come_back_exactly() {
    let mut n_layers = 0;
    for layer in (1000..).filter_map(random_layer).take(20) {
        n_layers += 1;
        for records in [ShapefileRecords::Zones, ShapefileRecords::Patches] {
            let files = files(&layer, records);
            let expected = if records == ShapefileRecords::Zones { layer.clone() } else { layer.by_patch() };
            let folder = tempfile::tempdir().unwrap();
            let path = put(folder.path(), &files);
            by_the_crate(&path, &expected);
            by_gdal(&path, &expected);
        }
    }
    assert_eq!(n_layers, 20);
}

/// Vertices and attributes, by the `shapefile` crate.
fn by_the_crate(path: &Path, expected: &VectorLayer) {
    let mut reader = shapefile::Reader::from_path(path).unwrap();
    let records: Vec<(Polygon, shapefile::dbase::Record)> =
        reader.iter_shapes_and_records_as().collect::<Result<_, _>>().unwrap();
    assert_eq!(records.len(), expected.records.len());
    for ((polygon, values), record) in records.iter().zip(&expected.records) {
        let rings: Vec<Vec<(f64, f64)>> = polygon
            .rings()
            .iter()
            .map(|ring| ring.points().iter().rev().map(|point| (point.x, point.y)).collect())
            .collect();
        let in_degrees = |ring: &[_]| ring.iter().map(|vertex| expected.lattice.lon_lat(*vertex)).collect();
        let written: Vec<Vec<(f64, f64)>> = record.polygons.iter().flat_map(|p| p.rings()).map(in_degrees).collect();
        assert_eq!(rings, written);
        let values: HashMap<String, FieldValue> = values.clone().into_iter().collect();
        let text = record.values[1].text_in(expected.columns[1].kind).unwrap();
        assert_eq!(values["RATE"], FieldValue::Numeric(Some(text.parse().unwrap())));
        assert_eq!(values["PRODUCT"], FieldValue::Character(Some("Potash 0-0-60".to_owned())));
    }
}

/// Roles of rings and validity, by GDAL and GEOS.
fn by_gdal(path: &Path, expected: &VectorLayer) {
    let dataset = gdal::Dataset::open(path).unwrap();
    let mut layer = dataset.layer(0).unwrap();
    for (feature, record) in layer.features().zip(&expected.records) {
        let geometry = feature.geometry().unwrap();
        assert!(geometry.is_valid());
        let is_single = geometry.geometry_name() == "POLYGON";
        let n_holes = |index: usize| {
            if is_single { geometry.geometry_count() - 1 } else { geometry.get_geometry(index).geometry_count() - 1 }
        };
        let n_patches = if is_single { 1 } else { geometry.geometry_count() };
        assert_eq!(n_patches, record.polygons.len());
        let mut holes: Vec<usize> = (0..n_patches).map(n_holes).collect();
        let mut written: Vec<usize> = record.polygons.iter().map(|polygon| polygon.interiors.len()).collect();
        holes.sort_unstable();
        written.sort_unstable();
        assert_eq!(holes, written);
    }
}

#[test]
fn the_same_layer_gives_the_same_bytes_and_no_clock() {
    let layer = hole_and_island();
    assert_eq!(files(&layer, ShapefileRecords::Zones), files(&layer, ShapefileRecords::Zones));
    let undated = shapefile(&layer, "TEST_1_POT", ShapefileRecords::Zones, None).unwrap();
    assert_eq!(bytes(&undated, "dbf")[1..4], [0, 1, 1], "1 January 1900");
}

#[test]
fn names_of_ten_bytes_fit_and_of_eleven_are_refused() {
    let mut layer = hole_and_island();
    layer.columns[1].name = "RATE_LB_AC".to_owned();
    let files = files(&layer, ShapefileRecords::Zones);
    assert_eq!(&bytes(&files, "dbf")[64..76], b"RATE_LB_AC\0N");
    layer.columns[1].name = "RATE_LB_ACR".to_owned();
    layer.columns[2].name = "ZONE".to_owned();
    let found = messages(&layer, "TEST_1_POT");
    assert_eq!(found.len(), 2, "{found:?}");
    assert!(found.iter().all(|(code, _)| code == "shapefile-column-unfit"));
    assert!(found[0].1.contains("`RATE_LB_ACR`") && found[1].1.contains("`ZONE` is there twice"), "{found:?}");
}

#[test]
fn what_does_not_fit_is_told_with_column_record_and_value_and_never_cut() {
    let mut layer = hole_and_island();
    layer.records[0].values[1] = Value::Number(12_345_678.5);
    layer.records[0].values[3] = Value::Text("Potash of a name that is far too long".to_owned());
    layer.records[1].values[1] = Value::Number(f64::NAN);
    layer.records[1].values[0] = Value::Number(99_999.0);
    let found = messages(&layer, "TEST_1_POT");
    let expected = [
        ["record 1", "`RATE`", "`12345678.50` is 11 characters"],
        ["record 1", "`PRODUCT`", "is 37 bytes long, at most 32 expected"],
        ["record 2", "`ZONE`", "`99999` is 5 characters"],
        ["record 2", "`RATE`", "`NaN`"],
    ];
    assert_eq!(found.len(), 4, "{found:?}");
    for ((code, message), words) in found.iter().zip(expected) {
        assert_eq!(code, "shapefile-value-unfit");
        assert!(words.iter().all(|word| message.contains(word)), "{message}");
    }
    // One digit less, and the same text again.
    let mut layer = hole_and_island();
    layer.records[0].values[1] = Value::Number(1_234_567.5);
    assert!(bytes(&files(&layer, ShapefileRecords::Zones), "dbf").windows(10).any(|ten| ten == b"1234567.50"));
}

#[test]
fn names_of_files_and_empty_layers() {
    let layer = hole_and_island();
    for bad in ["", "NORTH_12_POTAS", "NORTH-1", "NÖRD_1", "a/b", "NORTH 1"] {
        assert_eq!(messages(&layer, bad)[0].0, "shapefile-name-unfit", "{bad}");
    }
    assert!(shapefile(&layer, "NORTH_12_POTA", ShapefileRecords::Zones, None).is_ok());
    let mut no_ground = layer.clone();
    no_ground.records[1].polygons.clear();
    assert_eq!(messages(&no_ground, "NORTH")[0].0, "record-without-ground");
    no_ground.records.clear();
    assert_eq!(messages(&no_ground, "NORTH")[0].0, "record-without-ground");
}

#[test]
fn text_beyond_ascii_is_utf_8_and_read_as_such() {
    let mut layer = hole_and_island();
    layer.columns = vec![text("PRODUCT", 12), number("RATE", 6, 1)];
    for record in &mut layer.records {
        record.values = vec![Value::Text("Düngekalk µ".to_owned()), Value::Number(80.0)];
    }
    assert_eq!(
        messages(&layer, "TEST")[0].1,
        "record 1: column `PRODUCT`: `Düngekalk µ` is 13 bytes long, at most 12 expected"
    );
    layer.columns[0] = text("PRODUCT", 13);
    let folder = tempfile::tempdir().unwrap();
    let dataset = gdal::Dataset::open(put(folder.path(), &files(&layer, ShapefileRecords::Zones))).unwrap();
    let mut layer = dataset.layer(0).unwrap();
    for feature in layer.features() {
        assert_eq!(feature.field_as_string(0).unwrap().unwrap(), "Düngekalk µ");
    }
}
