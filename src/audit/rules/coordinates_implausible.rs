//! Coordinates that are no field's.

use super::prelude::*;
use crate::audit::shape::is_on_earth;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "coordinates-implausible",
    checks: "that coordinates are finite, longitudes lie in -180 to 180, latitudes in -90 to 90, nothing lies at 0, 0, and all of it within half a degree",
    why: "meters read as degrees, exchanged columns and lost points put the map where the machine never comes",
    example: "latitude -93.6, longitude 41.5: exchanged",
    mend: "write longitude and latitude on WGS 84 in degrees, each in its place",
};

/// Largest extent of one field, degrees: 55 km of latitude.
const MOST_EXTENT_DEG: f64 = 0.5;

pub(super) fn find(of: &Prescription) -> Found {
    let mut found = Found::new();
    for set in &of.shape_sets {
        for shape in &set.shapes {
            if let Some(at) = first_off(&shape.polygons) {
                found.push(Diagnostic::error(&CODE, off_message(at)).at(shape.place.clone()));
            }
        }
    }
    for layer in &of.layers {
        if let Some(outline) = &layer.outline
            && let Some(at) = first_off(outline)
        {
            let message = format!("outline of the field: {}", off_message(at));
            found.push(Diagnostic::error(&CODE, message).at(Place::File(of.name.clone())));
        }
        if let Ground::Cells(cells) = &layer.ground {
            let [west, south, east, north] = cells.bounds();
            let is_off = west < -180.0 || east > 180.0 || south < -90.0 || north > 90.0 || !(west + north).is_finite();
            if is_off {
                found.push(Diagnostic::error(&CODE, off_message((west, south))).at(Place::File(cells.file.clone())));
            }
        }
        if let Some(message) = extent(of, layer).and_then(extent_message) {
            found.push(Diagnostic::error(&CODE, message).at(Place::File(of.name.clone())));
        }
    }
    found.dedup_by(|a, b| a.message == b.message && a.place == b.place);
    found
}

/// The first corner that does not lie on earth.
fn first_off(polygons: &geo::MultiPolygon) -> Option<(f64, f64)> {
    use geo::CoordsIter as _;
    let is_off = |at: &geo::Coord| !(at.x.abs() <= 180.0 && at.y.abs() <= 90.0);
    if is_on_earth(polygons) { None } else { polygons.coords_iter().find(is_off).map(|at| at.x_y()) }
}

fn off_message((lon, lat): (f64, f64)) -> String {
    let exchanged = lon.abs() <= 90.0 && lat.abs() <= 180.0;
    let why = if exchanged { ": they seem to be exchanged" } else { "" };
    format!("longitude {lon}, latitude {lat} lie nowhere on earth{why}")
}

fn extent(of: &Prescription, layer: &RateLayer) -> Option<[f64; 4]> {
    match &layer.ground {
        Ground::Cells(cells) => Some(cells.bounds()),
        Ground::Shapes { set, .. } => {
            crate::audit::shape::bounds(of.shape_sets.get(*set)?.shapes.iter().map(|shape| &shape.polygons))
        }
    }
}

fn extent_message([west, south, east, north]: [f64; 4]) -> Option<String> {
    if west <= 0.0 && east >= 0.0 && south <= 0.0 && north >= 0.0 {
        return Some("it lies at longitude 0, latitude 0: in the sea".to_owned());
    }
    let wide = (east - west).max(north - south);
    (wide > MOST_EXTENT_DEG && wide <= 360.0)
        .then(|| format!("it reaches over {wide:.1} degrees: no field is as large"))
}
