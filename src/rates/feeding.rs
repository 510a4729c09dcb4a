//! From needs to placed seasons: what each zone, or class of its own need, gets.

use super::guide::{BRAY_UNFIT_PH, NoNeed};
use super::guide_need::{self, years_need};
use super::lime_need::lime_need;
use super::need::{
    GUIDE_NEEDS_AN_ANSWER, GUIDE_OF_A_REGION, GroundNeed, NEAR_A_COIN_TOSS, NO_FIGURE, ZONE_UNLIKE_INSIDE,
    goals_of_zone, guides, lacking, stated_need, unlike_lists,
};
use super::need_settings::{NeedSource, SupplyNeed};
use super::own_need::own_ground;
use super::rate_plan::{FedGround, RateGround};
use super::season::{self, YearNeed, ZoneToFeed};
use super::{Crop, GroundToFeed, RateSettings, Supply};
use crate::chemistry::Cation;
use crate::coverage::ZoneOutlines;
use crate::diagnostic::{Diagnostic, Place, Severity};
use crate::samples::checks::calcareous_cec::CALCAREOUS_ABOVE_PH;
use crate::samples::{Analyte, CecSource, LabMethod, SampleSet};
use crate::soil_surface::{SurfaceSet, Variable};
use crate::zones::{PatchLimits, ZoneMap, ZoneSummary};

/// A zone's rate and its cells' mean rate may differ by this share before it is said. Source: heuristic.
const UNLIKE_SHARE: f64 = 0.10;
/// Fewest places with samples for the error of a zone's mean. Source: heuristic.
const FEWEST_SITES: usize = 3;

/// What feeding rests on.
#[derive(Clone, Copy)]
pub struct Feeding<'a> {
    /// Checked samples.
    pub samples: &'a SampleSet,
    /// Mapped quantities.
    pub surfaces: &'a SurfaceSet,
    /// The zones.
    pub zones: &'a ZoneMap,
    /// What is asked.
    pub settings: &'a RateSettings,
    /// What patches of classes of own need must have.
    pub limits: &'a PatchLimits,
    /// Named in faults.
    pub field_file: &'a str,
}

/// Draws the outlines of labels, one a cell.
pub type OutlineOf<'a> = dyn Fn(&[u16]) -> Result<ZoneOutlines, Vec<Diagnostic>> + 'a;

/// Needs whose guides have all their answers; the others are told, and left out.
pub(super) struct Asked<'a> {
    pub(super) needs: Vec<&'a SupplyNeed>,
}

/// What every zone and class needs and gets. Empty where nothing is asked, or no guide has its answers.
///
/// `outline` draws the outlines of classes of own need.
///
/// # Errors
/// All reasons why needs cannot be worked out.
pub fn feed(
    feeding: &Feeding<'_>,
    outline: &OutlineOf<'_>,
) -> Result<(Vec<RateGround>, Vec<Diagnostic>), Vec<Diagnostic>> {
    let Feeding { zones, settings, field_file, .. } = *feeding;
    let faults = unlike_lists(settings, zones.zones().len(), zones.verdict().drawn, field_file);
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut found = Vec::new();
    let asked = asked(feeding, &mut found);
    if asked.needs.is_empty() {
        return Ok((Vec::new(), found));
    }
    found.extend(regions(&asked, field_file));
    let by_zone: Vec<&SupplyNeed> = asked.needs.iter().copied().filter(|need| need.own_classes.is_none()).collect();
    let mut grounds = Vec::new();
    if !by_zone.is_empty() {
        let fed: Vec<FedGround> =
            zones.zones().iter().map(|zone| fed_zone(feeding, zone, &by_zone, &mut found)).collect();
        if let Some(rules) = settings.season_rules(&settings.crops()) {
            let zones: Vec<ZoneToFeed> =
                fed.iter().map(|fed| to_feed(settings, fed.ground, &fed.needs, fed.zone)).collect();
            found.extend(season::fall_nitrogen_faults(&rules, &zones));
        }
        let supplies = supplies(&by_zone);
        grounds.push(RateGround { supplies, own: None, fed });
    }
    for need in asked.needs.iter().filter(|need| need.own_classes.is_some()) {
        grounds.push(own_ground(feeding, need, &asked, outline, &mut found)?);
    }
    for fed in grounds.iter().flat_map(|ground| &ground.fed) {
        found.extend(fed.season.iter().flat_map(season::SeasonPlacement::diagnostics));
    }
    let faults: Vec<Diagnostic> = found.iter().filter(|one| one.severity == Severity::Error).cloned().collect();
    if faults.is_empty() { Ok((grounds, found)) } else { Err(faults) }
}

