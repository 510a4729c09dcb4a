//! The summary printed by `run`: what was found, in at most 80 columns, plain words, no color needed.

use std::fmt::Write as _;

use super::figure::unturned;
use super::{Report, count_words, rate_lines, sharing_lines};
use crate::chemistry::{Cation, NO_RATE_FROM_SHARES, SHARE_EVIDENCE};
use crate::field_file::{FieldFile, TaskSetPlace};
use crate::rates::rate_plan::PassPlan;
use crate::samples::Analyte;
use crate::soil_surface::Variable;
use crate::units::{M2_PER_ACRE, UnitSystem};
use crate::zones::{HoldingClass, ZoneMap};

pub(super) const WIDTH: usize = 80;

/// The summary. `out` is the result folder as typed.
pub fn summary(report: &Report<'_>, out: &str) -> String {
    let mut text = String::new();
    head(&mut text, report);
    if let Some(zones) = report.zones {
        zone_table(&mut text, report, zones);
        verdict(&mut text, report, zones);
    }
    map_quality(&mut text, report);
    let sharings = report.sharing();
    text.push_str(&sharing_lines(&sharings, &report.field_file.sharing, report.units()));
    if report.plan.has_rates() {
        rate_lines::pass_lines(&mut text, report);
        if let Some(comparison) = &report.plan.comparison {
            rate_lines::comparison_lines(&mut text, report, comparison);
        }
    } else {
        need_lines(&mut text, report);
    }
    // The lines on shares carry the evidence where they are there.
    if sharings.is_empty() && has_ratios(report) {
        wrapped(&mut text, &format!("{} {NO_RATE_FROM_SHARES}", SHARE_EVIDENCE.join(" ")), "");
    }
    foot(&mut text, report, out);
    unturned(&text)
}

fn head(text: &mut String, report: &Report<'_>) {
    let field = &report.field_file.field;
    let mut line = field.name.clone();
    let crops: Vec<&str> = report.field_file.rates.years.iter().filter_map(|year| Some(year.crop?.name())).collect();
    if let Some(season) = field.season.filter(|_| !crops.is_empty()) {
        line += &format!("   {} {season}", crops.join(", then "));
    }
    let line = format!("{line}   {}", report.samples_text());
    if line.chars().count() <= WIDTH {
        let _ = writeln!(text, "{line}");
    } else {
        wrapped(text, &line, "");
    }
    let holes = match report.boundary.n_holes() {
        0 => String::new(),
        1 => ", one hole left out".to_owned(),
        n => format!(", {n} holes left out"),
    };
    let parts = match report.boundary.n_parts() {
        1 => String::new(),
        n => format!(" of {n} parts"),
    };
    let most_kept_off = |pass: &&PassPlan| pass.kept_off.len();
    let kept_off = match report.plan.passes.iter().max_by_key(most_kept_off) {
        Some(pass) if !pass.kept_off.is_empty() => {
            let m2 = pass.rates.iter().map(|rate| rate.kept_off_ac).sum::<f64>() * M2_PER_ACRE;
            format!("; {} of it kept off ({})", report.area_text(m2), pass.kept_off.join("; "))
        }
        _ => String::new(),
    };
    let line = format!("{} inside the outline{parts}{holes}{kept_off}", report.area_text(report.area_m2()));
    wrapped(text, &line, "");
    wrapped(text, &format!("work plane {}", report.boundary.work_crs().name()), "");
    text.push('\n');
}

