//! Guides in words: the list, and a page for each. At most 80 columns.

use super::nutrient_rule::{BuildUp, Critical, NutrientRule};
use super::{Evidence, Guide, LimeForm, LimeRule};
use crate::rates::{Crop, Supply};

/// Columns of a line.
const WIDTH: usize = 80;
/// Where the text of a row starts.
const INDENT: usize = 18;

/// All built-in guides, three or four lines each.
pub fn list() -> String {
    let mut text = String::new();
    for guide in Guide::built_in() {
        let year = guide.year.map_or_else(|| "year not seen".to_owned(), |year| year.to_string());
        text += &format!("{}\n", guide.name);
        text += &wrapped(&format!("  {}; {}; {year}", supplies(guide), guide.region.join(", ")), 2);
        text += &wrapped(&format!("  {}", tests(guide)), 2);
        text += &wrapped(&format!("  {} {}", guide.citation, tag_text(&all_tags(guide))), 2);
        text.push('\n');
    }
    text += &tag_line();
    text += "One page: holdground guides NAME. Your own: holdground guides my-guide.toml\n";
    text
}

/// All of one guide: figures, what stands behind them, what it refuses.
pub fn page(guide: &Guide) -> String {
    let year = guide.year.map_or_else(|| "year not seen".to_owned(), |year| year.to_string());
    let mut text = format!("{}\n", guide.name);
    text += &wrapped(&guide.title, 0);
    // "Univ." brings its own point.
    text += &wrapped(&format!("{}, {year}. {}.", guide.authors, guide.publisher.trim_end_matches('.')), 0);
    text += "\n";
    text += &row("Cited as", &guide.citation);
    text += &row("Region", &guide.region.join(", "));
    for (supply, name) in [(Supply::K2o, "Potassium"), (Supply::P2o5, "Phosphorus")] {
        if let Some(rule) = guide.nutrient(supply) {
            text += &format!("\n{name}, lb {} an acre for one crop-year\n", supply.name());
            text += &nutrient(rule, supply);
        }
    }
    if !guide.removal.is_empty() {
        text += "\nRemoval by the crop\n";
        text += &removal(guide);
    }
    if let Some(lime) = &guide.lime {
        text += &lime_page(lime);
    }
    text += "\nRefuses\n";
    for reason in refuses(guide) {
        text += &wrapped(&format!("  {reason}"), 4);
    }
    if !guide.notes.is_empty() {
        text += "\nNotes\n";
        for note in &guide.notes {
            text += &wrapped(&format!("  {note}"), 4);
        }
    }
    text += "\n";
    text += &tag_line();
    text += &wrapped(
        "A recommendation, not a guarantee: ask the local extension service or a certified adviser; local rules govern.",
        0,
    );
    text
}

fn supplies(guide: &Guide) -> String {
    let all = [(guide.k.is_some(), "K"), (guide.p.is_some(), "P"), (guide.lime.is_some(), "lime")];
    let mut names: Vec<&str> = all.iter().filter(|(is, _)| *is).map(|(_, name)| *name).collect();
    if !guide.removal.is_empty() {
        names.push("removal");
    }
    names.join(", ")
}

/// Soil tests and depths, on one line.
fn tests(guide: &Guide) -> String {
    let mut parts = Vec::new();
    for (name, rule) in [("K", &guide.k), ("P", &guide.p)] {
        let Some(rule) = rule else { continue };
        let [least, most] = rule.depth_bottom_in;
        parts.push(format!("{name} by {}, cores 0 to {least} .. {most} in", extractants(rule)));
    }
    if let Some(lime) = &guide.lime {
        parts.push(format!("lime by {}, for {} in", readings(lime), lime.depth_in));
    }
    parts.join("; ")
}

fn extractants(rule: &NutrientRule) -> String {
    rule.extractants.iter().map(|method| method.name()).collect::<Vec<_>>().join(" or ")
}

fn readings(lime: &LimeRule) -> String {
    let mut all = Vec::new();
    if !lime.acidity_methods.is_empty() {
        all.push(format!("printed acidity ({})", lime.acidity_unit()));
    }
    all.extend(lime.buffers.iter().map(|buffer| format!("{} buffer pH", buffer.name())));
    all.join(" or ")
}

/// Every tag of a guide once, in the order of [`Evidence::ALL`].
fn all_tags(guide: &Guide) -> Vec<Evidence> {
    let nutrients = [&guide.k, &guide.p].into_iter().flatten().flat_map(NutrientRule::backings).cloned();
    let lime = guide.lime.iter().flat_map(LimeRule::backings);
    let removal = guide.removal.iter().map(|removal| removal.backing.clone());
    let used: Vec<Evidence> = nutrients.chain(lime).chain(removal).flat_map(|backing| backing.tags).collect();
    Evidence::ALL.into_iter().filter(|evidence| used.contains(evidence)).collect()
}

