//! From a lab's sheet to checked samples, through the public functions only.

use holdground::boundary::FieldBoundary;
use holdground::chemistry::{Buffer, Cation};
use holdground::crs::WorkCrsChoice;
use holdground::diagnostic::{Checked, Diagnostic, Severity};
use holdground::field_file::FieldFile;
use holdground::samples::{
    Analyte, CecSource, ColumnSetting, DepthSetting, DepthUnit, LabMethod, MethodSetting, NameMatch, NumberForm,
    OutsideRule, PlaceShape, PlacesSetting, SampleLines, SampleSet, SampleSettings, SampleTable, SheetCoordinates,
    check,
};
use holdground::sheet::SheetForm;
use holdground::units::LabUnit;

use super::check_close;

/// A square of about 1 km: -93.512 to -93.5, 41.0 to 41.009.
fn square() -> FieldBoundary {
    let ring = vec![(-93.512, 41.0), (-93.5, 41.0), (-93.5, 41.009), (-93.512, 41.009), (-93.512, 41.0)];
    boundary(&[ring])
}

fn boundary(rings: &[Vec<(f64, f64)>]) -> FieldBoundary {
    FieldBoundary::from_rings(rings, None, &WorkCrsChoice::Derived).expect("the outline is sound").value
}

fn column(analyte: Analyte, column: &str, unit: LabUnit, method: LabMethod) -> ColumnSetting {
    ColumnSetting { analyte, column: column.to_owned(), unit, method: MethodSetting::Fixed(method), line: 20 }
}

fn ppm(analyte: Analyte, header: &str) -> ColumnSetting {
    column(analyte, header, LabUnit::PPM, LabMethod::AmmoniumAcetate)
}

fn settings(columns: Vec<ColumnSetting>) -> SampleSettings {
    SampleSettings {
        id_column: Some("ID".to_owned()),
        places: PlacesSetting::Sheet(SheetCoordinates {
            x_column: "lon".to_owned(),
            y_column: "lat".to_owned(),
            crs: "EPSG:4326".to_owned(),
            offset: [0.0; 2],
        }),
        depth: DepthSetting::Fixed { top_in: 0.0, bottom_in: 7.0 },
        columns,
        buffer_not_run_at_or_above_ph: None,
        buffer_rule_is_open: false,
        outside: OutsideRule::Refuse,
        leave_out: Vec::new(),
        soil_lb_ac: None,
        sheet: SheetForm::plain(),
        numbers: NumberForm::default(),
        cores_per_sample: None,
        taken: None,
        season: None,
        file: "lab.csv".to_owned(),
        field_file: "field.toml".to_owned(),
        lines: SampleLines { id: 8, places: 9, depth: 10, taken: 11, cores: 12, words: 13, leave_out: 14 },
    }
}

fn read(csv: &str, settings: &SampleSettings) -> Result<Checked<SampleSet>, Vec<Diagnostic>> {
    let table = SampleTable::read_csv("lab.csv", csv.as_bytes())?;
    let boundary = square();
    check(&table, settings, None, &boundary)
}

/// Checks a sheet that must read.
#[track_caller]
fn sample_set(csv: &str, settings: &SampleSettings) -> SampleSet {
    read(csv, settings).expect("the sheet is sound").value
}

fn codes(found: &[Diagnostic]) -> Vec<&'static str> {
    found.iter().map(|diagnostic| diagnostic.code.name).collect()
}

/// Reads a field of `fixtures/` with its outline and sheet.
fn fixture(name: &str) -> Checked<SampleSet> {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures").join(name);
    let text = |file: &str| std::fs::read_to_string(folder.join(file)).expect("the fixture is there");
    let field = FieldFile::parse("field.toml", &text("field.toml")).expect("the field file reads");
    let outline: serde_json::Value = serde_json::from_str(&text("outline.geojson")).expect("the outline is JSON");
    let rings: Vec<Vec<(f64, f64)>> =
        serde_json::from_value(outline["features"][0]["geometry"]["coordinates"].clone()).expect("one polygon");
    let boundary = boundary(&rings);
    let table = SampleTable::read_csv("lab.csv", text("lab.csv").as_bytes()).expect("the sheet reads");
    check(&table, &field.samples, None, &boundary).expect("the sheet is sound")
}

const THREE: &str = "A,-93.511,41.001,6.1\nB,-93.505,41.001,6.2\nC,-93.508,41.006,6.3\n";

