//! Tables as CSV: zones, rates, map errors, numbers of zones, checked samples.

use super::{OutputFile, Report};
use crate::chemistry::Cation;
use crate::samples::Limit;
use crate::units::M2_PER_ACRE;

/// All tables the results give.
pub fn tables(report: &Report<'_>) -> Vec<OutputFile> {
    let mut files = vec![samples_checked(report), map_errors(report)];
    if report.zones.is_some() {
        files.push(zones(report));
        files.push(zone_count(report));
    }
    if !report.plan.needs.zones.is_empty() {
        files.push(rates(report));
    }
    files
}

fn table(name: &str, header: &[String], rows: Vec<Vec<String>>) -> OutputFile {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(header).expect("memory takes a row");
    for row in rows {
        writer.write_record(&row).expect("rows are as long as the header");
    }
    OutputFile::new(format!("tables/{name}.csv"), writer.into_inner().expect("memory takes a row"))
}

fn texts(header: &[&str]) -> Vec<String> {
    header.iter().map(|text| (*text).to_owned()).collect()
}

/// A figure, or nothing where there is none.
pub(super) fn figure(value: Option<f64>, decimals: usize) -> String {
    value.filter(|value| value.is_finite()).map_or(String::new(), |value| format!("{:.decimals$}", value + 0.0))
}

fn zones(report: &Report<'_>) -> OutputFile {
    let zones = report.zones.map_or(&[][..], |zones| zones.zones());
    let mut header = texts(&["zone", "area_ac", "area_ha", "share_percent", "sample_places", "holds"]);
    let has_names = zones.iter().any(|zone| zone.name.is_some());
    if has_names {
        header.insert(1, "name".to_owned());
    }
    let variables: Vec<_> = report.surfaces.quality.iter().map(|quality| quality.variable).collect();
    header.extend(variables.iter().map(|v| format!("{} ({})", v.key(), v.unit_name(report.samples.basis))));
    header.extend(report.field_file.covariates.iter().map(|covariate| match &covariate.unit {
        Some(unit) => format!("{} ({unit})", covariate.name),
        None => covariate.name.clone(),
    }));
    let rows = zones.iter().map(|zone| {
        let area_m2 = report.zone_area_m2(zone);
        let mut row = vec![
            zone.zone.to_string(),
            figure(Some(area_m2 / M2_PER_ACRE), 2),
            figure(Some(area_m2 / 10_000.0), 3),
            figure(Some(100.0 * area_m2 / report.area_m2()), 2),
            zone.n_sites.to_string(),
            super::summary::holding_words(zone.holding).to_owned(),
        ];
        if has_names {
            row.insert(1, zone.name.clone().unwrap_or_default());
        }
        row.extend(variables.iter().map(|v| figure(zone.mean(*v), v.decimals() + 1)));
        let covariates = report.field_file.covariates.iter();
        row.extend(covariates.map(|covariate| figure(zone.covariate_mean(&covariate.name), 2)));
        row
    });
    table("zones", &header, rows.collect())
}

fn zone_count(report: &Report<'_>) -> OutputFile {
    let header = texts(&[
        "zones",
        "told_better_than_one_rate_percent",
        "standard_error_percent",
        "spread_taken_out_percent",
        "silhouette",
        "calinski_harabasz",
        "partition_coefficient",
        "partition_entropy_natural_log",
        "suggested",
        "drawn",
        "rates_move_by_up_to_lb_ac",
        "on_ac",
        "product_usd",
        "more_usd",
        "why_suggested",
    ]);
    let verdict = report.zones.map(|zones| zones.verdict());
    let rows = verdict.into_iter().flat_map(|verdict| {
        verdict.rows.iter().map(|row| {
            let consequence = report.consequences.iter().find(|consequence| consequence.count == row.count);
            let change = consequence.and_then(|consequence| consequence.change.as_ref());
            vec![
                row.count.to_string(),
                figure(row.efficiency.map(|e| 100.0 * e), 1),
                figure(row.standard_error.map(|e| 100.0 * e), 1),
                figure(row.variance_reduction_percent, 1),
                figure(row.silhouette, 3),
                figure(row.calinski_harabasz, 1),
                figure(row.partition_coefficient, 3),
                figure(row.partition_entropy, 3),
                if row.count == verdict.suggested { "yes" } else { "" }.to_owned(),
                if row.count == verdict.drawn { "yes" } else { "" }.to_owned(),
                figure(change.map(|change| change.most_lb_ac), 1),
                figure(change.map(|change| change.changed_ac), 2),
                figure(consequence.and_then(|consequence| consequence.product_usd), 2),
                figure(change.and_then(|change| change.more_usd), 2),
                if row.count == verdict.suggested { verdict.reason.to_string() } else { String::new() },
            ]
        })
    });
    table("zone_count", &header, rows.collect())
}

