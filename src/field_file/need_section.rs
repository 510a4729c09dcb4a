//! `[need]`: what is asked for each supply, by which guide or in whose words.

use super::Answer;
use super::crops_section::year_key;
use super::reader::{MISSING_KEY, Reader, Section, WRONG_VALUE, choice, ranged, whole, wrong};
use crate::rates::guide::Guide;
use crate::rates::nitrogen_split::{self, NitrogenPlan, NitrogenRule};
use crate::rates::season::{Credit, PlacingOrder};
use crate::rates::{GuideChoice, LimeByGuide, NeedSource, Supply, SupplyNeed};

/// Lowest and highest pH a lime guide may be asked for; the guide itself says more. Source: agronomy texts, targets of
/// field crops 6.0 to 7.0; above 7.0 a plan is refused.
const TARGET_PH: [f64; 2] = [5.0, 7.0];
/// Most that is taken for no slip, lb/ac (heuristic).
const MOST_LB_AC: f64 = 600.0;
/// Most lime that is taken for no slip, short tons/ac (heuristic).
const MOST_LIME_SHORT_TON_AC: f64 = 12.0;

/// `[need]` as read.
pub(super) struct NeedSection {
    pub(super) needs: Vec<SupplyNeed>,
    pub(super) credits: Vec<(Credit, Option<Vec<usize>>)>,
    pub(super) nitrogen: NitrogenPlan,
    pub(super) order: PlacingOrder,
}

/// `[need]`
pub(super) fn need<'a>(reader: &mut Reader<'a>, root: &mut Section<'a>, n_years: usize) -> NeedSection {
    let mut section = reader.section(root, "need");
    let is_there = section.is_there();
    let mut needs = Vec::new();
    let mut nitrogen = NitrogenPlan::NO_RULE;
    for supply in Supply::ALL {
        let key = supply.key();
        if section.is_text(key) {
            reader.text(&mut section, key);
            continue;
        }
        if !section.has(key) {
            section.take(key);
            continue;
        }
        let inner = if section.is_list(key) {
            reader.sections(&mut section, key, "write a table in braces for each crop year")
        } else {
            vec![reader.section(&mut section, key)]
        };
        for mut inner in inner {
            let found = match supply {
                Supply::K2o | Supply::P2o5 => guided(reader, &mut inner, supply, n_years),
                Supply::Lime => lime(reader, &mut inner),
                Supply::S => stated(reader, &mut inner, supply, n_years),
                Supply::N => {
                    if let Some(split) = split(reader, &mut inner) {
                        nitrogen = split;
                    }
                    stated(reader, &mut inner, supply, n_years)
                }
            };
            reader.finish(inner);
            needs.extend(found);
        }
    }
    // Read with `[sharing]`: it says what is shown, and no rate.
    section.take("approach");
    let order = choice(
        reader,
        &mut section,
        "place_first",
        |text| match text {
            "latest" => Some(PlacingOrder::Latest),
            "earliest" => Some(PlacingOrder::Earliest),
            _ => None,
        },
        &["latest", "earliest"],
    );
    if is_there && matches!(order, Answer::Absent) {
        reader.default_row("need.place_first", "latest");
    }
    let credits = credits(reader, &mut section, n_years);
    reader.finish(section);
    NeedSection { needs, credits, nitrogen, order: order.given().unwrap_or(PlacingOrder::Latest) }
}

/// A guide of the program, or the name of the user's own file.
fn guide_choice<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>) -> Answer<GuideChoice> {
    let line = section.line_of(reader, "guide");
    let name = reader.text(section, "guide");
    name.and_then(|name| {
        let guide = Guide::find(&name).cloned();
        if guide.is_none() && !name.to_lowercase().ends_with(".toml") {
            let known: Vec<&str> = Guide::built_in().iter().map(|guide| guide.name.as_str()).collect();
            let help = format!(
                "guides of this version: `{}`; a guide of your own is a file: \"mine.toml\"",
                known.join("`, `")
            );
            reader.fault(&WRONG_VALUE, line, &section.path_of("guide"), format!("no guide is called `{name}`"), &help);
            return None;
        }
        Some(GuideChoice { name, line, guide })
    })
}

