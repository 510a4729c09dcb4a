//! The straight line from read inputs to results. No files, no terminal, no clock.

mod kept;
mod zoning;

use std::sync::Arc;

use geo::MultiPolygon;

use crate::boundary::FieldBoundary;
use crate::cell_grid::CellGrid;
use crate::coverage::ZoneOutlines;
use crate::diagnostic::{Checked, Code, Diagnostic, Place, Severity};
use crate::drive::{AsDriven, as_driven};
use crate::export::run_record::{InputRecord, Versions, run_record};
use crate::export::{self, GisContent, OutputFile, Report};
use crate::field_file::FieldFile;
use crate::rates::comparison::compare;
use crate::rates::feeding::{Feeding, feed};
use crate::rates::lime_need::lime_at_samples;
use crate::rates::need::misfits;
use crate::rates::rate_plan::{RateGround, pass_plans};
use crate::rates::{CountConsequence, RatePlan, consequences};
use crate::samples::{self, SampleSet, SampleTable};
use crate::setback::Setback;
use crate::soil_surface::{SurfaceSet, Variable};
use crate::units::SoilBasis;
use crate::zones::{CovariateReading, FittedLabels, Pick, ZoneMap};

pub use kept::Kept;

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
    mend: "use one rate (`zones.count = 1`), or \"suggest\"; your count or zones are kept otherwise",
};
/// No patch of a zone is large enough for the machine.
pub static ZONE_TOO_SMALL_FOR_MACHINE: Code = Code {
    name: "zone-too-small-for-machine",
    checks: "that every zone keeps a patch the machine can follow: area, width in swaths, length in rate changes",
    why: "ground narrower than the swath, or shorter than a change of rate, gets its neighbor's rate whatever the file says",
    example: "a zone of 0.4 acre where `smallest_ac = 1.5`",
    mend: "ask for fewer zones; lower `smallest_ac`, `narrowest_swaths` or `shortest_changes` if the machine can do it",
};
/// Messages of this stage, for `holdground explain`.
pub static CODES: &[&Code] = &[&NO_MAP, &NO_ZONES, &MAP_NO_BETTER, &NOT_WORTH_ZONING, &ZONE_TOO_SMALL_FOR_MACHINE];

/// Most cells a run takes; above it memory and files stop being pleasant.
const MAX_CELLS: usize = 16_000_000;

/// Inputs as read at the edge.
#[derive(Debug, Clone)]
pub struct Inputs {
    /// The field file.
    pub field_file: FieldFile,
    /// The outline.
    pub boundary: FieldBoundary,
    /// The lab's sheet.
    pub table: SampleTable,
    /// Sample places of another file: (name, lon, lat).
    pub points: Option<Vec<(String, f64, f64)>>,
    /// Ground some products keep off, in the order of the field file.
    pub keep_off: Vec<Setback>,
    /// What zones are drawn from beside the samples.
    pub ground: GroundReadings,
}

/// What `[covariates]` and `zones.polygons` name, as read.
#[derive(Debug, Clone, Default)]
pub struct GroundReadings {
    /// One a line of `[covariates]`.
    pub covariates: Vec<CovariateReading>,
    /// Zones a person drew: (name, polygon in degrees, lon and lat), in file order.
    pub polygons: Option<Vec<(String, MultiPolygon<f64>)>>,
}

