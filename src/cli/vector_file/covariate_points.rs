//! Points of a vector file with a number each: the log of a sensor driven over the field.

use std::path::Path;

use gdal::vector::LayerAccess;
use holdground::crs::take_gdal_messages;
use holdground::diagnostic::Diagnostic;

use super::super::covariate::{CovariateFile, LeftOut, Reading, no_such_column, without_values};
use super::VECTOR_PARTS_LEFT_OUT;
use super::points::{Others, take_points, text_of};
use super::source::{Purpose, VectorFile, WaysToLonLat, column_of, geometry_of};

/// Reads the points of all layers with the number each carries in an attribute.
///
/// The attribute's name is matched exactly, else without regard to capitals; an attribute of texts is read as numbers.
/// Points without a number are left out and counted, as is what is no point. Of a GPX file waypoints are read.
///
/// # Errors
/// All faults found, with the file as place; faults of `stated_crs` itself carry none.
pub(crate) fn read_covariate_points(
    path: &Path,
    attribute: &str,
    stated_crs: Option<&str>,
) -> Result<CovariateFile, Vec<Diagnostic>> {
    let source = VectorFile::open(path, Purpose::Covariate)?;
    let mut messages = take_gdal_messages();
    let mut ways = WaysToLonLat::new(&source, stated_crs)?;
    let (mut values, mut faults) = (Vec::new(), Vec::new());
    let (mut left_out, mut others) = (LeftOut::default(), Others::default());
    for mut layer in source.dataset.layers() {
        if source.is_gpx() && layer.name() != "waypoints" {
            continue;
        }
        let spatial_ref = layer.spatial_ref();
        let attributes: Vec<String> = layer.defn().fields().map(|field| field.name()).collect();
        let column = column_of(&attributes, attribute);
        let (mut places, mut numbers) = (Vec::new(), Vec::new());
        for feature in layer.features() {
            let Some(geometry) = geometry_of(&feature) else {
                left_out.n_without_place += 1;
                continue;
            };
            let mut of_feature = Vec::new();
            take_points(geometry, &mut of_feature, &mut others);
            let Some(column) = column else {
                places.extend(of_feature);
                continue;
            };
            let text = text_of(&feature, column).unwrap_or_default();
            for at in of_feature {
                if let Some(number) = left_out.value(Reading::of(&text)) {
                    places.push(at);
                    numbers.push(number);
                }
            }
        }
        messages.extend(take_gdal_messages());
        if column.is_none() && !places.is_empty() {
            faults.push(no_such_column(attribute, &attributes, source.place()));
            continue;
        }
        match ways.convert(spatial_ref, &places) {
            Ok(places) => values.extend(places.into_iter().zip(numbers).map(|((lon, lat), value)| (lon, lat, value))),
            Err(found) => faults.extend(found),
        }
    }
    let mut notes = source.remarks(&messages, &mut faults);
    notes.extend(left_out.notes(attribute, values.len(), &source.place()));
    if faults.is_empty() && values.is_empty() {
        let said: Vec<&str> = notes.iter().map(|note| note.message.as_str()).collect();
        let what = if said.is_empty() { "it holds no point".to_owned() } else { said.join("; ") };
        faults.push(without_values(&source.shown, &what, source.place()));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    if others.n > 0 {
        let message = format!("left out: {} features that are not points", others.n);
        notes.push(Diagnostic::note(&VECTOR_PARTS_LEFT_OUT, message).at(source.place()));
    }
    let (crs_name, accuracy) = ways.summary();
    Ok(CovariateFile { values, crs_name, accuracy, notes })
}
