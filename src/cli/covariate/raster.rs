//! Cells of a raster round the field, each as a place with a value.

use std::path::Path;

use gdal::raster::{GdalDataType, RasterBand};
use gdal::spatial_ref::AxisMappingStrategy;
use gdal::{Dataset, DatasetOptions, GdalOpenFlags, GeoTransform, GeoTransformEx};
use holdground::crs::{InputCrs, LonLat, keep_gdal_quiet, take_gdal_messages};
use holdground::diagnostic::{Diagnostic, Place};

use super::super::vector_file::STATED_CRS_DIFFERS;
use super::super::vector_file::source::SAME_PLACE_DEG;
use super::{
    COVARIATE_VALUES_LEFT_OUT, CovariateFile, RASTER_BESIDE_FIELD, RASTER_TOO_FINE, RASTER_WITHOUT_PLACE,
    UNREADABLE_COVARIATE, without_values,
};

/// Formats opened. Formats that point to other files or to the network are left out.
const DRIVERS: [&str; 8] = ["GTiff", "AAIGrid", "HFA", "EHdr", "ENVI", "SRTMHGT", "USGSDEM", "JP2OpenJPEG"];
/// Most cells read round the field.
const MOST_CELLS: usize = 4_000_000;
/// Places along each side of the bounds that are looked up in the raster: sides bend between two CRSs.
const N_PLACES_A_SIDE: usize = 16;
/// Cells read beyond the bounds, so that there are values on both sides of the field's edge.
const MARGIN_CELLS: f64 = 2.0;

/// Reads the first band of a raster round a field, cell center by cell center, row by row from the raster's first.
///
/// Cells without data are left out and counted; a scale and an offset stated for the band are applied. Turned and
/// sheared rasters are read by their six numbers. All cells of the smallest window of rows and columns round the bounds
/// are given, with 2 more on each side.
///
/// # Units
/// `bounds`: `[west, east, south, north]` of the field, degrees.
///
/// # Errors
/// All faults found, with the file as place; faults of `stated_crs` itself carry none.
pub(crate) fn read_covariate_raster(
    path: &Path,
    bounds: [f64; 4],
    stated_crs: Option<&str>,
) -> Result<CovariateFile, Vec<Diagnostic>> {
    keep_gdal_quiet();
    take_gdal_messages();
    let stated = stated_crs.map(InputCrs::from_text).transpose()?;
    let shown = path.display().to_string();
    let place = Place::File(shown.clone());
    let fault = |code, message: String| vec![Diagnostic::error(code, message).at(place.clone())];
    let unreadable = |why: String| {
        let said = take_gdal_messages().into_iter().next().map(|message| message.text);
        fault(&UNREADABLE_COVARIATE, format!("could not read `{shown}` as a raster: {}", said.unwrap_or(why)))
    };
    if let Err(error) = std::fs::metadata(path) {
        let text = error.to_string();
        return Err(unreadable(text.split(" (os error").next().unwrap_or_default().to_lowercase()));
    }
    let options = DatasetOptions {
        open_flags: GdalOpenFlags::GDAL_OF_RASTER | GdalOpenFlags::GDAL_OF_VERBOSE_ERROR,
        allowed_drivers: Some(&DRIVERS),
        ..DatasetOptions::default()
    };
    let dataset = Dataset::open_ex(path, options).map_err(|_| unreadable("not a raster known here".to_owned()))?;
    let at_file = |faults: Vec<Diagnostic>| faults.into_iter().map(|fault| fault.at(place.clone())).collect::<Vec<_>>();
    let of_file = match dataset.spatial_ref() {
        Ok(mut spatial_ref) => {
            // The six numbers of a raster always count eastwards first.
            spatial_ref.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
            Some(InputCrs::from_spatial_ref(spatial_ref).map_err(at_file)?)
        }
        Err(_) => None,
    };
    take_gdal_messages();
    let affine = dataset.geo_transform().ok();
    let Some(affine) = affine.filter(|numbers| numbers.iter().all(|number| number.is_finite())) else {
        take_gdal_messages();
        let message = format!("`{shown}` does not state where its cells lie");
        return Err(fault(&RASTER_WITHOUT_PLACE, message));
    };
    let Some(crs) = of_file.as_ref().or(stated.as_ref()) else {
        let message = format!("`{shown}` does not state its coordinate reference system");
        let fault = Diagnostic::error(&RASTER_WITHOUT_PLACE, message).at(place);
        return Err(vec![
            fault.with_help("state it as `crs`, for example `crs = \"EPSG:26915\"`; it is never guessed"),
        ]);
    };
    let size = dataset.raster_size();
    let Some(window) = window_round(crs, &affine, size, bounds) else {
        let message = format!("`{shown}` does not reach the field");
        let first = corner_text(crs, &affine);
        let fault = Diagnostic::error(&RASTER_BESIDE_FIELD, message).at(place).with_note(first);
        return Err(vec![fault.with_help("name the raster of this field, or correct its CRS")]);
    };
    let (first, wide_tall) = window;
    let n_cells = wide_tall.0 * wide_tall.1;
    if n_cells > MOST_CELLS {
        let message = format!("`{shown}` has {n_cells} cells round the field, at most {MOST_CELLS} are read");
        let fault = Diagnostic::error(&RASTER_TOO_FINE, message).at(place);
        return Err(vec![fault.with_help("save it with coarser cells, for example of 1 m")]);
    }
    let band = dataset.rasterband(1).map_err(|error| unreadable(error.to_string()))?;
    let read = band.read_as::<f64>((first.0 as isize, first.1 as isize), wide_tall, wide_tall, None);
    let cells = read.map_err(|error| unreadable(error.to_string()))?;
    let (mut xs, mut ys, mut values) = (Vec::new(), Vec::new(), Vec::new());
    let (scale, offset) = (band.scale().unwrap_or(1.0), band.offset().unwrap_or(0.0));
    for (index, &cell) in cells.data().iter().enumerate() {
        let value = cell * scale + offset;
        if is_no_data(&band, cell) || !value.is_finite() {
            continue;
        }
        let (col, row) = (first.0 + index % wide_tall.0, first.1 + index / wide_tall.0);
        let (x, y) = affine.apply(col as f64 + 0.5, row as f64 + 0.5);
        xs.push(x);
        ys.push(y);
        values.push(value);
    }
    let messages: Vec<String> = take_gdal_messages().into_iter().map(|message| message.text).collect();
    if values.is_empty() {
        return Err(vec![without_values(&shown, "no cell round the field has data", place)]);
    }
    let lon_lat = |crs: &InputCrs, mut xs: Vec<f64>, mut ys: Vec<f64>| {
        let accuracy = crs.to_lon_lat(&mut xs, &mut ys);
        // One place at fault says it all: cells lie side by side.
        let first = |faults: Vec<(usize, Diagnostic)>| faults.into_iter().take(1).map(|(_, fault)| fault).collect();
        accuracy.map(|accuracy| (xs, ys, accuracy)).map_err(first)
    };
    if let (Some(of_file), Some(stated)) = (&of_file, &stated) {
        let by = |crs| lon_lat(crs, vec![xs[0]], vec![ys[0]]).ok().map(|(lons, lats, _)| (lons[0], lats[0]));
        let same = |(a, b): (LonLat, LonLat)| (a.0 - b.0).abs().max((a.1 - b.1).abs()) <= SAME_PLACE_DEG;
        if !by(of_file).zip(by(stated)).is_some_and(same) {
            let message =
                format!("`{shown}` states the CRS {}, but {} is stated for it", of_file.name(), stated.name());
            return Err(fault(&STATED_CRS_DIFFERS, message));
        }
    }
    let (lons, lats, accuracy) = lon_lat(crs, xs, ys).map_err(at_file)?;
    let mut notes = Vec::new();
    let mut note = |message: String| {
        notes.push(Diagnostic::note(&COVARIATE_VALUES_LEFT_OUT, message).at(place.clone()));
    };
    if dataset.raster_count() > 1 {
        note(format!("band 1 of {} is read", dataset.raster_count()));
    }
    if values.len() < n_cells {
        note(format!("{} of {n_cells} cells round the field have no data and are left out", n_cells - values.len()));
    }
    for text in messages {
        notes.push(
            Diagnostic::warning(&UNREADABLE_COVARIATE, format!("GDAL says of `{shown}`: {text}")).at(place.clone()),
        );
    }
    let values = lons.into_iter().zip(lats).zip(values).map(|((lon, lat), value)| (lon, lat, value)).collect();
    Ok(CovariateFile { values, crs_name: crs.name().to_owned(), accuracy: accuracy.to_string(), notes })
}