fn supplies(needs: &[&SupplyNeed]) -> Vec<Supply> {
    Supply::ALL.into_iter().filter(|supply| needs.iter().any(|need| need.supply == *supply)).collect()
}

/// Needs that can be worked out; what stops the others is told.
pub(super) fn asked<'a>(feeding: &Feeding<'a>, found: &mut Vec<Diagnostic>) -> Asked<'a> {
    let settings = feeding.settings;
    let stops = |need: &SupplyNeed| {
        let choice = guides(settings).find(|(of, _)| std::ptr::eq(*of, need)).map(|(_, choice)| choice)?;
        let lacking = lacking(need, choice, feeding.samples, settings);
        (!lacking.is_empty()).then_some((choice, lacking))
    };
    let mut needs = Vec::new();
    for need in &settings.needs {
        let Some((choice, lacking)) = stops(need) else {
            needs.push(need);
            continue;
        };
        let message = format!(
            "no rates of {}: {} not answered, and the guide {} needs it",
            need.supply.name(),
            lacking.join(", "),
            choice.name
        );
        found.push(
            Diagnostic::warning(&GUIDE_NEEDS_AN_ANSWER, message)
                .at(Place::File(feeding.field_file.to_owned()))
                .with_help("answer it in the field file; zones are drawn without"),
        );
    }
    Asked { needs }
}

/// For which states each guide is made, once a guide.
fn regions(asked: &Asked<'_>, field_file: &str) -> Vec<Diagnostic> {
    let mut told: Vec<&str> = Vec::new();
    let mut found = Vec::new();
    for need in &asked.needs {
        let choice = match &need.source {
            NeedSource::Guide(choice) => choice,
            NeedSource::Lime(lime) => &lime.choice,
            NeedSource::Stated(_) => continue,
        };
        let Some(guide) = choice.guide.as_ref().filter(|guide| !told.contains(&guide.name.as_str())) else { continue };
        told.push(&guide.name);
        let place =
            Place::Key { file: field_file.to_owned(), line: choice.line, key: format!("need.{}", need.supply.key()) };
        found.push(Diagnostic::note(&GUIDE_OF_A_REGION, guide.region_warning()).at(place));
    }
    found
}

/// What a zone needs, with the doubts of its means, and its season.
fn fed_zone(
    feeding: &Feeding<'_>,
    zone: &ZoneSummary,
    needs: &[&SupplyNeed],
    found: &mut Vec<Diagnostic>,
) -> FedGround {
    let crops = goals_of_zone(feeding.settings, zone);
    let mut worked_out = zone_needs(feeding, zone, needs, crops.as_deref(), found);
    for need in &mut worked_out {
        look_inside(feeding, zone, needs, crops.as_deref(), need, found);
    }
    let ground = ground_of(feeding, zone);
    let season = zone_season(feeding, ground, &worked_out, zone.zone);
    FedGround { zone: zone.zone, ground, needs: worked_out, season }
}

/// What a zone needs of each supply, by its means.
pub(super) fn zone_needs(
    feeding: &Feeding<'_>,
    zone: &ZoneSummary,
    needs: &[&SupplyNeed],
    crops: Option<&[(Crop, f64)]>,
    found: &mut Vec<Diagnostic>,
) -> Vec<GroundNeed> {
    let mut all = Vec::new();
    for need in needs {
        let worked_out = match &need.source {
            NeedSource::Stated(list) => Some(stated_need(need, list, zone.zone)),
            NeedSource::Lime(lime) => lime_need(lime, zone, feeding.field_file, found),
            NeedSource::Guide(_) => guided_need(feeding, zone, need, crops, found),
        };
        match worked_out {
            Some(one) => all.push(one),
            None => found.push(
                Diagnostic::warning(&NO_FIGURE, format!("no figure for {} in zone {}", need.supply.name(), zone.zone))
                    .at(Place::Zone(zone.zone))
                    .with_help("nothing of it is planned there; ask a certified adviser"),
            ),
        }
    }
    all
}

/// The mapped soil test a supply's guide reads.
pub(super) fn test_variable(supply: Supply) -> Variable {
    match supply {
        Supply::P2o5 => Variable::Reading(Analyte::P),
        _ => Variable::Amount(Cation::K),
    }
}

