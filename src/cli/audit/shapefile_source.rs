//! A shapefile from its parts, byte by byte; GDAL opens it too, as another reader.

use gdal::spatial_ref::SpatialRef;
use gdal::vector::LayerAccess as _;
use geo::{Coord, LineString, MapCoordsInPlace as _, MultiPolygon};
use holdground::audit::package::{folder_and_name, stem_and_ending};
use holdground::audit::ring_roles::polygons_of;
use holdground::audit::shape::{Shape, ShapeSet};
use holdground::audit::shapefile_parts::{
    FILE_CODE, Index, Part, ShapeRecord, Shapefile, Shapes, TableField, TableFile,
};
use holdground::audit::table::{Column, Table};
use holdground::audit::{Form, Prescription, Remark};
use holdground::crs::{InputCrs, keep_gdal_quiet, take_gdal_messages};
use holdground::diagnostic::Place;

use super::load::LoadedFile;
use super::memory::{Memory, stated_crs};
use super::{table_layers, validity};

/// Reads a shapefile from its parts.
pub(super) fn read(parts: &[&LoadedFile]) -> Prescription {
    let of = |wanted: &str| parts.iter().find(|part| ending(part) == wanted).copied();
    let main = of("shp").unwrap_or(parts[0]);
    let name = folder_and_name(&main.inner).1;
    let mut file = Shapefile {
        file: main.shown.clone(),
        stem: stem_and_ending(name).0.to_owned(),
        shapes: of("shp").map(read_shapes),
        index: of("shx").map(|part| Index {
            stated_bytes: 2 * u64::from(big_endian(&part.bytes, 24)),
            n_bytes: part.bytes.len() as u64,
        }),
        table: of("dbf").map(read_table),
        encoding: of("cpg").map(|part| String::from_utf8_lossy(&part.bytes).trim().to_owned()),
        ..Shapefile::default()
    };
    // The `.shp` first: other parts are held against its name.
    let mut in_order: Vec<&&LoadedFile> = parts.iter().collect();
    in_order.sort_by_key(|part| (ending(part) != "shp", ending(part)));
    for part in in_order {
        let name = folder_and_name(&part.inner).1.to_owned();
        file.parts.push(Part { name, ending: ending(part), shown: part.shown.clone() });
    }
    let mut crs = None;
    if let Some(part) = of("prj") {
        keep_gdal_quiet();
        let text = String::from_utf8_lossy(&part.bytes);
        let known = SpatialRef::from_esri(text.trim()).map_err(|_| format!("`{}`", shortened(&text)));
        file.crs = Some(known.and_then(stated_crs).map(|(input, stated)| {
            crs = Some(input);
            stated
        }));
        take_gdal_messages();
    }
    let mut prescription = Prescription { name: main.shown.clone(), ..Prescription::default() };
    if let Some(shapes) = &file.shapes {
        prescription.shape_sets.push(shape_set(&file.stem, shapes, crs.as_ref().filter(|_| !is_wgs_84(&file))));
    }
    if let Some(table) = &file.table {
        prescription.tables.push(attributes(table));
    }
    prescription.layers = table_layers::layers(&prescription, &file.stem);
    let is_whole = ["shp", "shx", "dbf"].iter().all(|wanted| of(wanted).is_some());
    if is_whole {
        prescription.remarks = second_reading(&file, parts);
    }
    prescription.form = Some(Form::Shapefile(file));
    validity::look(&mut prescription);
    prescription
}

fn is_wgs_84(file: &Shapefile) -> bool {
    matches!(&file.crs, Some(Ok(crs)) if crs.is_wgs_84)
}

/// Polygons of all records, in longitude and latitude where the file says how; else as the numbers stand.
fn shape_set(stem: &str, shapes: &Shapes, crs: Option<&InputCrs>) -> ShapeSet {
    let shape = |(index, record): (usize, &ShapeRecord)| {
        let rings: Vec<LineString> = record.rings.iter().map(|ring| LineString::from(ring.clone())).collect();
        let mut polygons = polygons_of(rings);
        if let Some(crs) = crs {
            to_lon_lat(&mut polygons, crs);
        }
        let place = Place::Record { file: shapes.file.clone(), record: index + 1, part: String::new() };
        Shape { place, polygons, invalid: None }
    };
    ShapeSet::new(stem, shapes.file.clone(), shapes.records.iter().enumerate().map(shape).collect())
}

