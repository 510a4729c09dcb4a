//! Tables as CSV: zones, rates, map errors, numbers of zones, checked samples.

use super::{OutputFile, Report};
use crate::chemistry::Cation;
use crate::rates::Supply;
use crate::rates::comparison::Comparison;
use crate::rates::need::GroundNeed;
use crate::rates::rate_plan::{FedGround, PassPlan, RateGround, ZoneRate};
use crate::samples::Limit;
use crate::units::M2_PER_ACRE;

/// All tables the results give.
pub fn tables(report: &Report<'_>) -> Vec<OutputFile> {
    let mut files = vec![samples_checked(report), map_errors(report)];
    if report.zones.is_some() {
        files.push(zones(report));
        files.push(zone_count(report));
        files.extend(report.sharing_file());
    }
    if !report.plan.grounds.is_empty() {
        files.push(needs(report));
    }
    if report.plan.has_rates() {
        files.push(rates(report));
        files.extend(super::driven_lines::driven_table(report));
    }
    if let Some(comparison) = &report.plan.comparison {
        files.push(against_flat(comparison));
    }
    files
}

pub(super) fn table(name: &str, header: &[String], rows: Vec<Vec<String>>) -> OutputFile {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(header).expect("memory takes a row");
    for row in rows {
        writer.write_record(&row).expect("rows are as long as the header");
    }
    OutputFile::new(format!("tables/{name}.csv"), writer.into_inner().expect("memory takes a row"))
}

pub(super) fn texts(header: &[&str]) -> Vec<String> {
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
        "rates_move_by_up_to",
        "of",
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
                change.map_or(String::new(), |change| {
                    format!("{} {}", figure(Some(change.most.rate), 2), change.most.unit.name())
                }),
                change.map_or(String::new(), |change| change.most.product.clone()),
                figure(change.map(|change| change.changed_ac), 2),
                figure(consequence.and_then(|consequence| consequence.product_usd), 2),
                figure(change.and_then(|change| change.more_usd), 2),
                if row.count == verdict.suggested { verdict.reason.to_string() } else { String::new() },
            ]
        })
    });
    table("zone_count", &header, rows.collect())
}

/// What each zone or class needs of each supply, year by year in the last column.
fn needs(report: &Report<'_>) -> OutputFile {
    let header = texts(&[
        "follows",
        "number",
        "supply",
        "need_lb_ac",
        "mean_of_cells_lb_ac",
        "soil_test_ppm",
        "critical_ppm",
        "below_critical_percent",
        "left_over_lb_ac",
        "why",
        "by_year_lb_ac",
    ]);
    let rows = report.plan.grounds.iter().flat_map(|ground| ground.fed.iter().map(move |fed| (ground, fed)));
    let rows = rows.flat_map(|(ground, fed)| fed.needs.iter().map(move |need| (ground, fed, need)));
    let row = |(ground, fed, need): (&RateGround, &FedGround, &GroundNeed)| {
        let years: Vec<String> = need.years_lb_ac.iter().map(|(year, lb_ac)| format!("{year}: {lb_ac:.1}")).collect();
        vec![
            ground.word().to_owned(),
            need.zone.to_string(),
            need.supply.name().to_owned(),
            figure(Some(need.lb_ac()), 1),
            figure(need.mean_of_cells_lb_ac, 1),
            figure(need.test_ppm, 1),
            figure(need.critical_ppm, 1),
            figure(need.below_critical_share.map(|share| 100.0 * share), 0),
            figure(fed.season.as_ref().map(|season| season.left_over_lb_ac(need.supply)), 1),
            need.why(),
            years.join("; "),
        ]
    };
    table("needs", &header, rows.map(row).collect())
}

/// One row a pass, product and zone.
fn rates(report: &Report<'_>) -> OutputFile {
    let mut header = texts(&[
        "pass",
        "pass_name",
        "product",
        "follows",
        "number",
        "area_ac",
        "kept_off_ac",
        "rate",
        "unit",
        "rate_wanted",
        "product_lb_ac",
    ]);
    header.extend(Supply::ALL.map(|supply| format!("{}_lb_ac", supply.name().to_lowercase())));
    header.extend(texts(&["product_total_lb", "why"]));
    let rows = report.plan.passes.iter().flat_map(|plan| plan.rates.iter().map(move |rate| (plan, rate)));
    let row = |(plan, rate): (&PassPlan, &ZoneRate)| {
        let mut row = vec![
            plan.number.to_string(),
            plan.pass.name.clone(),
            plan.product.name.clone(),
            report.plan.ground_of(plan).word().to_owned(),
            rate.zone.to_string(),
            figure(Some(rate.area_ac), 2),
            figure(Some(rate.kept_off_ac), 2),
            figure(Some(rate.rate), 2),
            plan.unit().name().to_owned(),
            figure(Some(rate.wanted), 3),
            figure(Some(rate.product_lb_ac), 2),
        ];
        row.extend(Supply::ALL.map(|supply| {
            let brought = rate.brings_lb_ac.iter().find(|(of, _)| *of == supply).map(|(_, lb_ac)| *lb_ac);
            figure(brought, 1)
        }));
        row.extend([figure(Some(rate.total_lb), 1), rate.why.clone()]);
        row
    };
    table("rates", &header, rows.map(row).collect())
}

/// The zoned programme beside the flat one, product by product.
fn against_flat(comparison: &Comparison) -> OutputFile {
    let header = texts(&["product", "flat_rate", "flat_is", "flat_lb", "zoned_lb", "flat_usd", "zoned_usd"]);
    let mut rows: Vec<Vec<String>> = comparison
        .products
        .iter()
        .map(|line| {
            vec![
                line.name.clone(),
                figure(Some(line.flat_rate), 3),
                if line.flat_is_stated { "stated" } else { "mean of the zoned rates" }.to_owned(),
                figure(Some(line.flat_lb), 0),
                figure(Some(line.zoned_lb), 0),
                figure(line.flat_usd, 2),
                figure(line.zoned_usd, 2),
            ]
        })
        .collect();
    let money = |name: &str, flat: Option<f64>, zoned: Option<f64>| {
        let mut row = vec![name.to_owned()];
        row.extend(std::iter::repeat_n(String::new(), 4));
        row.extend([figure(flat, 2), figure(zoned, 2)]);
        row
    };
    rows.push(money("trips", Some(comparison.trips.flat_usd), Some(comparison.trips.zoned_usd)));
    rows.push(money("sampling for zones", None, comparison.sampling_usd));
    rows.push(money("saved by zones", None, comparison.saved_usd));
    table("against_flat", &header, rows)
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
