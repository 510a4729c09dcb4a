//! A GeoPackage through GDAL, its first bytes by themselves.

use gdal::Dataset;
use gdal::vector::sql::Dialect;
use gdal::vector::{FieldValue, LayerAccess, OGRFieldType, OGRwkbGeometryType};
use geo::MultiPolygon;
use holdground::audit::geo_package::{FeatureTable, GeoPackage};
use holdground::audit::shape::{Shape, ShapeSet, bounds};
use holdground::audit::table::{Column, Table};
use holdground::audit::{Form, Prescription, Remark};
use holdground::crs::InputCrs;
use holdground::diagnostic::Place;

use super::load::LoadedFile;
use super::memory::{Memory, stated_crs};
use super::shapefile_source::to_lon_lat;
use super::{table_layers, validity};

/// Reads a GeoPackage.
pub(super) fn read(loaded: &LoadedFile) -> Prescription {
    let mut prescription = Prescription { name: loaded.shown.clone(), ..Prescription::default() };
    let four = |at: usize| {
        loaded.bytes.get(at..at + 4).map_or(0, |four| u32::from_be_bytes([four[0], four[1], four[2], four[3]]))
    };
    let mut package = GeoPackage {
        file: loaded.shown.clone(),
        application_id: four(68),
        user_version: four(60),
        ..GeoPackage::default()
    };
    let memory = Memory::of([("audited.gpkg", loaded.bytes.as_slice())]);
    let dataset = match memory.open("audited.gpkg", "GPKG", false) {
        Ok(dataset) => dataset,
        Err(text) => {
            prescription.remarks = vec![Remark { file: loaded.shown.clone(), is_refusal: true, text }];
            return prescription;
        }
    };
    let rows = |query: &str| rows(&dataset, query);
    package.integrity = rows("PRAGMA integrity_check").into_iter().flatten().next().unwrap_or_default();
    let ids = rows("SELECT srs_id AS id FROM gpkg_spatial_ref_sys");
    package.reference_systems = ids.iter().flatten().filter_map(|text| text.parse().ok()).collect();
    let extents = rows("SELECT table_name, min_x, min_y, max_x, max_y FROM gpkg_contents");
    for mut layer in dataset.layers() {
        let (mut table, set, attributes) = read_table(&mut layer, &loaded.shown);
        let listed = extents.iter().find(|row| row.first() == Some(&table.name));
        table.stated_extent = listed.and_then(|row| {
            let numbers: Vec<f64> = row.iter().skip(1).filter_map(|text| text.parse().ok()).collect();
            numbers.try_into().ok()
        });
        package.tables.push(table);
        prescription.shape_sets.push(set);
        prescription.tables.push(attributes);
    }
    prescription.remarks = memory.remarks(&loaded.shown).into_iter().filter(|remark| remark.is_refusal).collect();
    if package.tables.len() > 1 {
        keep_tables_with_rates(&mut prescription);
    }
    prescription.layers = table_layers::layers(&prescription, &loaded.inner);
    prescription.form = Some(Form::GeoPackage(package));
    validity::look(&mut prescription);
    prescription
}

/// Of several tables those without rates are the outline, the samples or the zones: not orders, so not audited.
fn keep_tables_with_rates(prescription: &mut Prescription) {
    let has_rates = |table: &Table| !holdground::audit::rate_column::rate_columns(table).taken.is_empty();
    if !prescription.tables.iter().any(has_rates) {
        return;
    }
    let keep: Vec<bool> = prescription.tables.iter().map(has_rates).collect();
    let mut kept = keep.iter();
    prescription.shape_sets.retain(|_| *kept.next().unwrap_or(&true));
    let mut kept = keep.iter();
    prescription.tables.retain(|_| *kept.next().unwrap_or(&true));
}

