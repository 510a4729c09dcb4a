//! `crop` and `goal_bu_ac`, or `crops`, of `[field]`: what is grown and the yield it is fed for.

use super::reader::{MISSING_KEY, Reader, Section, WRONG_VALUE, choice, wrong};
use crate::rates::{Crop, CropYear, GoalYield};

/// Most crop years of one plan: a soil test is not a plan for longer (sampling every three to four years is advised).
const MOST_YEARS: usize = 4;
/// Largest yield goal, bushels an acre: heuristic, above any yield reported of the crops known.
const MOST_BU_AC: f64 = 400.0;
/// Largest yield goal of a crop counted in short tons, short tons an acre: heuristic.
const MOST_SHORT_TON_AC: f64 = 15.0;

/// Crop years, in the order grown; one year where `crop` stands alone.
pub(super) fn crops<'a>(reader: &mut Reader<'a>, field: &mut Section<'a>) -> Vec<CropYear> {
    if !field.has("crops") {
        field.take("crops");
        return vec![crop_year(reader, field)];
    }
    for key in ["crop", "goal_bu_ac", "goal_short_ton_ac"].into_iter().filter(|key| field.has(key)) {
        let line = field.line_of(reader, key);
        let message = format!("`field.{key}` beside `field.crops`: which of them holds is not said");
        reader.fault(&WRONG_VALUE, line, &format!("field.{key}"), message, "move it into `crops`");
    }
    for key in ["crop", "goal_bu_ac", "goal_short_ton_ac"] {
        field.take(key);
    }
    let line = field.line_of(reader, "crops");
    let sections = reader.sections(field, "crops", "write `crops = [ { crop = \"corn\", goal_bu_ac = 180 } ]`");
    if sections.len() > MOST_YEARS {
        let message =
            format!("{} crop years, but one soil test is not used for more than {MOST_YEARS}", sections.len());
        reader.fault(&WRONG_VALUE, line, "field.crops", message, "sample again, then plan on");
    }
    let mut years = Vec::new();
    for mut section in sections {
        if !section.has("crop") {
            let path = section.path_of("crop");
            reader.fault(&MISSING_KEY, section.line, &path, format!("`{path}` is missing"), "");
        }
        years.push(crop_year(reader, &mut section));
        reader.finish(section);
    }
    years
}

fn crop_year<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>) -> CropYear {
    let crop = choice(reader, section, "crop", Crop::parse, &Crop::ALL.map(Crop::name)).given();
    let (key, other, most) = match crop {
        Some(Crop::Alfalfa) => ("goal_short_ton_ac", "goal_bu_ac", MOST_SHORT_TON_AC),
        _ => ("goal_bu_ac", "goal_short_ton_ac", MOST_BU_AC),
    };
    if crop.is_some() && section.has(other) {
        section.take(other);
        wrong(reader, section, other, format!("a goal of {} is stated as `{key}`", crop.map_or("", Crop::name)));
    }
    if section.is_table(key) {
        return CropYear { crop, goal: covariate_goal(reader, section, key) };
    }
    let goals = reader.numbers(section, key);
    let goal = goals.and_then(|goals| {
        if goals.iter().any(|&goal| !(0.0..=most).contains(&goal)) || goals.is_empty() {
            let path = section.path_of(key);
            wrong(reader, section, key, format!("`{path}` must lie between 0 and {most}"));
            return None;
        }
        Some(if goals.len() == 1 { GoalYield::Field(goals[0]) } else { GoalYield::Zones(goals) })
    });
    CropYear { crop, goal: goal.given() }
}

fn covariate_goal<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>, key: &str) -> Option<GoalYield> {
    let mut goal = reader.section(section, key);
    let name = reader.text(&mut goal, "covariate");
    let name = reader.required(&goal, "covariate", name);
    reader.finish(goal);
    name.map(GoalYield::Covariate)
}

/// `year` of a pass, a figure or a credit: one of the crop years planned; year 1 where it is not stated.
pub(super) fn year_key<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>, n_years: usize) -> Option<usize> {
    if !section.has("year") {
        section.take("year");
        return Some(1);
    }
    let year = reader.number(section, "year").given()?;
    if year.fract() == 0.0 && (1.0..=n_years.max(1) as f64).contains(&year) {
        return Some(year as usize);
    }
    let planned =
        if n_years > 1 { format!("{n_years} crop years are planned") } else { "one crop year is planned".to_owned() };
    let line = section.line_of(reader, "year");
    let help = "years are numbered from 1 in the order of `field.crops`";
    reader.fault(&WRONG_VALUE, line, &section.path_of("year"), format!("crop year {year}, but {planned}"), help);
    None
}

/// Faults of goals that name no line of `[covariates]`, or one that is no yield.
pub(super) fn unknown_covariates(
    reader: &mut Reader<'_>,
    years: &[CropYear],
    covariates: &[crate::zones::CovariateSettings],
) {
    for year in years {
        let Some(GoalYield::Covariate(name)) = &year.goal else { continue };
        if !covariates.iter().any(|covariate| covariate.name == *name) {
            let message = format!("the goal is to come from `{name}`, which is no line of `[covariates]`");
            let help = "add the yield's file to `[covariates]`, or write the goal as a number";
            let line = reader.line_of_row(name, "covariate").unwrap_or(1);
            reader.fault(&WRONG_VALUE, line, "field.crops", message, help);
        }
    }
}
