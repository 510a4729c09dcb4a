//! Grids that would fit their field with rows and columns exchanged.

use super::prelude::*;
use crate::audit::task_layers::polygons;

/// See its page.
pub(super) static CODE: Code = Code {
    name: "grid-rows-columns-exchanged",
    checks: "that a grid covers its field's outline as it stands, and not only with columns and rows exchanged",
    why: "`E` and `F` exchanged load without a word: the length of the file is the same, and every rate lies elsewhere; by an unofficial summary of ISO 11783-10",
    example: "`E=\"4\" F=\"6\"` for a field that is wider than high",
    mend: "write the number of columns as `E`, of rows as `F`; rows go from south to north",
};

pub(super) fn find(of: &Prescription) -> Found {
    fitting(of, |fit| fit.only_exchanged)
        .into_iter()
        .map(|(set, grid, _)| {
            let message = "the grid covers its field only with columns and rows exchanged";
            Diagnostic::error(&CODE, message).at(set.place(grid, "E"))
        })
        .collect()
}

/// How a grid fits the outline of its field.
pub(super) struct Fit {
    /// Share of the outline's bounds the grid covers.
    pub(super) covered: f64,
    only_exchanged: bool,
}

/// Grids whose fit is as asked for.
pub(super) fn fitting(of: &Prescription, wanted: impl Fn(&Fit) -> bool) -> Vec<(&TaskSet, &Element, Fit)> {
    let Some(set) = task_set(of) else { return Vec::new() };
    let mut found = Vec::new();
    for task in set.tasks() {
        let Some(bounds) = set.field(task).and_then(|field| {
            let outline = polygons(field.all("PLN").filter(|polygon| polygon.get("A") == Some("1")));
            crate::audit::shape::bounds(std::iter::once(&outline))
        }) else {
            continue;
        };
        for grid in task.all("GRD") {
            let number = |key| grid.number(key).filter(|size| *size != 0.0);
            let (Some(south), Some(west), Some(high), Some(wide), Some(n_cols), Some(n_rows)) =
                (number("A"), number("B"), number("C"), number("D"), number("E"), number("F"))
            else {
                continue;
            };
            let covered = |n_cols: f64, n_rows: f64| {
                let of = |low: f64, high: f64, least: f64, most: f64| {
                    let shared = high.min(most) - low.max(least);
                    if most > least { (shared / (most - least)).clamp(0.0, 1.0) } else { 0.0 }
                };
                of(west, west + n_cols * wide, bounds[0], bounds[2])
                    * of(south, south + n_rows * high, bounds[1], bounds[3])
            };
            let (now, exchanged) = (covered(n_cols, n_rows), covered(n_rows, n_cols));
            let fit = Fit { covered: now, only_exchanged: now < 0.95 && exchanged > 0.98 };
            if wanted(&fit) {
                found.push((set, grid, fit));
            }
        }
    }
    found
}