fn read_table(layer: &mut gdal::vector::Layer<'_>, shown: &str) -> (FeatureTable, ShapeSet, Table) {
    let name = layer.name();
    let file = format!("{shown}, table `{name}`");
    let mut table = FeatureTable { name: name.clone(), ..FeatureTable::default() };
    let mut crs: Option<InputCrs> = None;
    // Undefined systems come as names of their own, not as none.
    let spatial_ref = layer.spatial_ref().filter(|found| found.is_geographic() || found.is_projected());
    table.crs = spatial_ref.map(|spatial_ref| {
        stated_crs(spatial_ref).map(|(input, stated)| {
            crs = Some(input).filter(|_| !stated.is_wgs_84);
            stated
        })
    });
    table.geometry = kind_name(layer.defn().geometry_type());
    let fields: Vec<(String, bool)> = layer
        .defn()
        .fields()
        .map(|field| {
            let numbers = [OGRFieldType::OFTInteger, OGRFieldType::OFTInteger64, OGRFieldType::OFTReal];
            (field.name(), numbers.contains(&field.field_type()))
        })
        .collect();
    let mut columns: Vec<Column> =
        fields.into_iter().map(|(name, is_number)| Column { name, is_number, texts: Vec::new() }).collect();
    let mut shapes = Vec::new();
    for (index, feature) in layer.features().enumerate() {
        let geometry = feature.geometry_by_index(0).ok().filter(|geometry| !geometry.is_empty());
        let mut polygons = MultiPolygon::new(Vec::new());
        if let Some(geometry) = geometry {
            let kind = kind_name(geometry.geometry_type());
            if !table.kinds.contains(&kind) {
                table.kinds.push(kind);
            }
            polygons = match geometry.to_geo() {
                Ok(geo::Geometry::Polygon(polygon)) => MultiPolygon::new(vec![polygon]),
                Ok(geo::Geometry::MultiPolygon(polygons)) => polygons,
                _ => polygons,
            };
        }
        let as_stored = bounds(std::iter::once(&polygons));
        table.extent = joined(table.extent, as_stored);
        if let Some(crs) = &crs {
            to_lon_lat(&mut polygons, crs);
        }
        for (number, column) in columns.iter_mut().enumerate() {
            column.texts.push(text_of(feature.field(number).ok().flatten()));
        }
        let place = Place::Record { file: file.clone(), record: index + 1, part: String::new() };
        shapes.push(Shape { place, polygons, invalid: None });
    }
    (table, ShapeSet::new(name, file.clone(), shapes), Table { file, columns })
}

fn joined(a: Option<[f64; 4]>, b: Option<[f64; 4]>) -> Option<[f64; 4]> {
    match (a, b) {
        (Some(a), Some(b)) => Some([a[0].min(b[0]), a[1].min(b[1]), a[2].max(b[2]), a[3].max(b[3])]),
        (a, b) => a.or(b),
    }
}

fn text_of(value: Option<FieldValue>) -> Option<String> {
    match value? {
        FieldValue::IntegerValue(number) => Some(number.to_string()),
        FieldValue::Integer64Value(number) => Some(number.to_string()),
        FieldValue::RealValue(number) => Some(number.to_string()),
        FieldValue::StringValue(text) => Some(text),
        _ => None,
    }
}

fn kind_name(kind: OGRwkbGeometryType::Type) -> String {
    match gdal::vector::geometry_type_flatten(kind) {
        OGRwkbGeometryType::wkbPolygon => "POLYGON".to_owned(),
        OGRwkbGeometryType::wkbMultiPolygon => "MULTIPOLYGON".to_owned(),
        OGRwkbGeometryType::wkbUnknown => "GEOMETRY".to_owned(),
        other => gdal::vector::geometry_type_to_name(other).to_uppercase(),
    }
}

/// Answers of the database, a text a column.
fn rows(dataset: &Dataset, query: &str) -> Vec<Vec<String>> {
    let Ok(Some(mut answer)) = dataset.execute_sql(query, None, Dialect::DEFAULT) else { return Vec::new() };
    answer
        .features()
        .map(|feature| feature.fields().map(|(_, value)| text_of(value).unwrap_or_default()).collect())
        .collect()
}
