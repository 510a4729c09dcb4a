//! A raster as cloud-optimized GeoTIFF.

use gdal::errors::Result;
use gdal::raster::{Buffer, GdalType, RasterCreationOptions};
use gdal::{Dataset, DriverManager, Metadata as _};
use holdground::export::{NO_CLASS, NO_NUMBER, RasterCells, RasterLayer, RasterPlace};

use super::{MemoryFile, spatial_ref};

/// Names of what is said of a band beside its description.
pub(crate) const UNIT: &str = "UNIT";
pub(crate) const PRODUCT: &str = "PRODUCT";

/// The file's bytes.
pub(super) fn bytes(layer: &RasterLayer) -> Result<Vec<u8>> {
    let (dataset, overviews) = match &layer.cells {
        RasterCells::Classes(cells) => (in_memory(layer, cells, f64::from(NO_CLASS))?, "MODE"),
        RasterCells::Numbers(cells) => (in_memory(layer, cells, f64::from(NO_NUMBER))?, "AVERAGE"),
    };
    // No predictor: some readers in browsers do not know the one for numbers with decimals.
    let options = ["COMPRESS=DEFLATE", "PREDICTOR=NO", "BLOCKSIZE=256", &format!("OVERVIEW_RESAMPLING={overviews}")];
    let options = RasterCreationOptions::from_iter(options);
    let file = MemoryFile::new("tif");
    let copy = dataset.create_copy(&DriverManager::get_driver_by_name("COG")?, file.path(), &options)?;
    copy.close()?;
    file.bytes()
}

fn in_memory<T: GdalType + Copy>(layer: &RasterLayer, cells: &[T], no_value: f64) -> Result<Dataset> {
    let RasterPlace { n_cols, n_rows, .. } = layer.place;
    let driver = DriverManager::get_driver_by_name("MEM")?;
    let mut dataset = driver.create_with_band_type::<T, _>("", n_cols, n_rows, 1)?;
    dataset.set_spatial_ref(&spatial_ref(&layer.place.crs)?)?;
    dataset.set_geo_transform(&geo_transform(&layer.place))?;
    // Files run from north to south.
    let from_north: Vec<T> = cells.chunks_exact(n_cols).rev().flatten().copied().collect();
    let mut band = dataset.rasterband(1)?;
    band.set_no_data_value(Some(no_value))?;
    let unit = if layer.unit.is_empty() { String::new() } else { format!(", {}", layer.unit) };
    if let Some(product) = &layer.product {
        band.set_metadata_item(PRODUCT, product, "")?;
    }
    band.set_description(&format!("{}{unit}", layer.title))?;
    if !layer.unit.is_empty() {
        band.set_metadata_item(UNIT, &layer.unit, "")?;
    }
    band.write((0, 0), (n_cols, n_rows), &mut Buffer::new((n_cols, n_rows), from_north))?;
    Ok(dataset)
}

/// GDAL's six numbers: north-west corner, cell sizes, rows southwards.
pub(crate) fn geo_transform(place: &RasterPlace) -> gdal::GeoTransform {
    let north = place.south + place.n_rows as f64 * place.cell_north;
    [place.west, place.cell_east, 0.0, north, 0.0, -place.cell_north]
}