/// Potassium and phosphorus: a guide, or figures.
fn guided<'a>(
    reader: &mut Reader<'a>,
    section: &mut Section<'a>,
    supply: Supply,
    n_years: usize,
) -> Option<SupplyNeed> {
    let line = section.line;
    let own_classes = whole(reader, section, "own_classes", 2.0, 6.0);
    let guide = guide_choice(reader, section);
    let figures_key = figures_key(supply);
    if section.has("guide") && section.has(figures_key) {
        let message = format!("`{}` states both a guide and fixed figures", section.path);
        reader.fault(&WRONG_VALUE, section.line, &section.path, message, "keep one of them");
        section.take(figures_key);
        return None;
    }
    match guide {
        Answer::Given(choice) => {
            section.take(figures_key);
            let source = NeedSource::Guide(choice);
            return Some(SupplyNeed { supply, source, year: 1, said_by: None, own_classes, line });
        }
        Answer::Open | Answer::Unknown => {
            section.take(figures_key);
            return None;
        }
        Answer::Absent => {}
    }
    if section.has("guide") {
        return None;
    }
    if own_classes.is_some() {
        let message = "`own_classes` needs a guide that tells the need of each place".to_owned();
        wrong(reader, section, "own_classes", message);
    }
    if !section.has(figures_key) {
        let message = format!("`{}` states neither a guide nor fixed figures", section.path);
        let help = format!(
            "write `{0} = {{ guide = \"tri-state-1995\" }}` or `{0} = {{ {figures_key} = [90, 69, 0] }}`",
            supply.key()
        );
        reader.fault(&MISSING_KEY, section.line, &section.path, message, &help);
        return None;
    }
    stated(reader, section, supply, n_years)
}

fn figures_key(supply: Supply) -> &'static str {
    match supply {
        Supply::K2o => "k2o_lb_ac",
        Supply::P2o5 => "p2o5_lb_ac",
        Supply::S => "s_lb_ac",
        Supply::N => "n_lb_ac",
        Supply::Lime => "short_ton_ac",
    }
}

/// Figures of an adviser or of a local guide, one for all or one a zone.
fn stated<'a>(
    reader: &mut Reader<'a>,
    section: &mut Section<'a>,
    supply: Supply,
    n_years: usize,
) -> Option<SupplyNeed> {
    let line = section.line;
    let key = figures_key(supply);
    let figures = reader.numbers(section, key);
    let figures = reader.required(section, key, figures);
    let said_by = reader.text(section, "source");
    // Season nitrogen is never this program's figure: who says it must be told.
    let said_by = match supply {
        Supply::N if matches!(said_by, Answer::Absent) => {
            let path = section.path_of("source");
            let help =
                "season nitrogen is always your figure: say whose, for example `source = \"state guide, 180 bu\"`";
            reader.fault(&MISSING_KEY, section.line, &path, format!("`{path}` is missing"), help);
            None
        }
        _ => said_by.given(),
    };
    let year = year_key(reader, section, n_years);
    let figures = figures?;
    if figures.is_empty() || figures.iter().any(|figure| !(0.0..=MOST_LB_AC).contains(figure)) {
        let path = section.path_of(key);
        wrong(reader, section, key, format!("`{path}` must lie between 0 and {MOST_LB_AC} lb/ac"));
        return None;
    }
    if supply == Supply::N && said_by.is_none() {
        return None;
    }
    Some(SupplyNeed { supply, source: NeedSource::Stated(figures), year: year?, said_by, own_classes: None, line })
}

fn lime<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>) -> Option<SupplyNeed> {
    let line = section.line;
    let key = figures_key(Supply::Lime);
    if section.has(key) {
        let said_by = reader.text(section, "source").given();
        let figures = reader.numbers(section, key).given()?;
        if figures.is_empty() || figures.iter().any(|figure| !(0.0..=MOST_LIME_SHORT_TON_AC).contains(figure)) {
            let path = section.path_of(key);
            wrong(
                reader,
                section,
                key,
                format!("`{path}` must lie between 0 and {MOST_LIME_SHORT_TON_AC} short tons/ac"),
            );
            return None;
        }
        let lb_ac = figures.iter().map(|figure| figure * crate::units::LB_PER_SHORT_TON).collect();
        let source = NeedSource::Stated(lb_ac);
        return Some(SupplyNeed { supply: Supply::Lime, source, year: 1, said_by, own_classes: None, line });
    }
    section.take(key);
    let choice = guide_choice(reader, section);
    let choice = reader.required(section, "guide", choice);
    let target_ph = reader.number(section, "target_ph");
    let target_ph = reader.required(section, "target_ph", target_ph).filter(|ph| {
        let fits = (TARGET_PH[0]..=TARGET_PH[1]).contains(ph);
        if !fits {
            let path = section.path_of("target_ph");
            let at = section.line_of(reader, "target_ph");
            let message = format!("pH {ph} is not a pH to lime to: {} to {} are planned", TARGET_PH[0], TARGET_PH[1]);
            let help = "most field crops 6.0 to 6.8, alfalfa 6.5 to 7.0; above 7.0 nutrients are tied up";
            reader.fault(&WRONG_VALUE, at, &path, message, help);
        }
        fits
    });
    let limed_depth_in = ranged(reader, section, "limed_depth_in", 1.0, 12.0);
    if !section.has("limed_depth_in") {
        reader.required(section, "limed_depth_in", Answer::<f64>::Absent);
    }
    let count_as = reader.text(section, "count_as").given();
    let own_classes = None;
    let by_guide = LimeByGuide { choice: choice?, target_ph: target_ph?, limed_depth_in: limed_depth_in?, count_as };
    let source = NeedSource::Lime(by_guide);
    Some(SupplyNeed { supply: Supply::Lime, source, year: 1, said_by: None, own_classes, line })
}

