//! A GeoTIFF through GDAL.

use gdal::raster::{GdalDataType, RasterBand};
use gdal::{Dataset, Metadata as _};
use holdground::audit::cells::Cells;
use holdground::audit::package::{folder_and_name, stem_and_ending};
use holdground::audit::raster::Raster;
use holdground::audit::{Form, Ground, Prescription, RateLayer, Remark};
use holdground::crs::{InputCrs, take_gdal_messages};

use super::load::LoadedFile;
use super::memory::{Memory, stated_crs};

/// Most cells read.
const MOST_CELLS: usize = 16_000_000;

/// Reads a GeoTIFF.
pub(super) fn read(loaded: &LoadedFile) -> Prescription {
    let name = folder_and_name(&loaded.inner).1;
    let mut prescription = Prescription { name: loaded.shown.clone(), ..Prescription::default() };
    let memory = Memory::of([("audited.tif", loaded.bytes.as_slice())]);
    let refusal = |text: String| vec![Remark { file: loaded.shown.clone(), is_refusal: true, text }];
    let dataset = match memory.open("audited.tif", "GTiff", true) {
        Ok(dataset) => dataset,
        Err(text) => {
            prescription.remarks = refusal(text);
            return prescription;
        }
    };
    let (mut raster, crs) = facts(&dataset, &loaded.shown);
    let n_cells = raster.size.0.saturating_mul(raster.size.1);
    if n_cells > MOST_CELLS {
        prescription.remarks = refusal(format!("{n_cells} cells, at most {MOST_CELLS} are read"));
    } else {
        for number in 1..=raster.n_bands {
            let band = dataset.rasterband(number);
            let rates = band.map_err(|error| error.to_string()).and_then(|band| rates(&band, raster.size));
            match (rates, cells_geometry(&raster, crs.as_ref())) {
                (Ok(rates), Some(cells)) => {
                    let stem = stem_and_ending(name).0;
                    prescription.layers.push(layer(stem, &dataset, number, Cells { rates, ..cells }));
                }
                (Ok(_), None) => (),
                (Err(text), _) => {
                    let said = take_gdal_messages().into_iter().next().map(|message| message.text);
                    prescription.remarks = refusal(said.unwrap_or(text));
                    break;
                }
            }
        }
    }
    if raster.n_bands > 1 {
        // Only the first band is what a loader takes.
        prescription.layers.truncate(1);
    }
    raster.file.clone_from(&loaded.shown);
    prescription.form = Some(Form::Raster(raster));
    prescription
}

fn facts(dataset: &Dataset, shown: &str) -> (Raster, Option<InputCrs>) {
    let band = dataset.rasterband(1).ok();
    let affine = dataset.geo_transform().ok();
    let mut crs = None;
    let stated = dataset.spatial_ref().ok().map(|spatial_ref| {
        stated_crs(spatial_ref).map(|(input, stated)| {
            crs = Some(input).filter(|_| !stated.is_wgs_84);
            stated
        })
    });
    take_gdal_messages();
    let raster = Raster {
        file: shown.to_owned(),
        size: dataset.raster_size(),
        n_bands: dataset.raster_count(),
        affine,
        crs: stated,
        no_data: band.as_ref().and_then(RasterBand::no_data_value),
        number_type: band.as_ref().map_or_else(String::new, |band| band.band_type().name().to_lowercase()),
        is_by_points: dataset.metadata_item("AREA_OR_POINT", "").is_some_and(|text| text == "Point"),
    };
    (raster, crs)
}

/// Rates of a band, cells without data as NaN.
fn rates(band: &RasterBand<'_>, size: (usize, usize)) -> Result<Vec<f64>, String> {
    let read = band.read_as::<f64>((0, 0), size, size, None).map_err(|error| error.to_string())?;
    let mark = band.no_data_value();
    let is_short = band.band_type() == GdalDataType::Float32;
    let is_mark = |cell: f64| mark.is_some_and(|mark| cell == mark || (is_short && cell as f32 == mark as f32));
    let (scale, offset) = (band.scale().unwrap_or(1.0), band.offset().unwrap_or(0.0));
    Ok(read.data().iter().map(|cell| if is_mark(*cell) { f64::NAN } else { cell * scale + offset }).collect())
}

/// Where the cells lie, in longitude and latitude. Of a projected raster three corners are turned; over one field the
/// rest follows straight lines to within centimeters.
fn cells_geometry(raster: &Raster, crs: Option<&InputCrs>) -> Option<Cells> {
    let affine = raster.affine?;
    let (n_cols, n_rows) = raster.size;
    let place = |column: f64, row: f64| {
        let x = affine[0] + column * affine[1] + row * affine[2];
        let y = affine[3] + column * affine[4] + row * affine[5];
        (x, y)
    };
    let corners = [place(0.0, 0.0), place(n_cols as f64, 0.0), place(0.0, n_rows as f64)];
    let (mut xs, mut ys): (Vec<f64>, Vec<f64>) = corners.into_iter().unzip();
    if let Some(crs) = crs {
        crs.to_lon_lat(&mut xs, &mut ys).ok()?;
    }
    let step = |index: usize, n: usize| ((xs[index] - xs[0]) / n as f64, (ys[index] - ys[0]) / n as f64);
    Some(Cells {
        file: raster.file.clone(),
        origin: (xs[0], ys[0]),
        per_column: step(1, n_cols),
        per_row: step(2, n_rows),
        n_cols,
        n_rows,
        rates: Vec::new(),
    })
}

fn layer(stem: &str, dataset: &Dataset, number: usize, cells: Cells) -> RateLayer {
    let item = |key: &str| {
        let of_band = dataset.rasterband(number).ok().and_then(|band| band.metadata_item(key, ""));
        of_band.or_else(|| dataset.metadata_item(key, "")).filter(|text| !text.is_empty())
    };
    let unit = dataset.rasterband(number).map(|band| band.unit()).unwrap_or_default();
    RateLayer {
        name: stem.to_owned(),
        from: format!("band {number}"),
        product: item("PRODUCT"),
        unit: Some(unit).filter(|unit| !unit.is_empty()).or_else(|| item("UNIT")),
        ground: Ground::Cells(cells),
        outline: None,
        orders: Vec::new(),
    }
}
