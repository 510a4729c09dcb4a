//! [`SampleSet`]: checked samples, and the one function that makes it.

use super::checks::{self, CheckInput};
use super::draft::{DraftSample, read_drafts};
use super::settings::{DepthSetting, DepthUnit, MethodSetting, PlacesSetting, SampleSettings};
use super::{Analyte, LabMethod};
use crate::boundary::FieldBoundary;
use crate::cell_grid::Site;
use crate::chemistry::{Cation, Exchange};
use crate::crs::{COORDINATES_OUTSIDE_CRS, InputCrs, WORK_CRS_UNFIT};
use crate::diagnostic::{Checked, Code, Diagnostic, Severity, refuse_errors};
use crate::sheet::SampleTable;
use crate::units::SoilBasis;

/// Whether a reading is a number or a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limit {
    /// A number as printed.
    Exact,
    /// Below the lab's limit: `value` is the limit (`<5`).
    Below,
    /// Above the lab's limit: `value` is the limit (`>600`).
    Above,
}

/// A reading in the program's unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// The number, or the limit.
    pub value: f64,
    /// Which of the two.
    pub limit: Limit,
}

impl Reading {
    /// The number that stands for the reading on a map: half the limit below the lab's limit, the limit itself above it
    /// (common practice, no source), and said so in the report.
    pub fn map_value(self) -> f64 {
        match self.limit {
            Limit::Exact | Limit::Above => self.value,
            Limit::Below => self.value / 2.0,
        }
    }
}

/// One lab result at one place.
#[derive(Debug, Clone)]
pub struct Sample {
    /// Name as on the sheet.
    pub id: String,
    /// Line in the sheet.
    pub line: usize,
    /// Longitude, degrees, WGS 84.
    pub lon: f64,
    /// Latitude, degrees, WGS 84.
    pub lat: f64,
    /// Local work meters.
    pub site: Site,
    /// Readings by analyte, in sheet order; missing analytes are not listed.
    pub readings: Vec<(Analyte, Reading)>,
    /// Exchangeable parts; `None` where the sheet does not give enough.
    pub exchange: Option<Exchange>,
}

impl Sample {
    /// The reading of an analyte.
    pub fn reading(&self, analyte: Analyte) -> Option<Reading> {
        self.readings.iter().find(|(a, _)| *a == analyte).map(|(_, reading)| *reading)
    }
}

/// Where the CEC of a sample comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CecSource {
    /// The lab's own figure, by this method.
    Lab(LabMethod),
    /// Summed here from the cations and the sheet's acidity.
    SummedFromAcidity,
    /// Summed here from the cations and a buffer reading.
    SummedFromBuffer(crate::chemistry::Buffer),
    /// Not enough on the sheet.
    None,
}

/// Checked samples of one depth.
///
/// # Guarantees
/// - at least three places, not on one line; every sample inside the outline (or left out by the user's rule)
/// - each analyte has one unit (the program's) and one lab method; missing is absent, never 0
#[derive(Debug, Clone)]
pub struct SampleSet {
    /// Samples in sheet order.
    pub samples: Vec<Sample>,
    /// Analytes of the sheet with their lab methods.
    pub methods: Vec<(Analyte, LabMethod)>,
    /// Depth mapped, in; `None` = unknown.
    pub depth_in: Option<[f64; 2]>,
    /// Mass or volume of soil.
    pub basis: SoilBasis,
    /// Where CEC comes from.
    pub cec_source: CecSource,
    /// Rows of other depths, set aside.
    pub n_set_aside: usize,
}

impl SampleSet {
    /// Lab method of an analyte; `None` when it is not on the sheet.
    pub fn method(&self, analyte: Analyte) -> Option<LabMethod> {
        self.methods.iter().find(|(a, _)| *a == analyte).map(|(_, method)| *method)
    }

    /// Whether CEC may be put against classes and guides made for CEC at pH 7 by mass of soil: effective CEC and CEC by
    /// volume may not.
    pub fn cec_is_at_ph_7(&self) -> bool {
        self.basis == SoilBasis::Mass
            && !matches!(self.cec_source, CecSource::None | CecSource::Lab(LabMethod::Effective | LabMethod::Unknown))
    }

