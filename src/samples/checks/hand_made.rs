//! Small sheets written by hand for the tests of the checks.
//!
//! Headers stand for settings: `K` is potassium in ppm by ammonium acetate, `K%` its saturation, `BpH` a Sikora buffer,
//! `x`/`y` meters on the plane, `lon`/`lat` degrees, `From`/`To` depths in inches.

use super::CheckInput;
use crate::boundary::FieldBoundary;
use crate::cell_grid::Site;
use crate::chemistry::Buffer;
use crate::crs::WorkCrsChoice;
use crate::diagnostic::{Diagnostic, Severity};
use crate::samples::draft::{DraftSample, read_drafts};
use crate::samples::{
    Analyte, ColumnSetting, DepthSetting, DepthUnit, LabMethod, MethodSetting, NameMatch, NumberForm, OutsideRule,
    PlaceShape, PlacesSetting, SampleLines, SampleSettings, SampleTable, SheetCoordinates,
};
use crate::sheet::SheetForm;
use crate::units::LabUnit;

/// A sheet with settings that read it; tests change the settings before they check.
pub(super) struct Sheet {
    pub(super) table: SampleTable,
    pub(super) settings: SampleSettings,
    pub(super) points: Option<Vec<(String, f64, f64)>>,
}

/// Reads `csv`; each known header becomes an analyte.
pub(super) fn sheet(csv: &str) -> Sheet {
    use LabMethod as M;
    let table = SampleTable::read_csv("lab.csv", csv.as_bytes()).expect("the sheet reads");
    let has = |header: &str| table.header.iter().any(|h| h == header);
    let known = [
        ("pH", Analyte::PhWater, LabUnit::Ph, M::Water),
        ("BpH", Analyte::BufferPh, LabUnit::Ph, M::Buffer(Buffer::Sikora)),
        ("OM", Analyte::OrganicMatter, LabUnit::Percent, M::LossOnIgnition),
        ("P", Analyte::P, LabUnit::PPM, M::Bray1),
        ("K", Analyte::K, LabUnit::PPM, M::AmmoniumAcetate),
        ("Ca", Analyte::Ca, LabUnit::PPM, M::AmmoniumAcetate),
        ("Mg", Analyte::Mg, LabUnit::PPM, M::AmmoniumAcetate),
        ("Na", Analyte::Na, LabUnit::PPM, M::AmmoniumAcetate),
        ("CEC", Analyte::Cec, LabUnit::Meq100g, M::Summation),
        ("Ca%", Analyte::CaSaturation, LabUnit::Percent, M::Calculated),
        ("Mg%", Analyte::MgSaturation, LabUnit::Percent, M::Calculated),
        ("K%", Analyte::KSaturation, LabUnit::Percent, M::Calculated),
        ("Na%", Analyte::NaSaturation, LabUnit::Percent, M::Calculated),
        ("H%", Analyte::AciditySaturation, LabUnit::Percent, M::Calculated),
        ("Other%", Analyte::OtherSaturation, LabUnit::Percent, M::Calculated),
        ("BS%", Analyte::BaseSaturation, LabUnit::Percent, M::Calculated),
        ("Ac", Analyte::Acidity, LabUnit::Meq100g, M::PotassiumChloride),
        ("P2", Analyte::PSecond, LabUnit::PPM, M::Olsen),
        ("pHCa", Analyte::PhCacl2, LabUnit::Ph, M::CalciumChloride),
        ("pHKCl", Analyte::PhKcl, LabUnit::Ph, M::PotassiumChloride),
        ("Lime%", Analyte::FreeLime, LabUnit::Percent, M::Calculated),
        ("Excess", Analyte::ExcessLime, LabUnit::Rating, M::Calculated),
        ("Sand", Analyte::Sand, LabUnit::Percent, M::Calculated),
        ("Silt", Analyte::Silt, LabUnit::Percent, M::Calculated),
        ("Clay", Analyte::Clay, LabUnit::Percent, M::Calculated),
    ];
    let columns = known.iter().filter(|(header, ..)| has(header)).enumerate();
    let columns = columns
        .map(|(index, (header, analyte, unit, method))| ColumnSetting {
            analyte: *analyte,
            column: (*header).to_owned(),
            unit: *unit,
            method: MethodSetting::Fixed(*method),
            line: 20 + index,
        })
        .collect();
    let sheet_coordinates = |x: &str, y: &str, crs: &str| {
        PlacesSetting::Sheet(SheetCoordinates {
            x_column: x.to_owned(),
            y_column: y.to_owned(),
            crs: crs.to_owned(),
            offset: [0.0; 2],
        })
    };
    let places = if has("x") {
        sheet_coordinates("x", "y", "EPSG:32615")
    } else if has("lon") {
        sheet_coordinates("lon", "lat", "EPSG:4326")
    } else {
        let (file, id) = ("cores.geojson".to_owned(), "name".to_owned());
        PlacesSetting::Points { file, id, matching: NameMatch::Letters, crs: None, take: PlaceShape::Points }
    };
    let depth = if has("From") {
        DepthSetting::Columns {
            top: Some("From".to_owned()),
            bottom: "To".to_owned(),
            unit: DepthUnit::Inches,
            take_in: None,
        }
    } else {
        DepthSetting::Fixed { top_in: 0.0, bottom_in: 7.0 }
    };
    let settings = SampleSettings {
        id_column: Some("ID".to_owned()),
        places,
        depth,
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
        lines: SampleLines { id: 10, places: 11, depth: 12, taken: 13, cores: 14, words: 15, leave_out: 16 },
    };
    Sheet { table, settings, points: None }
}

