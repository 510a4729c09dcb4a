//! Samples outside the field's outline.

use super::{CheckInput, counted, listed};
use crate::cell_grid::Site;
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::{OutsideRule, PlacesSetting};
use crate::units::feet_and_meters;

/// Samples outside the field's outline.
pub static SAMPLES_OUTSIDE_BOUNDARY: Code = Code {
    name: "samples-outside-boundary",
    checks: "that every sample lies inside the field's outline",
    why: "a sample outside tells of other ground, or its coordinates or the CRS are wrong, and then the map is wrong too",
    example: "`C-07` lies 41 ft (12 m) outside the outline; the other 62 samples lie inside",
    mend: "correct the coordinates or the outline, or write `outside = \"leave-out\"` under `[samples]` to go on without such samples",
};

/// A sample this near the line counts as inside, m: the last of six decimals of a degree is 0.11 m.
const ON_THE_LINE_M: f64 = 0.11;

/// Indices of the samples to go on with, and what to say about the others.
pub(super) fn check(input: &CheckInput<'_>, lon_lat: &[(f64, f64)], sites: &[Site]) -> (Vec<usize>, Vec<Diagnostic>) {
    let all = || (0..sites.len()).collect();
    let outside_m: Vec<f64> = sites.iter().map(|site| input.boundary.distance_outside_m(*site)).collect();
    let inside: Vec<usize> = (0..sites.len()).filter(|&index| outside_m[index] <= ON_THE_LINE_M).collect();
    if inside.len() == sites.len() {
        return (inside, Vec::new());
    }
    if inside.is_empty() {
        let nearest = (0..sites.len()).min_by(|&a, &b| outside_m[a].total_cmp(&outside_m[b])).unwrap_or(0);
        let (lon, lat) = lon_lat[nearest];
        let fault = Diagnostic::error(
            &SAMPLES_OUTSIDE_BOUNDARY,
            format!("no sample lies inside the outline; the nearest is {} away", feet_and_meters(outside_m[nearest])),
        )
        .at(input.key_place("samples.places", input.settings.lines.places))
        .with_note(format!("`{}` is read as lon {lon:.5}, lat {lat:.5}", input.drafts[nearest].id))
        .with_help("name the CRS the coordinates are in, and the outline of the field the samples came from");
        return (all(), vec![fault]);
    }
    let columns: Vec<&str> = match &input.settings.places {
        PlacesSetting::Sheet(sheet) => vec![sheet.x_column.as_str(), sheet.y_column.as_str()],
        PlacesSetting::Points { .. } | PlacesSetting::Open => Vec::new(),
    };
    let verb = if inside.len() == 1 { "lies" } else { "lie" };
    let note = format!("{} {verb} inside", counted(inside.len(), "sample"));
    let outside: Vec<usize> = (0..sites.len()).filter(|&index| outside_m[index] > ON_THE_LINE_M).collect();
    if input.settings.outside == OutsideRule::LeaveOut {
        let names: Vec<&str> = outside.iter().map(|&index| input.drafts[index].id.as_str()).collect();
        let farthest_m = outside.iter().map(|&index| outside_m[index]).fold(0.0, f64::max);
        let message = format!(
            "{} of {} outside the outline left out, the farthest {} away: {}",
            outside.len(),
            counted(sites.len(), "sample"),
            feet_and_meters(farthest_m),
            listed(&names)
        );
        let place = input.table.place(input.drafts[outside[0]].line, &columns);
        return (inside, vec![Diagnostic::warning(&SAMPLES_OUTSIDE_BOUNDARY, message).at(place).with_note(note)]);
    }
    let found = outside.iter().map(|&index| {
        let draft = &input.drafts[index];
        let lies = format!("sample `{}` lies {} outside the outline", draft.id, feet_and_meters(outside_m[index]));
        Diagnostic::error(&SAMPLES_OUTSIDE_BOUNDARY, lies)
            .with_help(
                "correct the coordinates, or write `samples.outside = \"leave-out\"` to go on without such samples",
            )
            .at(input.table.place(draft.line, &columns))
            .with_note(note.clone())
    });
    (all(), found.collect())
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, local, sheet};
    use super::*;

    const TWO_IN_ONE_OUT: &str = "ID,lon,lat,pH\nA,-83.505,41.004,6\nB,-83.506,41.005,6\nC,-83.4999,41.004,6\n";

    fn run(sheet: &super::super::hand_made::Sheet) -> (Vec<usize>, Vec<Diagnostic>) {
        let lon_lat: Vec<(f64, f64)> =
            sheet.drafts().iter().filter_map(|draft| draft.sheet_xy).map(|[lon, lat]| (lon, lat)).collect();
        sheet.with_input(|input| check(input, &lon_lat, &local(&lon_lat)))
    }

    #[test]
    fn a_sample_outside_is_an_error_with_its_distance() {
        let (_, found) = run(&sheet(TWO_IN_ONE_OUT));
        // 0.0001 degrees of longitude at 41.004 N: 8.41 m.
        assert_eq!(lines(&found), ["error: sample `C` lies 28 ft (8.4 m) outside the outline"]);
        assert_eq!(found[0].notes, ["2 samples lie inside"]);
        assert!(found[0].help.as_ref().expect("has help").contains("samples.outside = \"leave-out\""));
    }

    #[test]
    fn by_the_users_rule_it_is_left_out_with_a_warning() {
        let mut sheet = sheet(&format!("{TWO_IN_ONE_OUT}D,-83.4998,41.004,6\n"));
        sheet.settings.outside = OutsideRule::LeaveOut;
        let (kept, found) = run(&sheet);
        assert_eq!(kept, [0, 1]);
        assert_eq!(
            lines(&found),
            ["warning: 2 of 4 samples outside the outline left out, the farthest 55 ft (17 m) away: `C`, `D`"]
        );
    }

    #[test]
    fn when_none_lies_inside_one_message_asks_for_the_crs() {
        let mut sheet = sheet("ID,lon,lat,pH\nA,-83.505,42.004,6\nB,-83.506,42.005,6\n");
        sheet.settings.outside = OutsideRule::LeaveOut;
        let (_, found) = run(&sheet);
        assert_eq!(found.len(), 1);
        assert!(
            found[0].message.starts_with("no sample lies inside the outline; the nearest is 36"),
            "{}",
            found[0].message
        );
        assert!(found[0].help.as_ref().expect("has help").contains("CRS"));
    }
}