fn guided_need(
    feeding: &Feeding<'_>,
    zone: &ZoneSummary,
    need: &SupplyNeed,
    crops: Option<&[(Crop, f64)]>,
    found: &mut Vec<Diagnostic>,
) -> Option<GroundNeed> {
    let NeedSource::Guide(choice) = &need.source else { return None };
    let guide = choice.guide.as_ref()?;
    let supply = need.supply;
    let test_ppm = zone.mean(test_variable(supply))?;
    let cec = zone.mean(Variable::Cec);
    if let Some(ph) = bray_unfit(feeding, zone, supply) {
        let message = format!("zone {} has pH {ph:.1}, where Bray-1 phosphorus misleads", zone.zone);
        found.push(
            Diagnostic::warning(&NO_FIGURE, message)
                .at(Place::Zone(zone.zone))
                .with_help("ask the lab for Olsen phosphorus there"),
        );
        return None;
    }
    let crops = crops?;
    let years = match years_need(guide, supply, test_ppm, cec, crops, &feeding.settings.hold) {
        Ok(years) => years,
        Err(reason) => {
            found.push(no_need(zone, supply, &guide.name, reason));
            return None;
        }
    };
    let why = guide_need::why(&years, guide, supply, test_ppm, cec.filter(|_| supply == Supply::K2o), crops);
    Some(GroundNeed {
        zone: zone.zone,
        supply,
        years_lb_ac: (1..).zip(&years.years).map(|(year, need)| (year, need.lb_ac)).collect(),
        year_words: why.years,
        ground_words: why.soil,
        test_ppm: Some(test_ppm),
        critical_ppm: Some(years.critical_ppm()),
        mean_of_cells_lb_ac: None,
        below_critical_share: None,
        error_ppm: None,
    })
}

/// pH of a zone at which Bray phosphorus is unfit, where the sheet's is by Bray.
fn bray_unfit(feeding: &Feeding<'_>, zone: &ZoneSummary, supply: Supply) -> Option<f64> {
    let is_bray = matches!(feeding.samples.method(Analyte::P), Some(LabMethod::Bray1 | LabMethod::Bray2));
    let ph = zone.mean(Variable::Reading(Analyte::PhWater))?;
    (supply == Supply::P2o5 && is_bray && ph >= BRAY_UNFIT_PH).then_some(ph)
}

fn no_need(zone: &ZoneSummary, supply: Supply, guide: &str, reason: NoNeed) -> Diagnostic {
    let message = format!("{guide} gives no {} for zone {}: {reason}", supply.name(), zone.zone);
    Diagnostic::warning(&NO_FIGURE, message).at(Place::Zone(zone.zone))
}

