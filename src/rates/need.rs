//! [`GroundNeed`]: what a zone or class needs of one supply over the crop years, with its reason.

use super::guide::SheetTests;
use super::need_settings::{GuideChoice, NeedSource, SupplyNeed};
use super::{Crop, GoalYield, RateSettings, Supply};
use crate::diagnostic::{Code, Diagnostic, Place};
use crate::samples::SampleSet;
use crate::units::LB_PER_SHORT_TON;
use crate::zones::ZoneSummary;

/// The guide was made for another soil test.
pub static GUIDE_DOES_NOT_FIT: Code = Code {
    name: "guide-does-not-fit",
    checks: "that the sheet's extractant, depth and soil basis are those the guide was calibrated with",
    why: "the same soil gives other numbers with another extractant or depth, and the guide's levels would be wrong",
    example: "potassium by Mehlich-3 and the guide tri-state-1995, which is made for ammonium acetate",
    mend: "choose a guide made for the test on the sheet, or enter an adviser's figures as `k2o_lb_ac`",
};
/// The guide needs an answer that is open or unknown.
pub static GUIDE_NEEDS_AN_ANSWER: Code = Code {
    name: "guide-needs-an-answer",
    checks: "that everything a guide asks for is answered",
    why: "a rate on a guessed depth, method, crop or goal would be a guess; zones need none of them",
    example: "`depth_in = \"unknown\"` with the guide tri-state-1995",
    mend: "ask the lab or the grower and answer it in the field file",
};
/// The number of stated figures is not the number of zones.
pub static FIGURES_AND_ZONES: Code = Code {
    name: "figures-and-zones",
    checks: "that lists with one figure a zone are as long as there are zones",
    why: "a figure meant for one zone would be used on another",
    example: "three goals in `goal_bu_ac`, but two zones",
    mend: "give one figure for all, or one a zone, zone 1 first; fix `zones.count`",
};
/// The zone does not fit this nutrient.
pub static ZONE_UNLIKE_INSIDE: Code = Code {
    name: "zone-unlike-inside",
    checks: "that the rate for the zone's mean is within a tenth of the mean of the rates its cells would get",
    why: "where one half is poor and the other rich, the mean is right for neither",
    example: "half at 60 and half at 196 ppm K need 166 and 0 lb; their mean of 128 ppm prescribes 75 everywhere",
    mend: "draw more zones, or zones from this nutrient (`zones.from`), or sample the zone again",
};
/// The need stands within the error of the sample mean.
pub static NEAR_A_COIN_TOSS: Code = Code {
    name: "near-a-coin-toss",
    checks: "that a zone's mean lies farther from the guide's critical level than its own error",
    why: "a little more or less in the soil test would change the decision",
    example: "K 138 ppm against a level of 141, with a zone error of 12",
    mend: "sample the zone again before buying for it",
};
/// The guide gives no figure for this ground.
pub static NO_FIGURE: Code = Code {
    name: "no-figure",
    checks: "that the guide gives a figure for the ground: a crop it knows, readings within its tables",
    why: "outside its table a guide says nothing, and a stretched line is a guess",
    example: "buffer pH 6.95, where the table ends at 6.9",
    mend: "ask a certified adviser for a figure and state it, or choose a guide that covers the ground",
};
/// A guide of another region.
pub static GUIDE_OF_A_REGION: Code = Code {
    name: "guide-of-a-region",
    checks: "nothing; it says for which states the guide was calibrated",
    why: "levels are found by field trials on the soils of a region",
    example: "tri-state-1995 is made for Indiana, Michigan and Ohio",
    mend: "ask the local extension service or a certified adviser whether it may be used",
};
/// Messages of this stage, for `holdground explain`.
pub static CODES: &[&Code] = &[
    &GUIDE_DOES_NOT_FIT,
    &GUIDE_NEEDS_AN_ANSWER,
    &FIGURES_AND_ZONES,
    &ZONE_UNLIKE_INSIDE,
    &NEAR_A_COIN_TOSS,
    &NO_FIGURE,
    &GUIDE_OF_A_REGION,
];

