//! Layouts worked out by hand.

use super::task_zones::{grid_bytes, task};
use super::*;
use crate::coverage::Vertex;

/// 41.5 north, 93.6 west; cells of 1800 by 2400 steps (0.00018 by 0.00024 degree).
const LATTICE: Lattice = Lattice { lon0_e7: -936_000_000, lat0_e7: 415_000_000 };
const FRAME: GridFrame = GridFrame {
    west_e9: -93_600_000_000,
    south_e9: 41_500_000_000,
    cell_east_e9: 240_000,
    cell_north_e9: 180_000,
    n_cols: 6,
    n_rows: 4,
    cell_east_m: 20.0,
    cell_north_m: 20.0,
    widened_to_m: None,
};
/// Zone of each cell, south row first; 0 lies outside the field.
const CODES: [[u8; 6]; 4] = [[0, 1, 1, 2, 2, 0], [1, 1, 2, 2, 3, 3], [1, 2, 2, 3, 3, 3], [0, 2, 2, 3, 3, 0]];

fn square(col: i32, row: i32) -> LatticePolygon {
    let corner = |dx: i32, dy: i32| Vertex { x: 2400 * (col + dx), y: 1800 * (row + dy) };
    let exterior = vec![corner(0, 0), corner(1, 0), corner(1, 1), corner(0, 1), corner(0, 0)];
    LatticePolygon { exterior, interiors: Vec::new() }
}

fn cells_of(code: u8) -> Vec<LatticePolygon> {
    let cell = |(row, codes): (usize, &[u8; 6])| {
        let cols: Vec<usize> = (0..6).filter(|&col| codes[col] == code).collect();
        cols.into_iter().map(move |col| square(col as i32, row as i32))
    };
    CODES.iter().enumerate().flat_map(cell).collect()
}

fn product(name: &str, unit: RateUnit, rates: [f64; 3]) -> TaskProduct {
    let ground = |(code, rate): (u8, f64)| RatedGround {
        name: format!("zone {code}"),
        rate,
        is_kept_off: false,
        area_m2: 400.0 * cells_of(code).len() as f64,
        polygons: cells_of(code),
    };
    TaskProduct { name: name.to_owned(), unit, grounds: (1..).zip(rates).map(ground).collect() }
}

fn field(products: Vec<TaskProduct>) -> TaskField {
    let pass = TaskPass { number: 2, name: "Before planting".to_owned(), products };
    let corner = |x: i32, y: i32| Vertex { x: 2400 * x, y: 1800 * y };
    let exterior = vec![corner(0, 0), corner(6, 0), corner(6, 4), corner(0, 4), corner(0, 0)];
    TaskField {
        name: "North & \"forty\" <\u{e4}>".to_owned(),
        short: "N".to_owned(),
        lattice: LATTICE,
        boundary: vec![LatticePolygon { exterior, interiors: Vec::new() }],
        area_m2: 9_600.4,
        cell_m: 120.0,
        passes: vec![pass],
    }
}

fn text(set: &TaskSet) -> String {
    assert_eq!(set.files[0].path, "TASKDATA/TASKDATA.XML");
    String::from_utf8(set.files[0].bytes.clone()).unwrap()
}

fn settings(version: TaskSetVersion, form: TaskSetForm) -> TaskSetSettings {
    TaskSetSettings { version, form, lost_position: LostPosition::Mean }
}

#[test]
fn codes_run_from_the_south_west_corner_row_by_row() {
    // [R] the bytes of a task set that two public readers take: rows from south to north, cells from west to east.
    let field = field(vec![product("AMS", RateUnit::LbAc, [90.0, 120.0, 150.0])]);
    let bytes = grid_bytes(&FRAME, &field, &field.passes[0]);
    let hexadecimal: String = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
    assert_eq!(hexadecimal, "000101020200010102020303010202030303000202030300");
}

#[test]
fn counts_of_several_products_lie_cell_by_cell_low_byte_first() {
    // [A] 90 lb/ac are 10088 = 0x2768 mg/m2; 2 gal/ac are 187079 = 0x0002dac7 hundredths of mm3/m2.
    let products =
        vec![product("AMS", RateUnit::LbAc, [90.0, 120.0, 150.0]), product("UAN", RateUnit::GalAc, [2.0, 0.0, 1.0])];
    let field = field(products);
    let bytes = grid_bytes(&FRAME, &field, &field.passes[0]);
    assert_eq!(bytes.len(), 6 * 4 * 4 * 2);
    assert_eq!(bytes[..8], [0; 8], "the first cell lies outside");
    assert_eq!(bytes[8..16], [0x68, 0x27, 0, 0, 0xc7, 0xda, 0x02, 0]);
}

