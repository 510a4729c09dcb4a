//! `holdground new` on untidy sheets and outlines of every kind: what it finds, what it asks, what it never does.
//!
//! All sheets are invented. UTM figures beside [`PLACES`] are those of `gdaltransform` from EPSG:4326 to EPSG:32615.

use crate::desk::{Desk, OUTLINE, PLACES, points};
use crate::fixture::folder;

/// A sheet of four samples: the columns of places as they stand, then pH and potassium.
fn sheet(header_of_places: &str, places: [&str; 4]) -> String {
    let rows = places.iter().zip(1..).map(|(place, n)| format!("A-0{n},{place},6.{n},1{n}0\n"));
    format!("Sample ID,{header_of_places},pH,K ppm\n{}", rows.collect::<String>())
}

/// Two columns of decimal degrees at [`PLACES`].
fn lon_lat_sheet() -> String {
    let places = PLACES.map(|(lon, lat)| format!("{lon},{lat}"));
    sheet("Long,Lat", [&places[0], &places[1], &places[2], &places[3]])
}

/// The draft of a sheet on the desk.
#[track_caller]
fn drafted(lab: &str, bytes: impl AsRef<[u8]>) -> (Desk, String) {
    let desk = Desk::new();
    desk.put(lab, bytes);
    desk.holdground(&["new", lab, "outline.geojson"]).says(0, &["Wrote field.toml."]);
    let draft = desk.read("field.toml");
    (desk, draft)
}

#[test]
fn a_field_file_that_is_there_is_never_overwritten() {
    let desk = Desk::new();
    desk.put("lab.csv", lon_lat_sheet());
    desk.put("field.toml", "my answers");
    let told = desk.holdground(&["new", "lab.csv", "outline.geojson"]);
    told.says(5, &["error[file-exists]", "`field.toml` is there already", "`--file`"]);
    assert_eq!(desk.read("field.toml"), "my answers");
    desk.put("second.toml", "");
    desk.holdground(&["new", "lab.csv", "outline.geojson", "--file", "second.toml"]).says(5, &["`second.toml`"]);
    assert_eq!(desk.read("second.toml"), "");
    // A refused sheet leaves nothing behind.
    desk.put("bad.csv", "Order,Price\n1,20\n");
    let told = desk.holdground(&["new", "bad.csv", "outline.geojson", "--file", "third.toml"]);
    told.says(3, &["error[no-results-on-sheet]", "`Price`: not among the names", "nothing was written"]);
    assert!(!desk.path("third.toml").exists());
}

#[test]
fn a_field_file_in_a_folder_of_its_own_names_its_files_from_there() {
    let desk = Desk::new();
    desk.put("sheets/lab.csv", lon_lat_sheet());
    desk.put("north/keep.txt", "");
    for file in ["north/field.toml", "./north/two.toml", "here.toml", "./there.toml"] {
        desk.holdground(&["new", "./sheets/lab.csv", "outline.geojson", "--file", file]).says(0, &[]);
        let up = if file.contains("north") { "../" } else { "" };
        let draft = desk.read(file);
        assert!(draft.contains(&format!("file = \"{up}sheets/lab.csv\"")), "{file}:\n{draft}");
        assert!(draft.contains(&format!("outline = \"{up}outline.geojson\"")), "{file}:\n{draft}");
        desk.holdground(&["check", file]).says(0, &["4 samples checked"]);
    }
}

