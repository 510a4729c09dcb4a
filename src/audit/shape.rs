//! Polygons of a file, with where each stands in it.

use std::sync::OnceLock;

use geo::{BoundingRect, MultiPolygon};

use super::overlay::Overlay;
use super::plane::Plane;
use crate::diagnostic::Place;

/// One record's or zone's ground.
#[derive(Debug, Clone)]
pub struct Shape {
    /// Where it stands.
    pub place: Place,
    /// Its polygons, longitude and latitude in degrees; empty where it has none or they could not be placed.
    pub polygons: MultiPolygon,
    /// What GEOS says is wrong with it, if anything.
    pub invalid: Option<String>,
}

/// The polygons of a table or task.
#[derive(Debug, Clone, Default)]
pub struct ShapeSet {
    /// Table, file or task.
    pub name: String,
    /// File as typed.
    pub file: String,
    /// One a record or zone.
    pub shapes: Vec<Shape>,
    /// Overlaps and gaps, found once.
    pub overlay: OnceLock<Overlay>,
}

impl ShapeSet {
    /// Shapes of a file or task.
    pub fn new(name: impl Into<String>, file: impl Into<String>, shapes: Vec<Shape>) -> Self {
        ShapeSet { name: name.into(), file: file.into(), shapes, overlay: OnceLock::new() }
    }

    /// Where shapes lie over one another, and ground between them.
    pub fn overlay(&self) -> &Overlay {
        self.overlay.get_or_init(|| Overlay::of(self))
    }

    /// The plane in the middle of the shapes; `None` where no coordinate is usable.
    pub fn plane(&self) -> Option<Plane> {
        let bounds = bounds(self.shapes.iter().map(|shape| &shape.polygons))?;
        let [west, south, east, north] = bounds;
        Some(Plane::at(((west + east) / 2.0, (south + north) / 2.0)))
    }
}

/// West, south, east and north of polygons, degrees; `None` without any, or with numbers that are no degrees.
pub fn bounds<'a>(polygons: impl Iterator<Item = &'a MultiPolygon>) -> Option<[f64; 4]> {
    let mut all: Option<[f64; 4]> = None;
    for part in polygons.flat_map(|polygons| polygons.iter()) {
        let Some(rect) = part.bounding_rect() else { continue };
        let (min, max) = (rect.min(), rect.max());
        let old = all.unwrap_or([min.x, min.y, max.x, max.y]);
        all = Some([old[0].min(min.x), old[1].min(min.y), old[2].max(max.x), old[3].max(max.y)]);
    }
    all.filter(|[west, south, east, north]| {
        [west, south, east, north].iter().all(|value| value.is_finite())
            && *west >= -180.0
            && *east <= 180.0
            && *south >= -90.0
            && *north <= 90.0
    })
}

/// Whether every coordinate is finite and could be a longitude and a latitude.
pub fn is_on_earth(polygons: &MultiPolygon) -> bool {
    use geo::CoordsIter as _;
    polygons.coords_iter().all(|at| at.x.is_finite() && at.y.is_finite() && at.x.abs() <= 180.0 && at.y.abs() <= 90.0)
}
