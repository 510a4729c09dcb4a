//! Zones that leave their field, and ground of it without a zone.

use geo::{Area as _, BooleanOps as _, unary_union};

use super::prelude::*;
use crate::audit::shape::is_on_earth;
use crate::audit::{Ground, facts_text::grouped};
use crate::units::M2_PER_ACRE;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "zones-beyond-outline",
    checks: "that the zones of a task lie inside its field's outline and fill it, within 0.1 % of its area",
    why: "beyond the outline out of field is ordered, whatever the zone says; inside it, ground without a zone gets the default",
    example: "zones drawn on last year's outline",
    mend: "cut the zones at the outline, and give all ground of the field a zone",
};

/// Room for rounded borders, as a share of the field.
const ROOM: f64 = 0.001;

pub(super) fn find(of: &Prescription) -> Found {
    let mut found = Found::new();
    for layer in &of.layers {
        let (Some(outline), Ground::Shapes { set, .. }) = (&layer.outline, &layer.ground) else { continue };
        let Some((set, plane)) = of.shape_sets.get(*set).and_then(|set| Some((set, set.plane()?))) else { continue };
        let sound = set.shapes.iter().filter(|shape| shape.invalid.is_none() && is_on_earth(&shape.polygons));
        let zones: Vec<geo::MultiPolygon> = sound.map(|shape| plane.polygons(&shape.polygons)).collect();
        let (zones, field) = (unary_union(&zones), plane.polygons(outline));
        let field_m2 = field.unsigned_area();
        let place = Place::File(set.file.clone());
        let acres = |m2: f64| format!("{} m2, {:.2} ac", grouped(m2), m2 / M2_PER_ACRE);
        let beyond_m2 = zones.difference(&field).unsigned_area();
        if beyond_m2 > ROOM * field_m2 {
            let message = format!("zones of `{}` reach beyond the field's outline: {}", layer.name, acres(beyond_m2));
            found.push(Diagnostic::warning(&CODE, message).at(place.clone()));
        }
        let left_m2 = field.difference(&zones).unsigned_area();
        if left_m2 > ROOM * field_m2 {
            let message = format!("ground of the field of `{}` has no zone: {}", layer.name, acres(left_m2));
            found.push(Diagnostic::note(&CODE, message).at(place));
        }
    }
    found
}