fn tag_text(tags: &[Evidence]) -> String {
    format!("[{}]", tags.iter().map(|evidence| evidence.tag()).collect::<Vec<_>>().join(", "))
}

fn tag_line() -> String {
    let tags: Vec<String> =
        Evidence::ALL.iter().map(|evidence| format!("{} {}", evidence.tag(), evidence.words())).collect();
    wrapped(&format!("Tags: {}.", tags.join(", ")), 2)
}

fn nutrient(rule: &NutrientRule, supply: Supply) -> String {
    let [least, most] = rule.depth_bottom_in;
    let backed = |text: String, backing: &super::Backing| match &backing.source {
        Some(source) => format!("{text} {} {source}", backing.text()),
        None => format!("{text} {}", backing.text()),
    };
    let mut text = row("Crops", &rule.crops.iter().map(|crop| crop.name()).collect::<Vec<_>>().join(", "));
    text += &row("Soil test", &format!("{}, ppm by mass, cores from 0 to {least} .. {most} in", extractants(rule)));
    if rule.needs_cec() {
        let methods: Vec<&str> = rule.cec_methods.iter().map(|method| method.name()).collect();
        text += &row("CEC", &methods.join(" or "));
    }
    text += &row("Critical level", &backed(critical(&rule.critical.value), &rule.critical.backing));
    text += &row("Below it", &backed(build_up(&rule.build_up.value), &rule.build_up.backing));
    if let Some(width) = &rule.maintenance_ppm {
        text += &row("Maintenance", &backed(format!("up to {} ppm above it", width.value), &width.backing));
    }
    text += &match &rule.draw_down_ppm {
        Some(width) => row("Draw-down", &backed(format!("over {} ppm more, evenly to 0", width.value), &width.backing)),
        None => row("Draw-down", "none: 0 from the end of the maintenance range on"),
    };
    let added = rule.added_lb_ac.as_ref();
    text += &match added {
        Some(added) => row("Kept up with", &backed(format!("removal + {} lb", added.value), &added.backing)),
        None => row("Kept up with", "removal"),
    };
    if let Some(most) = &rule.most_lb_ac {
        let all: Vec<String> = most.value.iter().map(|(crop, most)| format!("{} {most} lb", crop.name())).collect();
        text += &row("Most a year", &backed(all.join(", "), &most.backing));
    }
    if let Some(ceiling) = &rule.ceiling_ppm {
        let what = format!("no {} from {} ppm on", supply.name(), ceiling.value);
        text += &row("Ceiling", &backed(what, &ceiling.backing));
    }
    text
}

fn critical(critical: &Critical) -> String {
    match critical {
        Critical::Linear { base_ppm, per_cec_ppm } => format!("{base_ppm} + {per_cec_ppm} x CEC, ppm"),
        Critical::Steps(steps) => {
            let step = |step: &super::CriticalStep| {
                let to = step.to_cec.map_or_else(|| "above".to_owned(), |to| format!("CEC up to {to}"));
                format!("{to}: {} ppm, maintenance to {} ppm", step.critical_ppm, step.maintenance_to_ppm)
            };
            steps.iter().map(step).collect::<Vec<_>>().join("; ")
        }
        Critical::ByCrop { levels, highest_of_rotation } => {
            let all: Vec<String> = levels.iter().map(|(crop, ppm)| format!("{} {ppm}", crop.name())).collect();
            let rotation = if *highest_of_rotation { "; the highest of the rotation" } else { "" };
            format!("{} ppm{rotation}", all.join(", "))
        }
    }
}

fn build_up(build_up: &BuildUp) -> String {
    match build_up {
        BuildUp::Linear { lb_ppm_year, lb_ppm_year_per_cec, years } => {
            let factor = if *lb_ppm_year_per_cec == 0.0 {
                format!("{lb_ppm_year}")
            } else {
                format!("({lb_ppm_year} + {lb_ppm_year_per_cec} x CEC)")
            };
            format!("(level - test) x {factor} lb a year, for {years} years, and what keeps it up")
        }
        BuildUp::SquareRoot { lb_per_root, lb_ac_per_ppm, years } => format!(
            "{lb_per_root} x (root of level - root of test) / {years} lb a year, levels in lb/ac = {lb_ac_per_ppm} x ppm, \
             and what keeps it up"
        ),
    }
}

fn removal(guide: &Guide) -> String {
    let mut text = String::new();
    for removal in &guide.removal {
        let figures = [(removal.p2o5_lb, "P2O5"), (removal.k2o_lb, "K2O")];
        let figures: Vec<String> =
            figures.iter().filter_map(|(lb, name)| lb.map(|lb| format!("{lb} lb {name}"))).collect();
        let crop: Crop = removal.crop;
        let source = removal.backing.source.as_deref().unwrap_or_default();
        let told = format!("{} a {} {} {source}", figures.join(", "), crop.yield_unit(), removal.backing.text());
        text += &row(crop.name(), told.trim_end());
    }
    text
}

