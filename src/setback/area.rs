//! [`setback_area`]: the ground within a distance of shapes.

use std::f64::consts::TAU;

use geo::bool_ops::{FillRule, OpType};
use geo::{
    BooleanOps, ConvexHull, Coord, CoordsIter, Densify, Distance, Euclidean, Geodesic, Geometry, LineString, MapCoords,
    MultiPoint, MultiPolygon, Point, Polygon, Simplify, unary_union,
};

use crate::cell_grid::Site;
use crate::crs::{COORDINATES_OUTSIDE_CRS, WorkCrs, show_lon_lat};
use crate::diagnostic::Diagnostic;

/// Corners of the polygon round a disc: it reaches 0.21 % beyond the circle at its corners.
const N_CORNERS: usize = 48;
/// Vertices of lines and rings are thinned by this share of the distance, which is added to it.
const THINNED_SHARE: f64 = 0.002;
/// Added to every distance, meters: local coordinates are whole millimeters, and a line of [`LONGEST_PIECE_M`] bends by
/// a millimeter between the plane and degrees.
const ROUNDING_M: f64 = 0.002;
/// Added to every distance, as a share: what the scale of the plane changes within one shape and between directions.
const SCALE_SHARE: f64 = 0.0002;
/// Longest piece of a line taken straight both in degrees and on the plane, degrees and meters.
const LONGEST_PIECE_DEG: f64 = 0.002;
const LONGEST_PIECE_M: f64 = 200.0;
/// Vertices simplified at once.
const PIECE_VERTICES: usize = 1000;
/// Pieces united at once.
const UNITED_AT_ONCE: usize = 30;
/// Length of the trial lines for the scale of the plane, meters.
const TRIAL_LINE_M: f64 = 500.0;

/// Everything nearer to the shapes than a distance, and the ground of the polygons themselves.
///
/// Distances are true ones on the ellipsoid: the plane's scale at the shapes is measured and taken off. Lines are
/// straight between their vertices in degrees, as GeoJSON has it (RFC 7946, 3.1.1). A polygon is what its rings surround
/// an odd number of times, and what its first ring surrounds without the others: rings that cross, or a hole put first,
/// never make it smaller. Holes are kept, as far as the distance leaves any.
///
/// # Units
/// `shapes` and the result: longitude and latitude, degrees; `distance_m`: meters on the ground.
///
/// # Guarantees
/// - no place nearer than the distance is left out; no place farther than 1.01 times the distance and 3 mm is taken,
///   where the shapes lie within some kilometers of each other (the scale is the largest found at their corners)
/// - at distance 0 the polygons are united as they stand; points and lines have no ground
/// - overlapping areas become one
///
/// # Errors
/// [`COORDINATES_OUTSIDE_CRS`] for a vertex without a place on the work plane.
pub fn setback_area(
    shapes: &[Geometry<f64>],
    distance_m: f64,
    work_crs: &WorkCrs,
) -> Result<MultiPolygon<f64>, Box<Diagnostic>> {
    let mut parts = Parts::default();
    shapes.iter().for_each(|shape| parts.take(shape));
    let grounds: Vec<MultiPolygon<f64>> = parts.polygons.iter().map(ground_of).collect();
    if distance_m <= 0.0 {
        return Ok(unary_union(&grounds));
    }
    let project = |at: Coord<f64>| to_local(at, work_crs);
    let mut lines = Vec::new();
    for line in &parts.lines {
        let fine = if line.0.len() > 1 { Euclidean.densify(line, LONGEST_PIECE_DEG) } else { line.clone() };
        lines.push(fine.try_map_coords(project)?);
    }
    let reach_m = reach_m(&lines, distance_m, work_crs)?;
    let thinned_m = THINNED_SHARE * distance_m;
    let corner_m = (reach_m + thinned_m) / (TAU / (2 * N_CORNERS) as f64).cos();
    let mut pieces: Vec<MultiPolygon<f64>> = Vec::new();
    for ground in &grounds {
        pieces.push(Euclidean.densify(ground, LONGEST_PIECE_DEG).try_map_coords(project)?);
    }
    for line in &lines {
        let line = thinned(line, thinned_m);
        match line.0[..] {
            [] => {}
            [only] => pieces.push(strip(only, only, corner_m).into()),
            _ => pieces.extend(line.lines().map(|edge| MultiPolygon::from(strip(edge.start, edge.end, corner_m)))),
        }
    }
    let area = Euclidean.densify(&united(pieces), LONGEST_PIECE_M);
    area.try_map_coords(|at| to_lon_lat(at, work_crs))
}