#[test]
fn the_demo_sheet_brings_only_what_was_put_in_on_purpose_and_its_parts_close() {
    let checked = fixture("demo");
    // Blank buffers on neutral ground, one `<5`, two samples above pH 7.3: fixtures/demo/SOURCE.md.
    assert_eq!(
        codes(&checked.warnings),
        ["blank-buffer-ph", "below-limit", "calcareous-cec", "calcareous-cec", "extractant-unfit-at-ph"]
    );
    // The two samples are too limy for Bray-1 phosphorus too.
    let warnings = checked.warnings.iter().filter(|warning| warning.severity == Severity::Warning);
    assert_eq!(warnings.count(), 3);
    let set = checked.value;
    assert_eq!((set.samples.len(), set.n_set_aside), (63, 0));
    assert_eq!(set.cec_source, CecSource::Lab(LabMethod::Summation));
    for sample in &set.samples {
        let parts = sample.exchange.expect("every row has its cations");
        let printed = sample.reading(Analyte::Cec).expect("every row has its CEC").value;
        check_close(parts.cec_meq_100g(), printed, 0.08); // rounding of a printed part may be taken as none
        assert!(parts.rest_meq_100g >= 0.0, "{}", sample.id);
    }
}

#[test]
fn the_even_sheet_reads_without_a_warning() {
    let checked = fixture("even");
    assert_eq!(checked.value.samples.len(), 18);
    assert!(checked.warnings.iter().all(|warning| warning.severity == Severity::Note), "{:?}", checked.warnings);
}

#[test]
fn a_byte_order_mark_blank_lines_and_windows_line_ends_are_taken() {
    let table = SampleTable::read_csv("lab.csv", b"\xef\xbb\xbfID, pH \r\nA,6.1\r\n,\r\n\r\n\"B, east\",6.2\r\n");
    let table = table.expect("the sheet reads");
    assert_eq!(table.header, ["ID", "pH"]);
    assert_eq!(table.rows.iter().map(|row| row.line).collect::<Vec<_>>(), [2, 5]);
    assert_eq!(table.rows[1].cells, ["B, east", "6.2"]);
}

#[test]
fn names_stay_text() {
    let ph = column(Analyte::PhWater, "pH", LabUnit::Ph, LabMethod::Water);
    let csv = "ID,lon,lat,pH\n012,-93.511,41.001,6.1\n12,-93.505,41.001,6.2\n1e2,-93.508,41.006,6.3\n";
    let set = sample_set(csv, &settings(vec![ph]));
    assert_eq!(set.samples.iter().map(|sample| sample.id.as_str()).collect::<Vec<_>>(), ["012", "12", "1e2"]);
}

#[test]
fn pounds_an_acre_follow_the_depth_of_the_core() {
    // 12 in of soil are 3.6 million lb an acre (field notes 15): 360 lb are 100 ppm.
    let mut settings = settings(vec![column(Analyte::P, "P", LabUnit::LB_AC, LabMethod::Bray1)]);
    let csv = "ID,lon,lat,P\nA,-93.511,41.001,360\nB,-93.505,41.001,360\nC,-93.508,41.006,360\n";
    let p_ppm =
        |settings: &SampleSettings| sample_set(csv, settings).samples[0].reading(Analyte::P).expect("P is there").value;
    settings.depth = DepthSetting::Fixed { top_in: 0.0, bottom_in: 12.0 };
    check_close(p_ppm(&settings), 100.0, 1e-9);
    settings.depth = DepthSetting::Fixed { top_in: 0.0, bottom_in: 7.0 };
    check_close(p_ppm(&settings), 180.0, 1e-9);
    settings.soil_lb_ac = Some(1.8e6);
    check_close(p_ppm(&settings), 200.0, 1e-9);
}

#[test]
fn a_sheet_of_percentages_and_cec_is_turned_into_amounts() {
    let share = |analyte, header| column(analyte, header, LabUnit::Percent, LabMethod::Calculated);
    let cec = column(Analyte::Cec, "CEC", LabUnit::Meq100g, LabMethod::MeasuredPh7);
    let columns = vec![
        cec,
        share(Analyte::CaSaturation, "Ca%"),
        share(Analyte::MgSaturation, "Mg%"),
        share(Analyte::KSaturation, "K%"),
    ];
    let csv = "ID,lon,lat,CEC,Ca%,Mg%,K%\nA,-93.511,41.001,15,64,13,2\nB,-93.505,41.001,15,64,13,2\nC,-93.508,41.006,15,64,13,2\n";
    let parts = sample_set(csv, &settings(columns)).samples[0].exchange.expect("cations and CEC are known");
    check_close(parts.ca_meq_100g, 9.6, 1e-9);
    check_close(parts.rest_meq_100g, 3.15, 1e-9);
    assert_eq!(parts.meq_100g(Cation::Na), None);
}

