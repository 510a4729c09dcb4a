//! Layers of rates from a table and the shapes beside it.

use holdground::audit::rate_column::{product, rate_columns, units};
use holdground::audit::{Ground, Prescription, RateLayer};

/// One layer for each column of rates of each table.
pub(super) fn layers(prescription: &Prescription, name: &str) -> Vec<RateLayer> {
    let mut layers = Vec::new();
    for (set, (shapes, table)) in prescription.shape_sets.iter().zip(&prescription.tables).enumerate() {
        for index in rate_columns(table).taken {
            let column = &table.columns[index];
            let unit = match units(table, column).as_slice() {
                [one] => Some(one.clone()),
                _ => None,
            };
            layers.push(RateLayer {
                name: if shapes.name.is_empty() { name.to_owned() } else { shapes.name.clone() },
                from: column.name.clone(),
                product: product(table),
                unit,
                ground: Ground::Shapes {
                    set,
                    rates: (0..shapes.shapes.len()).map(|record| column.number(record)).collect(),
                },
                outline: None,
                orders: Vec::new(),
            });
        }
    }
    layers
}
