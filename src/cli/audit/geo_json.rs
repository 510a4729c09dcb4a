//! A GeoJSON file, member by member; GDAL opens it too, as another reader.

use geo::{LineString, MultiPolygon, Polygon};
use holdground::audit::geo_json::{GeoJsonFile, JsonFeature, JsonRing};
use holdground::audit::package::{folder_and_name, stem_and_ending};
use holdground::audit::shape::{Shape, ShapeSet};
use holdground::audit::table::{Column, Table};
use holdground::audit::{Form, Prescription, Remark};
use holdground::crs::InputCrs;
use holdground::diagnostic::Place;
use serde_json::Value;

use super::load::LoadedFile;
use super::memory::{Memory, stated_crs};
use super::shapefile_source::to_lon_lat;
use super::{table_layers, validity};

/// Whether the first letters of a file are those of a GeoJSON object.
pub(super) fn looks_like_it(bytes: &[u8]) -> bool {
    let start = String::from_utf8_lossy(&bytes[..bytes.len().min(4000)]).replace([' ', '\n', '\t', '\r'], "");
    let kinds = ["FeatureCollection", "Feature", "Polygon", "MultiPolygon", "GeometryCollection"];
    kinds.iter().any(|kind| start.contains(&format!("\"type\":\"{kind}\"")))
}

/// Reads a GeoJSON file.
pub(super) fn read(loaded: &LoadedFile) -> Prescription {
    let name = folder_and_name(&loaded.inner).1;
    let stem = stem_and_ending(name).0.to_owned();
    let has_byte_order_mark = loaded.bytes.starts_with(b"\xef\xbb\xbf");
    let bytes = if has_byte_order_mark { &loaded.bytes[3..] } else { &loaded.bytes[..] };
    let mut file = GeoJsonFile { file: loaded.shown.clone(), has_byte_order_mark, ..GeoJsonFile::default() };
    let mut prescription = Prescription { name: loaded.shown.clone(), ..Prescription::default() };
    match serde_json::from_slice::<Value>(bytes) {
        Ok(root) => {
            let mut crs = None;
            take_root(&root, &mut file, &mut crs);
            prescription.shape_sets.push(shape_set(&stem, &file, crs.as_ref()));
            prescription.tables.push(table(&root, &loaded.shown));
            prescription.layers = table_layers::layers(&prescription, &stem);
            prescription.remarks = second_reading(loaded, bytes, &file);
        }
        Err(error) => file.not_json = Some((error.line(), error.to_string())),
    }
    prescription.form = Some(Form::GeoJson(file));
    validity::look(&mut prescription);
    prescription
}

fn take_root(root: &Value, file: &mut GeoJsonFile, crs: &mut Option<InputCrs>) {
    file.root_type = root["type"].as_str().map(str::to_owned);
    file.bounds =
        root["bbox"].as_array().map(|numbers| numbers.iter().map(|n| n.as_f64().unwrap_or(f64::NAN)).collect());
    if let Some(member) = root.get("crs").filter(|member| !member.is_null()) {
        let name = member["properties"]["name"].as_str().map_or_else(|| member.to_string(), str::to_owned);
        let code = name.replace("urn:ogc:def:crs:", "").replace("::", ":").replace(":1.3:", ":");
        // CRS84 is WGS 84 with longitude first: what RFC 7946 means anyway.
        let text = if code.ends_with("CRS84") { "EPSG:4326".to_owned() } else { code };
        let known =
            gdal::spatial_ref::SpatialRef::from_definition(&text).ok().filter(|_| InputCrs::from_text(&text).is_ok());
        let stated = known.and_then(|spatial_ref| stated_crs(spatial_ref).ok());
        file.crs = Some((name, stated.as_ref().map(|(_, stated)| stated.clone())));
        *crs = stated.filter(|(_, stated)| !stated.is_wgs_84).map(|(input, _)| input);
    }
    let features = root["features"].as_array().map_or(&[][..], Vec::as_slice);
    file.features = features.iter().map(feature).collect();
}