#[test]
fn without_a_cec_it_is_summed_from_the_buffer_and_a_blank_on_neutral_ground_is_no_acidity() {
    let mut settings = settings(vec![
        column(Analyte::PhWater, "pH", LabUnit::Ph, LabMethod::Water),
        column(Analyte::BufferPh, "BpH", LabUnit::Ph, LabMethod::Buffer(Buffer::Sikora)),
        ppm(Analyte::K, "K"),
        ppm(Analyte::Ca, "Ca"),
        ppm(Analyte::Mg, "Mg"),
    ]);
    settings.buffer_not_run_at_or_above_ph = Some(6.8);
    let csv = "ID,lon,lat,pH,BpH,K,Ca,Mg\nA,-93.511,41.001,6.2,6.75,117,1900,240\n\
               B,-93.505,41.001,7.2,,117,1900,240\nC,-93.508,41.006,6.2,6.75,117,1900,\n";
    let set = sample_set(csv, &settings);
    assert_eq!(set.cec_source, CecSource::SummedFromBuffer(Buffer::Sikora));
    // 9.5 + 2.0 + 0.3, and 12 * (7 - 6.75) = 3.0 of acidity.
    check_close(set.samples[0].exchange.expect("all parts").cec_meq_100g(), 14.8, 1e-9);
    check_close(set.samples[1].exchange.expect("all parts").cec_meq_100g(), 11.8, 1e-9);
    assert_eq!(set.samples[2].exchange, None, "a blank Mg is unknown, not 0");
}

#[test]
fn rows_of_other_depths_are_set_aside_and_counted() {
    let mut settings = settings(vec![column(Analyte::PhWater, "pH", LabUnit::Ph, LabMethod::Water)]);
    settings.depth = DepthSetting::Columns {
        top: Some("From".to_owned()),
        bottom: "To".to_owned(),
        unit: DepthUnit::Inches,
        take_in: Some([0.0, 8.0]),
    };
    let csv = "ID,lon,lat,From,To,pH\nA,-93.511,41.001,0,8,6.1\nA,-93.511,41.001,8,24,7.1\n\
               B,-93.505,41.001,0,8,6.2\nC,-93.508,41.006,0,8,6.3\n";
    let set = sample_set(csv, &settings);
    assert_eq!((set.samples.len(), set.n_set_aside, set.depth_in), (3, 1, Some([0.0, 8.0])));
}

#[test]
fn samples_outside_are_refused_or_left_out_by_the_users_rule() {
    let mut settings = settings(vec![column(Analyte::PhWater, "pH", LabUnit::Ph, LabMethod::Water)]);
    let csv = format!("ID,lon,lat,pH\nD,-93.4995,41.004,6\n{THREE}");
    assert_eq!(
        codes(&read(&csv, &settings).expect_err("one lies outside")),
        ["samples-outside-boundary", "too-few-places", "sparse-samples"]
    );
    settings.outside = OutsideRule::LeaveOut;
    let checked = read(&csv, &settings).expect("the others are sound");
    assert_eq!(checked.value.samples.iter().map(|sample| sample.id.as_str()).collect::<Vec<_>>(), ["A", "B", "C"]);
    assert_eq!(codes(&checked.warnings), ["samples-outside-boundary", "too-few-places", "sparse-samples"]);
}

#[test]
fn samples_at_one_place_are_averaged_whatever_their_order() {
    let settings = settings(vec![column(Analyte::PhWater, "pH", LabUnit::Ph, LabMethod::Water)]);
    let rows = "A2,-93.511,41.001,6.5\n";
    let of = |csv: &str| {
        sample_set(csv, &settings)
            .sites_with(1, |sample| sample.reading(Analyte::PhWater).map(|reading| vec![reading.map_value()]))
    };
    let (sites, columns) = of(&format!("ID,lon,lat,pH\n{rows}{THREE}"));
    assert_eq!(sites.len(), 3);
    assert!(columns[0].iter().any(|ph| (ph - 6.3).abs() < 1e-12), "6.1 and 6.5 average to 6.3: {columns:?}");
    assert_eq!(of(&format!("ID,lon,lat,pH\n{THREE}{rows}")), (sites, columns));
}

