//! The field file: the documented form reads, and faults come all at once with their lines.

use holdground::diagnostic::Place;
use holdground::field_file::{FieldFile, OutlineLine};
use holdground::rates::{GoalYield, KNeed};

fn documented_form() -> String {
    let page = include_str!("../../docs/field-file.md");
    page.split("```toml\n").nth(1).unwrap().split("```").next().unwrap().to_owned()
}

fn codes_and_lines(text: &str) -> Vec<(String, usize)> {
    let faults = FieldFile::parse("field.toml", text).unwrap_err();
    faults
        .iter()
        .map(|fault| {
            let line = match fault.place.as_ref().unwrap() {
                Place::Key { line, .. } | Place::Row { line, .. } => *line,
                other => panic!("a fault of the field file without its line: {other}"),
            };
            (fault.code.name.to_owned(), line)
        })
        .collect()
}

#[test]
fn the_documented_form_reads_whole() {
    let file = FieldFile::parse("field.toml", &documented_form()).unwrap_or_else(|faults| panic!("{faults:#?}"));
    assert_eq!(file.field.short, "NORTH");
    assert_eq!(file.field.outline_line_rule, OutlineLine::Close);
    assert_eq!(file.samples.columns.len(), 9);
    assert_eq!(file.rates.goal, Some(GoalYield::Zones(vec![150.0, 205.0, 180.0])));
    assert_eq!(file.rates.need, Some(KNeed::TriState1995));
    assert_eq!(file.zones.unwrap().count, Some(3));
    // Every setting knows where it came from.
    let row = file.rows.iter().find(|row| row.key == "surface.cell_m").unwrap();
    assert!(row.origin.starts_with("field.toml:"), "{row:?}");
    assert_eq!(row.value, "5");
}

#[test]
fn all_faults_come_at_once_with_their_lines() {
    let text = documented_form()
        .replace("goal_bu_ac = [150, 205, 180]", "goal_bu_acre = 180")
        .replace("unit = \"pH\", method = \"water 1:1\"", "unit = \"ppm\", method = \"water 1:1\"")
        .replace("count = 3  ", "count = 9  ")
        .replace("least = 50, most = 400", "least = 500, most = 400");
    let line_of = |needle: &str| 1 + text.lines().position(|line| line.contains(needle)).unwrap();
    let found = codes_and_lines(&text);
    for expected in [
        ("unknown-key", line_of("goal_bu_acre")),
        ("wrong-value", line_of("unit = \"ppm\", method = \"water")),
        ("wrong-value", line_of("count = 9")),
        ("wrong-value", line_of("least = 500")),
    ] {
        assert!(found.contains(&(expected.0.to_owned(), expected.1)), "{expected:?} not in {found:?}");
    }
    assert_eq!(found.len(), 4, "no cascades: {found:?}");
}

#[test]
fn open_and_unknown_answers_are_listed_and_do_not_stop_the_reading() {
    let text = documented_form()
        .replace("crop = \"corn\"", "crop = \"?\"")
        .replace("k = { guide = \"tri-state-1995\" }", "k = \"unknown\"")
        .replace("depth_in = [0, 7]", "depth_in = \"unknown\"");
    let file = FieldFile::parse("field.toml", &text).unwrap_or_else(|faults| panic!("{faults:#?}"));
    assert_eq!(file.open.iter().map(|(_, key)| key.as_str()).collect::<Vec<_>>(), ["field.crop"]);
    let unknown: Vec<&str> = file.unknown.iter().map(|(_, key)| key.as_str()).collect();
    assert!(unknown.contains(&"need.k") && unknown.contains(&"samples.depth_in"), "{unknown:?}");
    assert_eq!(file.rates.need, None);
}

#[test]
fn a_near_miss_of_a_key_is_named() {
    let faults = FieldFile::parse("field.toml", &documented_form().replace("cell_m = 5", "cell_n = 5")).unwrap_err();
    assert_eq!(faults.len(), 1);
    assert_eq!(faults[0].help.as_deref(), Some("write `cell_m`, if that is meant"));
}

#[test]
fn pounds_an_acre_need_a_depth() {
    let text = documented_form()
        .replace("column = \"K ppm\", unit = \"ppm\"", "column = \"K lb\", unit = \"lb/ac\"")
        .replace("depth_in = [0, 7]", "depth_in = \"unknown\"")
        .lines()
        .filter(|line| !line.starts_with("soil_lb_ac"))
        .collect::<Vec<_>>()
        .join("\n");
    assert_eq!(codes_and_lines(&text).iter().map(|(code, _)| code.as_str()).collect::<Vec<_>>(), ["missing-key"]);
}

#[test]
fn text_that_is_not_toml_is_told_with_its_line() {
    assert_eq!(codes_and_lines("form = 1\n[field]\nname = \"North\n"), [("field-file-unreadable".to_owned(), 3)]);
}

#[test]
fn answers_that_contradict_or_mean_nothing_are_refused() {
    let edits = [
        ("count = 3  ", "count = 0  "),
        ("method = \"mesh\"  ", "method = \"mean\"\nrings = 2  "),
        ("column = \"Mg ppm\"", "column = \"Ca ppm\""),
        ("least = 50, most = 400, step = 5", "least = 52, most = 54, step = 5"),
        ("season = 2026", "season = -3.7"),
        ("lon = \"Long\", lat = \"Lat\"", "lon = \"Long\", lat = \"Lat\", east = \"E\", north = \"N\""),
        ("soil_lb_ac = 2000000", "soil_lb_ac = 0"),
    ];
    for (from, to) in edits {
        let text = documented_form().replace(from, to);
        assert_ne!(text, documented_form(), "{from}");
        let faults = FieldFile::parse("field.toml", &text).unwrap_err();
        assert_eq!(faults.len(), 1, "{to}: {faults:#?}");
    }
}
