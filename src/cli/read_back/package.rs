//! A GeoPackage as read against the layers it was made of.

use std::path::Path;

use gdal::vector::{LayerAccess as _, OGRwkbGeometryType};
use gdal::{Dataset, DatasetOptions, GdalOpenFlags};
use holdground::export::{GeoPackage, PointLayer, VectorFormat, VectorLayer, WrittenLayer};

use super::{compare_crs, compare_layer, read_text};

/// Compares a file; the first difference, as words.
pub(super) fn compare(path: &Path, written: &GeoPackage) -> Result<(), String> {
    let options = DatasetOptions {
        open_flags: GdalOpenFlags::GDAL_OF_VECTOR | GdalOpenFlags::GDAL_OF_VERBOSE_ERROR,
        allowed_drivers: Some(&["GPKG"]),
        ..DatasetOptions::default()
    };
    let dataset = Dataset::open_ex(path, options).map_err(|error| format!("it does not open: {error}"))?;
    let names: Vec<String> = dataset.layers().map(|layer| layer.name()).collect();
    let wanted: Vec<&str> =
        std::iter::once(written.points.name).chain(written.areas.iter().map(|(n, _)| n.as_str())).collect();
    if names != wanted {
        return Err(format!("layers `{}`, `{}` expected", names.join("`, `"), wanted.join("`, `")));
    }
    let in_layer = |name: &str, what: String| format!("layer `{name}`: {what}");
    compare_points(&dataset, &written.points).map_err(|what| in_layer(written.points.name, what))?;
    for (name, layer) in &written.areas {
        let mut read = dataset.layer_by_name(name).map_err(|error| error.to_string())?;
        if read.defn().geometry_type() != OGRwkbGeometryType::wkbMultiPolygon {
            return Err(in_layer(name, "it is no layer of multipolygons".to_owned()));
        }
        let expected = WrittenLayer { layer: in_lower_case(layer), format: VectorFormat::GeoPackage };
        compare_layer(&mut read, &expected).map_err(|what| in_layer(name, what))?;
    }
    Ok(())
}

fn in_lower_case(layer: &VectorLayer) -> VectorLayer {
    let mut layer = layer.clone();
    layer.columns.iter_mut().for_each(|column| column.name = column.name.to_lowercase());
    layer
}

fn compare_points(dataset: &Dataset, expected: &PointLayer) -> Result<(), String> {
    let mut layer = dataset.layer_by_name(expected.name).map_err(|error| error.to_string())?;
    compare_crs(&layer)?;
    let names: Vec<String> = layer.defn().fields().map(|field| field.name()).collect();
    let wanted: Vec<&str> = expected.columns.iter().map(|column| column.name.as_str()).collect();
    if names != wanted {
        return Err(format!("columns `{}`, `{}` expected", names.join("`, `"), wanted.join("`, `")));
    }
    let mut n_read = 0;
    for (feature, ((lon, lat), values)) in layer.features().zip(&expected.records) {
        n_read += 1;
        let at = feature.geometry().map(|geometry| geometry.get_point(0));
        if at.map(|(x, y, _)| (x, y)) != Some((*lon, *lat)) {
            return Err(format!("point {n_read} at {at:?}, {lon}, {lat} expected"));
        }
        for (index, (column, value)) in expected.columns.iter().zip(values).enumerate() {
            let text = value.text_in(column.kind);
            let read = read_text(&feature, index, column.kind, text.as_deref())?;
            if read != text {
                return Err(format!("point {n_read}: `{}` is {read:?}, {text:?} expected", column.name));
            }
        }
    }
    if n_read != expected.records.len() || layer.feature_count() != n_read as u64 {
        return Err(format!("{} points, {} expected", layer.feature_count(), expected.records.len()));
    }
    Ok(())
}
