//! What goes where, when, and why.

use super::{Told, plain};
use crate::export::count_words;
use crate::export::driven_lines::pass_words;
use crate::export::figure::dot_ruler::{Ruler, dot_rulers};
use crate::export::in_units::InUnits;
use crate::export::page::{Block, Line, Table};
use crate::export::rate_units::PrintedUnit;
use crate::rates::Supply;
use crate::rates::rate_plan::{FedGround, PassPlan, RateGround};

/// Published trials of giving potash in parts. Sources: agronomy notes on Parker, Hendricks and Sparks (Delaware) \[R]
/// and on alfalfa in Wisconsin \[R].
const SPLITTING: &str = "Giving potash in parts has not raised yield in the two published trials we know (Parker, Hendricks and \
                         Sparks on the Delaware coastal plain; alfalfa in Wisconsin). It is done here only so that no pass \
                         brings more than the limit in the field file, which is a rule of thumb.";

pub(super) fn blocks(told: &Told<'_>) -> Vec<Block> {
    let plan = &told.report.plan;
    let mut blocks = Vec::new();
    blocks.extend(rulers(told));
    if !plan.has_rates() {
        for (ground, fed) in fed_grounds(&plan.grounds) {
            let words: Vec<String> =
                fed.needs.iter().map(|need| format!("{}: {}.", need.supply.name(), need.why())).collect();
            if !words.is_empty() {
                let name = InUnits::same(format!("{} {}:", super::sentence(ground.word()), fed.zone));
                blocks.push(Block::Lines(vec![Line { id: None, name, words: InUnits::same(words.join(" ")) }]));
            }
        }
        if !blocks.is_empty() {
            blocks.push(plain("No rate file: it needs products, passes and a machine in the field file."));
        }
        return blocks;
    }
    blocks.push(plain(
        "Rates are of product as spread, not of nutrient. Reasons are told in the units of the guides: pounds of nutrient an \
         acre, ppm of soil.",
    ));
    blocks.extend(overview(told));
    for (index, pass) in plan.passes.iter().enumerate() {
        blocks.extend(pass_blocks(told, index, pass));
    }
    blocks.push(Block::Lines(left_over(told)));
    blocks.extend(plan.notes.iter().map(|note| plain(super::quoted(note))));
    if is_potash_split(plan.passes.as_slice()) {
        blocks.push(plain(SPLITTING));
    }
    if count_words::one_more(told.report).is_some() {
        blocks.push(Block::Sure(told.both.told(|report| count_words::one_more(report).unwrap_or_default())));
    }
    blocks
}

/// All passes in one table, where all their rates follow the zones.
pub(super) fn overview(told: &Told<'_>) -> Option<Block> {
    let plan = &told.report.plan;
    let n_zones = plan.passes.first()?.rates.len();
    let follow_zones = |pass: &PassPlan| plan.ground_of(pass).own.is_none() && pass.rates.len() == n_zones;
    if !plan.passes.iter().all(follow_zones) {
        return None;
    }
    let row = |pass: &PassPlan| {
        let name = InUnits::of(|units| {
            let printed = PrintedUnit::of(units, pass.unit());
            format!("{} {}, {}", pass.number, pass.product.name, printed.rate)
        });
        let rates = pass
            .rates
            .iter()
            .map(|rate| InUnits::of(|units| PrintedUnit::of(units, pass.unit()).rate_figure(rate.rate)));
        std::iter::once(name).chain(rates).collect()
    };
    let zones = (1..=n_zones).map(|zone| InUnits::same(format!("zone {zone}")));
    Some(Block::Table(Table {
        caption: InUnits::same("What goes where, by pass: product, not nutrient"),
        head: std::iter::once(InUnits::same("pass, product")).chain(zones).collect(),
        rows: plan.passes.iter().map(row).collect(),
        has_sum: false,
    }))
}

fn fed_grounds(grounds: &[RateGround]) -> impl Iterator<Item = (&RateGround, &FedGround)> {
    grounds.iter().flat_map(|ground| ground.fed.iter().map(move |fed| (ground, fed)))
}

