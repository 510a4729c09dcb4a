//! Outlines as read against outlines as written: vertex by vertex, in whole steps of the lattice.

use gdal::vector::{Feature, Geometry, OGRwkbGeometryType, geometry_type_to_name};
use holdground::coverage::Lattice;
use holdground::export::{Record, VectorFormat};

/// A place in 1e-7 degree.
type Place = (i64, i64);
/// A ring without its closing vertex, from its smallest vertex, exterior counter-clockwise, hole clockwise.
type Ring = Vec<Place>;

/// Compares the outlines of a record; twice their area as read, square lattice steps.
///
/// # Errors
/// The first difference, as words: a coordinate that is no lattice place, a ring that runs the wrong way for the
/// format, another number of patches or holes, a vertex elsewhere.
pub(super) fn compare(
    feature: &Feature,
    record: &Record,
    lattice: &Lattice,
    format: VectorFormat,
) -> Result<i128, String> {
    let geometry = feature.geometry().ok_or("no outline")?;
    let mut read = Vec::new();
    match geometry.geometry_type() {
        OGRwkbGeometryType::wkbPolygon => read.push(polygon(geometry, format)?),
        OGRwkbGeometryType::wkbMultiPolygon => {
            for index in 0..geometry.geometry_count() {
                read.push(polygon(&geometry.get_geometry(index), format)?);
            }
        }
        kind => return Err(format!("an outline of the kind {}, polygons expected", geometry_type_to_name(kind))),
    }
    let as_written =
        |ring: &[_]| from_smallest(ring.iter().skip(1).map(|vertex| lattice.lon_lat_e7(*vertex)).collect());
    let mut expected: Vec<Vec<Ring>> = Vec::new();
    for polygon in &record.polygons {
        let mut rings: Vec<Ring> = polygon.rings().map(as_written).collect();
        rings[1..].sort();
        expected.push(rings);
    }
    read.sort();
    expected.sort();
    if read.len() != expected.len() {
        return Err(format!("{} patches, {} expected", read.len(), expected.len()));
    }
    for (patch, (read, expected)) in (1..).zip(read.iter().zip(&expected)) {
        if read.len() != expected.len() {
            return Err(format!("patch {patch}: {} holes, {} expected", read.len() - 1, expected.len() - 1));
        }
        for (read, expected) in read.iter().zip(expected) {
            if let Some(what) = difference(read, expected) {
                return Err(format!("patch {patch}: {what}"));
            }
        }
    }
    // Holes run the other way round.
    Ok(read.iter().flatten().map(doubled_area).sum())
}

fn difference(read: &Ring, expected: &Ring) -> Option<String> {
    let shown = |(lon, lat): Place| format!("{:.7}, {:.7}", lon as f64 / 1e7, lat as f64 / 1e7);
    if let Some((read, expected)) = read.iter().zip(expected).find(|(read, expected)| read != expected) {
        return Some(format!("a vertex at {}, {} expected", shown(*read), shown(*expected)));
    }
    (read.len() != expected.len()).then(|| format!("{} vertices, {} expected", read.len(), expected.len()))
}

/// Exterior, then holes, sorted.
fn polygon(geometry: &Geometry, format: VectorFormat) -> Result<Vec<Ring>, String> {
    let mut rings = Vec::new();
    for index in 0..geometry.geometry_count() {
        rings.push(ring(&geometry.get_geometry(index), index == 0, format)?);
    }
    if rings.is_empty() {
        return Err("an empty polygon".to_owned());
    }
    rings[1..].sort();
    Ok(rings)
}

fn ring(geometry: &Geometry, is_exterior: bool, format: VectorFormat) -> Result<Ring, String> {
    let mut points = Vec::new();
    geometry.get_points(&mut points);
    let mut places = points.iter().map(|&(lon, lat, _)| Ok((e7(lon)?, e7(lat)?))).collect::<Result<Ring, String>>()?;
    if places.len() < 4 || places.first() != places.last() {
        return Err("a ring that is not closed".to_owned());
    }
    places.pop();
    let is_counter_clockwise = doubled_area(&places) > 0;
    let exteriors_are_counter_clockwise = format != VectorFormat::Shapefile;
    if is_counter_clockwise != (is_exterior == exteriors_are_counter_clockwise) {
        let role = if is_exterior { "an exterior" } else { "a hole" };
        let way = if is_counter_clockwise { "counter-clockwise" } else { "clockwise" };
        return Err(format!("{role} that runs {way}"));
    }
    if !exteriors_are_counter_clockwise {
        places.reverse();
    }
    Ok(from_smallest(places))
}

/// Whole 1e-7 degrees; a number that is not the double nearest to them was not written by us.
fn e7(degrees: f64) -> Result<i64, String> {
    let steps = (degrees * 1e7).round() as i64;
    if steps as f64 / 1e7 == degrees { Ok(steps) } else { Err(format!("coordinate {degrees} has over 7 decimals")) }
}

fn from_smallest(mut ring: Ring) -> Ring {
    let smallest = ring.iter().enumerate().min_by_key(|(_, place)| **place).map_or(0, |(at, _)| at);
    ring.rotate_left(smallest);
    ring
}

/// Twice the signed area of an open ring.
fn doubled_area(ring: &Ring) -> i128 {
    let Some(&(lon0, lat0)) = ring.first() else { return 0 };
    let from_first = |at: usize| {
        let (lon, lat) = ring[at % ring.len()];
        (i128::from(lon - lon0), i128::from(lat - lat0))
    };
    let cross = |at: usize| {
        let (a, b) = (from_first(at), from_first(at + 1));
        a.0 * b.1 - b.0 * a.1
    };
    (0..ring.len()).map(cross).sum()
}