/// What a zone or class needs of one supply.
#[derive(Debug, Clone, PartialEq)]
pub struct GroundNeed {
    /// Zone or class, from 1.
    pub zone: usize,
    /// Of this.
    pub supply: Supply,
    /// lb/ac in each crop year that needs any figure: (year from 1, lb/ac). Lime: lb of the guide's lime.
    pub years_lb_ac: Vec<(usize, f64)>,
    /// What each of those years asks for, in words.
    pub year_words: Vec<String>,
    /// Where the soil stands, or who says so.
    pub ground_words: String,
    /// Soil test of the ground, ppm; `None` for an adviser's figures and for lime.
    pub test_ppm: Option<f64>,
    /// Critical level, ppm; `None` for an adviser's figures and for lime.
    pub critical_ppm: Option<f64>,
    /// Mean over cells of what each cell alone would get over all years, lb/ac.
    pub mean_of_cells_lb_ac: Option<f64>,
    /// Share of the ground's cells below the critical level, 0 to 1.
    pub below_critical_share: Option<f64>,
    /// Error of the mean of the soil test, ppm, a lower bound; `None` = cannot be told.
    pub error_ppm: Option<f64>,
}

impl GroundNeed {
    /// Over all years, lb/ac.
    pub fn lb_ac(&self) -> f64 {
        self.years_lb_ac.iter().fold(0.0, |sum, (_, lb_ac)| sum + lb_ac)
    }

    /// Why, in one sentence with the numbers.
    pub fn why(&self) -> String {
        let amount = match self.supply {
            Supply::Lime => format!("{:.2} short tons", self.lb_ac() / LB_PER_SHORT_TON),
            supply => format!("{:.0} lb {}", self.lb_ac(), supply.name()),
        };
        let years: Vec<&str> = self.year_words.iter().map(String::as_str).filter(|words| !words.is_empty()).collect();
        match years.is_empty() {
            true => format!("{amount}: {}", self.ground_words),
            false => format!("{amount} ({}): {}", years.join("; "), self.ground_words),
        }
    }

    /// What a crop year asks for, in words; `None` where it asks for nothing.
    pub fn words_of_year(&self, year: usize) -> Option<&str> {
        let at = self.years_lb_ac.iter().position(|(of, _)| *of == year)?;
        self.year_words.get(at).map(String::as_str).filter(|words| !words.is_empty())
    }

    /// Whether the soil test lies nearer to the critical level than its own error.
    pub fn is_coin_toss(&self) -> bool {
        let all = self.test_ppm.zip(self.critical_ppm).zip(self.error_ppm);
        all.is_some_and(|((test, critical), error)| (test - critical).abs() < error)
    }
}

/// The guides asked for, each with the supply it is to tell.
pub(super) fn guides(settings: &RateSettings) -> impl Iterator<Item = (&SupplyNeed, &GuideChoice)> {
    settings.needs.iter().filter_map(|need| match &need.source {
        NeedSource::Guide(choice) => Some((need, choice)),
        NeedSource::Lime(lime) => Some((need, &lime.choice)),
        NeedSource::Stated(_) => None,
    })
}

/// Why the sheet contradicts a guide asked for; nothing where no guide is asked for.
pub fn misfits(samples: &SampleSet, settings: &RateSettings, field_file: &str) -> Vec<Diagnostic> {
    let tests = SheetTests::of(samples);
    let mut faults = Vec::new();
    for (need, choice) in guides(settings) {
        let Some(guide) = &choice.guide else { continue };
        let key = format!("need.{}", need.supply.key());
        for reason in guide.misfits(need.supply, &tests) {
            let help = match need.supply {
                Supply::Lime => "enter an adviser's figures as `need.lime = { short_ton_ac = [..] }`".to_owned(),
                supply => format!(
                    "enter an adviser's figures as `{key} = {{ {}_lb_ac = [..] }}`",
                    supply.name().to_lowercase()
                ),
            };
            faults.push(
                Diagnostic::error(&GUIDE_DOES_NOT_FIT, reason)
                    .at(Place::Key { file: field_file.to_owned(), line: choice.line, key: key.clone() })
                    .with_note(guide.citation.clone())
                    .with_help(help),
            );
        }
    }
    faults
}