/// `split` on ground that holds little (a published set), `shares` elsewhere, `split_on = "all"` for one set everywhere;
/// `None` where neither is stated.
fn split<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>) -> Option<NitrogenPlan> {
    let line = section.line_of(reader, "split");
    let set = reader.text(section, "split").and_then(|name| {
        let found = nitrogen_split::set(&name);
        if found.is_none() {
            let names: Vec<&str> = nitrogen_split::sets().iter().map(|set| set.name.as_str()).collect();
            let help = format!("splits of this version: `{}`", names.join("`, `"));
            let message = format!("no split of nitrogen is called `{name}`");
            reader.fault(&WRONG_VALUE, line, &section.path_of("split"), message, &help);
        }
        found
    });
    let shares = reader.numbers(section, "shares").given();
    let everywhere = choice(
        reader,
        section,
        "split_on",
        |text| match text {
            "little" => Some(false),
            "all" => Some(true),
            _ => None,
        },
        &["little", "all"],
    );
    let everywhere = everywhere.given().unwrap_or(false);
    if everywhere && shares.is_some() {
        wrong(
            reader,
            section,
            "shares",
            "`shares` beside `split_on = \"all\"`: the set holds on all ground".to_owned(),
        );
    }
    let set = set.given();
    if set.is_none() && shares.is_none() {
        return None;
    }
    let elsewhere = match (&shares, set) {
        (Some(shares), _) => NitrogenRule::Shares(shares.clone()),
        (None, Some(set)) if everywhere => NitrogenRule::Set(set),
        (None, _) => NitrogenRule::AsCapacityAllows,
    };
    let on_little = set.map_or_else(|| elsewhere.clone(), NitrogenRule::Set);
    Some(NitrogenPlan { on_little, elsewhere })
}

/// What manure, a legume, a starter, irrigation water or recent lime brings already.
fn credits<'a>(reader: &mut Reader<'a>, need: &mut Section<'a>, n_years: usize) -> Vec<(Credit, Option<Vec<usize>>)> {
    let mut credits = Vec::new();
    let help = "write `credits = [ { nutrient = \"n\", lb_ac = 30, source = \"soybean before\" } ]`";
    for mut one in reader.sections(need, "credits", help) {
        let keys = Supply::ALL.map(Supply::key);
        let supply = choice(reader, &mut one, "nutrient", Supply::from_key, &keys);
        let supply = reader.required(&one, "nutrient", supply);
        let lb_ac = ranged(reader, &mut one, "lb_ac", 0.0, 10_000.0);
        if !one.has("lb_ac") {
            reader.required(&one, "lb_ac", Answer::<f64>::Absent);
        }
        let source = reader.text(&mut one, "source");
        let source = reader.required(&one, "source", source);
        let year = year_key(reader, &mut one, n_years);
        let zones = reader.numbers(&mut one, "zones").given();
        if let Some(zones) = &zones
            && (zones.is_empty() || zones.iter().any(|zone| zone.fract() != 0.0 || !(1.0..=6.0).contains(zone)))
        {
            wrong(reader, &one, "zones", "`zones` lists zone numbers, 1 to 6".to_owned());
        }
        reader.finish(one);
        let zones = zones.map(|zones| zones.into_iter().map(|zone| zone as usize).collect());
        if let (Some(supply), Some(lb_ac), Some(source), Some(year)) = (supply, lb_ac, source, year) {
            credits.push((Credit { supply, lb_ac, year, source }, zones));
        }
    }
    credits
}