#[test]
fn all_faults_of_a_part_are_told_at_once_and_nothing_that_only_echoes_them() {
    let settings = settings(vec![
        column(Analyte::PhWater, "pH", LabUnit::Ph, LabMethod::Water),
        column(Analyte::Cec, "CEC", LabUnit::Meq100g, LabMethod::Summation),
    ]);
    let cells = "ID,lon,lat,pH,CEC\nA,-93.511,,6.1,9\n,-93.505,41.001,n.d.,\"9,1\"\nA,-93.511,41.001,6.1,9\n";
    let found = read(cells, &settings).expect_err("four cells are wrong");
    // The name A also stands twice: that is looked at when the cells read.
    assert_eq!(codes(&found), ["missing-cell", "missing-cell", "not-a-number", "not-a-number"]);
    let rows = "ID,lon,lat,pH,CEC\nA,-93.511,41.001,61,9\nB,-93.505,41.001,6,999\nA,-93.511,41.001,6.1,9\n";
    let found = read(rows, &settings).expect_err("three rows are wrong");
    assert_eq!(codes(&found), ["duplicate-sample", "value-out-of-range", "value-out-of-range"]);
}

#[test]
fn places_of_another_file_are_joined_by_name() {
    let mut settings = settings(vec![column(Analyte::PhWater, "pH", LabUnit::Ph, LabMethod::Water)]);
    let (file, id) = ("cores.geojson".to_owned(), "name".to_owned());
    settings.places =
        PlacesSetting::Points { file, id, matching: NameMatch::Letters, crs: None, take: PlaceShape::Points };
    let table = SampleTable::read_csv("lab.csv", b"ID,pH\nB,6.2\nA,6.1\nC,6.3\n").expect("the sheet reads");
    let boundary = square();
    let point = |name: &str, lon, lat| (name.to_owned(), lon, lat);
    let points = [point("A", -93.511, 41.001), point("B", -93.505, 41.001), point("C", -93.508, 41.006)];
    let read = |points| check(&table, &settings, Some(points), &boundary);
    let set = read(&points[..]).expect("every name has its point").value;
    assert_eq!((set.samples[0].id.as_str(), set.samples[0].lon), ("B", -93.505));
    assert_eq!(codes(&read(&points[..2]).expect_err("C has no point")), ["unmatched-points"]);
}

#[test]
fn trap_1_a_sheet_through_the_program_gives_the_correct_sum() {
    // The soil of a homework page that swaps the divisors and prints 8.65: 6.00 is correct [A].
    let acidity = column(Analyte::Acidity, "Ac", LabUnit::Meq100g, LabMethod::PotassiumChloride);
    let cations = [(Analyte::K, "K"), (Analyte::Ca, "Ca"), (Analyte::Mg, "Mg"), (Analyte::Na, "Na")];
    let columns = cations.map(|(analyte, header)| ppm(analyte, header)).into_iter().chain([acidity]).collect();
    let rows: String = THREE
        .lines()
        .map(|row| {
            format!("{},157.72,756.56,198.78,21.36,0.06\n", row.rsplit_once(',').map_or(row, |(place, _)| place))
        })
        .collect();
    let set = sample_set(&format!("ID,lon,lat,K,Ca,Mg,Na,Ac\n{rows}"), &settings(columns));
    let parts = set.samples[0].exchange.expect("all parts are on the sheet");
    check_close(parts.cec_meq_100g(), 6.00, 0.02);
    check_close(parts.ca_meq_100g, 3.78, 0.005);
    check_close(parts.mg_meq_100g, 1.66, 0.005);
}

#[test]
fn trap_9_a_buffer_without_its_name_is_refused() {
    // Buffer pH 6.6 is 4.8, 11.2 or 0.0 meq/100 g by buffer.
    let file = |method: &str| {
        format!(
            "form = 1\n[field]\nname = \"Trap (invented)\"\nshort = \"TRP\"\noutline = \"o.geojson\"\n[samples]\n\
             file = \"lab.csv\"\nid = \"ID\"\ndepth_in = [0, 7]\n\
             places = {{ from = \"file\", lon = \"lon\", lat = \"lat\", crs = \"EPSG:4326\" }}\n\
             [samples.columns]\nbuffer_ph = {{ column = \"BpH\", unit = \"pH\"{method} }}\n\
             [surface]\nmethod = \"mesh\"\ncell_m = 10\n"
        )
    };
    let faults = FieldFile::parse("field.toml", &file("")).map(|_| ()).expect_err("no buffer is named");
    assert_eq!(
        faults.iter().map(|fault| fault.message.as_str()).collect::<Vec<_>>(),
        ["`samples.columns.buffer_ph.method` is missing"]
    );
    // Mehlich's extracts bear the name of his buffer, and are none.
    assert!(FieldFile::parse("field.toml", &file(", method = \"mehlich-3\"")).is_err());
    assert!(FieldFile::parse("field.toml", &file(", method = \"sikora\"")).is_ok());
}
