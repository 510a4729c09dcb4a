//! A GeoPackage: one layer of points, then layers of multipolygons, all in longitude and latitude.

use gdal::config::{clear_thread_local_config_option, set_thread_local_config_option};
use gdal::errors::Result;
use gdal::vector::{
    Feature, FieldDefn, Geometry, Layer, LayerAccess as _, LayerOptions, OGRFieldType, OGRwkbGeometryType,
};
use gdal::{Dataset, DriverManager};
use holdground::coverage::{Lattice, LatticePolygon, Vertex};
use holdground::export::{Column, ColumnKind, GeoPackage, Value};

use super::{MemoryFile, spatial_ref};

/// GDAL's setting for the time that is written into a package.
const CURRENT_DATE: &str = "OGR_CURRENT_DATE";
/// The time where no date is stated: no clock is read.
const NO_DATE: &str = "1980-01-01";

/// The file's bytes; the same package gives the same bytes.
pub(super) fn bytes(package: &GeoPackage) -> Result<Vec<u8>> {
    let date = package.issued.as_deref().unwrap_or(NO_DATE);
    set_thread_local_config_option(CURRENT_DATE, &format!("{date}T00:00:00.000Z"))?;
    let bytes = dated_bytes(package);
    clear_thread_local_config_option(CURRENT_DATE)?;
    bytes
}

fn dated_bytes(package: &GeoPackage) -> Result<Vec<u8>> {
    let file = MemoryFile::new("gpkg");
    let mut dataset = DriverManager::get_driver_by_name("GPKG")?.create_vector_only(file.path())?;
    // One transaction: else SQLite would settle each row by itself.
    let mut transaction = dataset.start_transaction()?;
    let points = &package.points;
    let rows = points.records.iter().map(|((lon, lat), values)| (format!("POINT ({lon} {lat})"), values));
    write_layer(&mut transaction, points.name, OGRwkbGeometryType::wkbPoint, &points.columns, rows)?;
    for (name, layer) in &package.areas {
        let rows = layer.records.iter().map(|record| (multipolygon(&layer.lattice, &record.polygons), &record.values));
        write_layer(&mut transaction, name, OGRwkbGeometryType::wkbMultiPolygon, &layer.columns, rows)?;
    }
    transaction.commit()?;
    dataset.close()?;
    file.bytes()
}

/// Rows are a geometry as text, and one value a column.
fn write_layer<'a>(
    dataset: &mut Dataset,
    name: &str,
    kind: OGRwkbGeometryType::Type,
    columns: &[Column],
    rows: impl Iterator<Item = (String, &'a Vec<Value>)>,
) -> Result<()> {
    let wgs_84 = spatial_ref("EPSG:4326")?;
    let options = LayerOptions { name, srs: Some(&wgs_84), ty: kind, options: None };
    let layer = dataset.create_layer(options)?;
    for column in columns {
        let (field_type, width) = match column.kind {
            ColumnKind::Text { width } => (OGRFieldType::OFTString, width as i32),
            ColumnKind::Number { decimals: 0, .. } => (OGRFieldType::OFTInteger64, 0),
            ColumnKind::Number { .. } => (OGRFieldType::OFTReal, 0),
        };
        let field = FieldDefn::new(&column.name.to_lowercase(), field_type)?;
        field.set_width(width);
        field.add_to_layer(&layer)?;
    }
    rows.into_iter().try_for_each(|(geometry, values)| write_feature(&layer, &geometry, columns, values))
}

fn write_feature(layer: &Layer<'_>, geometry: &str, columns: &[Column], values: &[Value]) -> Result<()> {
    let mut feature = Feature::new(layer.defn())?;
    feature.set_geometry(Geometry::from_wkt(geometry)?)?;
    for (index, (column, value)) in columns.iter().zip(values).enumerate() {
        match (value.text_in(column.kind), column.kind) {
            (None, _) => feature.set_field_null(index)?,
            (Some(text), ColumnKind::Text { .. }) => feature.set_field_string(index, &text)?,
            // The numbers of every other file: rounded once, to the column's decimals.
            (Some(text), ColumnKind::Number { decimals: 0, .. }) => match text.parse() {
                Ok(number) => feature.set_field_integer64(index, number)?,
                Err(_) => feature.set_field_null(index)?,
            },
            (Some(text), ColumnKind::Number { .. }) => match text.parse::<f64>().ok().filter(|n| n.is_finite()) {
                Some(number) => feature.set_field_double(index, number)?,
                None => feature.set_field_null(index)?,
            },
        }
    }
    feature.create(layer)
}

/// Well-known text with the lattice's seven decimals.
fn multipolygon(lattice: &Lattice, polygons: &[LatticePolygon]) -> String {
    let place = |vertex: &Vertex| {
        let (lon, lat) = lattice.lon_lat_text(*vertex);
        format!("{lon} {lat}")
    };
    let ring = |ring: &[Vertex]| format!("({})", ring.iter().map(place).collect::<Vec<_>>().join(","));
    let polygon = |polygon: &LatticePolygon| format!("({})", polygon.rings().map(ring).collect::<Vec<_>>().join(","));
    format!("MULTIPOLYGON ({})", polygons.iter().map(polygon).collect::<Vec<_>>().join(","))
}
