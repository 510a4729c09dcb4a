//! A GeoTIFF as read against the raster it was made of: place, CRS, every cell.

use std::path::Path;

use gdal::raster::GdalType;
use gdal::{Dataset, DatasetOptions, GdalOpenFlags, Metadata as _};
use holdground::export::{NO_CLASS, NO_NUMBER, RasterCells, RasterLayer};

use super::super::gis_file::{PRODUCT, UNIT, geo_transform, spatial_ref};

/// Compares a file; the first difference, as words.
pub(super) fn compare(path: &Path, written: &RasterLayer) -> Result<(), String> {
    let options = DatasetOptions {
        open_flags: GdalOpenFlags::GDAL_OF_RASTER | GdalOpenFlags::GDAL_OF_VERBOSE_ERROR,
        allowed_drivers: Some(&["GTiff"]),
        ..DatasetOptions::default()
    };
    let dataset = Dataset::open_ex(path, options).map_err(|error| format!("it does not open: {error}"))?;
    let (place, size) = (&written.place, dataset.raster_size());
    if size != (place.n_cols, place.n_rows) || dataset.raster_count() != 1 {
        return Err(format!("{} by {} cells, {} by {} expected", size.0, size.1, place.n_cols, place.n_rows));
    }
    let layout = dataset.metadata_item("LAYOUT", "IMAGE_STRUCTURE");
    if layout.as_deref() != Some("COG") {
        return Err("its parts do not lie in the order of a cloud-optimized GeoTIFF".to_owned());
    }
    let (read, expected) = (dataset.geo_transform().map_err(|error| error.to_string())?, geo_transform(place));
    if read != expected {
        return Err(format!("it lies at {read:?}, {expected:?} expected"));
    }
    let crs = dataset.spatial_ref().map_err(|_| "its CRS is not stated")?;
    let expected = spatial_ref(&place.crs).map_err(|error| error.to_string())?;
    // A code says all; a PROJ string has none, so its projection is held against the one read.
    let is_same = match (expected.auth_code(), crs.auth_code()) {
        (Ok(expected), Ok(read)) => expected == read,
        (Err(_), _) => crs.to_proj4().ok() == expected.to_proj4().ok(),
        _ => false,
    };
    if !is_same {
        return Err(format!("its CRS is {}, {} expected", crs.name().unwrap_or_default(), place.crs));
    }
    let band = dataset.rasterband(1).map_err(|error| error.to_string())?;
    for (key, expected) in [(UNIT, written.unit.as_str()), (PRODUCT, written.product.as_deref().unwrap_or_default())] {
        let read = band.metadata_item(key, "").unwrap_or_default();
        if read != expected {
            return Err(format!("its {key} is `{read}`, `{expected}` expected"));
        }
    }
    match &written.cells {
        RasterCells::Classes(cells) => compare_cells(&dataset, cells, f64::from(NO_CLASS), place.n_cols),
        RasterCells::Numbers(cells) => compare_cells(&dataset, cells, f64::from(NO_NUMBER), place.n_cols),
    }
}

fn compare_cells<T>(dataset: &Dataset, cells: &[T], no_value: f64, n_cols: usize) -> Result<(), String>
where
    T: GdalType + Copy + PartialEq + std::fmt::Display,
{
    let band = dataset.rasterband(1).map_err(|error| error.to_string())?;
    if band.no_data_value() != Some(no_value) {
        return Err(format!("`no value` is {:?}, {no_value} expected", band.no_data_value()));
    }
    if band.band_type() as u32 != T::gdal_ordinal() {
        return Err(format!("its cells are of type {}", band.band_type()));
    }
    let read = band.read_band_as::<T>().map_err(|error| error.to_string())?;
    // Files run from north to south.
    let from_north = cells.chunks_exact(n_cols).rev().flatten();
    match read.data().iter().zip(from_north).enumerate().find(|(_, (read, expected))| read != expected) {
        Some((at, (read, expected))) => {
            Err(format!("row {} from north, column {}: {read}, {expected} expected", at / n_cols + 1, at % n_cols + 1))
        }
        None => Ok(()),
    }
}
