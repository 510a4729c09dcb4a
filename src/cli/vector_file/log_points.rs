//! The points of a log in a vector file, in the order of the file, with their attributes as text.

use std::path::Path;

use gdal::vector::{LayerAccess, OGRwkbGeometryType, geometry_type_flatten};
use holdground::applied::{LOG_UNREADABLE, LogRow, LogRows};
use holdground::crs::take_gdal_messages;
use holdground::diagnostic::{Diagnostic, Place};

use super::points::text_of;
use super::source::{Purpose, VectorFile, WaysToLonLat, geometry_of};

/// Reads the points of the only layer that has any.
///
/// # Errors
/// All faults found: no point, several layers of points, something that is no point, no CRS.
pub(crate) fn read_log_rows(path: &Path) -> Result<LogRows, Vec<Diagnostic>> {
    let source = VectorFile::open(path, Purpose::Log)?;
    let mut messages = take_gdal_messages();
    let mut ways = WaysToLonLat::new(&source, None)?;
    let fault = |message: String, place: Place| Diagnostic::error(&LOG_UNREADABLE, message).at(place);
    let (mut found, mut faults, mut with_points) = (None, Vec::new(), Vec::new());
    for mut layer in source.dataset.layers() {
        let (name, spatial_ref) = (layer.name(), layer.spatial_ref());
        let header: Vec<String> = layer.defn().fields().map(|field| field.name()).collect();
        let (mut rows, mut given) = (Vec::new(), Vec::new());
        for (index, feature) in layer.features().enumerate() {
            let stands = Place::Record { file: source.shown.clone(), record: index + 1, part: String::new() };
            let point = geometry_of(&feature)
                .filter(|geometry| geometry_type_flatten(geometry.geometry_type()) == OGRwkbGeometryType::wkbPoint);
            let Some(point) = point else {
                faults.push(fault("it is no point".to_owned(), stands));
                continue;
            };
            let (east, north, _) = point.get_point(0);
            given.push((east, north));
            let cells = (0..header.len()).map(|column| text_of(&feature, column).unwrap_or_default()).collect();
            rows.push(LogRow { stands, cells, at: None });
        }
        messages.extend(take_gdal_messages());
        if rows.is_empty() {
            continue;
        }
        with_points.push(format!("`{name}`"));
        match ways.convert(spatial_ref, &given) {
            Ok(places) => rows.iter_mut().zip(places).for_each(|(row, place)| row.at = Some(place)),
            Err(found) => faults.extend(found),
        }
        found = Some(LogRows { file: source.shown.clone(), header, rows });
    }
    // A log read in part would show ground as skipped.
    source.remarks(&messages, &mut faults);
    if with_points.len() > 1 {
        let message = format!("the log has points in {} layers: {}", with_points.len(), with_points.join(", "));
        faults.push(fault(message, source.place()).with_help("save the one that was logged as a file of its own"));
    }
    match found {
        _ if !faults.is_empty() => Err(faults),
        Some(rows) => Ok(rows),
        None => Err(vec![fault("the log holds no point".to_owned(), source.place())]),
    }
}