#[test]
fn coordinates_of_the_sheet_are_found_in_every_writing() {
    let from = "places = { from = \"file\", ";
    let degrees = format!("{from}lon = \"Long\", lat = \"Lat\", crs = \"EPSG:4326\" }}");
    let (desk, draft) = drafted("lab.csv", lon_lat_sheet());
    assert!(draft.contains(&degrees), "{draft}");
    assert_eq!(desk.open_keys(), "depth_in ph_water.method k.method");
    // The same places in degrees, minutes and seconds.
    let text = sheet(
        "Long,Lat",
        [
            "\"93°30'28.8\"\" W\",\"41°00'03.6\"\" N\"",
            "\"93°30'07.2\"\" W\",\"41°00'05.4\"\" N\"",
            "\"93°30'25.2\"\" W\",\"41°00'25.2\"\" N\"",
            "\"93°30'05.4\"\" W\",\"41°00'23.4\"\" N\"",
        ],
    );
    let (desk, draft) = drafted("lab.csv", text);
    assert!(draft.contains(&degrees), "{draft}");
    desk.answer(&[("depth_in", "[0, 7]"), ("ph_water", "\"water\""), ("k", "\"mehlich-3\"")]);
    let table = desk.check_and_run();
    assert_eq!((table.cell("A-01", "lon"), table.cell("A-04", "lat")), ("-93.5080000", "41.0065000"));
    // The same places in meters: the UTM zone is found by where they come to lie.
    let utm = ["457277.0,4538992.3", "457781.9,4539044.9", "457365.0,4539657.9", "457827.1,4539599.7"];
    let (desk, draft) = drafted("lab.csv", sheet("Easting,Northing", utm));
    let metric = format!("{from}east = \"Easting\", north = \"Northing\", crs = ");
    assert!(draft.contains(&format!("{metric}\"EPSG:32615\" }} # by trial: with it 4 of 4 samples")), "{draft}");
    desk.holdground(&["check", "field.toml"]).says(0, &["4 samples checked"]);
    // Local meters lie nowhere until their CRS is told.
    let local = ["277.0,992.3", "781.9,1044.9", "365.0,1657.9", "827.1,1599.7"];
    let (desk, draft) = drafted("lab.csv", sheet("Easting,Northing", local));
    assert!(draft.contains(&format!("{metric}\"?\" }}")), "{draft}");
    assert_eq!(desk.open_keys(), "places.crs depth_in ph_water.method k.method");
    desk.holdground(&["check", "field.toml"]).says(0, &["4 samples checked", "samples.places.crs"]);
    desk.holdground(&["run", "field.toml", "--out", "out"]).says(3, &["error[places-open]"]);
    assert!(!desk.path("out").exists());
}

#[test]
fn names_join_by_their_numbers_only_where_that_is_said() {
    let desk = Desk::new();
    desk.put("lab.csv", "Sample ID,pH,K ppm\n12,6.1,110\n7,6.2,120\n13,6.3,130\n1,6.4,140\n");
    desk.put("cores.geojson", points(&["A-012", "A-007", "A-013", "A-001"]));
    let told = desk.holdground(&["new", "lab.csv", "outline.geojson", "--places", "cores.geojson"]);
    told.says(0, &["one to one by `name`, by the numbers in their names: look whether that is meant."]);
    let draft = desk.read("field.toml");
    assert!(draft.contains("places = { from = \"cores.geojson\", id = \"name\", match = \"number\" }"), "{draft}");
    desk.answer(&[("depth_in", "[0, 7]"), ("ph_water", "\"water\""), ("k", "\"mehlich-3\"")]);
    let table = desk.check_and_run();
    // The names stay those of the sheet.
    assert_eq!((table.cell("7", "lon"), table.cell("7", "k (meq/100 g)")), ("-93.5020000", "0.3077"));
}

#[test]
fn names_that_do_not_meet_are_listed_and_the_places_stay_open() {
    let desk = Desk::new();
    desk.put("lab.csv", "Sample ID,pH,K ppm\n12,6.1,110\n7,6.2,120\n13,6.3,130\n1,6.4,140\n");
    desk.put("cores.geojson", points(&["A-12", "B-12", "13", "1"]));
    let told = desk.holdground(&["new", "lab.csv", "outline.geojson", "--places", "cores.geojson"]);
    told.says(
        0,
        &[
            "do not meet one to one; nearest by `name`: samples left `12`, `7` points left `A-12`, `B-12`",
            "Nothing can be mapped before `samples.places` is answered",
        ],
    );
    assert!(desk.read("field.toml").contains("places = \"?\""));
    assert!(desk.open_keys().starts_with("places depth_in"), "{}", desk.open_keys());
    desk.holdground(&["run", "field.toml", "--out", "out"]).says(3, &["error[places-open]"]);
}

#[test]
fn a_sample_outside_is_told_and_the_draft_is_written() {
    let desk = Desk::new();
    let places = ["-93.508,41.001", "-93.502,41.0015", "-93.507,41.007", "-93.4999,41.0065"];
    desk.put("lab.csv", sheet("Long,Lat", places).replace("A-04", "C-07"));
    let told = desk.holdground(&["new", "lab.csv", "outline.geojson"]);
    // 0.0001 degrees of longitude at 41 degrees north: 8.4 m, as `samples_outside_boundary` works out from the ellipsoid.
    told.says(0, &["`C-07` lies 28 ft (8.4 m) outside the outline", "3 samples lie inside", "To mend first"]);
    desk.holdground(&["check", "field.toml"]).says(3, &["`C-07` lies 28 ft"]);
    let draft = desk.read("field.toml").replacen("[samples]\n", "[samples]\noutside = \"leave-out\"\n", 1);
    desk.put("field.toml", draft);
    desk.holdground(&["check", "field.toml"]).says(0, &["3 samples checked", "left out"]);
}

