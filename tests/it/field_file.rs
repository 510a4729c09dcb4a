//! The field file: the documented form reads, and faults come all at once with their lines.

use holdground::diagnostic::Place;
use holdground::field_file::{
    ControllerFormat, FieldFile, LayerPlace, OutlineLine, ShapefileRecords, TaskSetPlace, TaskSetZones, WriteSettings,
};
use holdground::rates::{GoalYield, Supply};
use holdground::zones::{ZoneMethod, ZoneQuantity};

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
    assert_eq!(file.rates.years[0].goal, Some(GoalYield::Zones(vec![150.0, 205.0, 180.0])));
    assert!(file.rates.need(Supply::K2o).is_some());
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
    assert!(file.rates.need(Supply::K2o).is_none());
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
fn what_is_written_for_the_cab_has_defaults_that_are_shown() {
    let without = documented_form().split("[write]").next().unwrap().to_owned();
    let file = FieldFile::parse("field.toml", &without).unwrap();
    assert_eq!(file.write, WriteSettings::default());
    let defaults = [("write.controller", "[\"shapefile\"]"), ("write.records", "zones")];
    for (key, value) in defaults {
        let row = file.rows.iter().find(|row| row.key == key).unwrap();
        assert_eq!((row.value.as_str(), row.origin.as_str()), (value, "default"));
    }
    let stated = |write: &str| FieldFile::parse("field.toml", &format!("{without}{write}")).unwrap().write;
    let both = stated("[write]\ncontroller = [\"geojson\", \"shapefile\"]\nrecords = \"patches\"\n");
    assert_eq!(both.controller, [ControllerFormat::GeoJson, ControllerFormat::Shapefile]);
    assert_eq!(both.records, ShapefileRecords::Patches);
    let set = stated("[write]\ncontroller = [\"task-set-4\"]\ntask_set = \"polygons\"\ntask_set_in = \"zip\"\n");
    assert_eq!(set.controller, [ControllerFormat::TaskSet4]);
    assert_eq!((set.task_set_zones, set.task_set_place), (TaskSetZones::Polygons, TaskSetPlace::Zip));
    assert_eq!(stated("[write]\nlayers_in = \"zip\"\n").layer_place, LayerPlace::Zip);
    let alone = format!("{without}[write]\ncontroller = [\"task-set-3\"]\nlayers_in = \"zip\"\n");
    assert!(FieldFile::parse("field.toml", &alone).unwrap_err()[0].message.contains("means nothing without"));
    let none = FieldFile::parse("field.toml", &format!("{without}[write]\ncontroller = []\n")).unwrap_err();
    assert_eq!(none.len(), 1);
    assert!(none[0].message.contains("names no format"), "{}", none[0].message);
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
        ("smallest_ac = 1.5", "smallest_ac = -1"),
        ("narrowest_swaths = 1", "narrowest_swaths = 60"),
        ("swath_ft = 60", "swath_ft = 0.5"),
        ("speed_mph = 12", "speed_mph = 120"),
        ("change_s = 3", "change_s = 61"),
        ("change_s = 3", "# change_s"),
        ("\"task-set-3\", \"shapefile\"]", "\"task-set-3\", \"shapefile\", \"shapefile\"]"),
        ("[\"task-set-3\", \"shapefile\"]", "[\"task-set-3\", \"geojson\"]"),
        ("[\"task-set-3\", \"shapefile\"]", "[\"task-set-3\", \"tiff\", \"shapefile\"]"),
        ("[\"task-set-3\", \"shapefile\"]", "\"shapefile\""),
        ("[\"task-set-3\", \"shapefile\"]", "[\"task-set-3\", \"task-set-4\", \"shapefile\"]"),
        ("task_set = \"grid\"", "task_set = \"cells\""),
        ("task_set_in = \"folder\"", "task_set_in = \"stick\""),
        ("layers_in = \"folder\"", "layers_in = \"top\""),
        ("lost_position = \"zero\"", "lost_position = \"hold\""),
        ("records = \"zones\"", "records = \"rows\""),
        ("records = \"zones\"", "record = \"zones\""),
    ];
    for (from, to) in edits {
        let text = documented_form().replace(from, to);
        assert_ne!(text, documented_form(), "{from}");
        let faults = FieldFile::parse("field.toml", &text).unwrap_err();
        assert_eq!(faults.len(), 1, "{to}: {faults:#?}");
    }
}