/// Turns polygons into longitude and latitude; they stay as they are where their system cannot hold them.
pub(super) fn to_lon_lat(polygons: &mut MultiPolygon, crs: &InputCrs) {
    use geo::CoordsIter as _;
    let (mut xs, mut ys): (Vec<f64>, Vec<f64>) = polygons.coords_iter().map(|at| at.x_y()).unzip();
    if crs.to_lon_lat(&mut xs, &mut ys).is_err() {
        return;
    }
    // Corners come in the order they are kept, so a queue gives each its own.
    let places = std::cell::RefCell::new(xs.into_iter().zip(ys));
    polygons.map_coords_in_place(|at| places.borrow_mut().next().map_or(at, |(x, y)| Coord { x, y }));
}

/// What GDAL says of the file: whether it opens, how many records it finds, what it remarks.
fn second_reading(file: &Shapefile, parts: &[&LoadedFile]) -> Vec<Remark> {
    // One stem and small endings: how the names differ is a rule of its own.
    let named: Vec<(String, &[u8])> =
        parts.iter().map(|part| (format!("audited.{}", ending(part)), part.bytes.as_slice())).collect();
    let memory = Memory::of(named.iter().map(|(name, bytes)| (name.as_str(), *bytes)));
    let refusal = |text: String| vec![Remark { file: file.file.clone(), is_refusal: true, text }];
    let dataset = match memory.open("audited.shp", "ESRI Shapefile", false) {
        Ok(dataset) => dataset,
        Err(why) => return refusal(why),
    };
    let Ok(mut layer) = dataset.layer(0) else { return refusal("it has no layer".to_owned()) };
    let n_read = layer.features().count();
    let mut remarks = memory.remarks(&file.file);
    // Open rings have a rule of their own.
    remarks.retain(|remark| !remark.text.starts_with("Non closed ring"));
    let n_own = file.shapes.as_ref().map_or(0, |shapes| shapes.records.len());
    let n_rows = file.table.as_ref().map_or(0, |table| table.n_records);
    if n_read != n_own && n_read != n_rows && remarks.is_empty() {
        let text = format!("GDAL reads {n_read} records, there are {n_own} shapes");
        remarks.push(Remark { file: file.file.clone(), is_refusal: true, text });
    }
    remarks
}

fn read_shapes(part: &LoadedFile) -> Shapes {
    let bytes = &part.bytes;
    let mut shapes = Shapes {
        file: part.shown.clone(),
        file_code: big_endian(bytes, 0) as i32,
        stated_bytes: 2 * u64::from(big_endian(bytes, 24)),
        n_bytes: bytes.len() as u64,
        shape_type: little_endian_i32(bytes, 32).unwrap_or(0),
        ..Shapes::default()
    };
    let mut at = 100;
    while shapes.file_code == FILE_CODE && at + 8 <= bytes.len() {
        let length = 2 * big_endian(bytes, at + 4) as usize;
        let Some(content) = bytes.get(at + 8..at + 8 + length) else {
            shapes.ends_early = Some(format!("record {} reaches beyond the end of the file", shapes.records.len() + 1));
            break;
        };
        match read_record(content) {
            Some(record) => shapes.records.push(record),
            None => {
                shapes.ends_early = Some(format!("record {} is shorter than it says", shapes.records.len() + 1));
                break;
            }
        }
        at += 8 + length;
    }
    shapes
}

