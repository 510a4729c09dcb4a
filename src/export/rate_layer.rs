//! The rates of a pass, as a layer: one record a zone, and one for what is kept off in it.

use super::{Column, ColumnKind, MAX_TEXT_BYTES, Record, Report, Value, VectorLayer, shortened};
use crate::coverage::{Ground, ZoneGround};
use crate::rates::rate_plan::PassPlan;
use crate::units::M2_PER_ACRE;

/// Room for the names of product and pass, bytes.
const NAME_BYTES: usize = 64;

/// Rates of one pass. Zones without a rate, and kept-off ground, are there with rate 0.
pub(super) fn rate_layer(report: &Report<'_>, plan: &PassPlan) -> Option<VectorLayer> {
    let outlines = report.rate_outlines(plan)?;
    let text = |name: &str, width: usize| Column { name: name.to_owned(), kind: ColumnKind::Text { width } };
    let number = |name: &str, width: usize, decimals: usize| Column {
        name: name.to_owned(),
        kind: ColumnKind::Number { width, decimals },
    };
    let columns = vec![
        number(&report.plan.ground_of(plan).word().to_uppercase(), 4, 0),
        number("RATE", 10, 2),
        text("UNIT", 12),
        text("PRODUCT", NAME_BYTES),
        text("PASS", NAME_BYTES),
        number("AREA_AC", 10, 2),
        text("WHY", MAX_TEXT_BYTES),
    ];
    let record = |(index, ground): (usize, &ZoneGround)| {
        let zone_rate = &plan.rates[ground.zone - 1];
        let (rate, why) = match ground.ground {
            Ground::Open => (zone_rate.rate, zone_rate.why.clone()),
            Ground::SetBack => (0.0, format!("kept off: {}", ground.kept_off.join("; "))),
        };
        let values = vec![
            Value::Number(ground.zone as f64),
            Value::Number(rate),
            Value::Text(plan.unit().name().to_owned()),
            Value::Text(shortened(&plan.product.name, NAME_BYTES)),
            Value::Text(shortened(&plan.pass.name, NAME_BYTES)),
            Value::Number(ground.area_m2 / M2_PER_ACRE),
            Value::Text(shortened(&why, MAX_TEXT_BYTES)),
        ];
        Record { id: index + 1, values, polygons: ground.polygons.clone() }
    };
    let records = plan.grounds.iter().enumerate().map(record).collect();
    Some(VectorLayer { lattice: *outlines.lattice(), columns, records })
}