    /// Places with all of `values_of`, samples at one place averaged, sorted by (easting, northing).
    ///
    /// # Shape
    /// `values_of` returns `n_variables` numbers or `None`; result `columns[variable][place]`.
    pub fn sites_with(
        &self,
        n_variables: usize,
        values_of: impl Fn(&Sample) -> Option<Vec<f64>>,
    ) -> (Vec<Site>, Vec<Vec<f64>>) {
        let mut rows: Vec<(Site, Vec<f64>)> =
            self.samples.iter().filter_map(|sample| Some((sample.site, values_of(sample)?))).collect();
        rows.sort_by(|(a, x), (b, y)| {
            let by_place = a.east_m.total_cmp(&b.east_m).then(a.north_m.total_cmp(&b.north_m));
            // Equal places are summed in the order of their values, so the order of rows does not show.
            by_place.then_with(|| {
                x.iter().zip(y).map(|(x, y)| x.total_cmp(y)).find(|o| o.is_ne()).unwrap_or(std::cmp::Ordering::Equal)
            })
        });
        let mut sites: Vec<Site> = Vec::new();
        let mut columns = vec![Vec::new(); n_variables];
        let mut start = 0;
        while start < rows.len() {
            let end = start + rows[start..].iter().take_while(|(site, _)| *site == rows[start].0).count();
            sites.push(rows[start].0);
            for (variable, column) in columns.iter_mut().enumerate() {
                let sum: f64 = rows[start..end].iter().map(|(_, values)| values[variable]).sum();
                column.push(sum / (end - start) as f64);
            }
            start = end;
        }
        (sites, columns)
    }
}

/// The places of the samples are still to be answered.
pub static PLACES_OPEN: Code = Code {
    name: "places-open",
    checks: "that `samples.places` says where the samples lie before anything is mapped",
    why: "a lab sheet without coordinates can be checked, but not mapped",
    example: "`places = \"?\"`, or coordinates whose CRS is still to be answered",
    mend: "name the two columns and their CRS, or a file of points (waypoints of the cores) joined by the sample's name",
};

/// Checks the rows of a sheet without their places: what can be told while `samples.places` is still open.
///
/// Returns how many samples it has.
///
/// # Errors
/// All faults of the first part that has any: cells; names, depths and methods; chemistry.
pub fn check_rows(
    table: &SampleTable,
    settings: &SampleSettings,
    boundary: &FieldBoundary,
) -> Result<Checked<usize>, Vec<Diagnostic>> {
    let drafts = read_drafts(table, settings)?;
    let (drafts, _) = take_depth(drafts, settings);
    let (drafts, mut found) = checks::samples_left_out::leave_out(drafts, settings);
    let input = CheckInput { table, settings, drafts: &drafts, boundary, points: None };
    found.extend(checks::of_rows(&input));
    if !found.iter().any(|d| d.severity == Severity::Error) {
        let settings = &with_one_method(settings, &drafts);
        found.extend(checks::of_chemistry(&CheckInput { settings, ..input }));
    }
    refuse_errors(drafts.len(), found)
}

