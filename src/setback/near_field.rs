//! Which shapes lie near a field, how far the nearest lies, and how much of the field is kept off.

use geo::{
    Area, BooleanOps, BoundingRect, Coord, CoordsIter, Distance, Euclidean, Geodesic, Geometry, LineString, MapCoords,
    MultiPolygon, Point, Rect, unary_union,
};

use crate::boundary::FieldBoundary;
use crate::crs::WorkCrs;

/// Beside the distance itself, how far from the field shapes are kept for maps, meters.
const MARGIN_M: f64 = 2000.0;
/// Meters in a degree of latitude, and of longitude at the equator, at the least.
const LEAST_M_PER_DEG: f64 = 110_500.0;

/// Points, pieces of lines, and whole polygons that come within the distance and 2 km of the field's bounds.
pub(super) fn shapes_near(shapes: &[Geometry<f64>], boundary: &FieldBoundary, distance_m: f64) -> Vec<Geometry<f64>> {
    let [west, east, south, north] = boundary.bounds_lon_lat();
    let tall_deg = (distance_m + MARGIN_M) / LEAST_M_PER_DEG;
    let farthest_lat = (south.abs().max(north.abs()) + tall_deg).min(89.0);
    let wide_deg = tall_deg / farthest_lat.to_radians().cos();
    let window = Rect::new((west - wide_deg, south - tall_deg), (east + wide_deg, north + tall_deg));
    let mut near = Vec::new();
    shapes.iter().for_each(|shape| take_near(shape, window, &mut near));
    near
}

fn take_near(shape: &Geometry<f64>, window: Rect<f64>, near: &mut Vec<Geometry<f64>>) {
    match shape {
        Geometry::GeometryCollection(shapes) => shapes.iter().for_each(|shape| take_near(shape, window, near)),
        Geometry::MultiPoint(points) => points.iter().for_each(|&point| take_near(&point.into(), window, near)),
        Geometry::MultiPolygon(parts) => parts.iter().for_each(|part| take_near(&part.clone().into(), window, near)),
        Geometry::MultiLineString(lines) => {
            lines.iter().for_each(|line| take_near(&line.clone().into(), window, near));
        }
        Geometry::LineString(line) if line.0.len() > 1 => near.extend(pieces_near(line, window)),
        _ => near.extend(shape.bounding_rect().filter(|&bounds| meet(bounds, window)).map(|_| shape.clone())),
    }
}

/// Runs of edges whose bounds meet the window.
fn pieces_near(line: &LineString<f64>, window: Rect<f64>) -> Vec<Geometry<f64>> {
    let mut pieces: Vec<Vec<Coord<f64>>> = Vec::new();
    let mut follows = false;
    for edge in line.lines() {
        let is_near = meet(Rect::new(edge.start, edge.end), window);
        match pieces.last_mut() {
            Some(piece) if is_near && follows => piece.push(edge.end),
            _ if is_near => pieces.push(vec![edge.start, edge.end]),
            _ => {}
        }
        follows = is_near;
    }
    pieces.into_iter().map(|piece| LineString(piece).into()).collect()
}

fn meet(a: Rect<f64>, b: Rect<f64>) -> bool {
    a.min().x <= b.max().x && b.min().x <= a.max().x && a.min().y <= b.max().y && b.min().y <= a.max().y
}

/// Distance from the field to the nearest shape, meters; 0 where one touches it, `None` without shapes.
///
/// Within some kilometers good to 0.1 %; beyond, that from vertex to vertex.
pub fn nearest_m(shapes: &[Geometry<f64>], boundary: &FieldBoundary) -> Option<f64> {
    let work_crs = boundary.work_crs();
    let near = shapes_near(shapes, boundary, MARGIN_M).into_iter();
    let near = near.filter_map(|shape| shape.try_map_coords(|at| on_plane(at, work_crs)).ok());
    let field = Geometry::MultiPolygon(boundary.local().clone());
    let nearest = near.map(|shape| Euclidean.distance(&shape, &field)).min_by(f64::total_cmp);
    nearest.or_else(|| {
        let [west, east, south, north] = boundary.bounds_lon_lat();
        let middle = Point::new(f64::midpoint(west, east), f64::midpoint(south, north));
        let vertices = shapes.iter().flat_map(|shape| shape.coords_iter()).map(Point);
        let from_middle = vertices.map(|vertex| (Geodesic.distance(middle, vertex), vertex));
        let (_, vertex) = from_middle.min_by(|a, b| a.0.total_cmp(&b.0))?;
        let corners = boundary.lon_lat().coords_iter().map(|at| Geodesic.distance(vertex, Point(at)));
        corners.min_by(f64::total_cmp)
    })
}

/// A place in local meters, if it has one.
fn on_plane(at: Coord<f64>, work_crs: &WorkCrs) -> Result<Coord<f64>, ()> {
    let site = work_crs.to_local((at.x, at.y)).ok_or(())?;
    Ok(Coord { x: site.east_m, y: site.north_m })
}

/// The shapes with longitude and latitude exchanged, as far as that is a place.
pub(super) fn exchanged(shapes: &[Geometry<f64>]) -> Vec<Geometry<f64>> {
    let exchange = |at: Coord<f64>| if at.x.abs() <= 90.0 { Ok(Coord { x: at.y, y: at.x }) } else { Err(()) };
    shapes.iter().filter_map(|shape| shape.try_map_coords(exchange).ok()).collect()
}

/// How much of the field lies in any of the areas (longitude and latitude): 0 to 1.
pub fn kept_off_share(areas: &[&MultiPolygon<f64>], boundary: &FieldBoundary) -> f64 {
    let work_crs = boundary.work_crs();
    // What has no place on the plane does not lie in the field.
    let local = areas
        .iter()
        .flat_map(|area| area.iter())
        .filter_map(|part| part.try_map_coords(|at| on_plane(at, work_crs)).ok());
    let united = unary_union(&local.collect::<Vec<_>>());
    let kept_off_m2 = united.intersection(boundary.local()).unsigned_area();
    (kept_off_m2 / boundary.local().unsigned_area()).clamp(0.0, 1.0)
}
