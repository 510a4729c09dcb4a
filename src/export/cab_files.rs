//! What the plan's pass becomes for the cab beside its vector files: a task set, rasters, `READ-ME-FIRST.txt`.
//!
//! [`task_input`] is the only place that knows the plan; everything after it sees [`TaskField`].

use rayon::prelude::*;

use super::cautions::PlanHolds;
use super::check_places::CheckPlaces;
use super::geo_package::field_package;
use super::iso11783::{
    RatedGround, TaskField, TaskPass, TaskProduct, TaskSetForm, TaskSetSettings, TaskSetVersion, task_set, zipped,
};
use super::raster_files::raster_layers;
use super::rate_layer::rate_layer;
use super::stick::{Stick, StickField, read_me_first};
use super::zone_layer::zone_layer;
use super::{FOR_THE_CAB, GisContent, OutputFile, Report, file_stem};
use crate::coverage::{Ground, ZoneGround, ZoneOutlines};
use crate::diagnostic::Diagnostic;
use crate::field_file::{ControllerFormat, TaskSetPlace, TaskSetZones};
use crate::rates::LostPosition;
use crate::rates::rate_plan::PassPlan;

/// The plan as fields and passes of a task set; `None` without a pass.
///
/// # Errors
/// An outline that cannot be joined: a fault of this program.
pub fn task_input(report: &Report<'_>) -> Result<Option<TaskField>, Vec<Diagnostic>> {
    let (Some(first), Some(outlines)) = (report.plan.passes.first(), report.outlines) else { return Ok(None) };
    // Classes of own need have outlines of their own, on the same lattice: that of the field's south-west corner.
    debug_assert_eq!(report.rate_outlines(first).map(ZoneOutlines::lattice), Some(outlines.lattice()));
    Ok(Some(TaskField {
        name: report.field_file.field.name.clone(),
        short: report.field_file.field.short.clone(),
        lattice: *outlines.lattice(),
        boundary: outlines.field_outline().map_err(|fault| vec![*fault])?,
        area_m2: report.area_m2(),
        cell_m: report.field_file.surface.cell_m,
        passes: trips(report).into_iter().map(|trip| task_pass(report, &trip)).collect(),
    }))
}

/// Rate files by trip: one list a pass that spreads anything, in the order driven.
pub(super) fn trips<'r>(report: &Report<'r>) -> Vec<Vec<&'r PassPlan>> {
    let mut trips: Vec<Vec<&PassPlan>> = Vec::new();
    for plan in &report.plan.passes {
        match trips.last_mut().filter(|trip| trip[0].number == plan.number) {
            Some(trip) => trip.push(plan),
            None => trips.push(vec![plan]),
        }
    }
    trips
}

fn task_pass(report: &Report<'_>, trip: &[&PassPlan]) -> TaskPass {
    TaskPass {
        number: trip[0].number,
        name: trip[0].pass.name.clone(),
        products: trip.iter().map(|plan| task_product(report, plan)).collect(),
    }
}

fn task_product(report: &Report<'_>, pass: &PassPlan) -> TaskProduct {
    let ground = |ground: &ZoneGround| {
        let is_kept_off = ground.ground == Ground::SetBack;
        RatedGround {
            name: format!("{} {}", report.plan.ground_of(pass).word(), ground.zone),
            rate: if is_kept_off { 0.0 } else { pass.rates[ground.zone - 1].rate },
            is_kept_off,
            area_m2: ground.area_m2,
            polygons: ground.polygons.clone(),
        }
    };
    TaskProduct {
        name: pass.product.name.clone(),
        unit: pass.product.rate_unit(),
        grounds: pass.grounds.iter().map(ground).collect(),
    }
}

/// Starts of file names: one list a pass, one stem a product.
pub(super) fn stems(report: &Report<'_>) -> Vec<Vec<String>> {
    let short = &report.field_file.field.short;
    let of_plan = |plan: &&PassPlan| file_stem(short, plan.number, &plan.product.short);
    trips(report).iter().map(|trip| trip.iter().map(of_plan).collect()).collect()
}

/// What is ordered while there is no position.
pub(super) fn lost_position(report: &Report<'_>) -> LostPosition {
    report.field_file.rates.machine.map_or(LostPosition::default(), |machine| machine.lost_position)
}