fn zone_table(text: &mut String, report: &Report<'_>, zones: &ZoneMap) {
    let area_head = match report.units() {
        UnitSystem::Us => "acres",
        UnitSystem::Si => "ha",
    };
    let columns = [
        ("CEC", Variable::Cec, 1),
        ("pH", Variable::Reading(Analyte::PhWater), 1),
        ("Ca %", Variable::Saturation(Cation::Ca), 0),
        ("Mg %", Variable::Saturation(Cation::Mg), 0),
        ("K %", Variable::Saturation(Cation::K), 1),
    ];
    let shown: Vec<_> = columns
        .into_iter()
        .filter(|(_, variable, _)| zones.zones().iter().any(|z| z.mean(*variable).is_some()))
        .collect();
    text.push_str("Where the ground holds least\n");
    let _ = write!(text, "  zone {area_head:>7}");
    for (name, _, _) in &shown {
        let _ = write!(text, " {name:>5}");
    }
    text.push('\n');
    for zone in zones.zones() {
        let area = report.area_text(report.zone_area_m2(zone));
        let figure = area.split(' ').next().unwrap_or("");
        let _ = write!(text, "  {:<4} {figure:>7}", zone.zone);
        for (_, variable, decimals) in &shown {
            match zone.mean(*variable) {
                Some(mean) => {
                    let _ = write!(text, " {mean:>5.decimals$}");
                }
                None => text.push_str("     -"),
            }
        }
        let mut words = zone.holding.map_or(String::new(), |holding| format!("   {}", holding.words()));
        if let Some(ca_mg) = zone.mean(Variable::CaMgSaturation).filter(|ca_mg| *ca_mg > 80.0) {
            words += &format!("; Ca + Mg take {ca_mg:.0} %");
        }
        let _ = writeln!(text, "{words}");
    }
}

fn verdict(text: &mut String, report: &Report<'_>, zones: &ZoneMap) {
    let what = count_words::spread_of(report);
    let count = zones.zones().len();
    let verdict = zones.verdict();
    let row = verdict.row(verdict.drawn);
    if let Some(taken_out) = row.and_then(|row| row.variance_reduction_percent).filter(|_| count > 1) {
        let told = match row.and_then(|row| row.efficiency) {
            Some(told) if told > 0.0 => {
                format!(
                    "By these zones a hidden sample is told {:.0} % better, in squares, than by the field mean.",
                    100.0 * told
                )
            }
            Some(_) => "By these zones a hidden sample is told no better than by the field mean.".to_owned(),
            None => "Whether they tell more than the field mean cannot be told from so few samples.".to_owned(),
        };
        let line =
            format!("{} zones take out {taken_out:.0} % of the spread in {what} on the map. {told}", capital(count));
        wrapped(text, &line, "  ");
    }
    let sentence = verdict.sentence();
    let mut letters = sentence.chars();
    let first = letters.next().map_or(String::new(), |letter| letter.to_uppercase().to_string());
    wrapped(text, &format!("{first}{}.", letters.as_str()), "  ");
    if let Some(words) = count_words::one_more(report) {
        wrapped(text, &words, "  ");
    }
    if let Some(words) = count_words::machine_fit(report) {
        wrapped(text, &words, "  ");
    }
    if report.field_file.zones.as_ref().is_some_and(|settings| settings.count.is_none()) && verdict.rows.len() > 2 {
        text.push_str(&count_words::count_table(report));
    }
}

fn capital(count: usize) -> &'static str {
    ["No", "One", "Two", "Three", "Four", "Five", "Six"].get(count).copied().unwrap_or("These")
}

fn map_quality(text: &mut String, report: &Report<'_>) {
    let Some(quality) = report.surfaces.quality_of(Variable::Cec).or(report.surfaces.quality.first()) else { return };
    let name = quality.variable.label();
    match quality.error {
        Some(error) => {
            let percent = error.prediction_efficiency_percent();
            let better = match percent {
                Some(percent) if percent > 0.0 => format!("better than the field mean by {percent:.0} % in squares"),
                Some(_) => "no better than the field mean: one rate is as good".to_owned(),
                None => "it does not vary".to_owned(),
            };
            let line = format!(
                "Each sample hidden in turn: {name} missed by {:.1} (field mean alone: {:.1}), {better}.",
                error.error_rmse, error.mean_rmse
            );
            wrapped(text, &line, "  ");
        }
        None => wrapped(text, &format!("How far {name} misses cannot be told from so few samples."), "  "),
    }
    let worse: Vec<String> = report
        .surfaces
        .quality
        .iter()
        .filter(|q| q.error.and_then(|e| e.prediction_efficiency_percent()).is_some_and(|percent| percent <= 0.0))
        .map(|q| q.variable.label().to_owned())
        .collect();
    if !worse.is_empty() {
        wrapped(text, &format!("Maps no better than the field mean: {}.", worse.join(", ")), "  ");
    }
    let beyond_m2 = report.surfaces.extrapolated_share() * report.area_m2();
    let line = format!("{} lie beyond the outermost samples: hatched on every map.", report.area_text(beyond_m2));
    wrapped(text, &line, "  ");
    text.push('\n');
}