#[test]
fn dates_that_could_be_either_and_words_are_asked() {
    let desk = Desk::new();
    let rows = ["3/4/2025,6.1,110,ND", "3/4/2025,6.2,n/a,12", "3/4/2025,6.3,130,9", "3/4/2025,6.4,140,<5"];
    let text = |rows: &[&str]| {
        let rows = rows.iter().zip(PLACES).zip(1..);
        let line = |((row, (lon, lat)), n): ((&&str, (f64, f64)), i32)| format!("{n},{lon},{lat},{row}\n");
        format!("ID,Lon,Lat,Date Sampled,pH,K ppm,P ppm\n{}", rows.map(line).collect::<String>())
    };
    desk.put("lab.csv", text(&rows));
    desk.holdground(&["new", "lab.csv", "outline.geojson"]).says(0, &["warning[open-words]", "samples.taken"]);
    let draft = desk.read("field.toml");
    assert!(draft.contains("taken = \"?\"") && draft.contains("may be day or month first"), "{draft}");
    assert!(draft.contains("words = { \"n/a\" = \"blank\", \"ND\" = \"?\" }"), "{draft}");
    assert_eq!(desk.open_keys(), "taken depth_in words.ND ph_water.method p.method k.method");
    desk.answer(&[
        ("taken", "2025-04-03"),
        ("words", "\"<2\""),
        ("depth_in", "[0, 7]"),
        ("ph_water", "\"water\""),
        ("p", "\"olsen\""),
        ("k", "\"mehlich-3\""),
    ]);
    let table = desk.check_and_run();
    assert_eq!((table.cell("1", "p (ppm)"), table.cell("4", "p (ppm)")), ("<2", "<5"));
    assert_eq!(table.cell("2", "k (meq/100 g)"), "");
    // One day that only one order fits settles all.
    let (_, draft) = drafted("lab.csv", text(&rows).replacen("3/4/2025", "3/14/2025", 1));
    assert!(draft.contains("taken = 2025-03-14 "), "{draft}");
}

#[test]
fn samples_that_run_across_are_turned() {
    let text = "Sample,A1,A2,A3,A4\nLongitude,-93.508,-93.502,-93.507,-93.5015\nLatitude,41.001,41.0015,41.007,41.0065\n\
                pH (H2O),6.1,6.2,6.3,6.4\nK ppm,110,120,130,140\n";
    let (desk, draft) = drafted("lab.csv", text);
    assert!(draft.contains("sheet = { samples_in = \"columns\" }"), "{draft}");
    assert_eq!(desk.open_keys(), "depth_in k.method");
    desk.answer(&[("depth_in", "[0, 7]"), ("k", "\"mehlich-3\"")]);
    let table = desk.check_and_run();
    assert_eq!(table.names(), ["A1", "A2", "A3", "A4"]);
    // 130 ppm by 390 ppm a meq [A].
    assert_eq!((table.cell("A3", "ph_water (pH)"), table.cell("A3", "k (meq/100 g)")), ("6.3", "0.3333"));
}

#[test]
fn windows_line_ends_and_a_byte_order_mark_change_nothing() {
    let (_, plain) = drafted("lab.csv", lon_lat_sheet());
    let (desk, windows) = drafted("lab.csv", format!("\u{feff}{}", lon_lat_sheet().replace('\n', "\r\n")));
    assert_eq!(plain, windows);
    // Nor does an editor that writes the field file so.
    desk.put("field.toml", windows.replace('\n', "\r\n"));
    desk.holdground(&["check", "field.toml"]).says(0, &["4 samples checked"]);
}

