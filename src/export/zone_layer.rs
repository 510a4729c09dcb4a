//! The zones with their figures, as a layer.

use super::{Column, ColumnKind, Record, Report, Value, VectorLayer};
use crate::units::M2_PER_ACRE;

/// Zones with their figures; `None` without zones.
pub(super) fn zone_layer(report: &Report<'_>) -> Option<VectorLayer> {
    let (zones, outlines) = (report.zones?, report.outlines?);
    let number = |name: &str, width: usize, decimals: usize| Column {
        name: name.to_owned(),
        kind: ColumnKind::Number { width, decimals },
    };
    let mut columns = vec![number("ZONE", 4, 0), number("AREA_AC", 10, 2), number("SAMPLES", 6, 0)];
    columns.push(Column { name: "HOLDS".to_owned(), kind: ColumnKind::Text { width: 20 } });
    let variables: Vec<_> = report.surfaces.quality.iter().map(|quality| quality.variable).collect();
    columns.extend(variables.iter().map(|v| number(&v.key().to_uppercase(), 12, v.decimals() + 1)));
    let record = |ground: &crate::coverage::ZoneGround| {
        let zone = &zones.zones()[ground.zone - 1];
        let mut values = vec![
            Value::Number(zone.zone as f64),
            Value::Number(ground.area_m2 / M2_PER_ACRE),
            Value::Number(zone.n_sites as f64),
            zone.holding.map_or(Value::Unknown, |holding| Value::Text(holding.words().to_owned())),
        ];
        values.extend(variables.iter().map(|v| zone.mean(*v).map_or(Value::Unknown, Value::Number)));
        Record { id: zone.zone, values, polygons: ground.polygons.clone() }
    };
    let records = outlines.zones().iter().map(record).collect();
    Some(VectorLayer { lattice: *outlines.lattice(), columns, records })
}
