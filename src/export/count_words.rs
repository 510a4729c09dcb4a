//! What each number of zones comes to, in words and as a table.

use std::fmt::Write as _;

use super::Report;
use super::rate_units::PrintedUnit;
use crate::rates::{CountConsequence, RateChange};
use crate::units::{M2_PER_ACRE, thousands};
use crate::zones::{FittedLabels, Lack, VerdictRow};

/// Sentences under the small outline of a number of zones.
pub(crate) fn panel_words(
    report: &Report<'_>,
    consequence: &CountConsequence,
    row: Option<&VerdictRow>,
) -> Vec<String> {
    let mut words = Vec::new();
    if let Some(taken_out) = row.and_then(|row| row.variance_reduction_percent).filter(|_| consequence.count > 1) {
        words.push(format!("Takes out {taken_out:.0} % of the spread in {}.", spread_of(report)));
    }
    match (&consequence.change, consequence.product_usd) {
        (Some(change), _) if change.changed_ac == 0.0 => {
            words.push(format!("Against {}: no rate moves.", zones(change.against)));
        }
        (Some(change), _) => {
            let money = change.more_usd.map_or(String::new(), |usd| format!("; {}", money(usd)));
            words.push(format!(
                "Against {}: rates move by up to {} on {}{money}.",
                zones(change.against),
                change_text(report, &change.most),
                report.area_text(change.changed_ac * M2_PER_ACRE)
            ));
        }
        (None, Some(usd)) => words.push(format!("One rate: ${} of product.", thousands(usd, 0))),
        (None, None) => {}
    }
    words
}

/// The table of 1 to 6 zones by what they change, at most 80 columns.
pub(super) fn count_table(report: &Report<'_>) -> String {
    let Some(zones) = report.zones else { return String::new() };
    let has_rates = report.consequences.iter().any(|consequence| consequence.change.is_some());
    let mut text = String::from("How many kinds of ground?\n");
    text += "  zones  spread out  told better";
    text += if has_rates { "  rates move by    on        product\n" } else { "\n" };
    for consequence in report.consequences {
        let row = zones.verdict().row(consequence.count);
        let percent = |share: Option<f64>| share.map_or("-".to_owned(), |share| format!("{share:.0} %"));
        let out = percent(row.and_then(|row| row.variance_reduction_percent).filter(|_| consequence.count > 1));
        let told = match row.and_then(|row| row.efficiency.zip(row.standard_error)) {
            Some((told, error)) if consequence.count > 1 => format!("{:.0} +- {:.0} %", 100.0 * told, 100.0 * error),
            _ => "-".to_owned(),
        };
        let _ = write!(text, "  {:>5}  {out:>10}  {told:>11}", consequence.count);
        if has_rates {
            let (most, on, usd) = match &consequence.change {
                Some(change) => (
                    PrintedUnit::of(report.units(), change.most.unit).rate_text(change.most.rate),
                    report.area_text(change.changed_ac * M2_PER_ACRE),
                    change.more_usd.map_or("-".to_owned(), money),
                ),
                None => (
                    "-".to_owned(),
                    "-".to_owned(),
                    consequence.product_usd.map_or("-".to_owned(), |usd| format!("${}", thousands(usd, 0))),
                ),
            };
            let _ = write!(text, "  {most:>13}  {on:>8}  {usd:>9}");
        }
        let chosen = if consequence.count == zones.verdict().drawn { " *" } else { "" };
        let _ = writeln!(text, "{chosen}");
    }
    text += "  * drawn\n";
    text
}

/// What one zone more would change: whether a further border is worth it.
pub(super) fn one_more(report: &Report<'_>) -> Option<String> {
    let drawn = report.zones?.verdict().drawn;
    let change = report.consequences.iter().find(|consequence| consequence.count == drawn + 1)?.change.as_ref()?;
    let next = ["second", "third", "fourth", "fifth", "sixth"].get(drawn.checked_sub(1)?)?;
    Some(match change.changed_ac {
        0.0 => format!("A {next} zone would move no rate."),
        ac => format!(
            "A {next} zone would move rates by up to {} on {}.",
            change_text(report, &change.most),
            report.area_text(ac * M2_PER_ACRE)
        ),
    })
}

/// How much ground changed zone so that a machine can follow.
pub(crate) fn machine_fit(report: &Report<'_>) -> Option<String> {
    let own = report.plan.grounds.iter().filter_map(|ground| ground.own.as_ref());
    let told = std::iter::once((report.fitted, "zone"))
        .chain(own.map(|own| (Some(&own.fitted), "class")))
        .filter_map(|(fitted, ground)| fit_sentence(report, fitted?, ground));
    let told: Vec<String> = told.collect();
    (!told.is_empty()).then(|| told.join(" "))
}

fn fit_sentence(report: &Report<'_>, fitted: &FittedLabels, ground: &str) -> Option<String> {
    if fitted.n_changed == 0 && fitted.n_without_neighbor == 0 {
        return None;
    }
    let reasons: Vec<String> = fitted
        .moves
        .iter()
        .map(|moves| {
            let patches = if moves.n_patches == 1 { "patch" } else { "patches" };
            let lack = match moves.lack {
                Lack::Area => "too small",
                Lack::Width => "too narrow",
                Lack::Length => "too short",
            };
            format!("{} {patches} {lack}", moves.n_patches)
        })
        .collect();
    let mut words = String::new();
    if fitted.n_changed > 0 {
        let area = report.area_text(fitted.changed_share * report.area_m2());
        words = format!("{area} changed {ground} so that a machine can follow: {}.", reasons.join(", "));
    }
    if fitted.n_without_neighbor > 0 {
        let n = fitted.n_without_neighbor;
        let stay = if n == 1 { "patch it cannot follow stays" } else { "patches it cannot follow stay" };
        words += &format!(" {n} {stay}: no other {ground} lies beside.");
    }
    Some(words.trim_start().to_owned())
}

/// What the zones are ordered by.
pub(super) fn spread_of(report: &Report<'_>) -> &'static str {
    let has_cec = report.surfaces.quality_of(crate::soil_surface::Variable::Cec).is_some();
    if has_cec { "CEC" } else { "what they are drawn from" }
}

fn zones(count: usize) -> String {
    if count == 1 { "one rate".to_owned() } else { format!("{count} zones") }
}

fn money(usd: f64) -> String {
    if usd.abs() < 0.5 {
        return "the same".to_owned();
    }
    let sign = if usd < 0.0 { "less" } else { "more" };
    format!("${} {sign}", thousands(usd.abs(), 0))
}

/// "95 lb/ac of Potash 0-0-60".
fn change_text(report: &Report<'_>, change: &RateChange) -> String {
    format!("{} of {}", PrintedUnit::of(report.units(), change.unit).rate_text(change.rate), change.product)
}