impl Sheet {
    /// The column of an analyte.
    pub(super) fn column(&mut self, analyte: Analyte) -> &mut ColumnSetting {
        self.settings.columns.iter_mut().find(|column| column.analyte == analyte).expect("the analyte is on the sheet")
    }

    /// Reads the rows.
    pub(super) fn drafts(&self) -> Vec<DraftSample> {
        read_drafts(&self.table, &self.settings).expect("the cells read")
    }

    /// Runs something over the sheet and a square field from 41.000 to 41.009 N and 83.512 to 83.500 W.
    pub(super) fn with_input<T>(&self, run: impl FnOnce(&CheckInput<'_>) -> T) -> T {
        let mut drafts = self.drafts();
        if let DepthSetting::Columns { take_in: Some(depth), .. } = self.settings.depth {
            drafts.retain(|draft| draft.depth_in == Some(depth));
        }
        let boundary = square_field();
        run(&CheckInput {
            table: &self.table,
            settings: &self.settings,
            drafts: &drafts,
            boundary: &boundary,
            points: self.points.as_deref(),
        })
    }
}

/// About 1 km by 1 km.
fn square_field() -> FieldBoundary {
    let ring = vec![(-83.512, 41.0), (-83.5, 41.0), (-83.5, 41.009), (-83.512, 41.009), (-83.512, 41.0)];
    FieldBoundary::from_rings(&[ring], None, &WorkCrsChoice::Derived).expect("a square is a sound outline").value
}

/// Local meters of places, on the plane of the square field.
pub(super) fn local(lon_lat: &[(f64, f64)]) -> Vec<Site> {
    lon_lat.iter().map(|place| square_field().work_crs().to_local(*place).expect("near the field")).collect()
}

/// Severity and message of each, one a line.
pub(super) fn lines(found: &[Diagnostic]) -> Vec<String> {
    found.iter().map(|d| format!("{}: {}", d.severity.word(), d.message)).collect()
}

/// How many errors.
pub(super) fn n_errors(found: &[Diagnostic]) -> usize {
    found.iter().filter(|d| d.severity == Severity::Error).count()
}
