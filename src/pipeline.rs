//! The straight line from read inputs to results. No files, no terminal, no clock.

use crate::boundary::FieldBoundary;
use crate::cell_grid::CellGrid;
use crate::diagnostic::{Checked, Code, Diagnostic, Place, Severity};
use crate::export::run_record::{InputRecord, Versions, run_record};
use crate::export::{self, OutputFile, Report, ZoneShape};
use crate::field_file::FieldFile;
use crate::rates::RatePlan;
use crate::rates::rate_plan::{misfits, plan};
use crate::samples::{self, SampleSet, SampleTable};
use crate::soil_surface::SurfaceSet;
use crate::units::SoilBasis;
use crate::zones::{ZoneMap, ZoneSettings};

/// No map can be made.
pub static NO_MAP: Code = Code {
    name: "no-map",
    checks: "that the samples make a net and the cells are neither too many nor none",
    why: "without at least three places round some ground there is nothing between them to map",
    example: "all samples along one line; cells of 0.5 m on 3,000 acres",
    mend: "sample on both sides of the line; choose larger cells with `surface.cell_m`",
};
/// No zones can be drawn.
pub static NO_ZONES: Code = Code {
    name: "no-zones",
    checks: "that every quantity zones are drawn from is mapped, and that cells differ in at least as many ways as zones are asked",
    why: "a zone without cells, or from a quantity the sheet does not give, would be made up",
    example: "zones from `na_saturation`, but the sheet has no sodium",
    mend: "name mapped quantities in `zones.from`, or ask for fewer zones",
};
/// A map no better than the field mean.
pub static MAP_NO_BETTER: Code = Code {
    name: "map-no-better-than-mean",
    checks: "each sample hidden in turn: whether the map tells it better than the mean of the others",
    why: "a map that does not would move product about for nothing",
    example: "phosphorus on a 2.5-acre net, missed by 9.1 ppm; the field mean misses by 8.8",
    mend: "treat the field as one for that nutrient, or sample more densely",
};
/// By the samples the field is one.
pub static NOT_WORTH_ZONING: Code = Code {
    name: "not-worth-zoning",
    checks: "whether zones tell hidden samples better than one rate, by more than two standard errors",
    why: "zones cut from a smooth map look good even on noise",
    example: "an even silt loam with CEC 16, give or take 0.9",
    mend: "use one rate (`zones.count = 1`), or \"suggest\"; your count is kept otherwise",
};
/// Messages of this stage, for `holdground explain`.
pub static CODES: &[&Code] = &[&NO_MAP, &NO_ZONES, &MAP_NO_BETTER, &NOT_WORTH_ZONING];

/// Most cells a run takes; above it memory and files stop being pleasant.
const MAX_CELLS: usize = 16_000_000;

/// Inputs as read at the edge.
pub struct Inputs {
    /// The field file.
    pub field_file: FieldFile,
    /// The outline.
    pub boundary: FieldBoundary,
    /// The lab's sheet.
    pub table: SampleTable,
    /// Sample places of another file: (name, lon, lat).
    pub points: Option<Vec<(String, f64, f64)>>,
}

/// Everything a run found.
pub struct Outcome {
    /// Inputs.
    pub inputs: Inputs,
    /// Checked samples.
    pub samples: SampleSet,
    /// Mapped quantities.
    pub surfaces: SurfaceSet,
    /// Zones, when asked for.
    pub zones: Option<ZoneMap>,
    /// Outlines of the zones.
    pub shapes: Vec<ZoneShape>,
    /// Needs and rates, as far as the answers go.
    pub plan: RatePlan,
    /// Warnings and notes of all stages.
    pub warnings: Vec<Diagnostic>,
}

/// Checks the sheet against the field file and the outline: what `check` does beyond reading.
///
/// # Errors
/// All faults of the first part of the sample stage that has any; then why the sheet does not fit the guide.
pub fn check(inputs: &Inputs) -> Result<Checked<SampleSet>, Vec<Diagnostic>> {
    let points = inputs.points.as_deref();
    let checked = samples::check(&inputs.table, &inputs.field_file.samples, points, &inputs.boundary)?;
    let misfits = misfits(&checked.value, &inputs.field_file.rates, &inputs.field_file.file);
    if misfits.is_empty() { Ok(checked) } else { Err(misfits) }
}

/// Checks the rows of the sheet alone, while the places of the samples are still to be answered; how many there are.
///
/// # Errors
/// All faults of the first part of the sample stage that has any.
pub fn check_rows(inputs: &Inputs) -> Result<Checked<usize>, Vec<Diagnostic>> {
    samples::check_rows(&inputs.table, &inputs.field_file.samples, &inputs.boundary)
}

