//! Samples joined to points of another file by name.

use std::collections::{BTreeMap, BTreeSet};

use super::sample_at_two_places::{SAME_PLACE_M, degrees_apart_m};
use super::{CheckInput, listed};
use crate::diagnostic::{Code, Diagnostic, Place};
use crate::samples::{NameMatch, PlacesSetting};

/// Samples without a point, or points without a sample.
pub static UNMATCHED_POINTS: Code = Code {
    name: "unmatched-points",
    checks: "that every sample of the sheet has one point of the same name in the file of places",
    why: "a name joined by likeness puts a result on the wrong ground, and nobody would see it",
    example: "the sheet says `12`, the points say `A-012`",
    mend: "write the names alike in both files; they are compared letter by letter, `12` is not `012`, unless `match = \"number\"` in `samples.places`",
};

/// Longitude and latitude of every draft, in their order; `None` with at least one error in `found`.
pub(in crate::samples) fn join(input: &CheckInput<'_>, found: &mut Vec<Diagnostic>) -> Option<Vec<(f64, f64)>> {
    let PlacesSetting::Points { file, matching, .. } = &input.settings.places else { return None };
    let mut points: BTreeMap<String, (f64, f64)> = BTreeMap::new();
    let mut at_two_places: BTreeSet<&str> = BTreeSet::new();
    let mut without_key: Vec<&str> = Vec::new();
    for (name, lon, lat) in input.points.unwrap_or_default() {
        if matching.key(name).is_empty() {
            without_key.push(name.trim());
            continue;
        }
        let first = *points.entry(matching.key(name)).or_insert((*lon, *lat));
        if degrees_apart_m(first, (*lon, *lat)) > SAME_PLACE_M {
            at_two_places.insert(name.trim());
        }
    }
    let place_of_points = Place::File(file.clone());
    let mut n_errors = 0;
    for name in &at_two_places {
        n_errors += 1;
        found.push(
            Diagnostic::error(
                &UNMATCHED_POINTS,
                format!("points of the name `{name}` lie at different places in `{file}`"),
            )
            .at(place_of_points.clone())
            .with_help("delete the point that does not count, or give each a name of its own"),
        );
    }
    let mut without_point: Vec<&str> = Vec::new();
    let mut seen: BTreeSet<&str> = BTreeSet::new();
    for draft in input.drafts {
        if !points.contains_key(&matching.key(&draft.id)) && seen.insert(draft.id.as_str()) {
            without_point.push(&draft.id);
        }
    }
    n_errors += alike(input, *matching, found);
    if !without_point.is_empty() {
        n_errors += 1;
        let verb = if without_point.len() == 1 { "has" } else { "have" };
        let n_names = input.drafts.iter().map(|draft| draft.id.as_str()).collect::<BTreeSet<_>>().len();
        let first = input.drafts.iter().find(|draft| draft.id == without_point[0]).map_or(1, |draft| draft.line);
        found.push(
            Diagnostic::error(
                &UNMATCHED_POINTS,
                format!(
                    "{} of {n_names} samples {verb} no point in `{file}`: {}",
                    without_point.len(),
                    listed(&without_point)
                ),
            )
            .at(input.table.place(first, &input.settings.id_columns()))
            .with_help("write the names alike in both files; they are compared letter by letter, `12` is not `012`, unless `match = \"number\"` in `samples.places`"),
        );
    }
    // Rows of depths set aside count here: their points are no strangers.
    let id_column = input.table.header.iter().position(|header| Some(header) == input.settings.id_column.as_ref());
    let on_sheet: BTreeSet<String> = match id_column {
        Some(index) => input.table.rows.iter().map(|row| matching.key(&row.cells[index])).collect(),
        None => (1..=input.table.rows.len()).map(|number| number.to_string()).collect(),
    };
    let without_row: Vec<&str> = points.keys().map(String::as_str).filter(|name| !on_sheet.contains(*name)).collect();
    if !without_row.is_empty() {
        let verb = if without_row.len() == 1 { "has" } else { "have" };
        found.push(
            Diagnostic::warning(
                &UNMATCHED_POINTS,
                format!(
                    "{} of {} points {verb} no row in `{}`: {}",
                    without_row.len(),
                    points.len(),
                    input.table.file,
                    listed(&without_row)
                ),
            )
            .at(place_of_points)
            .with_help("look whether the lab's sheet is whole; points without a result are left out"),
        );
    }
    if n_errors > 0 {
        return None;
    }
    Some(input.drafts.iter().map(|draft| points[&matching.key(&draft.id)]).collect())
}

/// An error where names that are unlike letter by letter have the same numbers; how many errors.
fn alike(input: &CheckInput<'_>, matching: NameMatch, found: &mut Vec<Diagnostic>) -> usize {
    let mut names: BTreeMap<String, BTreeSet<&str>> = BTreeMap::new();
    for draft in input.drafts {
        names.entry(matching.key(&draft.id)).or_default().insert(draft.id.trim());
    }
    let of_one_key: Vec<String> = names
        .values()
        .filter(|names| names.len() > 1)
        .map(|names| names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(" and "))
        .collect();
    let Some(first) = of_one_key.first() else { return 0 };
    let message = format!("samples {first} have the same number, so a point belongs to either");
    found.push(
        Diagnostic::error(&UNMATCHED_POINTS, message)
            .at(input.key_place("samples.places", input.settings.lines.places))
            .with_help("take `match = \"number\"` out, and write the names alike in both files"),
    );
    1
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{Sheet, lines, sheet};
    use super::*;

    type Places = Option<Vec<(f64, f64)>>;

    fn run(csv: &str, points: &[(&str, f64, f64)]) -> (Places, Vec<String>) {
        let mut sheet: Sheet = sheet(csv);
        sheet.points = Some(points.iter().map(|(name, lon, lat)| ((*name).to_owned(), *lon, *lat)).collect());
        let mut found = Vec::new();
        let places = sheet.with_input(|input| join(input, &mut found));
        (places, lines(&found))
    }

    #[test]
    fn samples_take_the_place_of_the_point_of_their_name_in_sheet_order() {
        let (places, found) =
            run("ID,pH\nB,6\nA,6.2\n", &[("A", -93.5, 41.0), (" B ", -93.6, 41.1), ("A", -93.5, 41.0)]);
        assert_eq!(places, Some(vec![(-93.6, 41.1), (-93.5, 41.0)]));
        assert!(found.is_empty());
    }

    #[test]
    fn both_sides_without_a_partner_are_listed() {
        let (places, found) = run("ID,pH\n12,6\nA,6.2\n", &[("A", -93.5, 41.0), ("012", -93.6, 41.1)]);
        assert_eq!(places, None);
        assert_eq!(
            found,
            [
                "error: 1 of 2 samples has no point in `cores.geojson`: `12`",
                "warning: 1 of 2 points has no row in `lab.csv`: `012`",
            ]
        );
    }

    #[test]
    fn a_point_without_a_row_is_only_a_warning() {
        let (places, found) = run("ID,pH\nA,6.2\n", &[("A", -93.5, 41.0), ("B", -93.6, 41.1)]);
        assert_eq!(places.map(|places| places.len()), Some(1));
        assert_eq!(found, ["warning: 1 of 2 points has no row in `lab.csv`: `B`"]);
    }

    #[test]
    fn one_name_at_two_places_is_an_error() {
        let (places, found) = run("ID,pH\nA,6.2\n", &[("A", -93.5, 41.0), ("A", -93.5, 41.1)]);
        assert_eq!(places, None);
        assert_eq!(found, ["error: points of the name `A` lie at different places in `cores.geojson`"]);
    }
}