/// Everything a run found.
pub struct Outcome {
    /// Inputs.
    pub inputs: Inputs,
    /// Checked samples.
    pub samples: Arc<SampleSet>,
    /// Mapped quantities.
    pub surfaces: Arc<SurfaceSet>,
    /// Zones, when asked for.
    pub zones: Option<Arc<ZoneMap>>,
    /// What fitting them to the machine took.
    pub fitted: Option<FittedLabels>,
    /// Their outlines.
    pub outlines: Option<ZoneOutlines>,
    /// What each number of zones comes to, fewest first.
    pub consequences: Vec<CountConsequence>,
    /// Needs and rates, as far as the answers go.
    pub plan: RatePlan,
    /// What the ground gets as the machine drives it, where it is stated how.
    pub as_driven: Option<AsDriven>,
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

/// What the maps are, and what they rest on.
#[derive(Debug, Clone)]
struct MapStage {
    samples: Arc<SampleSet>,
    surfaces: Arc<SurfaceSet>,
    warnings: Vec<Diagnostic>,
}

/// Runs the whole line. `progress` is told the name of each stage as it starts.
///
/// # Errors
/// All faults of the stage that could not go on.
pub fn run(inputs: Inputs, progress: &dyn Fn(&str)) -> Result<Outcome, Vec<Diagnostic>> {
    let mut outcome = run_keeping(inputs, &mut Kept::default(), progress)?;
    let (boundary, travel) = (&outcome.inputs.boundary, &outcome.inputs.field_file.rates.travel);
    outcome.as_driven =
        outcome.outlines.as_ref().and_then(|outlines| as_driven(&outcome.plan, outlines, boundary, travel));
    Ok(outcome)
}

/// Checks the samples and maps what they give.
fn map_stage(inputs: &Inputs, progress: &dyn Fn(&str)) -> Result<MapStage, Vec<Diagnostic>> {
    progress("checking samples");
    let checked = check(inputs)?;
    let (samples, warnings) = (checked.value, checked.warnings);
    let file = &inputs.field_file.file;
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
    Ok(MapStage { samples: Arc::new(samples), surfaces: Arc::new(surfaces), warnings })
}

/// Adds lime, worked out at the samples by the guide asked for, to maps without it; then tells which maps are no better
/// than the field mean.
fn lime_stage(mut stage: MapStage, inputs: &Inputs) -> MapStage {
    let file = &inputs.field_file;
    let not_run_from_ph = file.samples.buffer_not_run_at_or_above_ph;
    if let Some(lime) = lime_at_samples(&stage.samples, &file.rates, not_run_from_ph) {
        let surfaces = Arc::make_mut(&mut stage.surfaces);
        surfaces.map_worked_out(&stage.samples, Variable::LimeNeed, &lime.short_ton_ac, &file.surface);
        stage.warnings.extend(lime.told);
    }
    stage.warnings.extend(maps_no_better(&stage.surfaces, stage.samples.basis));
    stage
}

/// Runs the line like [`run`], but does not drive the machine over its rates: [`Outcome::as_driven`] stays `None`. `kept`
/// was filled by runs over the same files; stages whose settings are the same are not worked out again.
///
/// # Errors
/// All faults of the stage that could not go on.
pub fn run_keeping(inputs: Inputs, kept: &mut Kept, progress: &dyn Fn(&str)) -> Result<Outcome, Vec<Diagnostic>> {
    let file = inputs.field_file.file.clone();
    let stage = kept.map(&inputs, || map_stage(&inputs, progress))?;
    let (samples, surfaces) = (stage.samples.clone(), stage.surfaces.clone());
    let mut warnings = stage.warnings.clone();
    // Maps that were kept may be asked for other guides.
    let misfits = misfits(&samples, &inputs.field_file.rates, &file);
    if !misfits.is_empty() {
        return Err(misfits);
    }

    progress("drawing zones");
    let (mut zones, mut fitted) = (None, None);
    if let Some(drawn) = kept.zones(&inputs, &stage, || zoning::zone_map(&inputs, &surfaces))? {
        let map = &drawn.drawn.value;
        warnings.extend(drawn.drawn.warnings.iter().cloned());
        warnings.extend(zoning::zones_gone(drawn.fitted(), map.verdict().drawn));
        (zones, fitted) = (Some(map.clone()), Some(drawn.fitted().clone()));
    }
    if let Some(zones) = &zones
        && zones.zones().len() > 1
        && zones.verdict().told() == Some(false)
    {
        warnings.push(
            Diagnostic::warning(&NOT_WORTH_ZONING, "by the samples, one rate is as good as these zones")
                .with_note(zones.verdict().sentence())
                .with_help(match zones.verdict().pick {
                    Pick::Drawn => "take `method` and what it needs out of `[zones]`, and write `count = 1`",
                    _ => "write `count = 1` in `[zones]`, or \"suggest\"",
                }),
        );
    }
    progress("outlining zones");
    let outline = |grid: &CellGrid, labels: &[u16]| {
        ZoneOutlines::draw(grid, labels, &inputs.boundary, &inputs.keep_off)
            .map_err(|fault| vec![fault.at(Place::File(file.clone()))])
    };
    let outlines = zones.as_ref().map(|zones| outline(zones.mask().grid(), zones.labels())).transpose()?;

    progress("planning rates");
    let (mut plan, mut consequences_of_counts) = (RatePlan::default(), Vec::new());
    if let (Some(zones), Some(outlines)) = (&zones, &outlines) {
        let settings = &inputs.field_file.rates;
        let limits = inputs.field_file.patch_limits();
        let feeding =
            Feeding { samples: &samples, surfaces: &surfaces, zones, settings, limits: &limits, field_file: &file };
        let (grounds, found) = feed(&feeding, &|labels| outline(zones.mask().grid(), labels))?;
        warnings.extend(found);
        plan = rate_plan(grounds, outlines, &inputs).map_err(|fault| vec![*fault])?;
        let (mut treated, mut treated_ac) = (surfaces.mask().inside().to_vec(), inputs.boundary.area_ac());
        if let Some(pass) = plan.passes.first() {
            let ground = plan.ground_of(pass).own.as_ref().map_or(outlines, |own| &own.outlines);
            let kept_off = ground.kept_off_cells(&pass.grounds, &inputs.boundary, zones.mask().grid());
            treated.iter_mut().zip(kept_off).for_each(|(treated, off)| *treated &= !off);
            treated_ac = pass.rates.iter().fold(0.0, |sum, rate| sum + rate.area_ac);
        }
        consequences_of_counts = consequences(&feeding, (&treated, treated_ac));
    }
    Ok(Outcome {
        inputs,
        samples,
        surfaces,
        zones,
        fitted,
        outlines,
        consequences: consequences_of_counts,
        plan,
        as_driven: None,
        warnings,
    })
}

/// The rate files of all grounds in the order driven, and what they come to against a flat rate.
fn rate_plan(grounds: Vec<RateGround>, outlines: &ZoneOutlines, inputs: &Inputs) -> Result<RatePlan, Box<Diagnostic>> {
    let settings = &inputs.field_file.rates;
    let mut passes = Vec::new();
    for (index, ground) in grounds.iter().enumerate() {
        let outlines = ground.own.as_ref().map_or(outlines, |own| &own.outlines);
        passes.extend(pass_plans((index, ground), outlines, settings, &inputs.field_file.file)?);
    }
    passes.sort_by_key(|plan| plan.number);
    let field_m2 = inputs.boundary.area_m2();
    let comparison = settings.compare.as_ref().filter(|_| !passes.is_empty());
    let comparison = comparison.map(|flat| compare(&grounds, &passes, settings, flat, field_m2));
    Ok(RatePlan { grounds, passes, notes: settings.notes.clone(), comparison })
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
            zones: self.zones.as_deref(),
            fitted: self.fitted.as_ref(),
            outlines: self.outlines.as_ref(),
            consequences: &self.consequences,
            plan: &self.plan,
            as_driven: self.as_driven.as_ref(),
            warnings: &self.warnings,
        }
    }

    /// Whether any message is a warning.
    pub fn has_warnings(&self) -> bool {
        self.warnings.iter().any(|warning| warning.severity == Severity::Warning)
    }

    /// Rasters and packages of the result folder, for the edge to make files of.
    ///
    /// # Errors
    /// Outlines that cannot be joined: a fault of this program.
    pub fn gis_contents(&self) -> Result<Vec<GisContent>, Vec<Diagnostic>> {
        export::gis_contents(&self.report())
    }

    /// All files of the result folder, the run record last. `made` are those of [`Outcome::gis_contents`].
    ///
    /// # Errors
    /// A value a format cannot carry whole.
    pub fn files(
        &self,
        inputs: &[InputRecord],
        versions: &Versions,
        made: Vec<OutputFile>,
    ) -> Result<Vec<OutputFile>, Vec<Diagnostic>> {
        let report = self.report();
        let mut files = export::tables(&report);
        files.extend(export::maps(&report));
        files.extend(export::vector_files(&report)?);
        files.extend(made);
        let (task_set, notes) = export::task_set_files(&report)?;
        files.extend(task_set);
        if let Some(field) = export::stick_field(&report)? {
            files.push(export::cab_sheets(&report, &field));
            files.push(export::stick_text(&[&report], &[field], &files, &notes));
        }
        files.extend(export::grower_files(&report, inputs, versions));
        files.sort_by(|a, b| a.path.cmp(&b.path));
        let record = run_record(&report, inputs, versions, &files);
        files.push(record);
        Ok(files)
    }
}