/// Whether a shape is ground by itself: a polygon, or a collection of nothing else.
pub(super) fn has_ground(shape: &Geometry<f64>) -> bool {
    let mut parts = Parts::default();
    parts.take(shape);
    parts.n_without_ground == 0
}

/// Shapes taken apart.
#[derive(Default)]
struct Parts {
    polygons: Vec<Polygon<f64>>,
    /// Lines, rings, and points as lines of one vertex.
    lines: Vec<LineString<f64>>,
    n_without_ground: usize,
}

impl Parts {
    fn take(&mut self, shape: &Geometry<f64>) {
        match shape {
            Geometry::Point(point) => self.take_line(LineString(vec![point.0])),
            Geometry::MultiPoint(points) => points.iter().for_each(|point| self.take_line(LineString(vec![point.0]))),
            Geometry::Line(line) => self.take_line(LineString(vec![line.start, line.end])),
            Geometry::LineString(line) => self.take_line(line.clone()),
            Geometry::MultiLineString(lines) => lines.iter().for_each(|line| self.take_line(line.clone())),
            Geometry::Polygon(polygon) => self.take_polygon(polygon),
            Geometry::MultiPolygon(polygons) => polygons.iter().for_each(|polygon| self.take_polygon(polygon)),
            Geometry::Rect(rect) => self.take_polygon(&rect.to_polygon()),
            Geometry::Triangle(triangle) => self.take_polygon(&triangle.to_polygon()),
            Geometry::GeometryCollection(shapes) => shapes.iter().for_each(|shape| self.take(shape)),
        }
    }

    fn take_line(&mut self, line: LineString<f64>) {
        self.n_without_ground += 1;
        self.lines.push(line);
    }

    fn take_polygon(&mut self, polygon: &Polygon<f64>) {
        self.polygons.push(polygon.clone());
        self.lines.push(polygon.exterior().clone());
        self.lines.extend(polygon.interiors().iter().cloned());
    }
}

/// What a polygon surrounds, whatever its rings do.
fn ground_of(polygon: &Polygon<f64>) -> MultiPolygon<f64> {
    let nothing = MultiPolygon::new(Vec::new());
    let by_parity = polygon.boolean_op_with_fill_rule(&nothing, OpType::Union, FillRule::EvenOdd);
    let surrounded = |ring: &LineString<f64>| {
        Polygon::new(ring.clone(), Vec::new()).boolean_op_with_fill_rule(&nothing, OpType::Union, FillRule::NonZero)
    };
    let holes: Vec<MultiPolygon<f64>> = polygon.interiors().iter().map(surrounded).collect();
    let by_winding = surrounded(polygon.exterior()).difference(&unary_union(&holes));
    by_parity.union(&by_winding)
}

/// The distance on the plane that is nowhere less than `distance_m` on the ground.
fn reach_m(lines: &[LineString<f64>], distance_m: f64, work_crs: &WorkCrs) -> Result<f64, Box<Diagnostic>> {
    let low = |values: &mut dyn Iterator<Item = f64>| values.fold(f64::INFINITY, f64::min);
    let high = |values: &mut dyn Iterator<Item = f64>| values.fold(f64::NEG_INFINITY, f64::max);
    let all = || lines.iter().flat_map(|line| line.coords_iter());
    let (west, east) = (low(&mut all().map(|at| at.x)), high(&mut all().map(|at| at.x)));
    let (south, north) = (low(&mut all().map(|at| at.y)), high(&mut all().map(|at| at.y)));
    let mut largest: f64 = 0.0;
    for corner in [(west, south), (east, south), (west, north), (east, north)] {
        if corner.0.is_finite() && corner.1.is_finite() {
            largest = largest.max(scale_at(Coord { x: corner.0, y: corner.1 }, work_crs)?);
        }
    }
    Ok(distance_m * largest * (1.0 + SCALE_SHARE) + ROUNDING_M)
}