/// 1 acre is 4046.8564224 m2, 1 ft 0.3048 m; 12 mph are 17.6 ft/s.
#[test]
fn patch_limits_come_from_zones_and_machine() {
    let file = FieldFile::parse("field.toml", &documented_form()).unwrap_or_else(|faults| panic!("{faults:#?}"));
    let limits = file.patch_limits();
    assert!((limits.smallest_m2 - 1.5 * 4_046.856_422_4).abs() < 1e-9);
    assert!((limits.narrowest_m - 60.0 * 0.3048).abs() < 1e-9);
    assert!((limits.shortest_m - 2.0 * 17.6 * 3.0 * 0.3048).abs() < 1e-9);
}

#[test]
fn patch_limits_not_stated_hang_on_the_machine() {
    let without = |keys: &[&str]| {
        // A flow means nothing without the swath.
        let is_out = |line: &&str| {
            line.starts_with("flow_lb_min") || keys.iter().any(|key| line.starts_with(&format!("{key} =")))
        };
        let text = documented_form().lines().filter(|line| !is_out(line)).collect::<Vec<_>>().join("\n");
        FieldFile::parse("field.toml", &text).unwrap_or_else(|faults| panic!("{faults:#?}"))
    };
    let defaults = |file: &FieldFile| {
        let rows = file.rows.iter().filter(|row| row.origin == "default" && row.key.starts_with("zones."));
        rows.map(|row| format!("{} = {}", row.key, row.value)).collect::<Vec<_>>()
    };
    let limits = ["smallest_ac", "narrowest_swaths", "shortest_changes"];
    let file = without(&limits);
    assert_eq!(defaults(&file), ["zones.narrowest_swaths = 1, heuristic", "zones.shortest_changes = 2, heuristic"]);
    assert_eq!(
        (file.patches.smallest_ac, file.patches.narrowest_swaths, file.patches.shortest_changes),
        (0.0, 1.0, 2.0)
    );
    // Without the machine's figures nothing is assumed of it.
    let file = without(&[&limits[..], &["swath_ft", "change_s"]].concat());
    assert!(defaults(&file).is_empty());
    assert_eq!(file.patch_limits(), holdground::zones::PatchLimits::default());
    // An answer that is open or unknown is no fault, and no limit.
    let text = documented_form()
        .replace("swath_ft = 60", "swath_ft = \"unknown\"")
        .replace("speed_mph = 12", "speed_mph = \"?\"");
    let file = FieldFile::parse("field.toml", &text).unwrap_or_else(|faults| panic!("{faults:#?}"));
    assert_eq!((file.patch_limits().narrowest_m, file.patch_limits().shortest_m), (0.0, 0.0));
    assert!(file.open.iter().any(|(_, key)| key == "machine.speed_mph"));
    // The machine's travel reads while its rates are open.
    let open = documented_form().replace("{ least = 50, most = 400, step = 5 }", "\"?\"");
    let file = FieldFile::parse("field.toml", &open).unwrap_or_else(|faults| panic!("{faults:#?}"));
    assert!(file.rates.machine.is_none_or(|machine| machine.lb_ac.is_none()));
    assert_eq!(file.rates.travel.swath_ft, Some(60.0));
}

/// The documented form with another `[zones]`.
fn with_zones(zones: &str) -> String {
    let form = documented_form();
    let (before, rest) = form.split_once("[zones]").unwrap();
    let (_, after) = rest.split_once("[need]").unwrap();
    format!("{before}{zones}\n[need]{after}")
}

#[test]
fn every_zone_method_reads_with_its_own_keys() {
    let zones = |text: &str| {
        let file = FieldFile::parse("field.toml", &with_zones(text)).unwrap_or_else(|faults| panic!("{faults:#?}"));
        (file.zones.unwrap(), file.covariates)
    };
    let (plain, _) = zones("[zones]\ncount = \"suggest\"");
    assert_eq!((plain.method, plain.from.len(), plain.count), (ZoneMethod::KMeans, 3, None));
    let (fuzzy, _) = zones("[zones]\nmethod = \"fuzzy-c-means\"\nfuzziness = 1.5\ncount = 4");
    assert_eq!((fuzzy.method, fuzzy.count), (ZoneMethod::FuzzyCMeans { fuzziness: 1.5 }, Some(4)));
    let (breaks, _) = zones("[zones]\nmethod = \"breaks\"\nbreaks = { cec = [8, 16], ca_mg_saturation = 80 }");
    let ZoneMethod::Breaks(stated) = breaks.method else { panic!("{:?}", breaks.method) };
    assert_eq!(stated[0].edges, [8.0, 16.0]);
    assert_eq!((stated[1].quantity.key(), &stated[1].edges[..]), ("ca_mg_saturation", &[80.0][..]));
    let drawn =
        "[zones]\nmethod = \"polygons\"\npolygons = { file = \"z.shp\", name = \"ZONE\", crs = \"EPSG:32615\" }";
    let (drawn, _) = zones(drawn);
    let ZoneMethod::Polygons(file) = drawn.method else { panic!("{:?}", drawn.method) };
    assert_eq!((file.file.as_str(), file.name.as_str(), file.crs.as_deref()), ("z.shp", "ZONE", Some("EPSG:32615")));
    let (mixed, covariates) = zones(
        "[zones]\nfrom = [\"cec\", \"elevation\", \"ec_2024\"]\ncount = 3\n[covariates]\nelevation = { file = \"dem.tif\" }\n\
         ec_2024 = { file = \"survey.csv\", lon = \"Long\", lat = \"Lat\", crs = \"EPSG:4326\", column = \"EC\", unit = \"mS/m\", reach_m = 12 }",
    );
    assert_eq!(mixed.from[2], ZoneQuantity::Covariate("ec_2024".to_owned()));
    assert_eq!(covariates[1].lon_lat, Some(("Long".to_owned(), "Lat".to_owned())));
    assert_eq!((covariates[1].unit.as_deref(), covariates[1].reach_m), (Some("mS/m"), Some(12.0)));
}

