//! What a layer of rates orders: least, most, how much ground, how much product.

use geo::{Area as _, CoordsIter as _, GeodesicArea as _, MultiPolygon};
use rayon::prelude::*;

use super::rate_unit::{self, RateUnit};
use super::shape::{bounds, is_on_earth};
use super::{Ground, Prescription, RateLayer};

/// Facts of one layer.
#[derive(Debug, Clone, Default)]
pub struct LayerFacts {
    /// Distinct rates, ascending, each with its ground in square meters.
    pub rates: Vec<(f64, f64)>,
    /// Ground without a usable rate, square meters.
    pub without_rate_m2: f64,
    /// Unit, where it is one known here.
    pub unit: Option<&'static RateUnit>,
    /// West, south, east, north, degrees.
    pub bounds: Option<[f64; 4]>,
    /// Shapes, their polygons and holes, and corners; zeros for cells.
    pub shapes: ShapeCounts,
    /// Columns, rows, and width and height of a cell in meters; for cells.
    pub grid: Option<(usize, usize, f64, f64)>,
}

/// How much geometry there is.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct ShapeCounts {
    /// Records or zones.
    pub shapes: usize,
    /// Polygons.
    pub polygons: usize,
    /// Holes.
    pub holes: usize,
    /// Corners.
    pub corners: usize,
}

impl LayerFacts {
    /// Looks at a layer of a prescription.
    pub fn of(prescription: &Prescription, layer: &RateLayer) -> Self {
        let mut facts = LayerFacts { unit: layer.unit.as_deref().and_then(rate_unit::named), ..LayerFacts::default() };
        let mut ground: Vec<(f64, f64)> = Vec::new();
        match &layer.ground {
            Ground::Shapes { set, rates } => {
                let Some(set) = prescription.shape_sets.get(*set) else { return facts };
                let areas: Vec<f64> = set.shapes.par_iter().map(|shape| geodesic_m2(&shape.polygons)).collect();
                for (rate, m2) in rates.iter().zip(areas) {
                    match rate {
                        Some(rate) => ground.push((*rate, m2)),
                        None => facts.without_rate_m2 += m2,
                    }
                }
                facts.bounds = bounds(set.shapes.iter().map(|shape| &shape.polygons));
                for shape in &set.shapes {
                    facts.shapes.shapes += 1;
                    facts.shapes.polygons += shape.polygons.0.len();
                    facts.shapes.holes += shape.polygons.iter().map(|part| part.interiors().len()).sum::<usize>();
                    facts.shapes.corners += shape.polygons.coords_count();
                }
            }
            Ground::Cells(cells) => {
                let inside = layer.outline.as_ref().map(|outline| cells.inside(outline));
                for row in 0..cells.n_rows {
                    let m2 = cells.cell_m2(row);
                    for index in row * cells.n_cols..(row + 1) * cells.n_cols {
                        if inside.as_ref().is_some_and(|inside| !inside[index]) {
                            continue;
                        }
                        match cells.rates[index] {
                            rate if rate.is_finite() => ground.push((rate, m2)),
                            // A cell without data outside a drawn field is no ground of it.
                            _ if inside.is_some() => facts.without_rate_m2 += m2,
                            _ => (),
                        }
                    }
                }
                facts.bounds = Some(cells.bounds());
                let m2 = cells.cell_m2(cells.n_rows / 2);
                // Height by a degree of latitude, 111.1 km to 0.5 % (from memory): a size to print, not to compute with.
                let height = 111_100.0 * cells.per_row.1.hypot(cells.per_row.0 * cells.origin.1.to_radians().cos());
                facts.grid = Some((cells.n_cols, cells.n_rows, m2 / height, height));
            }
        }
        ground.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (rate, m2) in ground {
            match facts.rates.last_mut() {
                Some((last, area)) if (rate - *last).abs() <= 1e-9 * last.abs() => *area += m2,
                _ => facts.rates.push((rate, m2)),
            }
        }
        facts
    }

    /// Ground with a rate, square meters.
    pub fn m2(&self) -> f64 {
        self.rates.iter().map(|(_, m2)| m2).sum()
    }

    /// Rate times ground, in `rate unit times square meters`.
    pub fn spread(&self) -> f64 {
        self.rates.iter().map(|(rate, m2)| rate * m2).sum()
    }

    /// Total product in the unit's amount; `None` where the unit is not known.
    pub fn total(&self) -> Option<f64> {
        self.unit.map(|unit| self.spread() / unit.per_m2)
    }
}

/// Geodesic area, holes taken off; 0 for what does not lie on earth.
pub fn geodesic_m2(polygons: &MultiPolygon) -> f64 {
    if !is_on_earth(polygons) {
        return 0.0;
    }
    let part = |polygon: &geo::Polygon| {
        let ring = |ring: &geo::LineString| geo::Polygon::new(ring.clone(), Vec::new()).geodesic_area_signed().abs();
        // A ring turned the wrong way would count as the rest of the earth by the unsigned area.
        let holes: f64 = polygon.interiors().iter().map(ring).sum();
        if polygon.unsigned_area() == 0.0 { 0.0 } else { ring(polygon.exterior()) - holes }
    };
    polygons.iter().map(part).sum()
}