fn feature(value: &Value) -> JsonFeature {
    let mut feature = JsonFeature {
        id: value.get("id").filter(|id| !id.is_null()).map(Value::to_string),
        has_members: (value.get("geometry").is_some(), value.get("properties").is_some()),
        geometry: value["geometry"]["type"].as_str().map(str::to_owned),
        ..JsonFeature::default()
    };
    let coordinates = &value["geometry"]["coordinates"];
    let polygons: Vec<&Value> = match feature.geometry.as_deref() {
        Some("Polygon") => vec![coordinates],
        Some("MultiPolygon") => coordinates.as_array().into_iter().flatten().collect(),
        _ => Vec::new(),
    };
    for (polygon, rings) in polygons.into_iter().enumerate() {
        for (number, ring) in rings.as_array().into_iter().flatten().enumerate() {
            let mut positions = Vec::new();
            for position in ring.as_array().into_iter().flatten() {
                let pair = position.as_array().filter(|numbers| (2..=3).contains(&numbers.len()));
                match pair.and_then(|numbers| Some((numbers[0].as_f64()?, numbers[1].as_f64()?))) {
                    Some((x, y)) => {
                        feature.decimals = feature.decimals.max(decimals(x)).max(decimals(y));
                        positions.push((x, y));
                    }
                    None => {
                        feature.bad_position.get_or_insert_with(|| position.to_string());
                    }
                }
            }
            feature.rings.push(JsonRing { polygon, is_exterior: number == 0, positions });
        }
    }
    feature
}

/// Digits after the point of the shortest text that gives the number back.
fn decimals(number: f64) -> usize {
    // Most numbers have few: checked by rounding, since writing a text for each costs the most.
    let rounded = (number * 1e7).round() / 1e7;
    if rounded == number {
        return 7;
    }
    format!("{number}").split_once('.').map_or(0, |(_, after)| after.len())
}

fn shape_set(stem: &str, file: &GeoJsonFile, crs: Option<&InputCrs>) -> ShapeSet {
    let shape = |(index, feature): (usize, &JsonFeature)| {
        let mut polygons: Vec<(usize, Polygon)> = Vec::new();
        for ring in feature.rings.iter().filter(|ring| ring.positions.len() >= 3) {
            let line = LineString::from(ring.positions.clone());
            match polygons.last_mut() {
                Some((number, polygon)) if *number == ring.polygon => polygon.interiors_push(line),
                _ => polygons.push((ring.polygon, Polygon::new(line, Vec::new()))),
            }
        }
        let mut polygons: MultiPolygon = polygons.into_iter().map(|(_, polygon)| polygon).collect();
        if let Some(crs) = crs {
            to_lon_lat(&mut polygons, crs);
        }
        let place = Place::Record { file: file.file.clone(), record: index + 1, part: String::new() };
        Shape { place, polygons, invalid: None }
    };
    ShapeSet::new(stem, file.file.clone(), file.features.iter().enumerate().map(shape).collect())
}

/// Properties of all features; a column is one of numbers if no value in it is anything else.
fn table(root: &Value, file: &str) -> Table {
    let features = root["features"].as_array().map_or(&[][..], Vec::as_slice);
    let mut columns: Vec<Column> = Vec::new();
    for (record, feature) in features.iter().enumerate() {
        for (name, value) in feature["properties"].as_object().into_iter().flatten() {
            let index = columns.iter().position(|column| column.name == *name).unwrap_or_else(|| {
                columns.push(Column { name: name.clone(), is_number: true, texts: vec![None; record] });
                columns.len() - 1
            });
            let column = &mut columns[index];
            column.texts.resize(record, None);
            column.is_number &= value.is_number() || value.is_null();
            column.texts.push(match value {
                Value::Null => None,
                Value::String(text) => Some(text.clone()),
                other => Some(other.to_string()),
            });
        }
    }
    for column in &mut columns {
        column.texts.resize(features.len(), None);
        column.is_number &= column.texts.iter().any(Option::is_some);
    }
    Table { file: file.to_owned(), columns }
}

fn second_reading(loaded: &LoadedFile, bytes: &[u8], file: &GeoJsonFile) -> Vec<Remark> {
    // What a rule already tells in its own words GDAL need not tell again.
    let is_told = file.features.iter().any(|feature| feature.bad_position.is_some() || !feature.has_members.0)
        || file.root_type.as_deref() != Some("FeatureCollection")
        || file.crs.as_ref().is_some_and(|(_, crs)| crs.is_none());
    if is_told {
        return Vec::new();
    }
    let memory = Memory::of([("audited.geojson", bytes)]);
    match memory.open("audited.geojson", "GeoJSON", false) {
        Ok(_) => memory.remarks(&loaded.shown).into_iter().filter(|remark| remark.is_refusal).collect(),
        Err(text) => vec![Remark { file: loaded.shown.clone(), is_refusal: true, text }],
    }
}
