//! What names the points of a file carry, before anybody has said which attribute holds them.

use std::path::Path;

use gdal::vector::{LayerAccess, OGRwkbGeometryType, geometry_type_flatten};
use holdground::crs::take_gdal_messages;
use holdground::diagnostic::Diagnostic;
use holdground::samples::PlaceShape;
use holdground::start::PointNames;

use super::points::text_of;
use super::source::{Purpose, VectorFile};

/// Names by attribute, and whether the places are points or polygons.
pub(crate) struct NamesOfPoints {
    /// One entry an attribute, in file order.
    pub(crate) attributes: Vec<PointNames>,
    /// Points, or polygons where the file has no points.
    pub(crate) shape: PlaceShape,
    /// How many.
    pub(crate) n_places: usize,
}

/// Attributes of one place with their text.
type NamedCells = Vec<(String, Option<String>)>;

/// Reads the attributes of all points of a file; of its polygons where it has no points.
///
/// # Errors
/// The file cannot be read.
pub(crate) fn read_point_names(path: &Path) -> Result<NamesOfPoints, Vec<Diagnostic>> {
    let source = VectorFile::open(path, Purpose::Points)?;
    let mut rows: Vec<(PlaceShape, NamedCells)> = Vec::new();
    for mut layer in source.dataset.layers() {
        if source.is_gpx() && layer.name() != "waypoints" {
            continue;
        }
        let attributes: Vec<String> = layer.defn().fields().map(|field| field.name()).collect();
        for feature in layer.features() {
            let kind = feature.geometry().map(|geometry| geometry_type_flatten(geometry.geometry_type()));
            let shape = match kind {
                Some(OGRwkbGeometryType::wkbPoint | OGRwkbGeometryType::wkbMultiPoint) => PlaceShape::Points,
                Some(OGRwkbGeometryType::wkbPolygon | OGRwkbGeometryType::wkbMultiPolygon) => PlaceShape::Polygons,
                _ => continue,
            };
            let cells = attributes.iter().enumerate();
            rows.push((shape, cells.map(|(index, name)| (name.clone(), text_of(&feature, index))).collect()));
        }
    }
    // What GDAL said is told when the points are read for good.
    take_gdal_messages();
    let has_points = rows.iter().any(|(shape, _)| *shape == PlaceShape::Points);
    let shape = if has_points { PlaceShape::Points } else { PlaceShape::Polygons };
    rows.retain(|(of, _)| *of == shape);
    let mut attributes: Vec<PointNames> = Vec::new();
    for (index, (_, cells)) in rows.iter().enumerate() {
        for (attribute, text) in cells {
            let at = attributes.iter().position(|known| known.attribute == *attribute).unwrap_or_else(|| {
                attributes.push(PointNames { attribute: attribute.clone(), names: vec![None; rows.len()] });
                attributes.len() - 1
            });
            attributes[at].names[index] = text.clone();
        }
    }
    attributes.retain(|attribute| attribute.names.iter().any(Option::is_some));
    Ok(NamesOfPoints { attributes, shape, n_places: rows.len() })
}
