//! Few samples for the ground.

use super::too_few_places::distinct;
use super::{CheckInput, counted};
use crate::cell_grid::Site;
use crate::diagnostic::{Code, Diagnostic, Place};
use crate::units::M2_PER_ACRE;

/// Few samples for the ground.
pub static SPARSE_SAMPLES: Code = Code {
    name: "sparse-samples",
    checks: "that a sample stands for at most 25 acres on the average",
    why: "soil changes within shorter ways than the samples lie apart: the map between them is a guess \
(25 acres is the most for a sample of a whole field, Ohio, LaBarge 2021 [R2]; maps need far closer nets)",
    example: "4 samples on 160 acres",
    mend: "add samples: nets for maps have one each 1 to 2.5 acres",
};

/// Most acres for a sample. Source: Ohio State University, LaBarge 2021 \[R2\].
const MOST_AC: f64 = 25.0;

/// At most one warning. `sites` are the places of the samples to map.
pub(in crate::samples) fn check(input: &CheckInput<'_>, sites: &[Site]) -> Vec<Diagnostic> {
    let n_places = distinct(sites).len();
    let area_ac = input.boundary.area_m2() / M2_PER_ACRE;
    let ac_each = area_ac / n_places as f64;
    if n_places == 0 || ac_each <= MOST_AC {
        return Vec::new();
    }
    let message = format!(
        "{} on {area_ac:.0} ac: one stands for {ac_each:.0} ac, at most 25 is practice (LaBarge 2021 [R2])",
        counted(n_places, "place")
    );
    vec![
        Diagnostic::warning(&SPARSE_SAMPLES, message)
            .at(Place::File(input.settings.file.clone()))
            .with_help("add samples: nets for maps have one each 1 to 2.5 acres"),
    ]
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    #[test]
    fn more_than_25_acres_a_place_is_warned() {
        // The square field: 0.012 degrees of longitude by 0.009 of latitude at 41 N, 1,010 m by 999 m, 249 ac.
        let run = |n: usize| {
            let sites: Vec<Site> = (0..n).map(|i| Site { east_m: 90.0 * i as f64, north_m: 0.0 }).collect();
            lines(&sheet("ID,x,y,pH\nA,0,0,6\n").with_input(|input| check(input, &sites)))
        };
        assert_eq!(
            run(4),
            ["warning: 4 places on 249 ac: one stands for 62 ac, at most 25 is practice (LaBarge 2021 [R2])"]
        );
        assert_eq!(run(9).len(), 1);
        assert!(run(10).is_empty());
    }
}
