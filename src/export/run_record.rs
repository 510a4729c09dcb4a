//! `run_record.json`: inputs with their hashes, every setting with its origin, versions, and all figures.

use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};

use super::{OutputFile, Report};
use crate::chemistry::Cation;
use crate::samples::CecSource;

/// An input file, for the record.
#[derive(Debug, Clone, PartialEq)]
pub struct InputRecord {
    /// What it is: "field file", "outline", "lab sheet", "sample places", "keep off".
    pub role: &'static str,
    /// Name as typed.
    pub name: String,
    /// SHA-256 of its bytes, hexadecimal.
    pub sha256: String,
    /// What was understood on reading it: CRS, accuracy, parts.
    pub notes: Vec<String>,
}

impl InputRecord {
    /// Hashes an input.
    pub fn new(role: &'static str, name: impl Into<String>, bytes: &[u8], notes: Vec<String>) -> Self {
        let sha256 = Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect();
        InputRecord { role, name: name.into(), sha256, notes }
    }
}

/// Versions that made a result.
#[derive(Debug, Clone, PartialEq)]
pub struct Versions {
    /// This program.
    pub program: String,
    /// Libraries: (name, version).
    pub libraries: Vec<(String, String)>,
}

/// The record. `outputs` are the other files of the run, hashed here.
pub fn run_record(
    report: &Report<'_>,
    inputs: &[InputRecord],
    versions: &Versions,
    outputs: &[OutputFile],
) -> OutputFile {
    let setting = |row: &crate::field_file::SettingRow| json!({"key": row.key, "value": row.value, "from": row.origin});
    let field = &report.field_file.field;
    let record = json!({
        "form": 1,
        "program": {"name": "holdground", "version": versions.program},
        "libraries": versions.libraries.iter().map(|(n, v)| (n.clone(), json!(v))).collect::<Map<String, Value>>(),
        "field": {
            "name": field.name,
            "issued": field.issued,
            "taken": report.field_file.taken,
            "season": field.season,
            "area_m2": round(report.area_m2(), 1),
            "work_crs": report.boundary.work_crs().name(),
            "cells": cells(report),
        },
        "inputs": inputs.iter().map(input_json).collect::<Vec<_>>(),
        "settings": report.field_file.rows.iter().map(setting).collect::<Vec<_>>(),
        "still_open": report.field_file.open.iter().map(|(_, key)| key).collect::<Vec<_>>(),
        "unknown": report.field_file.unknown.iter().map(|(_, key)| key).collect::<Vec<_>>(),
        "samples": samples(report),
        "maps": report.surfaces.quality.iter().map(|quality| quality_json(report, quality)).collect::<Vec<_>>(),
        "beyond_outermost_samples_share": round(report.surfaces.extrapolated_share(), 4),
        "zones": zones(report),
        "needs": needs(report),
        "pass": pass(report),
        "messages": report.warnings.iter().map(message).collect::<Vec<_>>(),
        "evidence": "Zones describe holding capacity and acidity. Saturations as goals are contested: McLean et al. 1983 \
    (Agron. J. 75:635-639) found best and worst yields at much the same ratios; Kopittke and Menzies 2007 (SSSAJ 71:259-265) \
    found no support for them. No rate here comes from a ratio.",
        "caution": super::summary::CAUTION,
        "files": files(outputs),
    });
    let mut text = serde_json::to_string_pretty(&record).expect("a record of texts and finite numbers");
    text.push('\n');
    OutputFile::new("run_record.json", text)
}

/// The record of fields side by side. `understood` says of each column what it was taken for.
pub fn fields_record(
    inputs: &[InputRecord],
    understood: &[(String, String)],
    versions: &Versions,
    outputs: &[OutputFile],
) -> OutputFile {
    let record = json!({
        "form": 1,
        "program": {"name": "holdground", "version": versions.program},
        "inputs": inputs.iter().map(input_json).collect::<Vec<_>>(),
        "columns": understood.iter().map(|(column, what)| json!({"column": column, "taken_for": what})).collect::<Vec<_>>(),
        "files": files(outputs),
    });
    let mut text = serde_json::to_string_pretty(&record).expect("a record of texts");
    text.push('\n');
    OutputFile::new("run_record.json", text)
}

