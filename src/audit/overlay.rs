//! Where polygons lie over one another, and ground between them that has none.
//!
//! One union of all polygons says whether anything overlaps at all (its area falls short of the sum), and its holes are
//! gaps; pairs are looked at only where something overlaps. Gaps that open to the outside are found by closing: the
//! union widened and narrowed again fills them.

use geo::{
    Area as _, BooleanOps as _, BoundingRect as _, Buffer as _, Centroid as _, Distance as _, Euclidean,
    InteriorPoint as _, Length as _, MultiPolygon, Polygon, Rect, unary_union,
};

use super::plane::Plane;
use super::shape::{ShapeSet, is_on_earth};
use crate::crs::LonLat;

/// What is narrower than this, meters, comes of rounded coordinates: 1e-7 degree is 1 cm, 1e-6 degree 11 cm.
const HAIR_M: f64 = 0.05;
/// What is smaller than this is not told, square meters.
const LEAST_M2: f64 = 0.5;
/// Half the width of gaps that are found where they open to the outside, meters.
const CLOSED_M: f64 = 1.0;
/// How much longer than wide a gap is that opens to the outside: shorter ones are inward corners of the outline.
const GAP_LENGTHS: f64 = 8.0;
/// How near a shape lies to a gap it borders, meters.
const TOUCH_M: f64 = 0.1;
/// Most overlaps and gaps that are told.
const MOST_TOLD: usize = 500;

/// Ground where two shapes lie over one another.
#[derive(Debug, Clone, PartialEq)]
pub struct Overlap {
    /// Indices of the shapes, the lower first.
    pub shapes: (usize, usize),
    /// Its area, square meters.
    pub m2: f64,
    /// A place in it.
    pub at: LonLat,
}

/// Ground between shapes.
#[derive(Debug, Clone, PartialEq)]
pub struct Gap {
    /// Indices of shapes that border it, at most a few.
    pub shapes: Vec<usize>,
    /// Its area, square meters.
    pub m2: f64,
    /// Its mean width, meters.
    pub width_m: f64,
    /// A place in it.
    pub at: LonLat,
}

/// Overlaps and gaps of a set.
#[derive(Debug, Clone, Default)]
pub struct Overlay {
    /// Overlaps, largest first.
    pub overlaps: Vec<Overlap>,
    /// Gaps, largest first; holes that belong to one polygon are none.
    pub gaps: Vec<Gap>,
    /// Ground under at least one shape, square meters.
    pub covered_m2: f64,
}

impl Overlay {
    /// Looks at a set. Shapes that GEOS calls invalid, or that do not lie on earth, are left out.
    pub fn of(set: &ShapeSet) -> Self {
        let Some(plane) = set.plane() else { return Overlay::default() };
        let shapes: Vec<(usize, MultiPolygon)> = set
            .shapes
            .iter()
            .enumerate()
            .filter(|(_, shape)| {
                shape.invalid.is_none() && is_on_earth(&shape.polygons) && !shape.polygons.0.is_empty()
            })
            .map(|(index, shape)| (index, plane.polygons(&shape.polygons)))
            .collect();
        let union = unary_union(shapes.iter().flat_map(|(_, polygons)| polygons.iter()));
        let covered_m2 = union.unsigned_area();
        let sum_m2: f64 = shapes.iter().map(|(_, polygons)| polygons.unsigned_area()).sum();
        let has_overlap = sum_m2 - covered_m2 > LEAST_M2 + 1e-7 * sum_m2;
        let overlaps = if has_overlap { overlaps(&shapes, &plane) } else { Vec::new() };
        Overlay { overlaps, gaps: gaps(&shapes, &union, &plane), covered_m2 }
    }
}

/// Mean width of a piece of ground, meters: twice its area over its outline, right for long strips.
pub fn mean_width_m(polygon: &Polygon) -> f64 {
    let around = Euclidean.length(polygon.exterior());
    if around > 0.0 { 2.0 * polygon.unsigned_area() / around } else { 0.0 }
}

