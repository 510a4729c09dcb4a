//! The area a field states.

use geo::MultiPolygon;

use super::prelude::*;
use crate::audit::facts::geodesic_m2;
use crate::audit::facts_text::grouped;
use crate::audit::task_layers::polygons;
use crate::units::M2_PER_ACRE;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "field-area-stated",
    checks: "that the area a field states, in square meters, is the area of its outline within 2 %",
    why: "an area in another unit, or of another field, misleads whoever orders by it",
    example: "`D=\"160\"`: acres in the place of square meters",
    mend: "state the outline's area in square meters",
};

/// Room for ground taken off by hand and for other ways of measuring.
const ROOM: f64 = 0.02;

pub(super) fn find(of: &Prescription) -> Found {
    let Some(set) = task_set(of) else { return Found::new() };
    let mut found = Found::new();
    for field in set.root.all("PFD") {
        let outline: MultiPolygon = polygons(field.all("PLN").filter(|polygon| polygon.get("A") == Some("1")));
        let (Some(stated), m2) = (field.number("D"), geodesic_m2(&outline)) else { continue };
        if m2 > 0.0 && stated > 0.0 && (stated / m2 - 1.0).abs() > ROOM {
            let acres = (stated * M2_PER_ACRE / m2 - 1.0).abs() <= ROOM;
            let message = format!("{stated} m2 stated, the outline has {}", grouped(m2));
            let finding = Diagnostic::warning(&CODE, message).at(set.place(field, "D"));
            found.push(if acres { finding.with_note("it seems to be acres") } else { finding });
        }
    }
    found
}
