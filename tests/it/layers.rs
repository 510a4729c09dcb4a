//! Layers to write: one by hand, and the outlines of random fields.

use holdground::coverage::{Coverage, CoverageError, Lattice, LatticePolygon, Vertex};
use holdground::export::{Column, ColumnKind, Record, Value, VectorLayer};

use crate::scenario::Scenario;

pub(crate) fn text(name: &str, width: usize) -> Column {
    Column { name: name.to_owned(), kind: ColumnKind::Text { width } }
}

pub(crate) fn number(name: &str, width: usize, decimals: usize) -> Column {
    Column { name: name.to_owned(), kind: ColumnKind::Number { width, decimals } }
}

/// A closed ring counter-clockwise from its south-west corner, or clockwise for a hole.
fn square(low: i32, high: i32, is_hole: bool) -> Vec<Vertex> {
    let mut ring = [(low, low), (high, low), (high, high), (low, high), (low, low)];
    if is_hole {
        ring.reverse();
    }
    ring.map(|(x, y)| Vertex { x, y }).to_vec()
}

/// Zone 1 has a hole and an island in the hole; zone 2 lies between the two. Steps of 1e-7 degree.
pub(crate) fn hole_and_island() -> VectorLayer {
    let polygon = |exterior, interiors| LatticePolygon { exterior, interiors };
    let outer = polygon(square(0, 90_000, false), vec![square(20_000, 70_000, true)]);
    let island = polygon(square(40_000, 50_000, false), Vec::new());
    let between = polygon(square(20_000, 70_000, false), vec![square(40_000, 50_000, true)]);
    let record = |id: usize, rate: Value, polygons| {
        let values = vec![
            Value::Number(id as f64),
            rate,
            Value::Text("lb/ac".to_owned()),
            Value::Text("Potash 0-0-60".to_owned()),
            Value::Number(12.5),
        ];
        Record { id, values, polygons }
    };
    VectorLayer {
        lattice: Lattice { lon0_e7: -936_123_457, lat0_e7: 420_123_451 },
        columns: vec![
            number("ZONE", 4, 0),
            number("RATE", 10, 2),
            text("UNIT", 12),
            text("PRODUCT", 32),
            number("AREA_AC", 10, 2),
        ],
        records: vec![record(1, Value::Number(115.5), vec![outer, island]), record(2, Value::Unknown, vec![between])],
    }
}

/// The outlines of a random field.
pub(crate) fn coverage(seed: u64) -> Option<Coverage> {
    match Scenario::of(seed).coverage() {
        Ok(coverage) => Some(coverage),
        // Fields thinner than a lattice step.
        Err(CoverageError::NoArea { .. }) => None,
        Err(error) => panic!("seed {seed}: {error}"),
    }
}

/// Zones of a random field, merged for a product, with random-looking rates.
pub(crate) fn random_layer(seed: u64) -> Option<VectorLayer> {
    let coverage = coverage(seed)?;
    let mut layer = hole_and_island();
    layer.lattice = coverage.lattice;
    let record = |(id, polygons): (usize, Vec<LatticePolygon>)| {
        let mut values = layer.records[0].values.clone();
        values[0] = Value::Number(id as f64);
        values[1] = Value::Number((id as f64 * 12_345.678_9 + seed as f64 / 7.0) % 9_999_999.0);
        Record { id, values, polygons }
    };
    let zones = coverage.merge(&[0]).unwrap();
    let records = (1..).zip(zones.into_iter().map(|zone| zone.polygons)).map(record).collect();
    layer.records = records;
    Some(layer)
}