/// Soil tests against the levels of the guide.
fn rulers(told: &Told<'_>) -> Vec<Block> {
    let mut blocks = Vec::new();
    for (supply, symbol) in [(Supply::K2o, "K"), (Supply::P2o5, "P")] {
        let rulers: Vec<Ruler> = fed_grounds(&told.report.plan.grounds)
            .flat_map(|(ground, fed)| fed.needs.iter().map(move |need| (ground, need)))
            .filter(|(_, need)| need.supply == supply)
            .filter_map(|(ground, need)| {
                let (test_ppm, critical_ppm) = (need.test_ppm?, need.critical_ppm?);
                let toss = if need.is_coin_toss() { ", near a coin toss" } else { "" };
                Some(Ruler {
                    words: InUnits::same(format!(
                        "{} {}: {symbol} {test_ppm:.0} ppm{toss}",
                        super::sentence(ground.word()),
                        need.zone
                    )),
                    value: test_ppm,
                    error: need.error_ppm,
                    tick: (critical_ppm, format!("level {critical_ppm:.0}")),
                })
            })
            .collect();
        if !rulers.is_empty() {
            let alt = InUnits::same(format!("Soil test {symbol} of each zone against the guide's critical level"));
            blocks.push(Block::Figure {
                caption: InUnits::same(format!(
                    "Soil test {symbol}: the dot is the zone, the tick the level below which the guide feeds more"
                )),
                drawings: vec![dot_rulers(&rulers, alt, told.lettering)],
            });
        }
    }
    if !blocks.is_empty() {
        blocks.push(Block::Sure(InUnits::same(
            "the thick line is give or take, a lower bound: the error of the mean over the zone, not that of the lab.",
        )));
    }
    blocks
}

fn pass_blocks(told: &Told<'_>, index: usize, pass: &PassPlan) -> Vec<Block> {
    let window = pass.pass.window.as_ref().map_or(String::new(), |window| format!(", {window}"));
    let head = format!("Pass {}. {}{window}: {}", pass.number, pass.pass.name, pass.product.name);
    let id = format!("pass-{}-{}", pass.number, pass.product.short.to_lowercase());
    let alt = format!("Map of the rates of pass {}, {}", pass.number, pass.product.name);
    let caption = InUnits::of(|units| {
        let printed = PrintedUnit::of(units, pass.unit());
        format!("Map {}. {} of {}", 3 + index, printed.rate, pass.product.name)
    });
    let mut blocks = vec![
        Block::Heading(InUnits::same(head)),
        Block::Figure { caption, drawings: told.drawn.rates((&id, &alt), pass) },
    ];
    let ground = told.report.plan.ground_of(pass).word();
    let lines = pass.rates.iter().map(|rate| {
        let words = InUnits::of(|units| {
            let printed = PrintedUnit::of(units, pass.unit());
            let why = if rate.why.is_empty() { String::new() } else { format!(" Why: {}.", rate.why) };
            match rate.rate {
                0.0 => format!("0.{why}"),
                value => format!("{} of {}.{why}", printed.rate_text(value), pass.product.name),
            }
        });
        let name = InUnits::same(format!("{} {}:", super::sentence(ground), rate.zone));
        Line { id: Some(format!("{id}-zone-{}", rate.zone)), name, words }
    });
    blocks.push(Block::Lines(lines.collect()));
    let driven = |report: &crate::export::Report<'_>| {
        let driven = report.as_driven?.of(pass)?;
        Some(pass_words(report, driven, pass))
    };
    blocks.push(Block::Words(told.both.told(|report| {
        let printed = PrintedUnit::of(report.units(), pass.unit());
        let off = match pass.kept_off.is_empty() {
            true => String::new(),
            false => format!(" Kept off: {}.", pass.kept_off.join("; ")),
        };
        format!("In all {}.{off}", printed.total_text(pass.total()))
    })));
    if driven(told.report).is_some() {
        blocks.push(Block::Sure(told.both.told(|report| {
            let words = driven(report).unwrap_or_default();
            let words = words.split_once(": ").map_or(words.as_str(), |(_, rest)| rest);
            format!("as this machine drives, by a simulation: {words}")
        })));
    }
    blocks
}

fn left_over(told: &Told<'_>) -> Vec<Line> {
    let mut lines = Vec::new();
    for (ground, fed) in fed_grounds(&told.report.plan.grounds) {
        let Some(season) = &fed.season else { continue };
        for left in &season.left_over {
            lines.push(Line {
                id: None,
                name: InUnits::same(format!("Left over, {} {}:", ground.word(), fed.zone)),
                words: InUnits::same(super::quoted(&format!("{}: {}.", season.left_over_text(left), left.why))),
            });
        }
    }
    if lines.is_empty() {
        lines.push(Line { id: None, name: InUnits::same("Left over:"), words: InUnits::same("nothing.") });
    }
    lines
}

/// Whether a zone gets potash in more than one pass.
fn is_potash_split(plans: &[PassPlan]) -> bool {
    let potash = || plans.iter().filter(|plan| plan.product.bought_for() == Some(Supply::K2o));
    let n_of = |zone: usize| {
        potash().filter(|plan| plan.rates.iter().any(|rate| rate.zone == zone && rate.rate > 0.0)).count()
    };
    potash().flat_map(|plan| &plan.rates).any(|rate| n_of(rate.zone) > 1)
}
