//! `gis/field.gpkg`: samples, outline, zones and rates of a field in one GeoPackage, for the edge to write and compare.
//!
//! Layers, in order: `samples` (points), `boundary`, `zones`, `rates` of each product and pass (multipolygons), as far as there are any; all in
//! longitude and latitude, names in lower case.

use super::{Column, ColumnKind, Record, Report, Value, VectorLayer};
use crate::coverage::{Lattice, LatticePolygon};
use crate::soil_surface::Variable;
use crate::units::M2_PER_ACRE;

/// Path below the result folder.
pub const FIELD_PACKAGE: &str = "gis/field.gpkg";
/// Room for a sample's name, bytes.
const NAME_BYTES: usize = 254;

/// A GeoPackage.
#[derive(Debug, Clone, PartialEq)]
pub struct GeoPackage {
    /// Path below the result folder, parts joined by `/`.
    pub path: String,
    /// Date written into it, ISO 8601; `None` = not stated.
    pub issued: Option<String>,
    /// The samples.
    pub points: PointLayer,
    /// Layers of polygons: (name in lower case, layer). Their columns are written in lower case too.
    pub areas: Vec<(String, VectorLayer)>,
}

/// A layer of points.
#[derive(Debug, Clone, PartialEq)]
pub struct PointLayer {
    /// Name, lower case.
    pub name: &'static str,
    /// Attributes, in order.
    pub columns: Vec<Column>,
    /// Longitude and latitude in degrees, and one value a column.
    pub records: Vec<((f64, f64), Vec<Value>)>,
}

/// The package of a report. `rates` are the layers of all passes and products with the ends of their names: `2_pot`. A
/// layer alone is called `rates`; several are `rates_2_pot`, since each covers the whole field.
pub fn field_package(
    report: &Report<'_>,
    (lattice, boundary): (Lattice, &[LatticePolygon]),
    zones: Option<VectorLayer>,
    rates: Vec<(String, VectorLayer)>,
) -> GeoPackage {
    let mut areas = vec![("boundary".to_owned(), boundary_layer(report, lattice, boundary))];
    areas.extend(zones.map(|layer| ("zones".to_owned(), layer)));
    let is_alone = rates.len() == 1;
    areas.extend(rates.into_iter().map(|(end, layer)| {
        let name = if is_alone { "rates".to_owned() } else { format!("rates_{end}") };
        (name, layer)
    }));
    let issued = report.field_file.field.issued.clone();
    GeoPackage { path: FIELD_PACKAGE.to_owned(), issued, points: sample_layer(report), areas }
}

fn boundary_layer(report: &Report<'_>, lattice: Lattice, boundary: &[LatticePolygon]) -> VectorLayer {
    let text = |name: &str| Column { name: name.to_owned(), kind: ColumnKind::Text { width: NAME_BYTES } };
    let area = Column { name: "AREA_AC".to_owned(), kind: ColumnKind::Number { width: 10, decimals: 2 } };
    let values = vec![Value::Text(report.field_file.field.name.clone()), Value::Number(report.area_m2() / M2_PER_ACRE)];
    let record = Record { id: 1, values, polygons: boundary.to_vec() };
    VectorLayer { lattice, columns: vec![text("FIELD"), area], records: vec![record] }
}

/// Samples with every mapped quantity they give.
fn sample_layer(report: &Report<'_>) -> PointLayer {
    let variables: Vec<Variable> = report.surfaces.quality.iter().map(|quality| quality.variable).collect();
    let mut columns = vec![Column { name: "sample".to_owned(), kind: ColumnKind::Text { width: NAME_BYTES } }];
    columns.extend(variables.iter().map(|variable| Column {
        name: variable.key().to_owned(),
        kind: ColumnKind::Number { width: 12, decimals: variable.decimals() + 1 },
    }));
    let record = |sample: &crate::samples::Sample| {
        let mut values = vec![Value::Text(sample.id.clone())];
        values.extend(variables.iter().map(|v| v.of_sample(sample).map_or(Value::Unknown, Value::Number)));
        ((sample.lon, sample.lat), values)
    };
    PointLayer { name: "samples", columns, records: report.samples.samples.iter().map(record).collect() }
}