#[test]
fn zone_answers_that_contradict_or_mean_nothing_are_refused_once() {
    let dem = "[covariates]\nelevation = { file = \"dem.tif\" }";
    for (zones, mentions) in [
        ("[zones]\nmethod = \"kmeans\"\ncount = 3".to_owned(), "not one of"),
        ("[zones]\nmethod = \"breaks\"".to_owned(), "zones.breaks"),
        ("[zones]\nmethod = \"breaks\"\nbreaks = {}".to_owned(), "names no quantity"),
        ("[zones]\nmethod = \"breaks\"\nbreaks = { cec = [16, 8] }".to_owned(), "must ascend"),
        ("[zones]\nmethod = \"breaks\"\nbreaks = { cec = [8, 8] }".to_owned(), "must ascend"),
        ("[zones]\nmethod = \"breaks\"\nbreaks = { cec = [1, 2, 3, 4, 5, 6] }".to_owned(), "6 edges"),
        ("[zones]\nmethod = \"breaks\"\nbreaks = { ecc = [8] }".to_owned(), "`ecc`"),
        ("[zones]\nmethod = \"breaks\"\nbreaks = { cec = [8] }\ncount = 2".to_owned(), "`count` means nothing"),
        ("[zones]\nmethod = \"breaks\"\nbreaks = { cec = [8] }\nfrom = [\"cec\"]".to_owned(), "`from` means nothing"),
        ("[zones]\ncount = 2\nbreaks = { cec = [8] }".to_owned(), "`breaks` means nothing"),
        ("[zones]\ncount = 2\nfuzziness = 2".to_owned(), "`fuzziness` means nothing"),
        ("[zones]\nmethod = \"fuzzy-c-means\"\nfuzziness = 1\ncount = 2".to_owned(), "between 1.1 and 4"),
        ("[zones]\nmethod = \"polygons\"\npolygons = { file = \"z.shp\" }".to_owned(), "zones.polygons.name"),
        ("[zones]\nfrom = []\ncount = 2".to_owned(), "names no quantity"),
        ("[zones]\nfrom = [\"cec\", \"cec\"]\ncount = 2".to_owned(), "stands twice"),
        ("[zones]\nfrom = [\"elevation\"]\ncount = 2".to_owned(), "nor a line of `[covariates]`"),
        (format!("[zones]\ncount = 2\n{dem}"), "`zones.from` does not name it"),
        (format!("[zones]\nmethod = \"breaks\"\nbreaks = {{ cec = [8] }}\n{dem}"), "`zones.breaks` does not name it"),
        ("[zones]\ncount = 2\n[covariates]\np = { file = \"a.tif\" }".to_owned(), "a quantity of the soil"),
        (
            "[zones]\ncount = 2\nfrom = [\"ec_1\"]\n[covariates]\nec_1 = { file = \"a.csv\", lon = \"x\", lat = \"y\", column = \"z\" }"
                .to_owned(),
            "covariates.ec_1.crs",
        ),
    ] {
        let faults = FieldFile::parse("field.toml", &with_zones(&zones)).unwrap_err();
        assert_eq!(faults.len(), 1, "{zones}: {faults:#?}");
        assert!(faults[0].message.contains(mentions), "{zones}: {}", faults[0].message);
    }
    let lonely = with_zones(dem);
    assert_eq!(codes_and_lines(&lonely).len(), 1);
}