#[test]
fn a_small_task_set_letter_by_letter() {
    let mut field = field(vec![product("Ammonium sulfate", RateUnit::LbAc, [90.0, 120.5, 150.0])]);
    field.passes[0].products[0].grounds[2].is_kept_off = true;
    field.passes[0].products[0].grounds[2].rate = 0.0;
    let set = task_set(&[field], &settings(TaskSetVersion::V3, TaskSetForm::Grid)).unwrap();
    let version = env!("CARGO_PKG_VERSION");
    // The field is 120.24 m by 79.97 m [A: WGS 84, radii of curvature 6387531 m across and 6363475 m along the meridian],
    // so cells of at most 60 m are three by two: 0.00144 and 0.00072 degree shared out. Mean of 90 (5 cells) and 120.5
    // (8 cells): 108.8 lb/ac.
    let expected = format!(
        r#"<?xml version="1.0" encoding="UTF-8"?>
<ISO11783_TaskData VersionMajor="3" VersionMinor="3" ManagementSoftwareManufacturer="holdground" ManagementSoftwareVersion="{version}" DataTransferOrigin="1">
 <PFD A="PFD1" C="North &amp; &quot;forty&quot; &lt;ä&gt;" D="9600">
  <PLN A="1">
   <LSG A="1">
    <PNT A="2" C="41.5000000" D="-93.6000000"/>
    <PNT A="2" C="41.5000000" D="-93.5985600"/>
    <PNT A="2" C="41.5007200" D="-93.5985600"/>
    <PNT A="2" C="41.5007200" D="-93.6000000"/>
    <PNT A="2" C="41.5000000" D="-93.6000000"/>
   </LSG>
  </PLN>
 </PFD>
 <VPN A="VPN1" B="0" C="0.00892179121620" D="1" E="lb/ac"/>
 <PDT A="PDT1" B="Ammonium sulfate" E="004B"/>
 <TSK A="TSK1" B="2 Before planting" E="PFD1" G="1" H="4" I="4" J="0">
  <TZN A="0" B="out of field">
   <PDV A="0006" B="0" C="PDT1" E="VPN1"/>
  </TZN>
  <TZN A="1" B="zone 1: 90.0 lb/ac">
   <PDV A="0006" B="10088" C="PDT1" E="VPN1"/>
  </TZN>
  <TZN A="2" B="zone 2: 120.5 lb/ac">
   <PDV A="0006" B="13506" C="PDT1" E="VPN1"/>
  </TZN>
  <TZN A="3" B="kept off">
   <PDV A="0006" B="0" C="PDT1" E="VPN1"/>
  </TZN>
  <TZN A="4" B="position lost: 108.8 lb/ac">
   <PDV A="0006" B="12195" C="PDT1" E="VPN1"/>
  </TZN>
  <GRD A="41.500000000" B="-93.600000000" C="0.000360000" D="0.000480000" E="3" F="2" G="GRD00001" H="6" I="1"/>
 </TSK>
</ISO11783_TaskData>
"#
    );
    assert_eq!(text(&set), expected);
    assert_eq!(set.files[1].path, "TASKDATA/GRD00001.bin");
    assert_eq!(set.notes, [""; 0]);
}

#[test]
fn version_4_tells_its_language_and_a_grid_of_rates_its_template() {
    let products = vec![
        product("AMS", RateUnit::LbAc, [90.0, 120.0, 150.0]),
        product("Lime", RateUnit::ShortTonAc, [1.0, 2.0, 0.0]),
    ];
    let set = task_set(&[field(products)], &settings(TaskSetVersion::V4, TaskSetForm::Polygons)).unwrap();
    let text = text(&set);
    assert!(text.contains("VersionMajor=\"4\" VersionMinor=\"3\"") && text.contains(" lang=\"en\">"), "{text}");
    assert!(
        text.contains("H=\"48\" I=\"2\" J=\"1\"/>") && text.contains("<TZN A=\"1\" B=\"rates of the cells\">"),
        "{text}"
    );
    assert_eq!(text.matches("<PDV A=\"0006\"").count(), 6, "three zones of two products");
    assert_eq!(set.notes.len(), 1, "{:?}", set.notes);
}