fn input_json(input: &InputRecord) -> Value {
    json!({"role": input.role, "file": input.name, "sha256": input.sha256, "notes": input.notes})
}

fn files(outputs: &[OutputFile]) -> Vec<Value> {
    let of = |file: &OutputFile| json!({"file": file.path, "sha256": InputRecord::new("", "", &file.bytes, Vec::new()).sha256});
    outputs.iter().map(of).collect()
}

fn round(value: f64, decimals: i32) -> Value {
    let scale = 10_f64.powi(decimals);
    if value.is_finite() { json!((value * scale).round() / scale + 0.0) } else { Value::Null }
}

fn cells(report: &Report<'_>) -> Value {
    let grid = report.surfaces.mask().grid();
    json!({"cell_m": grid.cell_m, "columns": grid.n_cols, "rows": grid.n_rows, "inside": report.surfaces.mask().n_inside()})
}

fn samples(report: &Report<'_>) -> Value {
    let samples = report.samples;
    let cec = match samples.cec_source {
        CecSource::Lab(method) => format!("the lab's, {}", method.name()),
        CecSource::SummedFromAcidity => "summed here from cations and the sheet's acidity".to_owned(),
        CecSource::SummedFromBuffer(buffer) => format!("summed here, acidity from {} buffer pH", buffer.name()),
        CecSource::None => "none".to_owned(),
    };
    json!({
        "count": samples.samples.len(),
        "places": report.surfaces.sites.len(),
        "set_aside_other_depths": samples.n_set_aside,
        "depth_in": samples.depth_in,
        "cec": cec,
        "unit_of_cec": samples.basis.cec_unit(),
        "methods": samples.methods.iter().map(|(a, m)| (a.key().to_owned(), json!(m.name()))).collect::<Map<String, Value>>(),
        "meq_factors_ppm": Cation::ALL.map(|c| json!({"cation": c.symbol(), "ppm_per_meq": c.ppm_per_meq()})),
        "ca_to_mg_note": "tables print Ca:Mg by equivalents and by mass; they differ by a factor of 1.67",
    })
}

fn quality_json(report: &Report<'_>, quality: &crate::soil_surface::Quality) -> Value {
    let unit = quality.variable.unit_name(report.samples.basis);
    json!({
        "quantity": quality.variable.key(),
        "unit": unit,
        "method": quality.method,
        "places": quality.sites.len(),
        "rmse": quality.error.map(|e| round(e.error_rmse, 6)),
        "rmse_of_field_mean": quality.error.map(|e| round(e.mean_rmse, 6)),
        "better_than_field_mean_percent": quality.error.and_then(|e| e.prediction_efficiency_percent()).map(|p| round(p, 2)),
    })
}

fn zones(report: &Report<'_>) -> Value {
    let Some(zones) = report.zones else { return Value::Null };
    let zone = |zone: &crate::zones::ZoneSummary| {
        json!({
            "zone": zone.zone,
            "name": zone.name,
            "area_m2": round(report.zone_area_m2(zone), 1),
            "sample_places": zone.n_sites,
            "holds": zone.holding.map(|holding| holding.words()),
            "means": zone.means.iter().map(|(v, mean)| (v.key().to_owned(), round(*mean, 4))).collect::<Map<String, Value>>(),
            "covariate_means": zone.covariate_means.iter().map(|(name, mean)| (name.clone(), round(*mean, 4))).collect::<Map<String, Value>>(),
        })
    };
    let row = |row: &crate::zones::VerdictRow| {
        json!({
            "zones": row.count,
            "told_better_than_one_rate": row.efficiency.map(|e| round(e, 4)),
            "standard_error": row.standard_error.map(|e| round(e, 4)),
            "spread_taken_out_percent": row.variance_reduction_percent.map(|p| round(p, 2)),
            "silhouette": row.silhouette.map(|s| round(s, 4)),
            "calinski_harabasz": row.calinski_harabasz.map(|c| round(c, 2)),
            "partition_coefficient": row.partition_coefficient.map(|c| round(c, 4)),
            "partition_entropy_natural_log": row.partition_entropy.map(|e| round(e, 4)),
        })
    };
    json!({
        "zones": zones.zones().iter().map(zone).collect::<Vec<_>>(),
        "suggested": zones.verdict().suggested,
        "fitted_to_machine": report.fitted.map(fitted),
        "by_consequence": report.consequences.iter().map(consequence).collect::<Vec<_>>(),
        "why_suggested": zones.verdict().reason.to_string(),
        "overridden_by_the_user": zones.verdict().is_overridden(),
        "worth_zoning": zones.verdict().worth_zoning(),
        "by_count": zones.verdict().rows.iter().map(row).collect::<Vec<_>>(),
    })
}