/// Length on the plane over length on the ground, the largest of four directions.
fn scale_at(center: Coord<f64>, work_crs: &WorkCrs) -> Result<f64, Box<Diagnostic>> {
    let mut largest: f64 = 0.0;
    for eighth in 0..4 {
        let (sin, cos) = (eighth as f64 * TAU / 8.0).sin_cos();
        let end = |side: f64| {
            let (along_x, along_y) = (side * cos * TRIAL_LINE_M / 2.0, side * sin * TRIAL_LINE_M / 2.0);
            to_lon_lat(Coord { x: center.x + along_x, y: center.y + along_y }, work_crs).map(Point)
        };
        largest = largest.max(TRIAL_LINE_M / Geodesic.distance(end(-1.0)?, end(1.0)?));
    }
    Ok(largest)
}

/// A line with fewer vertices, none of the old ones farther than `most_m` from it.
///
/// Piece by piece, as the simplification calls itself as deep as there are vertices.
fn thinned(line: &LineString<f64>, most_m: f64) -> LineString<f64> {
    let mut thin: Vec<Coord<f64>> = Vec::new();
    for first in (0..line.0.len()).step_by(PIECE_VERTICES - 1) {
        let piece = &line.0[first..(first + PIECE_VERTICES).min(line.0.len())];
        thin.pop(); // the joint of two pieces
        thin.extend(LineString::from(piece.to_vec()).simplify(most_m));
    }
    LineString(thin)
}

/// All pieces as one area; neighbors first, as thousands of strips over one place are slow to unite at once.
fn united(mut pieces: Vec<MultiPolygon<f64>>) -> MultiPolygon<f64> {
    while pieces.len() > UNITED_AT_ONCE {
        pieces = pieces.chunks(UNITED_AT_ONCE).map(unary_union).collect();
    }
    unary_union(&pieces)
}

/// A polygon that holds everything within the circle inscribed in its ends, along an edge; of one point a disc.
///
/// All ends have their corners in the same directions, so that strips that meet share them.
fn strip(from: Coord<f64>, to: Coord<f64>, corner_m: f64) -> Polygon<f64> {
    let corners = (0..N_CORNERS).flat_map(|corner| {
        let (sin, cos) = (corner as f64 * TAU / N_CORNERS as f64).sin_cos();
        [from, to].map(|end| Point::new(end.x + corner_m * cos, end.y + corner_m * sin))
    });
    corners.collect::<MultiPoint<f64>>().convex_hull()
}

fn to_local(at: Coord<f64>, work_crs: &WorkCrs) -> Result<Coord<f64>, Box<Diagnostic>> {
    match work_crs.to_local((at.x, at.y)) {
        Some(site) => Ok(Coord { x: site.east_m, y: site.north_m }),
        None => {
            let place = show_lon_lat((at.x, at.y));
            let message = format!("{place} has no place on the work plane {}", work_crs.name());
            Err(Box::new(Diagnostic::error(&COORDINATES_OUTSIDE_CRS, message)))
        }
    }
}

fn to_lon_lat(at: Coord<f64>, work_crs: &WorkCrs) -> Result<Coord<f64>, Box<Diagnostic>> {
    match work_crs.to_lon_lat(Site { east_m: at.x, north_m: at.y }) {
        Some((lon, lat)) => Ok(Coord { x: lon, y: lat }),
        None => {
            let message = format!("{:.0} E, {:.0} N of the work plane {} has no place", at.x, at.y, work_crs.name());
            Err(Box::new(Diagnostic::error(&COORDINATES_OUTSIDE_CRS, message)))
        }
    }
}
