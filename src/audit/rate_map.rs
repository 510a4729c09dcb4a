//! The rate at any place of a layer.

use geo::{BoundingRect as _, Contains as _, MultiPolygon, Point};

use super::cells::Cells;
use super::shape::bounds;
use super::{Ground, Prescription, RateLayer};
use crate::crs::LonLat;

/// Buckets along each side.
const BUCKETS: usize = 64;

/// A layer that can be asked for its rate at a place.
pub struct RateMap<'a> {
    ground: MapGround<'a>,
    /// West, south, east, north, degrees.
    pub bounds: [f64; 4],
}

enum MapGround<'a> {
    Shapes { shapes: Vec<(&'a MultiPolygon, Option<f64>)>, buckets: Vec<Vec<usize>> },
    Cells(&'a Cells),
}

impl<'a> RateMap<'a> {
    /// A layer as a map; `None` where it has no ground on earth.
    pub fn new(prescription: &'a Prescription, layer: &'a RateLayer) -> Option<Self> {
        match &layer.ground {
            Ground::Cells(cells) => Some(RateMap { ground: MapGround::Cells(cells), bounds: cells.bounds() }),
            Ground::Shapes { set, rates } => {
                let set = prescription.shape_sets.get(*set)?;
                let bounds = bounds(set.shapes.iter().map(|shape| &shape.polygons))?;
                let shapes: Vec<(&MultiPolygon, Option<f64>)> =
                    set.shapes.iter().map(|shape| &shape.polygons).zip(rates.iter().copied()).collect();
                let mut buckets = vec![Vec::new(); BUCKETS * BUCKETS];
                for (index, (polygons, _)) in shapes.iter().enumerate() {
                    let Some(rect) = polygons.bounding_rect() else { continue };
                    let (first, last) = (bucket(&bounds, rect.min().x_y()), bucket(&bounds, rect.max().x_y()));
                    for row in first.1..=last.1 {
                        (first.0..=last.0).for_each(|column| buckets[row * BUCKETS + column].push(index));
                    }
                }
                Some(RateMap { ground: MapGround::Shapes { shapes, buckets }, bounds })
            }
        }
    }

    /// The rate at a place; `None` outside all ground and where there is no usable rate. The first shape wins.
    pub fn rate_at(&self, place: LonLat) -> Option<f64> {
        match &self.ground {
            MapGround::Cells(cells) => cells.rate_at(place),
            MapGround::Shapes { shapes, buckets } => {
                let [west, south, east, north] = self.bounds;
                if place.0 < west || place.0 > east || place.1 < south || place.1 > north {
                    return None;
                }
                let (column, row) = bucket(&self.bounds, place);
                let at = Point::from(place);
                let found = buckets[row * BUCKETS + column].iter().find(|index| shapes[**index].0.contains(&at));
                found.and_then(|index| shapes[*index].1)
            }
        }
    }

    /// The rate at a place if columns and rows were exchanged, each cell in the other's place; `None` for shapes.
    pub fn rate_if_transposed(&self, place: LonLat) -> Option<f64> {
        let (cells, column, row) = self.cell_of(place)?;
        (column < cells.n_rows && row < cells.n_cols).then(|| cells.rates[column * cells.n_cols + row])
    }

    /// The rate at a place if only the numbers of columns and rows were exchanged; `None` for shapes.
    pub fn rate_if_counts_exchanged(&self, place: LonLat) -> Option<f64> {
        let (cells, column, row) = self.cell_of(place)?;
        (column < cells.n_rows && row < cells.n_cols).then(|| cells.rates[row * cells.n_rows + column])
    }

    /// Column and row from the first corner on, also beyond the last.
    fn cell_of(&self, place: LonLat) -> Option<(&Cells, usize, usize)> {
        let MapGround::Cells(cells) = &self.ground else { return None };
        let (column, row) = cells.column_row(place).filter(|(column, row)| *column >= 0.0 && *row >= 0.0)?;
        Some((cells, column as usize, row as usize))
    }

    /// Center of the cell a place lies in; `None` for shapes and beyond the cells.
    pub fn cell_center(&self, place: LonLat) -> Option<LonLat> {
        let (cells, column, row) = self.cell_of(place)?;
        (column < cells.n_cols && row < cells.n_rows).then(|| cells.place(column as f64 + 0.5, row as f64 + 0.5))
    }

    /// Longest way across a cell, meters; `None` for shapes.
    pub fn cell_m(&self) -> Option<f64> {
        let MapGround::Cells(cells) = &self.ground else { return None };
        let plane = super::plane::Plane::at(cells.place(0.0, 0.0));
        let (east, north) = plane.meters(cells.place(1.0, 1.0));
        Some(east.hypot(north))
    }
}

fn bucket([west, south, east, north]: &[f64; 4], place: LonLat) -> (usize, usize) {
    let of = |value: f64, low: f64, high: f64| {
        let share = if high > low { (value - low) / (high - low) } else { 0.0 };
        ((share * BUCKETS as f64) as usize).min(BUCKETS - 1)
    };
    (of(place.0, *west, *east), of(place.1, *south, *north))
}