/// Whether the mean stands for what is inside, and how sure it is.
fn look_inside(
    feeding: &Feeding<'_>,
    zone: &ZoneSummary,
    needs: &[&SupplyNeed],
    crops: Option<&[(Crop, f64)]>,
    need: &mut GroundNeed,
    found: &mut Vec<Diagnostic>,
) {
    let source = needs.iter().find(|one| one.supply == need.supply).map(|one| &one.source);
    let (Some(NeedSource::Guide(choice)), Some(crops)) = (source, crops) else { return };
    let (Some(guide), Some(critical_ppm), Some(test_ppm)) = (&choice.guide, need.critical_ppm, need.test_ppm) else {
        return;
    };
    let supply = need.supply;
    let Some(tests) = feeding.surfaces.values(test_variable(supply)) else { return };
    let (mut sum, mut n, mut n_below, mut n_near) = (0.0, 0_usize, 0_usize, 0_usize);
    let of_zone = feeding.zones.labels().iter().enumerate().filter(|(_, label)| usize::from(**label) == zone.zone);
    for (cell, _) in of_zone {
        let cec = feeding.surfaces.exchange_at(cell).map(|parts| parts.cec_meq_100g());
        let Ok(years) = years_need(guide, supply, tests[cell], cec, crops, &feeding.settings.hold) else { continue };
        sum += years.lb_ac;
        n += 1;
        n_below += usize::from(years.is_below());
        n_near += usize::from(years.years.iter().any(|year| year.near_step_cec.is_some()));
    }
    if n == 0 {
        return;
    }
    let (mean_of_cells, share) = (sum / n as f64, |count: usize| count as f64 / n as f64);
    need.mean_of_cells_lb_ac = Some(mean_of_cells);
    need.below_critical_share = Some(share(n_below));
    let (own, name) = (need.lb_ac(), supply.name());
    let larger = own.max(mean_of_cells);
    if larger > 0.0 && (own - mean_of_cells).abs() > UNLIKE_SHARE * larger {
        let message = format!(
            "zone {} needs {own:.0} lb {name}/ac by its mean, its cells {mean_of_cells:.0} by theirs: it does not fit this nutrient well",
            zone.zone
        );
        let note = format!("{:.0} % of the zone lies below the level", 100.0 * share(n_below));
        found.push(Diagnostic::warning(&ZONE_UNLIKE_INSIDE, message).at(Place::Zone(zone.zone)).with_note(note));
    }
    if n_near > 0 {
        let message = format!(
            "{:.0} % of zone {} lies within half a meq/100 g of a step of {}: a lab's error away the {name} is another",
            100.0 * share(n_near),
            zone.zone,
            guide.name
        );
        found.push(Diagnostic::note(&NEAR_A_COIN_TOSS, message).at(Place::Zone(zone.zone)));
    }
    let quality = feeding.surfaces.quality_of(test_variable(supply));
    let rmse = quality.and_then(|quality| quality.error).map(|error| error.error_rmse);
    need.error_ppm = rmse.filter(|_| zone.n_sites >= FEWEST_SITES).map(|rmse| rmse / (zone.n_sites as f64).sqrt());
    let symbol = if supply == Supply::K2o { "K" } else { "P" };
    if let Some(error_ppm) = need.error_ppm.filter(|_| need.is_coin_toss()) {
        let message = format!(
            "zone {} is near a coin toss: {symbol} {test_ppm:.0} ppm against a level of {critical_ppm:.0}, give or take at least {error_ppm:.0}",
            zone.zone
        );
        let warning = Diagnostic::warning(&NEAR_A_COIN_TOSS, message).at(Place::Zone(zone.zone));
        found.push(warning.with_help("sample it again before buying for it"));
    } else if need.error_ppm.is_none() {
        let message = format!(
            "zone {} has {} place(s) with samples: how sure its {symbol} is cannot be told",
            zone.zone, zone.n_sites
        );
        found.push(Diagnostic::warning(&NEAR_A_COIN_TOSS, message).at(Place::Zone(zone.zone)));
    }
}

/// The ground of a zone, as the limits of a pass see it.
pub(super) fn ground_of(feeding: &Feeding<'_>, zone: &ZoneSummary) -> GroundToFeed {
    let cec_meq_100g = zone.mean(Variable::Cec).filter(|_| feeding.surfaces.cec_is_at_ph_7);
    let ph = zone.mean(Variable::Reading(Analyte::PhWater));
    let is_measured = feeding.samples.cec_source == CecSource::Lab(LabMethod::MeasuredPh7);
    let cec_is_overread = !is_measured && ph.is_some_and(|ph| ph > CALCAREOUS_ABOVE_PH);
    GroundToFeed { zone: zone.zone, cec_meq_100g, holding: None, cec_is_overread }
}

/// Ground with its needs and the credits that hold there, to be placed.
fn to_feed(settings: &RateSettings, ground: GroundToFeed, needs: &[GroundNeed], credits_of_zone: usize) -> ZoneToFeed {
    let of_year = |need: &GroundNeed| {
        let supply = need.supply;
        need.years_lb_ac.iter().map(move |&(year, lb_ac)| YearNeed { year, supply, lb_ac }).collect::<Vec<_>>()
    };
    let is_asked = |supply: Supply| needs.iter().any(|need| need.supply == supply);
    let here = |zones: &Option<Vec<usize>>| zones.as_ref().is_none_or(|zones| zones.contains(&credits_of_zone));
    let credits = settings.credits.iter().filter(|(credit, zones)| here(zones) && is_asked(credit.supply));
    ZoneToFeed {
        ground,
        needs: needs.iter().flat_map(of_year).collect(),
        credits: credits.map(|(credit, _)| credit.clone()).collect(),
    }
}

/// The season of one piece of ground; `None` without passes, products and machine.
pub(super) fn zone_season(
    feeding: &Feeding<'_>,
    ground: GroundToFeed,
    needs: &[GroundNeed],
    credits_of_zone: usize,
) -> Option<season::SeasonPlacement> {
    let settings = feeding.settings;
    if needs.is_empty() {
        return None;
    }
    let crops = settings.crops();
    let rules = settings.season_rules(&crops)?;
    Some(season::place(&rules, &to_feed(settings, ground, needs, credits_of_zone)))
}