/// A column and a row, or how many of each.
type ColumnRow = (usize, usize);

/// First column and row, and number of both, of the window round the bounds; `None` where the raster does not reach.
fn window_round(
    crs: &InputCrs,
    affine: &GeoTransform,
    size: ColumnRow,
    bounds: [f64; 4],
) -> Option<(ColumnRow, ColumnRow)> {
    let [west, east, south, north] = bounds;
    let steps = (0..=N_PLACES_A_SIDE).map(|step| step as f64 / N_PLACES_A_SIDE as f64);
    let sides: Vec<LonLat> = steps
        .flat_map(|share| {
            let (lon, lat) = (west + share * (east - west), south + share * (north - south));
            [(lon, south), (lon, north), (west, lat), (east, lat)]
        })
        .collect();
    let inverse = affine.invert().ok()?;
    let cells: Vec<(f64, f64)> = crs.coordinates_of(&sides)?.into_iter().map(|(x, y)| inverse.apply(x, y)).collect();
    let span = |positions: &mut dyn Iterator<Item = f64>, n: usize| {
        let (low, high) =
            positions.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| (low.min(at), high.max(at)));
        // The raster must reach the bounds themselves; the margin is extra.
        let reaches = low < n as f64 && high > 0.0;
        let first = (low.floor() - MARGIN_CELLS).clamp(0.0, n as f64) as usize;
        let end = (high.ceil() + MARGIN_CELLS).clamp(0.0, n as f64) as usize;
        (reaches && end > first).then_some((first, end - first))
    };
    let (first_col, n_cols) = span(&mut cells.iter().map(|cell| cell.0), size.0)?;
    let (first_row, n_rows) = span(&mut cells.iter().map(|cell| cell.1), size.1)?;
    Some(((first_col, first_row), (n_cols, n_rows)))
}

/// Whether a cell holds the mark for no data.
fn is_no_data(band: &RasterBand<'_>, cell: f64) -> bool {
    let Some(mark) = band.no_data_value() else { return false };
    // A mark is often written with fewer digits than a 32-bit cell has.
    let same_when_short =
        band.band_type() == GdalDataType::Float32 && (cell as f32).to_bits() == (mark as f32).to_bits();
    cell == mark || same_when_short
}

/// Where the first cell of a raster lies.
fn corner_text(crs: &InputCrs, affine: &GeoTransform) -> String {
    let (x, y) = affine.apply(0.0, 0.0);
    format!("its first corner is {x:.5}, {y:.5} in {}", crs.name())
}

#[cfg(test)]
mod tests;