fn lime_page(lime: &LimeRule) -> String {
    let mut text = format!("\nLime, short tons an acre of {}\n", lime.basis.words());
    text += &row("Stated in", &format!("{} {}", lime.basis.name(), tag_text(&lime.basis_tags)));
    text += &row("Depth", &format!("{} in, scaled to the depth limed {}", lime.depth_in, tag_text(&lime.depth_tags)));
    text += &row("Reads", &format!("pH in water and {}", readings(lime)));
    let backing = &lime.form.backing;
    let source = backing.source.as_deref().unwrap_or_default();
    let rule = match &lime.form.value {
        LimeForm::Table(table) => {
            format!("table below, straight lines between cells; {} cells", table.rows.len() * table.target_ph.len())
        }
        LimeForm::AcidityShare { reference_ph, short_ton_per_meq } => {
            let factor = if *short_ton_per_meq == 1.0 { String::new() } else { format!("{short_ton_per_meq} x ") };
            format!("{factor}acidity x (target - pH) / ({reference_ph} - pH), targets up to {reference_ph}")
        }
        LimeForm::AciditySteps(targets) => {
            let target = |target: &super::AcidityTarget| {
                let below = target.below.map_or_else(String::new, |(from, lb)| {
                    format!(", but {lb} lb below an acidity of {from} while pH lies below {:.1}", target.ph)
                });
                format!("to pH {:.1}: {} lb for each meq{below}", target.ph, target.lb_per_meq)
            };
            targets.iter().map(target).collect::<Vec<_>>().join("; ")
        }
    };
    text += &row("Rule", format!("{rule} {} {source}", backing.text()).trim_end());
    if let Some(credit) = &lime.credit {
        let figures = &credit.value;
        text += &row(
            "Earlier lime",
            &format!(
                "counts as still to come: {} % less a month, on organic soil {} %, up to {} months {}",
                figures.percent_month_mineral,
                figures.percent_month_organic,
                figures.months,
                credit.backing.text()
            ),
        );
    }
    if let Some(magnesium) = &lime.magnesium {
        let levels = magnesium.value;
        let told = format!(
            "where Mg is below {} % of the CEC or below {} ppm, choose lime that brings it",
            levels.percent_of_cec, levels.ppm
        );
        text += &row("Magnesium", &format!("{told} {}", magnesium.backing.text()));
    }
    if let LimeForm::Table(table) = &lime.form.value {
        text += "\n  buffer pH  to pH";
        text += &table.target_ph.iter().map(|ph| format!("{ph:>7.1}")).collect::<String>();
        text += "\n";
        for (buffer_ph, amounts) in &table.rows {
            let amounts: String = amounts.iter().map(|amount| format!("{amount:>7.1}")).collect();
            text += &format!("  {buffer_ph:>9.1}       {amounts}\n");
        }
    }
    text
}

/// What the guide gives no figure for.
fn refuses(guide: &Guide) -> Vec<String> {
    let mut all = Vec::new();
    if let Some(rule) = guide.k.as_ref().or(guide.p.as_ref()) {
        let [least, most] = rule.depth_bottom_in;
        all.push("another soil test than the one named; none is converted".to_owned());
        all.push(format!("cores that do not go from the surface to {least} .. {most} in; sheets by volume of soil"));
    }
    if guide.k.as_ref().is_some_and(NutrientRule::needs_cec) {
        all.push("effective CEC, or none".to_owned());
    }
    if let Some(lime) = &guide.lime {
        all.push("lime without pH in water; another buffer or acidity than named".to_owned());
        all.push(match &lime.form.value {
            LimeForm::Table(table) => {
                let ([b_least, b_most], [t_least, t_most]) = (table.buffer_window(), table.target_window());
                format!("buffer pH outside {b_least:.1} to {b_most:.1}, targets outside {t_least:.1} to {t_most:.1}: no number, never 0")
            }
            LimeForm::AcidityShare { reference_ph, .. } => format!("targets above pH {reference_ph}"),
            LimeForm::AciditySteps(_) => "targets it does not name".to_owned(),
        });
        all.push("to divide its tons by a lime quality of another scheme, unless you say how it counts".to_owned());
    }
    all
}

fn row(name: &str, text: &str) -> String {
    wrapped(&format!("  {name:<width$}{text}", width = INDENT - 2), INDENT)
}

/// Lines of at most [`WIDTH`] columns; those after the first start `indent` columns in. Spaces at the start are kept.
fn wrapped(text: &str, indent: usize) -> String {
    let body = text.trim_start();
    let mut line = " ".repeat(text.len() - body.len());
    let mut lines = String::new();
    for (index, word) in body.split(' ').enumerate() {
        if index > 0 && line.trim_end().chars().count() + 1 + word.chars().count() > WIDTH {
            lines += &format!("{}\n", line.trim_end());
            line = " ".repeat(indent);
        }
        line += word;
        line.push(' ');
    }
    lines + &format!("{}\n", line.trim_end())
}