#[test]
fn outlines_stand_in_the_place_of_cells() {
    let only = || field(vec![product("AMS", RateUnit::LbAc, [90.0, 120.0, 150.0])]);
    for (version, n_surfaces) in [(TaskSetVersion::V3, 3), (TaskSetVersion::V4, 20)] {
        let set = task_set(&[only()], &settings(version, TaskSetForm::Polygons)).unwrap();
        assert_eq!(set.files.len(), 1);
        let text = text(&set);
        // Version 3 joins the patches of a zone in one surface.
        assert_eq!(text.matches("<PLN A=\"2\">").count(), n_surfaces);
        assert_eq!(text.matches("<LSG A=\"1\">").count(), 21);
        assert!(!text.contains("<GRD") && !text.contains("lang=") | (version == TaskSetVersion::V4));
    }
}

#[test]
fn what_does_not_fit_is_told_with_pass_product_and_ground() {
    let mut bad = field(vec![product("Lime", RateUnit::ShortTonAc, [9_999.0, f64::NAN, 1.0])]);
    bad.passes[0].products[0].grounds[2].is_kept_off = true;
    bad.cell_m = 0.0;
    bad.passes.push(TaskPass { number: 3, name: String::new(), products: Vec::new() });
    let faults = task_set(&[bad], &settings(TaskSetVersion::V3, TaskSetForm::Grid)).unwrap_err();
    let words =
        ["cells of 0 m", "zone 1: `9999` short ton/ac", "zone 2: `NaN`", "zone 3: 1 short ton/ac", "no product"];
    assert_eq!(faults.len(), 5, "{faults:#?}");
    for (fault, words) in faults.iter().zip(words) {
        assert!(fault.message.contains(words), "{} has no {words}", fault.message);
    }
    assert!(task_set(&[], &settings(TaskSetVersion::V3, TaskSetForm::Grid)).is_err());
}

#[test]
fn a_large_field_gets_larger_cells_and_says_so() {
    let mut large = field(vec![product("AMS", RateUnit::LbAc, [90.0, 120.0, 150.0])]);
    large.cell_m = 0.2;
    let frame = GridFrame::covering(&large);
    // 120 m in 350 cells.
    assert!(frame.n_cols == 350 && frame.n_rows < 350, "{frame:?}");
    assert!((frame.widened_to_m.unwrap() - 120.2 / 350.0).abs() < 1e-3, "{frame:?}");
    // Whole cells from side to side, so they are no squares: at most a 200th off.
    assert!((frame.cell_east_m / frame.cell_north_m - 1.0).abs() < 0.005, "{frame:?}");
    let short_e9 = 350 * frame.cell_east_e9 - 1_440_000;
    assert!((0..350).contains(&short_e9), "{frame:?}");
    let set = task_set(&[large], &settings(TaskSetVersion::V3, TaskSetForm::Grid)).unwrap();
    assert!(set.notes[0].contains("are 0.3 m wide, not 0.2"), "{:?}", set.notes);
}

#[test]
fn the_lost_position_is_the_user_s_choice() {
    let pass = &field(vec![product("AMS", RateUnit::LbAc, [90.0, 120.0, 150.0])]).passes[0];
    let counts = |lost| {
        let task = task(0, pass, TaskSetForm::Grid, lost);
        task.zones[usize::from(task.position_lost)].counts[0]
    };
    // [A] (5 * 90 + 8 * 120 + 7 * 150) / 20 = 123 lb/ac = 13786 mg/m2.
    assert_eq!([LostPosition::Zero, LostPosition::Mean].map(counts), [0, 13_786]);
}

#[test]
fn the_archive_holds_the_same_files_and_no_clock() {
    let set = task_set(
        &[field(vec![product("AMS", RateUnit::LbAc, [90.0, 120.0, 150.0])])],
        &settings(TaskSetVersion::V3, TaskSetForm::Grid),
    )
    .unwrap();
    let archive = zipped("N_TASKDATA.zip", &set.files);
    assert_eq!(archive, zipped("N_TASKDATA.zip", &set.files));
    let mut reader = zip::ZipArchive::new(std::io::Cursor::new(&archive.bytes[..])).unwrap();
    for (index, file) in set.files.iter().enumerate() {
        let mut stored = reader.by_index(index).unwrap();
        let mut bytes = Vec::new();
        std::io::Read::read_to_end(&mut stored, &mut bytes).unwrap();
        assert_eq!((&*stored.name().unwrap(), &bytes), (&*file.path, &file.bytes));
        assert_eq!(stored.last_modified().unwrap().year(), 1980);
    }
}