#[test]
fn workbooks_of_three_formats_give_one_draft() {
    let draft_of = |name: &str| {
        let (desk, draft) = drafted(name, std::fs::read(folder("sheets").join(name)).unwrap());
        desk.leaves_aside(&["Calcium Desired ppm"]);
        assert_eq!(desk.open_keys(), "places depth_in words.#N/A ph_water.method k.method ca.method");
        draft.lines().filter(|line| !line.starts_with("file = ")).collect::<Vec<_>>().join("\n")
    };
    let xlsx = draft_of("groups.xlsx");
    for part in [
        "sheet = { header = [4, 5, 6], last = 9 }",
        "#   column `Sample ID` holds 1 date",
        "taken = 2025-10-14 ",
        "ca       = { column = \"Calcium Found ppm\",",
    ] {
        assert!(xlsx.contains(part), "`{part}` is not in\n{xlsx}");
    }
    assert!(!xlsx.contains("`Sampled` holds"), "a column of days is no column of names\n{xlsx}");
    assert_eq!(xlsx, draft_of("groups.xls"));
    assert_eq!(xlsx, draft_of("groups.ods"));
}

#[test]
fn a_workbook_of_several_sheets_asks_which() {
    let desk = Desk::new();
    for name in ["two_sheets.xlsx", "protected.xlsx"] {
        desk.put(name, std::fs::read(folder("sheets").join(name)).unwrap());
    }
    let told = desk.holdground(&["new", "two_sheets.xlsx", "outline.geojson"]);
    told.says(3, &["error[which-sheet]", "name one of its sheets with `--sheet`: `North`, `South`"]);
    let told = desk.holdground(&["new", "two_sheets.xlsx", "outline.geojson", "--sheet", "West"]);
    told.says(3, &["no sheet `West`", "`North`, `South`"]);
    desk.holdground(&["new", "two_sheets.xlsx", "outline.geojson", "--sheet", "South"]).says(0, &["Wrote field.toml."]);
    assert!(desk.read("field.toml").contains("sheet = { name = \"South\""));
    desk.holdground(&["check", "field.toml"]).says(0, &["samples checked"]);
    let told = desk.holdground(&["new", "protected.xlsx", "outline.geojson", "--file", "p.toml"]);
    told.says(3, &["protected by a password"]);
}

#[test]
fn modus_states_its_own_places_and_depths() {
    let (desk, draft) = drafted("lab.xml", std::fs::read(folder("sheets").join("two_depths.xml")).unwrap());
    for part in [
        "id = \"FMISSampleID\"",
        "lon = \"Longitude\", lat = \"Latitude\", crs = \"EPSG:4326\"",
        "taken = 2026-03-01 ",
        "take = [0, 7] }",
        "k              = { column = \"K ppm [X-K-01]\", unit = \"ppm\",",
    ] {
        assert!(draft.contains(part), "`{part}` is not in\n{draft}");
    }
    assert_eq!(desk.open_keys(), "ph_water.method organic_matter.method k.method");
    desk.leaves_aside(&["SampleNumber", "K index [X-K-01]"]);
    // Two samples make no map, and nothing else is wrong with them.
    desk.holdground(&["check", "field.toml"]).says(3, &["error[too-few-places]: 2 samples to map", "one error"]);
}