fn fitted(fitted: &crate::zones::FittedLabels) -> Value {
    let moves = |moves: &crate::zones::PatchMoves| json!({"lack": format!("{:?}", moves.lack).to_lowercase(), "patches": moves.n_patches, "cells": moves.n_cells});
    json!({
        "share_of_ground_changed": round(fitted.changed_share, 5),
        "joined": fitted.moves.iter().map(moves).collect::<Vec<_>>(),
        "zones_without_ground": fitted.vanished,
        "patches_without_neighbor": fitted.n_without_neighbor,
    })
}

fn consequence(consequence: &crate::rates::CountConsequence) -> Value {
    json!({
        "zones": consequence.count,
        "product_lb": consequence.product_lb.map(|lb| round(lb, 0)),
        "product_usd": consequence.product_usd.map(|usd| round(usd, 2)),
        "rates_move_by_up_to_lb_ac": consequence.change.map(|change| round(change.most_lb_ac, 1)),
        "on_ac": consequence.change.map(|change| round(change.changed_ac, 2)),
        "more_usd": consequence.change.and_then(|change| change.more_usd).map(|usd| round(usd, 2)),
    })
}

fn needs(report: &Report<'_>) -> Vec<Value> {
    let need = |need: &crate::rates::ZoneNeed| {
        json!({
            "zone": need.zone,
            "k2o_lb_ac": round(need.k2o_lb_ac, 3),
            "critical_ppm": need.critical_ppm.map(|c| round(c, 3)),
            "mean_of_cells_k2o_lb_ac": need.mean_of_cells_k2o_lb_ac.map(|m| round(m, 3)),
            "below_critical_share": need.below_critical_share.map(|s| round(s, 4)),
            "why": need.why,
        })
    };
    report.plan.needs.zones.iter().map(need).collect()
}

fn pass(report: &Report<'_>) -> Value {
    let Some(plan) = &report.plan.pass else { return Value::Null };
    let rate = |rate: &crate::rates::ZoneRate| {
        json!({
            "zone": rate.zone,
            "area_ac": round(rate.area_ac, 4),
            "kept_off_ac": round(rate.kept_off_ac, 4),
            "product_wanted_lb_ac": round(rate.wanted_lb_ac, 3),
            "product_lb_ac": round(rate.product_lb_ac, 3),
            "k2o_lb_ac": round(rate.k2o_lb_ac, 3),
            "k2o_left_over_lb_ac": round(rate.left_over_k2o_lb_ac, 3),
            "product_total_lb": round(rate.total_lb, 2),
            "why": rate.why,
        })
    };
    json!({
        "number": plan.number,
        "name": plan.pass.name,
        "product": plan.product.name,
        "content_percent": plan.product.percent.iter().map(|(supply, percent)| (supply.name().to_owned(), json!(percent))).collect::<Map<String, Value>>(),
        "rates": plan.rates.iter().map(rate).collect::<Vec<_>>(),
        "total_lb": round(plan.total_lb(), 2),
        "kept_off": plan.kept_off,
        "rates_follow": report.rate_ground(),
        "product_usd": plan.product_usd().map(|usd| round(usd, 2)),
    })
}

fn message(message: &crate::diagnostic::Diagnostic) -> Value {
    json!({
        "severity": message.severity.word(),
        "code": message.code.name,
        "message": message.message,
        "place": message.place.as_ref().map(ToString::to_string),
        "notes": message.notes,
        "help": message.help,
    })
}
