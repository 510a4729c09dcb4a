//! `run_record.json`: inputs with their hashes, every setting with its origin, versions, and all figures.

use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};

use super::{OutputFile, Report, sharing_record};
use crate::chemistry::{Cation, NO_RATE_FROM_SHARES, SHARE_EVIDENCE};
use crate::rates::comparison::{Comparison, FedComparison, ProductComparison};
use crate::rates::need::GroundNeed;
use crate::rates::rate_plan::{FedGround, PassPlan, RateGround};
use crate::rates::season::LeftOver;
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
        "passes": report.plan.passes.iter().map(|plan| pass(report, plan)).collect::<Vec<_>>(),
        "left_over": left_over(report),
        "against_flat": report.plan.comparison.as_ref().map(against_flat),
        "rate_notes": report.plan.notes,
        "messages": report.warnings.iter().map(message).collect::<Vec<_>>(),
        "sharing": sharing_record(&report.sharing(), &report.field_file.sharing, report.units()),
        "evidence": [SHARE_EVIDENCE[0], SHARE_EVIDENCE[1], NO_RATE_FROM_SHARES],
        "cautions": report.plan_holds().sentences(),
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

/// The record of a stick of several fields. `fields` are the records of each, without files.
pub fn stick_record(fields: &[OutputFile], versions: &Versions, outputs: &[OutputFile]) -> OutputFile {
    let fields: Vec<Value> = fields.iter().filter_map(|record| serde_json::from_slice(&record.bytes).ok()).collect();
    let record = json!({
        "form": 1,
        "program": {"name": "holdground", "version": versions.program},
        "fields": fields,
        "files": files(outputs),
    });
    let mut text = serde_json::to_string_pretty(&record).expect("a record of records");
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

pub(super) fn round(value: f64, decimals: i32) -> Value {
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
        "product_usd": consequence.product_usd.map(|usd| round(usd, 2)),
        "rates_move_by_up_to": consequence.change.as_ref().map(|change| {
            json!({"product": change.most.product, "rate": round(change.most.rate, 3), "unit": change.most.unit.name()})
        }),
        "on_ac": consequence.change.as_ref().map(|change| round(change.changed_ac, 2)),
        "more_usd": consequence.change.as_ref().and_then(|change| change.more_usd).map(|usd| round(usd, 2)),
    })
}

fn needs(report: &Report<'_>) -> Vec<Value> {
    let all = report.plan.grounds.iter().flat_map(|ground| ground.fed.iter().map(move |fed| (ground, fed)));
    let need = |(ground, need): (&RateGround, &GroundNeed)| {
        json!({
            ground.word(): need.zone,
            "supply": need.supply.name(),
            "lb_ac": round(need.lb_ac(), 3),
            "by_year_lb_ac": need.years_lb_ac.iter().map(|(year, lb_ac)| json!({"year": year, "lb_ac": round(*lb_ac, 3)})).collect::<Vec<_>>(),
            "soil_test_ppm": need.test_ppm.map(|ppm| round(ppm, 3)),
            "critical_ppm": need.critical_ppm.map(|ppm| round(ppm, 3)),
            "error_of_mean_ppm": need.error_ppm.map(|ppm| round(ppm, 3)),
            "mean_of_cells_lb_ac": need.mean_of_cells_lb_ac.map(|lb_ac| round(lb_ac, 3)),
            "below_critical_share": need.below_critical_share.map(|share| round(share, 4)),
            "why": need.why(),
        })
    };
    all.flat_map(|(ground, fed)| fed.needs.iter().map(move |one| need((ground, one)))).collect()
}