/// The task set where one is asked for, and what must be said of it.
///
/// # Errors
/// What does not fit a task set.
pub fn task_set_files(report: &Report<'_>) -> Result<(Vec<OutputFile>, Vec<String>), Vec<Diagnostic>> {
    task_set_of(&[report])
}

/// One task set of all fields, written as the first of them asks.
///
/// # Errors
/// Those of [`task_set_files`].
pub(super) fn task_set_of(reports: &[&Report<'_>]) -> Result<(Vec<OutputFile>, Vec<String>), Vec<Diagnostic>> {
    let Some(first) = reports.first() else { return Ok((Vec::new(), Vec::new())) };
    let write = &first.field_file.write;
    let version = write.controller.iter().find_map(|format| match format {
        ControllerFormat::TaskSet3 => Some(TaskSetVersion::V3),
        ControllerFormat::TaskSet4 => Some(TaskSetVersion::V4),
        _ => None,
    });
    let mut fields = Vec::new();
    for report in reports {
        fields.extend(task_input(report)?);
    }
    let Some(version) = version.filter(|_| !fields.is_empty()) else { return Ok((Vec::new(), Vec::new())) };
    let form = match write.task_set_zones {
        TaskSetZones::Grid => TaskSetForm::Grid,
        TaskSetZones::Polygons => TaskSetForm::Polygons,
    };
    let set = task_set(&fields, &TaskSetSettings { version, form, lost_position: lost_position(first) })?;
    let files = match write.task_set_place {
        TaskSetPlace::Folder => set.files,
        TaskSetPlace::Zip => vec![zipped("TASKDATA.zip", &set.files)],
    };
    Ok((files.into_iter().map(|file| file.below(FOR_THE_CAB)).collect(), set.notes))
}

/// A run as the cab sees it, with the check places of each pass; `None` without a pass.
///
/// # Errors
/// Those of [`task_input`].
pub fn stick_field(report: &Report<'_>) -> Result<Option<StickField>, Vec<Diagnostic>> {
    let Some(field) = task_input(report)? else { return Ok(None) };
    let swath_ft = report.field_file.rates.travel.swath_ft;
    let places = field.passes.par_iter().map(|pass| CheckPlaces::of(&field, pass, swath_ft)).collect();
    let issued = report.field_file.field.issued.clone();
    Ok(Some(StickField { places, stems: stems(report), issued, field }))
}

/// `READ-ME-FIRST.txt` for the files of all fields. `fields`: one a report.
///
/// # Panics
/// Without a report.
pub fn stick_text(
    reports: &[&Report<'_>],
    fields: &[StickField],
    files: &[OutputFile],
    notes: &[String],
) -> OutputFile {
    let first = reports[0];
    let start = format!("{FOR_THE_CAB}/");
    let mut paths: Vec<String> =
        files.iter().filter_map(|file| file.path.strip_prefix(&start)).map(str::to_owned).collect();
    paths.sort();
    let has_task_set = first.field_file.write.controller.iter().any(|format| format.is_task_set());
    let holds = reports.iter().map(|report| report.plan_holds()).reduce(PlanHolds::and).unwrap_or_default();
    let stick = Stick {
        paths: &paths,
        lost_position: has_task_set.then(|| lost_position(first)),
        notes,
        cautions: &holds.paragraph(),
    };
    read_me_first(fields, &stick)
}

/// What the edge writes through GDAL: the field's GeoPackage where zones have outlines, and rasters where asked for.
///
/// # Errors
/// Those of [`task_input`].
pub fn gis_contents(report: &Report<'_>) -> Result<Vec<GisContent>, Vec<Diagnostic>> {
    let mut contents = Vec::new();
    if let Some(outlines) = report.outlines {
        let boundary = outlines.field_outline().map_err(|fault| vec![*fault])?;
        let named = |pass: &PassPlan| {
            let end = format!("{}_{}", pass.number, pass.product.short.to_lowercase());
            Some((end, rate_layer(report, pass)?))
        };
        let rates = report.plan.passes.iter().filter_map(named).collect();
        let zones = zone_layer(report);
        contents.push(GisContent::Package(field_package(report, (*outlines.lattice(), &boundary), zones, rates)));
    }
    if report.field_file.write.controller.contains(&ControllerFormat::GeoTiff) {
        let field = task_input(report)?;
        let layers = raster_layers(report, field.as_ref(), &stems(report));
        contents.extend(layers.into_iter().map(GisContent::Raster));
    }
    Ok(contents)
}