fn rates(report: &Report<'_>) -> OutputFile {
    let header = texts(&[
        report.rate_ground(),
        "pass",
        "product",
        "area_ac",
        "kept_off_ac",
        "k2o_needed_lb_ac",
        "k2o_mean_of_cells_lb_ac",
        "below_critical_percent",
        "product_wanted_lb_ac",
        "product_lb_ac",
        "k2o_brought_lb_ac",
        "k2o_left_over_lb_ac",
        "product_total_lb",
        "why",
    ]);
    let rows = report.plan.needs.zones.iter().map(|need| {
        let pass = report.plan.pass.as_ref();
        let rate = pass.map(|pass| &pass.rates[need.zone - 1]);
        vec![
            need.zone.to_string(),
            pass.map_or(String::new(), |pass| pass.pass.name.clone()),
            pass.map_or(String::new(), |pass| pass.product.name.clone()),
            figure(rate.map(|r| r.area_ac), 2),
            figure(rate.map(|r| r.kept_off_ac), 2),
            figure(Some(need.k2o_lb_ac), 1),
            figure(need.mean_of_cells_k2o_lb_ac, 1),
            figure(need.below_critical_share.map(|share| 100.0 * share), 0),
            figure(rate.map(|r| r.wanted_lb_ac), 1),
            figure(rate.map(|r| r.product_lb_ac), 2),
            figure(rate.map(|r| r.k2o_lb_ac), 1),
            figure(rate.map(|r| r.left_over_k2o_lb_ac), 1),
            figure(rate.map(|r| r.total_lb), 1),
            rate.map_or(need.why.clone(), |r| r.why.clone()),
        ]
    });
    table("rates", &header, rows.collect())
}

fn map_errors(report: &Report<'_>) -> OutputFile {
    let header = texts(&[
        "quantity",
        "unit",
        "method",
        "used",
        "samples_hidden",
        "mean_error",
        "mean_absolute_error",
        "rmse",
        "rmse_of_field_mean",
        "better_than_field_mean_percent",
    ]);
    let mut rows = Vec::new();
    for quality in &report.surfaces.quality {
        for (index, (method, error)) in quality.all_methods.iter().enumerate() {
            let of = |f: fn(&crate::surface::leave_one_out::MapError) -> f64| figure(error.as_ref().map(f), 4);
            rows.push(vec![
                quality.variable.key().to_owned(),
                quality.variable.unit_name(report.samples.basis).to_owned(),
                method.clone(),
                if index == 0 { "yes" } else { "" }.to_owned(),
                error.map_or(String::new(), |e| e.n.to_string()),
                of(|e| e.error_mean),
                of(|e| e.error_mae),
                of(|e| e.error_rmse),
                of(|e| e.mean_rmse),
                figure(error.and_then(|e| e.prediction_efficiency_percent()), 1),
            ]);
        }
    }
    table("error", &header, rows)
}

fn samples_checked(report: &Report<'_>) -> OutputFile {
    let analytes: Vec<_> = report.samples.methods.iter().map(|(analyte, _)| *analyte).collect();
    let mut header = texts(&["sample", "line", "lon", "lat"]);
    header.extend(
        analytes.iter().map(|analyte| format!("{} ({})", analyte.key(), analyte.unit_name(report.samples.basis))),
    );
    header.push(format!("cec ({})", report.samples.basis.cec_unit()));
    header.extend(texts(&["ca_percent", "mg_percent", "k_percent", "na_percent", "rest_percent", "ca_mg_percent"]));
    header.extend(texts(&["ca_to_mg_by_equivalents", "ca_to_mg_by_mass"]));
    let rows = report.samples.samples.iter().map(|sample| {
        let mut row = vec![
            sample.id.clone(),
            sample.line.to_string(),
            format!("{:.7}", sample.lon),
            format!("{:.7}", sample.lat),
        ];
        row.extend(analytes.iter().map(|analyte| match sample.reading(*analyte) {
            None => String::new(),
            Some(reading) => {
                let text = format!("{:.4}", reading.value);
                let text = text.trim_end_matches('0').trim_end_matches('.');
                match reading.limit {
                    Limit::Below => format!("<{text}"),
                    Limit::Above => format!(">{text}"),
                    Limit::Exact => text.to_owned(),
                }
            }
        }));
        let parts = sample.exchange.as_ref();
        row.push(figure(parts.map(|p| p.cec_meq_100g()), 2));
        row.extend(Cation::ALL.map(|cation| figure(parts.and_then(|p| p.saturation_percent(cation)), 1)));
        row.push(figure(parts.map(|p| 100.0 - p.base_saturation_percent()), 1));
        row.push(figure(parts.map(|p| p.ca_mg_percent()), 1));
        row.push(figure(parts.and_then(|p| p.ca_mg_ratio_equivalents()), 2));
        row.push(figure(parts.and_then(|p| p.ca_mg_ratio_mass()), 2));
        row
    });
    table("samples_checked", &header, rows.collect())
}