#[test]
fn what_is_no_sheet_or_no_outline_is_refused_together() {
    let desk = Desk::new();
    desk.put("lab.pdf", b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n1 0 obj\n");
    let told = desk.holdground(&["new", "lab.pdf", "no-such.geojson"]);
    told.says(
        3,
        &["error[not-a-sheet]: `lab.pdf` is a PDF", "holdground new --blank", "`no-such.geojson`", "2 errors"],
    );
    assert!(!desk.path("field.toml").exists() && told.stdout.is_empty());
}

#[test]
fn an_empty_table_is_written_once_typed_into_and_read() {
    let desk = Desk::new();
    desk.holdground(&["new", "--blank"]).says(0, &["Wrote lab_table.csv", "holdground new lab_table.csv OUTLINE"]);
    let empty = desk.read("lab_table.csv");
    desk.holdground(&["new", "--blank"]).says(5, &["`lab_table.csv` is there already", "type into the one"]);
    assert_eq!(desk.read("lab_table.csv"), empty);
    desk.holdground(&["new", "lab_table.csv", "outline.geojson"]).says(3, &["no rows below the header"]);
    let rows = PLACES.iter().zip(1..).map(|((lon, lat), n)| {
        // Ca 1800 / 200 + Mg 240 / 120 + K 156 / 390 + Na 23 / 230 + 12 x (7.0 - 6.8) = 13.9 meq/100 g [A].
        format!("A-{n},{lon},{lat},0,7,6.{n},6.8,3.1,22,156,1800,240,23,13.9\n")
    });
    desk.put("lab_table.csv", empty + &rows.collect::<String>());
    let told = desk.holdground(&["new", "lab_table.csv", "outline.geojson"]);
    told.says(0, &["Zones can be drawn now"]);
    assert!(!told.stdout.contains("left aside"), "{}", told.stdout);
    // Methods are all that is asked: place, depth and units stand in the table.
    assert_eq!(
        desk.open_keys(),
        "buffer_ph.method organic_matter.method p.method k.method ca.method mg.method na.method cec.method"
    );
    desk.holdground(&["run", "field.toml", "--out", "out"]).says(0, &["4 samples, 0 to 7 in"]);
}

#[test]
fn a_walked_outline_and_one_without_a_crs_need_their_flag() {
    let desk = Desk::new();
    desk.put("lab.csv", lon_lat_sheet());
    let corners = [(-93.51, 41.0), (-93.5, 41.0), (-93.5, 41.008), (-93.51, 41.008)];
    let walk = corners.iter().chain(&[(-93.51, 41.0002)]).map(|(x, y)| format!(r#"<trkpt lat="{y}" lon="{x}"/>"#));
    let gpx = format!(
        r#"<gpx version="1.1" creator="invented" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>{}</trkseg></trk></gpx>"#,
        walk.collect::<String>()
    );
    desk.put("walk.gpx", gpx);
    let new = |outline: &str, flags: &[&str]| desk.holdground(&[&["new", "lab.csv", outline], flags].concat());
    new("walk.gpx", &[]).says(3, &["error[no-polygon-in-outline]", "pass `--close-line`"]);
    new("walk.gpx", &["--close-line", "--file", "walk.toml"]).says(0, &["note[walked-line-closed]", "184.7 ac"]);
    assert!(desk.read("walk.toml").contains("outline_line = \"close\""));
    desk.holdground(&["check", "walk.toml"]).says(0, &["4 samples checked"]);
    // A MapInfo file without a `CoordSys` line.
    let ring: String = corners.iter().chain(&corners[..1]).map(|(x, y)| format!("{x} {y}\n")).collect();
    desk.put(
        "field.mif",
        format!(
            "Version 300\nCharset \"Neutral\"\nDelimiter \",\"\nColumns 1\n  id Integer\nData\n\nRegion 1\n  5\n{ring}"
        ),
    );
    desk.put("field.mid", "1\n");
    new("field.mif", &[]).says(3, &["error[vector-file-without-crs]", "state it with `--outline-crs`"]);
    new("field.mif", &["--outline-crs", "EPSG:99999999"]).says(3, &["error[unknown-crs]"]);
    new("field.mif", &["--outline-crs", "EPSG:4326", "--file", "mif.toml"]).says(0, &["Wrote mif.toml."]);
    assert!(desk.read("mif.toml").contains("outline_crs = \"EPSG:4326\""));
    desk.holdground(&["check", "mif.toml"]).says(0, &["4 samples checked"]);
}

#[test]
fn a_sheet_whose_units_are_all_open_is_drafted_all_the_same() {
    let (desk, draft) = drafted("lab.csv", "ID,K\n1,120\n2,130\n3,140\n4,150\n");
    assert!(draft.contains("k = { column = \"K\", unit = \"?\", method = \"?\" }"), "{draft}");
    assert_eq!(desk.open_keys(), "places depth_in k.unit k.method");
    desk.holdground(&["check", "field.toml"]).says(0, &["samples.columns.k.unit"]);
}

#[test]
fn a_draft_as_it_is_draws_zones_where_the_sheet_has_places() {
    let desk = Desk::new();
    for name in ["lab.csv", "outline.geojson"] {
        desk.put(name, std::fs::read(folder("demo").join(name)).unwrap());
    }
    assert_ne!(desk.read("outline.geojson"), OUTLINE);
    let told = desk.holdground(&["new", "lab.csv", "outline.geojson"]);
    told.says(0, &["63 rows, 13 columns", "Zones can be drawn now: holdground run field.toml --out first-look"]);
    let told = desk.holdground(&["run", "field.toml", "--out", "first"]);
    // The demo's three soils (fixtures/demo/SOURCE.md) show without a single answer; rates do not.
    told.says(0, &["Where the ground holds least", "No rates", "Still to be answered: `field.crop`", "depth unknown"]);
    let zones = desk.read("first/tables/zones.csv");
    assert_eq!(zones.lines().count(), 4, "{zones}");
    for name in ["gis/zones.geojson", "maps/3-zones.png", "run_record.json"] {
        assert!(desk.path("first").join(name).is_file(), "{name}");
    }
    assert!(!desk.path("first/tables/rates.csv").exists());
}