/// What a guide needs and nobody has answered, as "... is" of a sentence.
pub(super) fn lacking(
    need: &SupplyNeed,
    choice: &GuideChoice,
    samples: &SampleSet,
    settings: &RateSettings,
) -> Vec<String> {
    let Some(guide) = &choice.guide else { return vec![format!("the guide {} is", choice.name)] };
    let mut lacking: Vec<String> =
        guide.lacks(need.supply, &SheetTests::of(samples)).into_iter().map(str::to_owned).collect();
    if need.supply != Supply::Lime {
        if settings.years.iter().any(|year| year.crop.is_none()) {
            lacking.push("the crop is".to_owned());
        }
        if settings.years.iter().any(|year| year.goal.is_none()) {
            lacking.push("the yield goal is".to_owned());
        }
    }
    lacking
}

/// Lists stated one a zone that are not as long as there are zones.
pub(super) fn unlike_lists(settings: &RateSettings, count: usize, drawn: usize, field_file: &str) -> Vec<Diagnostic> {
    let fault = |line: Option<usize>, key: String| {
        let place = match line {
            Some(line) => Place::Key { file: field_file.to_owned(), line, key: key.clone() },
            None => Place::File(field_file.to_owned()),
        };
        Diagnostic::error(&FIGURES_AND_ZONES, format!("`{key}` has not one figure for each of {count} zones"))
            .at(place)
            .with_note(match drawn.saturating_sub(count) {
                0 => format!("{count} zones were drawn"),
                gone => format!(
                    "{drawn} zones were drawn; {gone} had no patch a machine can follow and went to its neighbors"
                ),
            })
            .with_help(format!("give one figure, or {count}, zone 1 first"))
    };
    let is_unlike = |list: &Vec<f64>| list.len() != 1 && list.len() != count;
    let mut found = Vec::new();
    for year in &settings.years {
        if matches!(&year.goal, Some(GoalYield::Zones(list)) if is_unlike(list)) {
            found.push(fault(None, "field.goal_bu_ac".to_owned()));
        }
    }
    for need in &settings.needs {
        if let NeedSource::Stated(list) = &need.source
            && is_unlike(list)
        {
            found.push(fault(Some(need.line), format!("need.{}", need.supply.key())));
        }
    }
    let named = settings.credits.iter().filter_map(|(_, zones)| zones.as_ref()).flatten();
    if let Some(zone) = named.copied().find(|zone| *zone > count) {
        let message = format!("`need.credits` names zone {zone}, but {count} zones were drawn");
        found.push(Diagnostic::error(&FIGURES_AND_ZONES, message).at(Place::File(field_file.to_owned())));
    }
    found
}

/// An adviser's figures for one zone.
pub(super) fn stated_need(need: &SupplyNeed, list: &[f64], zone: usize) -> GroundNeed {
    let lb_ac = list.get(zone - 1).copied().unwrap_or(list[0]);
    let said_by =
        need.said_by.as_ref().map_or("as stated in the field file".to_owned(), |by| format!("as stated: {by}"));
    GroundNeed {
        zone,
        supply: need.supply,
        years_lb_ac: vec![(need.year, lb_ac)],
        year_words: Vec::new(),
        ground_words: said_by,
        test_ppm: None,
        critical_ppm: None,
        mean_of_cells_lb_ac: None,
        below_critical_share: None,
        error_ppm: None,
    }
}

/// Crop and goal of each year for one zone; `None` while one is not known.
pub(super) fn goals_of_zone(settings: &RateSettings, zone: &ZoneSummary) -> Option<Vec<(Crop, f64)>> {
    let goal = |year: &super::CropYear| {
        let goal = match year.goal.as_ref()? {
            GoalYield::Field(goal) => *goal,
            GoalYield::Zones(list) => list.get(zone.zone - 1).copied()?,
            GoalYield::Covariate(name) => zone.covariate_mean(name)?,
        };
        Some((year.crop?, goal))
    };
    settings.years.iter().map(goal).collect()
}