fn overlaps(shapes: &[(usize, MultiPolygon)], plane: &Plane) -> Vec<Overlap> {
    let mut parts: Vec<(Rect, usize, &Polygon)> = shapes
        .iter()
        .flat_map(|(index, polygons)| polygons.iter().filter_map(|part| Some((part.bounding_rect()?, *index, part))))
        .collect();
    parts.sort_by(|a, b| a.0.min().x.total_cmp(&b.0.min().x));
    let mut found: Vec<Overlap> = Vec::new();
    let mut open: Vec<usize> = Vec::new();
    for now in 0..parts.len() {
        let (rect, index, part) = parts[now];
        open.retain(|other| parts[*other].0.max().x > rect.min().x);
        for other in &open {
            let (other_rect, other_index, other_part) = parts[*other];
            let apart = other_rect.max().y <= rect.min().y || other_rect.min().y >= rect.max().y;
            if apart || found.len() >= MOST_TOLD {
                continue;
            }
            for shared in part.intersection(other_part) {
                let m2 = shared.unsigned_area();
                let Some(at) = shared.interior_point() else { continue };
                if m2 >= LEAST_M2 && mean_width_m(&shared) >= HAIR_M {
                    let shapes = (index.min(other_index), index.max(other_index));
                    found.push(Overlap { shapes, m2, at: plane.lon_lat(at.x_y()) });
                }
            }
        }
        open.push(now);
    }
    found.sort_by(|a, b| b.m2.total_cmp(&a.m2).then(a.shapes.cmp(&b.shapes)));
    found
}

fn gaps(shapes: &[(usize, MultiPolygon)], union: &MultiPolygon, plane: &Plane) -> Vec<Gap> {
    if shapes.iter().map(|(_, polygons)| polygons.0.len()).sum::<usize>() < 2 {
        return Vec::new();
    }
    let holes: Vec<Polygon> =
        union.iter().flat_map(|part| part.interiors()).map(|ring| Polygon::new(ring.clone(), Vec::new())).collect();
    let own: Vec<(f64, (f64, f64))> = shapes
        .iter()
        .flat_map(|(_, polygons)| polygons.iter().flat_map(|part| part.interiors()))
        .filter_map(|ring| {
            let hole = Polygon::new(ring.clone(), Vec::new());
            Some((hole.unsigned_area(), hole.centroid()?.x_y()))
        })
        .collect();
    let is_own = |hole: &Polygon| {
        let Some((x, y)) = hole.centroid().map(|at| at.x_y()) else { return false };
        let m2 = hole.unsigned_area();
        own.iter().any(|(area, at)| (area - m2).abs() < 0.01 * m2 + LEAST_M2 && (at.0 - x).hypot(at.1 - y) < 0.5)
    };
    let mut pieces: Vec<Polygon> = holes.iter().filter(|hole| !is_own(hole)).cloned().collect();
    let solid: MultiPolygon = union.iter().map(|part| Polygon::new(part.exterior().clone(), Vec::new())).collect();
    let closed = solid.buffer(CLOSED_M).buffer(-CLOSED_M);
    let is_strip = |piece: &Polygon| {
        let width = mean_width_m(piece);
        piece.unsigned_area() > GAP_LENGTHS * width * width
    };
    pieces.extend(closed.difference(&solid).0.into_iter().filter(is_strip));
    pieces.retain(|piece| piece.unsigned_area() >= LEAST_M2 && mean_width_m(piece) >= HAIR_M);
    pieces.sort_by(|a, b| b.unsigned_area().total_cmp(&a.unsigned_area()));
    pieces.truncate(MOST_TOLD);
    let gap = |piece: &Polygon| {
        let shapes = bordering(piece, shapes);
        let at = plane.lon_lat(piece.interior_point()?.x_y());
        // What borders on one part alone is a bay of it, not a gap between two.
        (shapes.len() > 1).then(|| Gap { shapes, m2: piece.unsigned_area(), width_m: mean_width_m(piece), at })
    };
    pieces.iter().filter_map(gap).collect()
}

/// Shapes that touch a piece of ground.
fn bordering(piece: &Polygon, shapes: &[(usize, MultiPolygon)]) -> Vec<usize> {
    let Some(rect) = piece.bounding_rect() else { return Vec::new() };
    let near = |part: &Polygon| {
        part.bounding_rect().is_some_and(|other| {
            other.max().x > rect.min().x - TOUCH_M
                && other.min().x < rect.max().x + TOUCH_M
                && other.max().y > rect.min().y - TOUCH_M
                && other.min().y < rect.max().y + TOUCH_M
        }) && Euclidean.distance(part, piece) < TOUCH_M
    };
    let touches = |(_, polygons): &&(usize, MultiPolygon)| polygons.iter().any(near);
    shapes.iter().filter(touches).map(|(index, _)| *index).take(8).collect()
}