/// Makes checked samples of a sheet.
///
/// `points` are the sample places of another file, where the field file says so: (name, lon, lat).
///
/// # Errors
/// All faults of the first part that has any: cells; names, depths and methods; places; chemistry; number of places.
pub fn check(
    table: &SampleTable,
    settings: &SampleSettings,
    points: Option<&[(String, f64, f64)]>,
    boundary: &FieldBoundary,
) -> Result<Checked<SampleSet>, Vec<Diagnostic>> {
    let drafts = read_drafts(table, settings)?;
    let (drafts, n_set_aside) = take_depth(drafts, settings);
    let (drafts, mut found) = checks::samples_left_out::leave_out(drafts, settings);
    let input = CheckInput { table, settings, drafts: &drafts, boundary, points };
    found.extend(checks::of_rows(&input));
    let lon_lat = places(&input, &mut found);
    found.extend(lon_lat.as_deref().and_then(|places| checks::places_far_outside::check(&input, places)));
    if found.iter().any(|d| d.severity == Severity::Error) {
        return Err(found);
    }
    let lon_lat = lon_lat.expect("without errors every draft has a place");
    let sites = boundary.work_crs().all_to_local(&lon_lat);
    let off_plane = |index: usize| {
        let place = table.place(drafts[index].line, &[]);
        Diagnostic::error(&WORK_CRS_UNFIT, format!("sample `{}` has no place on the work plane", drafts[index].id))
            .at(place)
    };
    let missing: Vec<Diagnostic> =
        sites.iter().enumerate().filter(|(_, site)| site.is_none()).map(|(index, _)| off_plane(index)).collect();
    if !missing.is_empty() {
        return Err(missing);
    }
    let sites: Vec<Site> = sites.into_iter().flatten().collect();
    // The rows agree on methods printed row by row (or were refused), so each column has one from here on.
    let settings = &with_one_method(settings, &drafts);
    let input = CheckInput { settings, ..input };
    let (keep, of_places) = checks::of_places(&input, &lon_lat, &sites);
    found.extend(of_places);
    found.extend(checks::of_chemistry(&input));
    let kept_sites: Vec<Site> = keep.iter().map(|&index| sites[index]).collect();
    found.extend(checks::too_few_places::check(&input, &kept_sites));
    found.extend(checks::sparse_samples::check(&input, &kept_sites));
    let cec_source = cec_source(settings);
    let samples = keep
        .iter()
        .map(|&index| {
            let draft = &drafts[index];
            let readings = settings.columns.iter().zip(&draft.readings);
            Sample {
                id: draft.id.clone(),
                line: draft.line,
                lon: lon_lat[index].0,
                lat: lon_lat[index].1,
                site: sites[index],
                readings: readings.filter_map(|(column, reading)| Some((column.analyte, (*reading)?))).collect(),
                exchange: exchange(draft, settings),
            }
        })
        .collect();
    let methods = settings.columns.iter().map(|column| (column.analyte, column.fixed_method())).collect();
    let depth_in = match settings.depth {
        DepthSetting::Columns { unit: DepthUnit::Open, .. } => None,
        _ => drafts.first().and_then(|draft| draft.depth_in),
    };
    let set = SampleSet { samples, methods, depth_in, basis: basis(settings), cec_source, n_set_aside };
    refuse_errors(set, found)
}

/// Settings in which each column's method is that of its first row with a reading.
fn with_one_method(settings: &SampleSettings, drafts: &[DraftSample]) -> SampleSettings {
    let mut settings = settings.clone();
    for (index, column) in settings.columns.iter_mut().enumerate() {
        if let MethodSetting::Column(_) = column.method {
            let first = drafts.iter().find(|draft| draft.readings[index].is_some());
            column.method = MethodSetting::Fixed(first.map_or(LabMethod::Unknown, |draft| draft.methods[index]));
        }
    }
    settings
}

/// Mass or volume, by the units of the sheet; the check on mixed bases has settled that there is only one.
fn basis(settings: &SampleSettings) -> SoilBasis {
    let by_volume = settings.columns.iter().any(|c| c.unit.basis() == Some(SoilBasis::Volume));
    if by_volume { SoilBasis::Volume } else { SoilBasis::Mass }
}

/// Rows of the depth to map, and how many others were set aside.
fn take_depth(drafts: Vec<DraftSample>, settings: &SampleSettings) -> (Vec<DraftSample>, usize) {
    match settings.depth {
        DepthSetting::Columns { take_in: Some(depth), .. } => {
            let n_rows = drafts.len();
            let taken: Vec<_> = drafts.into_iter().filter(|draft| draft.depth_in == Some(depth)).collect();
            let n_set_aside = n_rows - taken.len();
            (taken, n_set_aside)
        }
        _ => (drafts, 0),
    }
}

/// Longitude and latitude of every draft; `None` with at least one error in `found`.
fn places(input: &CheckInput<'_>, found: &mut Vec<Diagnostic>) -> Option<Vec<(f64, f64)>> {
    match &input.settings.places {
        PlacesSetting::Sheet(sheet) => {
            let crs = match InputCrs::from_text(&sheet.crs) {
                Ok(crs) => crs,
                Err(faults) => {
                    let place = input.key_place("samples.places", input.settings.lines.places);
                    found.extend(faults.into_iter().map(|fault| fault.at(place.clone())));
                    return None;
                }
            };
            let xy: Vec<[f64; 2]> = input.drafts.iter().filter_map(|draft| draft.sheet_xy).collect();
            if crs.is_geographic() && sheet.offset != [0.0; 2] {
                let place = input.key_place("samples.places", input.settings.lines.places);
                let message = format!("`offset_m` cannot be added to the degrees of {}", crs.name());
                found.push(Diagnostic::error(&COORDINATES_OUTSIDE_CRS, message).at(place));
                return None;
            }
            if crs.is_geographic() {
                let swapped = checks::swapped_coordinates::check(input, &xy);
                if !swapped.is_empty() {
                    found.extend(swapped);
                    return None;
                }
            }
            let (mut xs, mut ys): (Vec<f64>, Vec<f64>) = xy.iter().map(|&[x, y]| (x, y)).unzip();
            match crs.to_lon_lat(&mut xs, &mut ys) {
                Ok(_) => Some(xs.into_iter().zip(ys).collect()),
                Err(faults) => {
                    if let Some(exchanged) = checks::swapped_coordinates::check_plane(input, &crs, &xy) {
                        found.push(exchanged);
                        return None;
                    }
                    let columns = [sheet.x_column.as_str(), sheet.y_column.as_str()];
                    let place = |index: usize| input.table.place(input.drafts[index].line, &columns);
                    found.extend(faults.into_iter().map(|(index, fault)| fault.at(place(index))));
                    None
                }
            }
        }
        PlacesSetting::Points { .. } => checks::unmatched_points::join(input, found),
        PlacesSetting::Open => {
            let place = input.key_place("samples.places", input.settings.lines.places);
            found.push(
                Diagnostic::error(&PLACES_OPEN, "the samples have no places yet, and nothing can be mapped without")
                    .at(place)
                    .with_help("answer `samples.places`: columns of the sheet, or a point file joined by the name"),
            );
            None
        }
    }
}