/// A record's type and rings; types other than polygons have none here.
fn read_record(content: &[u8]) -> Option<ShapeRecord> {
    let shape_type = little_endian_i32(content, 0)?;
    let mut record = ShapeRecord { shape_type, rings: Vec::new() };
    if ![5, 15, 25].contains(&shape_type) {
        return Some(record);
    }
    let n_rings = usize::try_from(little_endian_i32(content, 36)?).ok()?;
    let n_points = usize::try_from(little_endian_i32(content, 40)?).ok()?;
    let points_at = n_rings.checked_mul(4)?.checked_add(44)?;
    let points = content.get(points_at..points_at.checked_add(n_points.checked_mul(16)?)?)?;
    let starts: Vec<usize> = (0..n_rings)
        .map(|ring| little_endian_i32(content, 44 + 4 * ring).and_then(|start| usize::try_from(start).ok()))
        .collect::<Option<_>>()?;
    for (ring, start) in starts.iter().enumerate() {
        let end = starts.get(ring + 1).copied().unwrap_or(n_points);
        let points = points.get(16 * start..16 * end)?;
        let number = |eight: &[u8]| f64::from_le_bytes(eight.try_into().unwrap_or_default());
        record.rings.push(points.chunks_exact(16).map(|point| (number(&point[..8]), number(&point[8..]))).collect());
    }
    Some(record)
}

fn read_table(part: &LoadedFile) -> TableFile {
    let bytes = &part.bytes;
    let two = |at: usize| bytes.get(at..at + 2).map_or(0, |two| usize::from(two[0]) | usize::from(two[1]) << 8);
    let mut table = TableFile {
        file: part.shown.clone(),
        version: bytes.first().copied().unwrap_or(0),
        n_records: little_endian_i32(bytes, 4).and_then(|n| usize::try_from(n).ok()).unwrap_or(0),
        header_bytes: two(8),
        record_bytes: two(10),
        n_bytes: bytes.len(),
        encoding_byte: bytes.get(29).copied().unwrap_or(0),
        ..TableFile::default()
    };
    let mut at = 32;
    while let Some(field) = bytes.get(at..at + 32).filter(|field| field[0] != 0x0d) {
        let end = field[..11].iter().position(|byte| *byte == 0);
        table.fields.push(TableField {
            name: String::from_utf8_lossy(&field[..end.unwrap_or(11)]).into_owned(),
            is_ended: end.is_some(),
            kind: char::from(field[11]),
            width: usize::from(field[16]),
            decimals: usize::from(field[17]),
        });
        at += 32;
    }
    table.texts = vec![Vec::new(); table.fields.len()];
    let rows = bytes.get(table.header_bytes..).unwrap_or(&[]);
    for row in rows.chunks_exact(table.record_bytes.max(1)).take(table.n_records) {
        let mut from = 1;
        for (field, texts) in table.fields.iter().zip(&mut table.texts) {
            let cell = row.get(from..from + field.width).unwrap_or(&[]);
            table.has_other_letters |= field.kind == 'C' && !cell.is_ascii();
            texts.push(String::from_utf8_lossy(cell).into_owned());
            from += field.width;
        }
    }
    table
}

fn attributes(table: &TableFile) -> Table {
    let blank = |text: &String| Some(text.trim_matches(['\0', ' ']).to_owned()).filter(|text| !text.is_empty());
    let column = |(field, texts): (&TableField, &Vec<String>)| Column {
        name: field.name.clone(),
        is_number: ['N', 'F', 'B', 'I', 'O'].contains(&field.kind),
        texts: texts.iter().map(blank).collect(),
    };
    Table { file: table.file.clone(), columns: table.fields.iter().zip(&table.texts).map(column).collect() }
}

fn ending(file: &LoadedFile) -> String {
    stem_and_ending(folder_and_name(&file.inner).1).1.to_lowercase()
}

fn big_endian(bytes: &[u8], at: usize) -> u32 {
    bytes.get(at..at + 4).map_or(0, |four| u32::from_be_bytes([four[0], four[1], four[2], four[3]]))
}

fn little_endian_i32(bytes: &[u8], at: usize) -> Option<i32> {
    bytes.get(at..at + 4).map(|four| i32::from_le_bytes([four[0], four[1], four[2], four[3]]))
}

/// The first letters of a text.
fn shortened(text: &str) -> String {
    text.trim().chars().take(40).collect()
}
