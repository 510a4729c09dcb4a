//! What must be told beside a zone map: ground without a zone, and breaks that part nothing.

use super::zone_settings::{ClassBreaks, ZoneMethod, ZoneQuantity, ZoneSettings};
use super::zone_space::{Ground, ZoneSpace};
use crate::diagnostic::{Code, Diagnostic};

/// Cells without a covariate.
pub static GROUND_WITHOUT_COVARIATE: Code = Code {
    name: "ground-without-covariate",
    checks: "on how much of the field a covariate of `zones.from` has a value",
    why: "such ground gets no zone of its own making; the zones beside it are grown over it",
    example: "a conductivity survey that leaves out a wet corner, 3.1 % of the field",
    mend: "state a longer `reach_m` for the covariate, if its points stand for the ground between them",
};
/// Ground under no drawn zone.
pub static GROUND_WITHOUT_DRAWN_ZONE: Code = Code {
    name: "ground-without-drawn-zone",
    checks: "that the polygons of `zones.polygons` cover the field, and each holds some of it",
    why: "ground under no polygon gets the zone beside it, which nobody drew there",
    example: "zones drawn for an older outline leave a strip of 2.3 % along the road",
    mend: "draw the zones up to the outline",
};
/// Ground under two drawn zones.
pub static DRAWN_ZONES_OVERLAP: Code = Code {
    name: "drawn-zones-overlap",
    checks: "that no two polygons of `zones.polygons` with unlike names lie over each other",
    why: "ground under two zones gets the one that comes first in the file",
    example: "`sand` and `loam` drawn over each other on 0.8 % of the field",
    mend: "draw a common border",
};
/// An edge beyond all mapped values.
pub static BREAK_BEYOND_MAP: Code = Code {
    name: "break-beyond-map",
    checks: "that some ground lies on both sides of every edge of `zones.breaks`",
    why: "such an edge parts nothing, and may be meant in another unit",
    example: "an edge of 80 for a CEC mapped from 4.1 to 27.3",
    mend: "take the edge out, or state it in the unit of the map",
};
/// Messages of the zone stage, for `holdground explain`.
pub static CODES: &[&Code] =
    &[&GROUND_WITHOUT_COVARIATE, &GROUND_WITHOUT_DRAWN_ZONE, &DRAWN_ZONES_OVERLAP, &BREAK_BEYOND_MAP];

/// Notes and warnings on zones with these labels.
pub(super) fn notes(
    ground: Ground<'_>,
    from: &[ZoneQuantity],
    space: &ZoneSpace,
    settings: &ZoneSettings,
    labels: &[u16],
) -> Vec<Diagnostic> {
    let mut notes = Vec::new();
    if !matches!(settings.method, ZoneMethod::Polygons(_)) {
        notes.extend(without_covariate(ground, from, space, labels));
    }
    if let ZoneMethod::Breaks(breaks) = &settings.method {
        notes.extend(breaks.iter().zip(&space.columns).flat_map(|(breaks, values)| beyond_map(breaks, values)));
    }
    if let (ZoneMethod::Polygons(_), Some(stated)) = (&settings.method, &ground.inputs.stated) {
        let n_inside = ground.surfaces.mask().n_inside();
        let percent = |n: usize| 100.0 * n as f64 / n_inside.max(1) as f64;
        if stated.n_uncovered > 0 || !stated.without_cells.is_empty() {
            let message = format!("no polygon covers {:.1} % of the field", percent(stated.n_uncovered));
            let mut warning = Diagnostic::warning(&GROUND_WITHOUT_DRAWN_ZONE, message)
                .with_help("draw the zones up to the outline; until then the zones beside it are grown over it");
            for name in &stated.without_cells {
                warning = warning.with_note(format!("`{name}` holds no ground of the field"));
            }
            notes.push(warning);
        }
        if stated.n_overlapped > 0 {
            let message = format!("zones drawn over each other on {:.1} % of the field", percent(stated.n_overlapped));
            let warning = Diagnostic::warning(&DRAWN_ZONES_OVERLAP, message);
            notes.push(warning.with_help("draw a common border; the polygon that comes first in the file has it now"));
        }
    }
    notes
}

/// One note for all covariates that leave ground open.
fn without_covariate(
    ground: Ground<'_>,
    from: &[ZoneQuantity],
    space: &ZoneSpace,
    labels: &[u16],
) -> Option<Diagnostic> {
    let mask = ground.surfaces.mask();
    let percent = |n: usize| 100.0 * n as f64 / mask.n_inside().max(1) as f64;
    let of_covariates = from.iter().zip(&space.columns).filter_map(|(quantity, values)| match quantity {
        ZoneQuantity::Covariate(name) => Some((name, mask.cells().filter(|&cell| values[cell].is_nan()).count())),
        ZoneQuantity::Soil(_) => None,
    });
    let open: Vec<(&String, usize)> = of_covariates.filter(|(_, n_open)| *n_open > 0).collect();
    if open.is_empty() {
        return None;
    }
    let n_open = mask.cells().filter(|&cell| labels[cell] == 0).count();
    let message = format!(
        "{n_open} of {} cells ({:.1} % of the field) have no zone of their own, for want of a covariate",
        mask.n_inside(),
        percent(n_open)
    );
    let note = Diagnostic::note(&GROUND_WITHOUT_COVARIATE, message);
    let told = |note: Diagnostic, (name, n): (&String, usize)| {
        note.with_note(format!("`{name}` is unknown on {n} cells ({:.1} %)", percent(n)))
    };
    Some(open.into_iter().fold(note, told).with_help("zone outlines are grown over such ground from beside it"))
}

/// A warning for each edge that has all ground on one side.
fn beyond_map(breaks: &ClassBreaks, values: &[f64]) -> Vec<Diagnostic> {
    let known = values.iter().filter(|value| value.is_finite());
    let (least, most) = known.fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), &v| (least.min(v), most.max(v)));
    let warning = |edge: &f64| {
        let side = if *edge <= least { "below" } else { "at or above" };
        let label = breaks.quantity.label();
        let message = format!("no ground lies {side} the edge {edge} of {label}, mapped from {least:.2} to {most:.2}");
        Diagnostic::warning(&BREAK_BEYOND_MAP, message).with_help("take the edge out of `zones.breaks`, or mend it")
    };
    breaks.edges.iter().filter(|edge| **edge <= least || **edge > most).map(warning).collect()
}