/// Runs the whole line. `progress` is told the name of each stage as it starts.
///
/// # Errors
/// All faults of the stage that could not go on.
pub fn run(inputs: Inputs, progress: &dyn Fn(&str)) -> Result<Outcome, Vec<Diagnostic>> {
    progress("checking samples");
    let checked = check(&inputs)?;
    let (samples, mut warnings) = (checked.value, checked.warnings);
    let file = inputs.field_file.file.clone();
    let fault = |code, message: String| vec![Diagnostic::error(code, message).at(Place::File(file.clone()))];

    progress("mapping");
    let settings = &inputs.field_file.surface;
    let grid = CellGrid::covering(inputs.boundary.bounds_m(), settings.cell_m);
    if grid.n_cells() > MAX_CELLS {
        return Err(fault(&NO_MAP, format!("{} cells, at most {MAX_CELLS} are mapped", grid.n_cells())));
    }
    let mask = inputs.boundary.mask(&grid);
    if mask.n_inside() == 0 {
        return Err(fault(&NO_MAP, format!("no cell of {} m has its center inside the outline", settings.cell_m)));
    }
    let surfaces = SurfaceSet::map(&samples, settings, mask).map_err(|error| fault(&NO_MAP, error.to_string()))?;
    warnings.extend(maps_no_better(&surfaces, samples.basis));

    progress("drawing zones");
    let zone_settings = inputs.field_file.zones.clone();
    let zones = zone_settings
        .map(|settings: ZoneSettings| ZoneMap::draw(&surfaces, &settings))
        .transpose()
        .map_err(|error| fault(&NO_ZONES, error.to_string()))?;
    if let Some(zones) = &zones
        && zones.zones().len() > 1
        && zones.verdict().told() == Some(false)
    {
        warnings.push(
            Diagnostic::warning(&NOT_WORTH_ZONING, "by the samples, one rate is as good as these zones")
                .with_help("write `count = 1` in `[zones]`, or \"suggest\""),
        );
    }
    let shapes =
        zones.as_ref().map_or(Ok(Vec::new()), |zones| export::zone_shapes(zones, inputs.boundary.work_crs()))?;

    progress("planning rates");
    let plan = match &zones {
        Some(zones) => {
            let area_ac = inputs.boundary.area_ac();
            let (plan, found) = plan(&samples, &surfaces, zones, &inputs.field_file.rates, area_ac, &file)?;
            warnings.extend(found);
            plan
        }
        None => RatePlan { needs: Vec::new(), pass: None },
    };
    Ok(Outcome { inputs, samples, surfaces, zones, shapes, plan, warnings })
}

/// One warning for all maps that are no better than the field mean, with the figures of each.
fn maps_no_better(surfaces: &SurfaceSet, basis: SoilBasis) -> Option<Diagnostic> {
    let worse: Vec<(&str, String)> = surfaces
        .quality
        .iter()
        .filter_map(|quality| {
            let error = quality.error?;
            let percent = error.prediction_efficiency_percent()?;
            let name = quality.variable.label();
            let unit = quality.variable.unit_name(basis);
            let figures =
                format!("{name}: the map misses by {:.2} {unit}, the mean by {:.2}", error.error_rmse, error.mean_rmse);
            (percent <= 0.0).then_some((name, figures))
        })
        .collect();
    let (first, rest) = worse.split_first()?;
    let others = match rest.len() {
        0 => " is".to_owned(),
        n => format!(" and {n} more are"),
    };
    let message = format!("the map of {}{others} no better than the field mean", first.0);
    let warning = Diagnostic::warning(&MAP_NO_BETTER, message).with_help("one rate is as good for what hangs on them");
    Some(worse.iter().fold(warning, |warning, (_, figures)| warning.with_note(figures.clone())))
}

impl Outcome {
    /// What the exporters see.
    pub fn report(&self) -> Report<'_> {
        Report {
            field_file: &self.inputs.field_file,
            boundary: &self.inputs.boundary,
            samples: &self.samples,
            surfaces: &self.surfaces,
            zones: self.zones.as_ref(),
            shapes: &self.shapes,
            plan: &self.plan,
            warnings: &self.warnings,
        }
    }

    /// Whether any message is a warning.
    pub fn has_warnings(&self) -> bool {
        self.warnings.iter().any(|warning| warning.severity == Severity::Warning)
    }

    /// All files of the result folder, the run record last.
    pub fn files(&self, inputs: &[InputRecord], versions: &Versions) -> Vec<OutputFile> {
        let report = self.report();
        let field = &self.inputs.field_file.field;
        let mut files = export::tables(&report);
        files.extend(export::maps(&report));
        if let Some(zones) = &self.zones {
            let text = export::zones_geo_json(&self.shapes, zones.zones(), &field.name, report.area_m2());
            files.push(OutputFile::new("gis/zones.geojson", text));
        }
        if let Some(pass) = &self.plan.pass {
            let text = export::rates_geo_json(&self.shapes, pass, &field.name, field.issued.as_deref());
            files.push(OutputFile::new(export::pass_path(&report, pass), text));
        }
        files.sort_by(|a, b| a.path.cmp(&b.path));
        let record = run_record(&report, inputs, versions, &files);
        files.push(record);
        files
    }
}