/// Where the CEC comes from: the lab's own figure is preferred, because buffers are printed coarsely (0.1 of SMP buffer
/// pH is 1.2 meq/100 g).
pub(super) fn cec_source(settings: &SampleSettings) -> CecSource {
    let column = |analyte| settings.columns.iter().find(|c| c.analyte == analyte);
    if let Some(cec) = column(Analyte::Cec) {
        return CecSource::Lab(cec.fixed_method());
    }
    if column(Analyte::Acidity).is_some() {
        return CecSource::SummedFromAcidity;
    }
    match column(Analyte::BufferPh).map(|c| c.fixed_method()) {
        Some(LabMethod::Buffer(buffer)) => CecSource::SummedFromBuffer(buffer),
        _ => CecSource::None,
    }
}

/// Below this much under zero, what a lab's summed CEC leaves beside the bases is rounding of the print, meq/100 g:
/// half a unit of the CEC's last figure and of four cations in whole ppm.
const PRINT_ROUNDING_MEQ_100G: f64 = 0.07;

/// The exchangeable parts of a row; `None` where the sheet does not give enough.
pub(super) fn exchange(draft: &DraftSample, settings: &SampleSettings) -> Option<Exchange> {
    let reading = |analyte| draft.reading(settings, analyte).map(Reading::map_value);
    let lab_cec = reading(Analyte::Cec);
    let cation = |cation: Cation| {
        let (direct, share) = match cation {
            Cation::Ca => (Analyte::Ca, Analyte::CaSaturation),
            Cation::Mg => (Analyte::Mg, Analyte::MgSaturation),
            Cation::K => (Analyte::K, Analyte::KSaturation),
            Cation::Na => (Analyte::Na, Analyte::NaSaturation),
        };
        // A lab that prints only percentages and CEC is turned into meq at the sample.
        reading(direct).or_else(|| Some(reading(share)? * lab_cec? / 100.0))
    };
    let mut parts = Exchange {
        ca_meq_100g: cation(Cation::Ca)?,
        mg_meq_100g: cation(Cation::Mg)?,
        k_meq_100g: cation(Cation::K)?,
        na_meq_100g: cation(Cation::Na),
        rest_meq_100g: 0.0,
    };
    parts.rest_meq_100g = match cec_source(settings) {
        CecSource::Lab(method) => {
            let rest = lab_cec? - parts.bases_meq_100g();
            let is_rounding = rest < 0.0 && rest > -PRINT_ROUNDING_MEQ_100G;
            let summed_and_neutral =
                method == LabMethod::Summation && checks::blank_buffer_ph::is_by_rule(draft, settings);
            if is_rounding || (summed_and_neutral && rest.abs() < PRINT_ROUNDING_MEQ_100G) { 0.0 } else { rest }
        }
        CecSource::SummedFromAcidity => reading(Analyte::Acidity)?,
        CecSource::SummedFromBuffer(buffer) => match reading(Analyte::BufferPh) {
            Some(buffer_ph) => buffer.acidity_meq_100g(buffer_ph),
            None if checks::blank_buffer_ph::is_by_rule(draft, settings) => 0.0,
            None => return None,
        },
        CecSource::None => return None,
    };
    (parts.cec_meq_100g() > 0.0).then_some(parts)
}
