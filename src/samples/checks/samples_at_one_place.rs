//! Several samples at one place.

use super::{CheckInput, listed};
use crate::cell_grid::Site;
use crate::diagnostic::{Code, Diagnostic};

/// Several samples at one place.
pub static SAMPLES_AT_ONE_PLACE: Code = Code {
    name: "samples-at-one-place",
    checks: "whether two samples of one depth lie at the same place, to the millimeter",
    why: "a map can pass through one value at a place only: their readings are averaged there",
    example: "`A-04` and `A-05` both lie at -93.5012, 41.0043, because a line of coordinates was copied",
    mend: "nothing, where both bags came from one spot; else correct the coordinates",
};

/// A warning for each place with more than one sample.
pub(super) fn check(input: &CheckInput<'_>, sites: &[Site], kept: &[usize]) -> Vec<Diagnostic> {
    let mm = |index: usize| ((sites[index].east_m * 1e3).round() as i64, (sites[index].north_m * 1e3).round() as i64);
    let mut sorted = kept.to_vec();
    sorted.sort_by_key(|&index| (mm(index), index));
    sorted
        .chunk_by(|&a, &b| mm(a) == mm(b))
        .filter(|group| group.len() > 1)
        .map(|group| {
            let names: Vec<&str> = group.iter().map(|&index| input.drafts[index].id.as_str()).collect();
            let message = format!(
                "{} samples lie at one place, {}: their readings are averaged there",
                names.len(),
                listed(&names)
            );
            Diagnostic::warning(&SAMPLES_AT_ONE_PLACE, message)
                .at(input.table.place(input.drafts[group[0]].line, &[]))
                .with_help("correct the coordinates, if the samples came from different spots")
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    #[test]
    fn samples_within_half_a_millimeter_are_averaged_and_named() {
        let sheet = sheet("ID,x,y,pH\nA,0,0,6\nB,50,0,6\nC,0,0,6.4\nD,50,0.002,6\n");
        let site = |east_m, north_m| Site { east_m, north_m };
        let sites = [site(0.0, 0.0), site(50.0, 0.0), site(0.0001, 0.0), site(50.0, 0.002)];
        let found = sheet.with_input(|input| check(input, &sites, &[0, 1, 2, 3]));
        assert_eq!(lines(&found), ["warning: 2 samples lie at one place, `A`, `C`: their readings are averaged there"]);
        assert!(sheet.with_input(|input| check(input, &sites, &[1, 2, 3])).is_empty());
    }
}
