//! What the ground gets as the machine drives it: lines of the summary, a table, and objects of the run record.

use serde_json::{Value, json};

use super::rate_units::PrintedUnit;
use super::run_record::round;
use super::summary::wrapped;
use super::tables::{figure, table, texts};
use super::{OutputFile, Report};
use crate::drive::{AsDriven, Course, GroundAsDriven, NOT_SIMULATED, PATTERN_TEST, PassAsDriven};
use crate::rates::rate_plan::PassPlan;
use crate::units::{M_PER_FOOT, UnitSystem};

/// Kilometers an hour in a meter a second.
const KM_H_PER_M_S: f64 = 3.6;
/// Miles an hour in a meter a second.
const MPH_PER_M_S: f64 = 3600.0 / (5280.0 * M_PER_FOOT);

/// Lines of the summary, under the passes; nothing where it is not stated how the machine drives.
pub(super) fn driven_lines(text: &mut String, report: &Report<'_>) {
    let Some(driven) = report.as_driven else { return };
    wrapped(text, &format!("As the machine drives it: {}.", course_words(report.units(), driven)), "  ");
    for (pass, plan) in driven.passes.iter().zip(&report.plan.passes) {
        wrapped(text, &pass_words(report, pass, plan), "    ");
    }
    wrapped(text, NOT_SIMULATED, "  ");
    wrapped(text, PATTERN_TEST, "  ");
    text.push('\n');
}

/// "60 ft swaths at 90 degrees, along the longest straight side, 12.0 mph, 3 s to 95 % of a new rate, ...".
fn course_words(units: UnitSystem, driven: &AsDriven) -> String {
    let Course { heading_deg, swath_m, speed_m_s, change } = driven.course;
    let (swath, speed) = match units {
        UnitSystem::Us => (format!("{:.0} ft", swath_m / M_PER_FOOT), format!("{:.1} mph", speed_m_s * MPH_PER_M_S)),
        UnitSystem::Si => (format!("{swath_m:.1} m"), format!("{:.1} km/h", speed_m_s * KM_H_PER_M_S)),
    };
    let heading = if driven.heading_is_stated { "as stated" } else { "along the longest straight side" };
    let ahead = match change.look_ahead_s {
        0.0 => "no look-ahead counted".to_owned(),
        s => format!("{s} s of look-ahead"),
    };
    format!(
        "{swath} swaths at {heading_deg:.0} degrees ({heading}), {speed}, {} s to 95 % of a new rate, {} s of dead time, {ahead}",
        change.change_s, change.delay_s
    )
}

/// "2 POT: 94 % of the ground within 10 % of its rate, least zone 1 with 88 %; 31,204 lb put down, 31,196 lb ordered."
pub(super) fn pass_words(report: &Report<'_>, pass: &PassAsDriven, plan: &PassPlan) -> String {
    let word = report.plan.ground_of(plan).word();
    let printed = PrintedUnit::of(report.units(), pass.unit);
    let percent = |share: Option<f64>| share.map_or("-".to_owned(), |share| format!("{:.0} %", 100.0 * share));
    let of_0 = match pass.treated().any(|ground| ground.ordered == 0.0) {
        true => " (where 0 is ordered: within 10 % of the least rate)",
        false => "",
    };
    let worst = match pass.worst() {
        Some(worst) if pass.treated().count() > 1 => {
            format!(", least {word} {} with {}", worst.zone, percent(worst.within_share))
        }
        _ => String::new(),
    };
    let kept_off = match pass.kept_off_total() {
        total if total * 1000.0 > pass.ordered_total() => {
            format!(", {} of it on ground kept off: close the gate by hand there", printed.total_text(total))
        }
        _ => String::new(),
    };
    format!(
        "{} {}: {} of the ground within 10 % of its rate{of_0}{worst}; {} put down for {} ordered{kept_off}.",
        pass.number,
        pass.product,
        percent(pass.within_share()),
        printed.total_text(pass.applied_total()),
        printed.total_text(pass.ordered_total()),
    )
}

/// `tables/as_driven.csv`; `None` where it is not stated how the machine drives.
pub(super) fn driven_table(report: &Report<'_>) -> Option<OutputFile> {
    let driven = report.as_driven?;
    let header = texts(&[
        "pass",
        "product",
        "follows",
        "zone_or_class",
        "kept_off",
        "area_ac",
        "unit",
        "rate_ordered",
        "mean_rate_driven",
        "within_10_percent_share_percent",
        "total_unit",
        "total_ordered",
        "total_driven",
    ]);
    let rows = driven.passes.iter().zip(&report.plan.passes).flat_map(|(pass, plan)| {
        pass.grounds.iter().map(move |ground| {
            vec![
                pass.number.to_string(),
                pass.product.clone(),
                report.plan.ground_of(plan).word().to_owned(),
                ground.zone.to_string(),
                if ground.is_kept_off { "yes" } else { "" }.to_owned(),
                figure(Some(ground.area_ac), 2),
                pass.unit.name().to_owned(),
                figure(Some(ground.ordered), 2),
                figure(ground.mean_applied, 3),
                figure(ground.within_share.map(|share| 100.0 * share), 1),
                pass.unit.total_name().to_owned(),
                figure(Some(ground.ordered * ground.area_ac), 2),
                figure(Some(ground.applied_total()), 2),
            ]
        })
    });
    Some(table("as_driven", &header, rows.collect()))
}

/// A pass as driven, for the run record; null where it is not stated how the machine drives.
pub(super) fn driven_record(report: &Report<'_>, plan: &PassPlan) -> Value {
    let Some(driven) = report.as_driven else { return Value::Null };
    let Some(pass) = driven.of(plan) else { return Value::Null };
    let Course { heading_deg, swath_m, speed_m_s, change } = driven.course;
    let ground = |ground: &GroundAsDriven| {
        json!({
            report.plan.ground_of(plan).word(): ground.zone,
            "kept_off": ground.is_kept_off,
            "rate": round(ground.ordered, 4),
            "mean_rate_driven": ground.mean_applied.map(|mean| round(mean, 4)),
            "within_10_percent_share": ground.within_share.map(|share| round(share, 4)),
        })
    };
    json!({
        "heading_deg": round(heading_deg, 3),
        "heading_from": if driven.heading_is_stated { "machine.heading_deg" } else { "the longest straight side" },
        "swath_m": round(swath_m, 4),
        "speed_m_s": round(speed_m_s, 4),
        "change_s": change.change_s,
        "delay_s": change.delay_s,
        "look_ahead_s": change.look_ahead_s,
        "within_10_percent_share": pass.within_share().map(|share| round(share, 4)),
        "where_0_is_ordered": "within 10 % of the least rate above 0",
        "total_ordered": round(pass.ordered_total(), 3),
        "total_driven": round(pass.applied_total(), 3),
        "total_on_kept_off_ground": round(pass.kept_off_total(), 3),
        "grounds": pass.grounds.iter().map(ground).collect::<Vec<_>>(),
        "not_simulated": NOT_SIMULATED,
        "pattern_test": { "limits": PATTERN_TEST, "cv_percent_measured": Value::Null },
    })
}