fn need_lines(text: &mut String, report: &Report<'_>) {
    if report.plan.grounds.is_empty() {
        let line = match (report.zones, report.field_file.rates.needs.is_empty()) {
            (None, _) => "No zones and no rates: the field file has no answered `[zones]`, so this run ends with maps.",
            (_, true) => "No rates: `[need]` is not answered, so this run ends with zones.",
            (_, false) => "No rates: a guide lacks an answer, see the warning above.",
        };
        wrapped(text, line, "");
        return;
    }
    text.push_str("What is needed\n");
    for ground in &report.plan.grounds {
        for (fed, need) in ground.fed.iter().flat_map(|fed| fed.needs.iter().map(move |need| (fed, need))) {
            let line = format!("{} in {} {}: {}.", need.supply.name(), ground.word(), fed.zone, need.why());
            wrapped(text, &line, "  ");
        }
    }
    let line = match report.field_file.rates.has_means_to_spread() {
        true => "No rate file: nothing is to be spread.",
        false => "No rate file: it needs `[products]`, `[passes]` and `[machine]`.",
    };
    wrapped(text, line, "  ");
}

fn foot(text: &mut String, report: &Report<'_>, out: &str) {
    let open = open_text(report.field_file);
    if !open.is_empty() {
        wrapped(text, &open, "");
    }
    let n = report.warnings.iter().filter(|w| w.severity == crate::diagnostic::Severity::Warning).count();
    let count = match n {
        0 => String::new(),
        1 => "One warning, above. ".to_owned(),
        n => format!("{n} warnings, above. "),
    };
    if report.plan.has_rates() {
        wrapped(text, &format!("{count}{}", report.plan_holds().paragraph()), "");
    } else {
        wrapped(text, &format!("{count}Local rules and a certified adviser come before this sheet."), "");
    }
    let _ = writeln!(text, "To send     {out}/grower.pdf   (or grower.html, grower.png)");
    if report.plan.has_rates() {
        let folder = format!("{out}/{}", super::FOR_THE_CAB);
        let controller = &report.field_file.write.controller;
        let _ = writeln!(text, "To print    {out}/cab-sheets.pdf");
        if controller.iter().any(|format| format.is_task_set()) {
            let is_zip = report.field_file.write.task_set_place == TaskSetPlace::Zip;
            let _ = writeln!(text, "To copy     {folder}/TASKDATA{}", if is_zip { ".zip" } else { "" });
            let words = "audited: the planned rate at 10,000 places a layer, cells on borders aside";
            wrapped(text, words, "            ");
        }
        if controller.iter().any(|format| !format.is_task_set()) {
            let _ = writeln!(text, "To load     {folder}   read back and compared: same rates");
        }
    }
    let _ = writeln!(text, "To keep     {out}/run_record.json   (pictures for the desk: maps)");
}

fn has_ratios(report: &Report<'_>) -> bool {
    report.surfaces.quality.iter().any(|quality| matches!(quality.variable, Variable::Saturation(_)))
}

fn open_text(field_file: &FieldFile) -> String {
    let list = |keys: &[(usize, String)]| keys.iter().map(|(_, key)| format!("`{key}`")).collect::<Vec<_>>().join(", ");
    let mut text = String::new();
    if !field_file.open.is_empty() {
        text += &format!("Still to be answered: {}. ", list(&field_file.open));
    }
    if !field_file.unknown.is_empty() {
        text += &format!("Left out because unknown: {}.", list(&field_file.unknown));
    }
    text
}

/// Adds a paragraph wrapped at 80 columns, each line indented.
pub(super) fn wrapped(text: &mut String, paragraph: &str, indent: &str) {
    let mut line = String::new();
    for word in paragraph.split_whitespace() {
        if !line.is_empty() && indent.len() + line.chars().count() + 1 + word.chars().count() > WIDTH {
            let _ = writeln!(text, "{indent}{line}");
            line.clear();
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    if !line.is_empty() {
        let _ = writeln!(text, "{indent}{line}");
    }
}

/// Words for a holding class in a sentence about a zone; used by maps too.
pub(super) fn holding_words(holding: Option<HoldingClass>) -> &'static str {
    holding.map_or("", HoldingClass::words)
}
