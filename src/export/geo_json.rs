//! GeoJSON by RFC 7946: longitude and latitude, exterior rings counter-clockwise, 7 decimals, bbox, stable ids.
//!
//! Coordinates are printed as the shortest decimals that read back as the same number. For a place on the lattice these
//! are its own seven decimals without zeros at the end (`3e-7` within 1 m of the equator or Greenwich).

use geojson::feature::Id;
use geojson::{Bbox, Feature, FeatureCollection, GeometryValue, JsonObject, JsonValue, Position};

use super::vector_layer::{ColumnKind, Record, Value, VectorLayer};
use super::{OutputFile, VectorFormat, WrittenLayer};
use crate::coverage::{LatticePolygon, Vertex};

/// A layer as GeoJSON: one feature a record, always a MultiPolygon. `about` stands in one foreign member of the
/// collection, `holdground`.
///
/// # Guarantees
/// - rings run as section 3.1.6 wants, as those of [`LatticePolygon`] do; no `crs` member (section 4)
/// - `bbox` of the collection and of each feature is the extent (section 5); none where there is no polygon
/// - numbers are those of [`Value::text_in`]; what is not known, or is no number, is `null`
/// - the same layer gives the same bytes
pub fn geo_json(layer: &VectorLayer, about: JsonObject) -> String {
    let features = layer.records.iter().map(|record| feature(layer, record)).collect();
    let bbox = extent(layer, layer.records.iter().flat_map(|record| &record.polygons));
    let mut members = JsonObject::new();
    members.insert("holdground".to_owned(), JsonValue::Object(about));
    let mut text = FeatureCollection { bbox, features, foreign_members: Some(members) }.to_string();
    text.push('\n');
    text
}

/// [`geo_json`] as a file that carries its layer, for reading back.
pub fn geo_json_file(path: impl Into<String>, layer: VectorLayer, about: JsonObject) -> OutputFile {
    let mut file = OutputFile::new(path, geo_json(&layer, about));
    file.layer = Some(WrittenLayer { layer, format: VectorFormat::GeoJson });
    file
}

fn feature(layer: &VectorLayer, record: &Record) -> Feature {
    let position = |vertex: &Vertex| {
        let (lon, lat) = layer.lattice.lon_lat(*vertex);
        Position::from([lon, lat])
    };
    let rings = |polygon: &LatticePolygon| polygon.rings().map(|ring| ring.iter().map(position).collect()).collect();
    let coordinates = record.polygons.iter().map(rings).collect();
    let values = layer.columns.iter().zip(&record.values);
    let properties = values.map(|(column, value)| (column.name.clone(), property(column.kind, value))).collect();
    Feature {
        bbox: extent(layer, &record.polygons),
        geometry: Some(GeometryValue::MultiPolygon { coordinates }.into()),
        id: Some(Id::Number(record.id.into())),
        properties: Some(properties),
        foreign_members: None,
    }
}

/// West, south, east, north.
fn extent<'a>(layer: &VectorLayer, polygons: impl IntoIterator<Item = &'a LatticePolygon>) -> Option<Bbox> {
    let mut corners: Option<(Vertex, Vertex)> = None;
    for &Vertex { x, y } in polygons.into_iter().flat_map(|polygon| &polygon.exterior) {
        let (low, high) = corners.unwrap_or((Vertex { x, y }, Vertex { x, y }));
        corners = Some((Vertex { x: low.x.min(x), y: low.y.min(y) }, Vertex { x: high.x.max(x), y: high.y.max(y) }));
    }
    let (low, high) = corners?;
    let ((west, south), (east, north)) = (layer.lattice.lon_lat(low), layer.lattice.lon_lat(high));
    Some(vec![west, south, east, north])
}

fn property(kind: ColumnKind, value: &Value) -> JsonValue {
    let Some(text) = value.text_in(kind) else { return JsonValue::Null };
    match (kind, value) {
        (ColumnKind::Number { decimals: 0, .. }, Value::Number(number)) => {
            text.parse::<i64>().map_or((*number).into(), JsonValue::from)
        }
        // JSON has no NaN: `from` makes it null.
        (ColumnKind::Number { .. }, Value::Number(number)) => text.parse::<f64>().unwrap_or(*number).into(),
        _ => text.into(),
    }
}