#[cfg(test)]
mod tests {
    use geo::{Coord, LineString};

    use super::super::shape::Shape;
    use super::*;
    use crate::diagnostic::Place;

    /// Rectangles in meters about a place, as west, south, east, north.
    fn set(rectangles: &[[f64; 4]]) -> ShapeSet {
        let plane = Plane::at((-93.5, 41.0));
        let shape = |[west, south, east, north]: &[f64; 4]| {
            let corners = [(*west, *south), (*east, *south), (*east, *north), (*west, *north), (*west, *south)];
            let ring: LineString = corners.iter().map(|at| Coord::from(plane.lon_lat(*at))).collect();
            let polygons = MultiPolygon::new(vec![Polygon::new(ring, Vec::new())]);
            Shape { place: Place::File(String::new()), polygons, invalid: None }
        };
        ShapeSet::new("", "", rectangles.iter().map(shape).collect())
    }

    #[test]
    fn neighbors_that_share_a_border_neither_overlap_nor_gape() {
        let overlay =
            Overlay::of(&set(&[[0.0, 0.0, 100.0, 50.0], [100.0, 0.0, 200.0, 50.0], [0.0, 50.0, 200.0, 90.0]]));
        assert!(overlay.overlaps.is_empty() && overlay.gaps.is_empty(), "{overlay:?}");
        assert!((overlay.covered_m2 - 18_000.0).abs() < 0.01);
    }

    #[test]
    fn an_overlap_has_the_area_of_the_common_rectangle() {
        let overlay =
            Overlay::of(&set(&[[0.0, 0.0, 100.0, 50.0], [98.0, 10.0, 200.0, 50.0], [300.0, 0.0, 400.0, 50.0]]));
        let [overlap] = overlay.overlaps.as_slice() else { panic!("{overlay:?}") };
        assert_eq!(overlap.shapes, (0, 1));
        assert!((overlap.m2 - 80.0).abs() < 0.01, "{overlap:?}");
    }

    #[test]
    fn gaps_inside_and_open_to_the_edge_are_found_and_inward_corners_are_not() {
        let open = Overlay::of(&set(&[[0.0, 0.0, 100.0, 50.0], [100.5, 0.0, 200.0, 50.0]]));
        let [gap] = open.gaps.as_slice() else { panic!("{open:?}") };
        assert!((gap.m2 - 25.0).abs() < 1.5 && (gap.width_m - 0.5).abs() < 0.02, "{gap:?}");
        assert_eq!(gap.shapes, [0, 1]);
        let ring = Overlay::of(&set(&[
            [0.0, 0.0, 10.0, 30.0],
            [20.0, 0.0, 30.0, 30.0],
            [10.0, 0.0, 20.0, 10.0],
            [10.0, 20.0, 20.0, 30.0],
        ]));
        let [gap] = ring.gaps.as_slice() else { panic!("{ring:?}") };
        assert!((gap.m2 - 100.0).abs() < 0.01 && gap.shapes == [0, 1, 2, 3], "{gap:?}");
        let corner = Overlay::of(&set(&[[0.0, 0.0, 100.0, 50.0], [0.0, 50.0, 50.0, 90.0]]));
        assert!(corner.gaps.is_empty(), "{corner:?}");
    }

    #[test]
    fn rounding_to_a_ten_millionth_of_a_degree_opens_nothing() {
        // A corner of one neighbor in the middle of the other's side, rounded: a slit of millimeters.
        let mut set = set(&[[0.0, 0.0, 101.3, 50.7], [101.3, -7.7, 200.0, 80.3], [0.0, 50.7, 101.3, 80.3]]);
        for shape in &mut set.shapes {
            use geo::MapCoordsInPlace as _;
            let round = |value: f64| (value * 1e7).round() / 1e7;
            shape.polygons.map_coords_in_place(|Coord { x, y }| Coord { x: round(x), y: round(y) });
        }
        let overlay = Overlay::of(&set);
        assert!(overlay.overlaps.is_empty() && overlay.gaps.is_empty(), "{overlay:?}");
    }
}