fn pass(report: &Report<'_>, plan: &PassPlan) -> Value {
    let rate = |rate: &crate::rates::ZoneRate| {
        json!({
            "zone": rate.zone,
            "area_ac": round(rate.area_ac, 4),
            "kept_off_ac": round(rate.kept_off_ac, 4),
            "rate_wanted": round(rate.wanted, 4),
            "rate": round(rate.rate, 4),
            "product_lb_ac": round(rate.product_lb_ac, 3),
            "brings_lb_ac": rate.brings_lb_ac.iter().map(|(supply, lb_ac)| (supply.name().to_owned(), round(*lb_ac, 3))).collect::<Map<String, Value>>(),
            "product_total_lb": round(rate.total_lb, 2),
            "why": rate.why,
        })
    };
    json!({
        "number": plan.number,
        "name": plan.pass.name,
        "window": plan.pass.window,
        "crop_year": plan.pass.year,
        "product": plan.product.name,
        "unit_of_rates": plan.unit().name(),
        "content_percent": plan.product.percent.iter().map(|(supply, percent)| (supply.name().to_owned(), json!(percent))).collect::<Map<String, Value>>(),
        "rates_follow": report.plan.ground_of(plan).word(),
        "rates": plan.rates.iter().map(rate).collect::<Vec<_>>(),
        "total_lb": round(plan.total_lb(), 2),
        "total": round(plan.total(), 3),
        "unit_of_total": plan.unit().total_name(),
        "kept_off": plan.kept_off,
        "as_driven": super::driven_lines::driven_record(report, plan),
        "product_usd": plan.product_usd().map(|usd| round(usd, 2)),
    })
}

fn left_over(report: &Report<'_>) -> Vec<Value> {
    let all = report.plan.grounds.iter().flat_map(|ground| ground.fed.iter().map(move |fed| (ground, fed)));
    let lefts = all.flat_map(|(ground, fed)| {
        fed.season.iter().flat_map(|season| &season.left_over).map(move |left| (ground, fed, left))
    });
    let left = |(ground, fed, left): (&RateGround, &FedGround, &LeftOver)| {
        json!({
            ground.word(): fed.zone,
            "supply": left.supply.name(),
            "crop_year": left.year,
            "lb_ac": round(left.lb_ac, 3),
            "why": left.why,
            "proposal": left.proposal,
        })
    };
    lefts.map(left).collect()
}

fn against_flat(comparison: &Comparison) -> Value {
    let product = |line: &ProductComparison| {
        json!({
            "product": line.name,
            "flat_rate": round(line.flat_rate, 4),
            "flat_rate_is_stated": line.flat_is_stated,
            "flat_lb": round(line.flat_lb, 1),
            "zoned_lb": round(line.zoned_lb, 1),
            "flat_usd": line.flat_usd.map(|usd| round(usd, 2)),
            "zoned_usd": line.zoned_usd.map(|usd| round(usd, 2)),
        })
    };
    let fed = |fed: &FedComparison| {
        json!({
            "supply": fed.supply.name(),
            "flat_over_ac": round(fed.flat_ac[0], 2),
            "flat_short_ac": round(fed.flat_ac[1], 2),
            "zoned_over_ac": round(fed.zoned_ac[0], 2),
            "zoned_short_ac": round(fed.zoned_ac[1], 2),
        })
    };
    let trips = comparison.trips;
    json!({
        "products": comparison.products.iter().map(product).collect::<Vec<_>>(),
        "trips_flat_usd": round(trips.flat_usd, 2),
        "trips_zoned_usd": round(trips.zoned_usd, 2),
        "of_them_for_varying_usd": round(trips.surcharge_usd, 2),
        "of_them_for_further_passes_usd": round(trips.extra_pass_usd, 2),
        "passes_without_a_cost": trips.n_unknown,
        "sampling_usd": comparison.sampling_usd.map(|usd| round(usd, 2)),
        "off_by_more_than_a_tenth": comparison.fed.iter().map(fed).collect::<Vec<_>>(),
        "flat_k2o_past_the_limit_of_a_pass_lb": comparison.past_the_limit_k2o_lb.map(|lb| round(lb, 1)),
        "saved_usd": comparison.saved_usd.map(|usd| round(usd, 2)),
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
