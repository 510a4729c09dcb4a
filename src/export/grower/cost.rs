//! What it costs against one flat rate; a loss is shown as a loss.

use super::{Told, plain};
use crate::export::in_units::InUnits;
use crate::export::page::{Block, Table};
use crate::export::rate_lines::{fed_words, headline, past_limit_words, signed_usd, trip_words};
use crate::export::rate_units::PrintedUnit;
use crate::rates::comparison::{Comparison, CostLine, CostOf};
use crate::units::thousands;

pub(super) fn blocks(told: &Told<'_>) -> Vec<Block> {
    let Some(comparison) = &told.report.plan.comparison else {
        return match told.report.plan.has_rates() {
            true => vec![plain("No flat rate to compare with is stated in the field file.")],
            false => Vec::new(),
        };
    };
    let mut blocks = vec![Block::Words(told.both.told(|report| headline(report, comparison)))];
    blocks.extend(overview(told));
    blocks.push(Block::Words(told.both.told(|report| {
        let rates: Vec<String> = comparison
            .products
            .iter()
            .filter_map(|line| {
                let product = report.field_file.rates.products.iter().find(|product| product.short == line.short)?;
                let printed = PrintedUnit::of(report.units(), product.rate_unit());
                let mean = if line.flat_is_stated { "" } else { "the mean, " };
                Some(format!("{} {mean}{}", line.name, printed.rate_text(line.flat_rate)))
            })
            .collect();
        format!("Flat rates: {}.", rates.join("; "))
    })));
    blocks.push(plain(trip_words(comparison)));
    for fed in &comparison.fed {
        blocks.push(Block::Words(told.both.told(|report| fed_words(report, fed))));
    }
    if let Some(words) = past_limit_words(comparison) {
        blocks.push(plain(words));
    }
    let unlike = told.unlike_inside();
    let sure = "the flat rates stand as typed in the field file, prices as stated there";
    blocks.push(Block::Sure(InUnits::same(match unlike.is_empty() {
        true => format!("{sure}."),
        false => format!(
            "{sure}; and {}. A sum that leans on such ground is no measure of what zones are worth.",
            unlike.join("; ")
        ),
    })));
    blocks
}

/// The table alone.
pub(super) fn overview(told: &Told<'_>) -> Option<Block> {
    told.report.plan.comparison.as_ref().map(|comparison| Block::Table(table(told, comparison)))
}

fn table(told: &Told<'_>, comparison: &Comparison) -> Table {
    let usd = |usd: Option<f64>| usd.map_or("-".to_owned(), |usd| format!("${}", thousands(usd, 0)));
    let row = |line: &CostLine| {
        let difference = line.difference_usd().map_or("-".to_owned(), signed_usd);
        let name = if line.of == CostOf::Trips { "passes driven" } else { line.of.words() };
        [name.to_owned(), usd(line.flat_usd), usd(line.zoned_usd), difference].map(InUnits::same).to_vec()
    };
    let rows = comparison.cost_lines().iter().map(row).collect();
    let caption = told.both.told(|report| {
        let years = report.field_file.rates.years.len();
        match years {
            0 | 1 => "Cost of the season".to_owned(),
            n => format!("Cost of all {n} years covered"),
        }
    });
    let head = ["", "flat", "by zone", "difference"].map(InUnits::same).to_vec();
    Table { caption, head, rows, has_sum: true }
}
