//! Every vector file of a run.

use geojson::JsonObject;

use super::iso11783::zipped;
use super::rate_layer::rate_layer;
use super::zone_layer::zone_layer;
use super::{FOR_THE_CAB, OutputFile, Report, geo_json_file, pass_stem, shapefile};
use crate::diagnostic::Diagnostic;
use crate::field_file::{ControllerFormat, LayerPlace};
use crate::rates::rate_plan::PassPlan;

/// Zones and the rates of the pass as GeoJSON, and the rates in the formats the controller takes.
///
/// # Errors
/// A value a format cannot carry whole.
pub fn vector_files(report: &Report<'_>) -> Result<Vec<OutputFile>, Vec<Diagnostic>> {
    let mut files = Vec::new();
    let field = &report.field_file.field;
    if let Some(layer) = zone_layer(report) {
        let mut about = JsonObject::new();
        about.insert("field".to_owned(), field.name.as_str().into());
        about.insert("order".to_owned(), "zone 1 holds least".into());
        files.push(geo_json_file("gis/zones.geojson", layer, about));
    }
    for pass in &report.plan.passes {
        files.extend(rate_files(report, pass)?);
    }
    Ok(files)
}

/// The rates of one product of one pass.
fn rate_files(report: &Report<'_>, pass: &PassPlan) -> Result<Vec<OutputFile>, Vec<Diagnostic>> {
    let mut files = Vec::new();
    let field = &report.field_file.field;
    let Some(layer) = rate_layer(report, pass) else { return Ok(files) };
    let stem = pass_stem(report, pass);
    let mut about = JsonObject::new();
    about.insert("field".to_owned(), field.name.as_str().into());
    about.insert("rates".to_owned(), format!("{} of product, not of nutrient", pass.unit().name()).into());
    let follow = match report.plan.ground_of(pass).own {
        Some(_) => "classes of the need itself, 1 needs least",
        None => "zones, 1 holds least",
    };
    about.insert("rates_follow".to_owned(), follow.into());
    about.insert("kept_off".to_owned(), pass.kept_off.clone().into());
    about.insert("total_lb".to_owned(), ((pass.total_lb() * 10.0).round() / 10.0).into());
    about.insert("why".to_owned(), pass.rates.iter().map(|rate| rate.why.clone()).collect::<Vec<_>>().into());
    if let Some(issued) = field.issued.as_deref() {
        about.insert("issued".to_owned(), issued.into());
    }
    about.insert("caution".to_owned(), report.plan_holds().paragraph().into());
    for format in &report.field_file.write.controller {
        match format {
            ControllerFormat::Shapefile => {
                let parts = shapefile(&layer, &stem, report.field_file.write.records, field.issued.as_deref())?;
                files.extend(for_the_cab(report, format!("{stem}.zip"), parts));
            }
            ControllerFormat::GeoJson => {
                let file = geo_json_file(format!("{stem}.geojson"), layer.clone(), about.clone());
                files.extend(for_the_cab(report, format!("{stem}.geojson.zip"), vec![file]));
            }
            // Made by `cab_files`.
            ControllerFormat::TaskSet3 | ControllerFormat::TaskSet4 | ControllerFormat::GeoTiff => {}
        }
    }
    files.push(geo_json_file(format!("gis/{stem}.geojson"), layer, about));
    Ok(files)
}

/// The files of a layer in the folder for the cab, or one zip of them; the zip carries their layer.
fn for_the_cab(report: &Report<'_>, zip: String, mut files: Vec<OutputFile>) -> Vec<OutputFile> {
    if report.field_file.write.layer_place == LayerPlace::Zip {
        let layer = files.iter().find_map(|file| file.layer.clone());
        files = vec![OutputFile { layer, ..zipped(zip, &files) }];
    }
    files.into_iter().map(|file| file.below(FOR_THE_CAB)).collect()
}
