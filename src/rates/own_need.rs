//! Need by classes of its own: ground that needs alike, whatever it holds.
//!
//! Potassium and phosphorus often do not follow the holding zones: an old feeding place lies across them. Then rates
//! follow classes of what each cell needs, drawn and outlined like zones.

use super::feeding::{Asked, Feeding, OutlineOf, test_variable, zone_season};
use super::guide_need::years_need;
use super::need::{GUIDE_NEEDS_AN_ANSWER, GroundNeed, goals_of_zone};
use super::need_settings::{NeedSource, SupplyNeed};
use super::rate_plan::{FedGround, OwnClasses, RateGround};
use super::{Crop, GroundToFeed, Supply};
use crate::diagnostic::{Code, Diagnostic, Place};
use crate::zones::fit_patches;
use crate::zones::need_classes::need_classes;

/// A product of own classes carries what zones need.
pub static CLASSES_THAT_CARRY: Code = Code {
    name: "classes-that-carry",
    checks: "that a product whose rates follow classes of its own need carries nothing that zones need",
    why: "its classes lie across the zones, so what it carries could not be counted zone by zone",
    example: "phosphorus by own classes as 11-52-0, while nitrogen is planned by zones",
    mend: "let it follow the zones, or choose a product that carries nothing else",
};
/// Messages of this stage, for `holdground explain`.
pub static CODES: &[&Code] = &[&CLASSES_THAT_CARRY];

/// One cell's soil and need.
#[derive(Clone)]
struct CellNeed {
    test_ppm: f64,
    cec_meq_100g: Option<f64>,
    critical_ppm: f64,
    is_below: bool,
    years_lb_ac: Vec<f64>,
}

impl CellNeed {
    fn lb_ac(&self) -> f64 {
        self.years_lb_ac.iter().sum()
    }
}

/// Classes of what each cell needs by the guide (ground that needs nothing is one of them), what they need, and their
/// season. Patches a machine cannot follow join a neighbor first. A class needs the mean of what its cells need.
///
/// # Errors
/// A product that carries what zones need; no cell with a soil test; outlines that cannot be drawn.
pub(super) fn own_ground(
    feeding: &Feeding<'_>,
    need: &SupplyNeed,
    asked: &Asked<'_>,
    outline: &OutlineOf<'_>,
    found: &mut Vec<Diagnostic>,
) -> Result<RateGround, Vec<Diagnostic>> {
    let faults = carriers(feeding, need, asked);
    if !faults.is_empty() {
        return Err(faults);
    }
    let cells = cell_needs(feeding, need);
    let grid = feeding.surfaces.mask().grid();
    let lb_ac: Vec<f64> = cells.iter().map(|cell| cell.as_ref().map_or(f64::NAN, CellNeed::lb_ac)).collect();
    let n_classes = need.own_classes.unwrap_or(2);
    let classes = need_classes(&lb_ac, n_classes).map_err(|error| {
        let message = format!("no classes of own need of {}: {error}", need.supply.name());
        vec![Diagnostic::error(&GUIDE_NEEDS_AN_ANSWER, message).at(Place::File(feeding.field_file.to_owned()))]
    })?;
    let fitted = fit_patches(grid, &classes.labels, feeding.limits);
    let mut figures: Vec<ClassFigures> = Vec::new();
    for class in 1..=classes.classes.len() {
        let of_class = fitted.labels.iter().zip(&cells).filter(|(label, _)| usize::from(**label) == class);
        figures.extend(ClassFigures::of(class, of_class.filter_map(|(_, cell)| cell.clone()).collect()));
    }
    // Fitting may take a class its ground, or bring one above the next.
    figures.sort_by(|a, b| a.mean(CellNeed::lb_ac).total_cmp(&b.mean(CellNeed::lb_ac)));
    let number = |label: u16| figures.iter().position(|one| one.class == usize::from(label)).map_or(0, |at| at + 1);
    let labels: Vec<u16> = fitted.labels.iter().map(|&label| number(label) as u16).collect();
    let fed = figures.iter().enumerate().map(|(index, class)| {
        let worked_out = class.need(index + 1, need.supply);
        let ground = class.ground(index + 1, feeding);
        let season = zone_season(feeding, ground, std::slice::from_ref(&worked_out), 0);
        FedGround { zone: index + 1, ground, needs: vec![worked_out], season }
    });
    let fed = fed.collect();
    if feeding.settings.credits.iter().any(|(credit, zones)| credit.supply == need.supply && zones.is_some()) {
        let message =
            format!("credits of {} stated by zone are left out: its rates follow classes", need.supply.name());
        found.push(Diagnostic::warning(&CLASSES_THAT_CARRY, message).at(Place::File(feeding.field_file.to_owned())));
    }
    let outlines = outline(&labels)?;
    Ok(RateGround { supplies: vec![need.supply], own: Some(OwnClasses { labels, fitted, outlines }), fed })
}

/// Products of the supply that carry what is planned by zones.
fn carriers(feeding: &Feeding<'_>, need: &SupplyNeed, asked: &Asked<'_>) -> Vec<Diagnostic> {
    let by_zone = |supply: Supply| asked.needs.iter().any(|one| one.supply == supply && one.supply != need.supply);
    let mut faults = Vec::new();
    for product in feeding.settings.products.iter().filter(|product| product.bought_for() == Some(need.supply)) {
        let is_spread = feeding.settings.passes.iter().any(|pass| pass.products.contains(&product.short));
        let carried = Supply::ALL.into_iter().find(|supply| product.share(*supply) > 0.0 && by_zone(*supply));
        if let Some(carried) = carried.filter(|_| is_spread) {
            let message = format!(
                "{} follows classes of its own need, but {} carries {}, which is planned by zones",
                need.supply.name(),
                product.name,
                carried.name()
            );
            let place = Place::Key {
                file: feeding.field_file.to_owned(),
                line: need.line,
                key: format!("need.{}.own_classes", need.supply.key()),
            };
            let help = "take `own_classes` out, or choose a product that carries nothing else";
            faults.push(Diagnostic::error(&CLASSES_THAT_CARRY, message).at(place).with_help(help));
        }
    }
    faults
}

/// What each cell needs by itself; `None` where it cannot be told.
fn cell_needs(feeding: &Feeding<'_>, need: &SupplyNeed) -> Vec<Option<CellNeed>> {
    let mut cells = vec![None; feeding.surfaces.mask().grid().n_cells()];
    let NeedSource::Guide(choice) = &need.source else { return cells };
    let (Some(guide), Some(tests)) = (&choice.guide, feeding.surfaces.values(test_variable(need.supply))) else {
        return cells;
    };
    let zones = feeding.zones.zones();
    let crops: Vec<Option<Vec<(Crop, f64)>>> = zones.iter().map(|zone| goals_of_zone(feeding.settings, zone)).collect();
    for cell in feeding.surfaces.mask().cells() {
        // Ground without a zone has no goal of its own; one goal for the field holds there too.
        let label = usize::from(feeding.zones.labels()[cell]);
        let same = || feeding.settings.years.iter().all(|year| !matches!(year.goal, Some(super::GoalYield::Zones(_))));
        let crops = match label {
            0 if same() => crops.first().and_then(Option::as_ref),
            0 => None,
            label => crops[label - 1].as_ref(),
        };
        let Some(crops) = crops else { continue };
        let cec_meq_100g = feeding.surfaces.exchange_at(cell).map(|parts| parts.cec_meq_100g());
        let test_ppm = tests[cell];
        let Ok(years) = years_need(guide, need.supply, test_ppm, cec_meq_100g, crops, &feeding.settings.hold) else {
            continue;
        };
        cells[cell] = Some(CellNeed {
            test_ppm,
            cec_meq_100g,
            critical_ppm: years.critical_ppm(),
            is_below: years.is_below(),
            years_lb_ac: years.years.iter().map(|year| year.lb_ac).collect(),
        });
    }
    cells
}

/// The cells of a class.
struct ClassFigures {
    /// Number before fitting.
    class: usize,
    cells: Vec<CellNeed>,
}

impl ClassFigures {
    /// `None` without cells.
    fn of(class: usize, cells: Vec<CellNeed>) -> Option<Self> {
        (!cells.is_empty()).then_some(ClassFigures { class, cells })
    }

    fn mean(&self, of: impl Fn(&CellNeed) -> f64) -> f64 {
        self.cells.iter().map(of).sum::<f64>() / self.cells.len() as f64
    }

    fn span(&self, of: impl Fn(&CellNeed) -> f64) -> [f64; 2] {
        let wider = |[least, most]: [f64; 2], cell: &CellNeed| [least.min(of(cell)), most.max(of(cell))];
        self.cells.iter().fold([f64::INFINITY, f64::NEG_INFINITY], wider)
    }

    fn need(&self, number: usize, supply: Supply) -> GroundNeed {
        let n_years = self.cells[0].years_lb_ac.len();
        let year = |year: usize| (year + 1, self.mean(|cell| cell.years_lb_ac[year]));
        let years_lb_ac: Vec<(usize, f64)> = (0..n_years).map(year).collect();
        let mean = self.mean(CellNeed::lb_ac);
        let [least, most] = self.span(CellNeed::lb_ac);
        let ([test_least, test_most], [level_least, level_most]) =
            (self.span(|cell| cell.test_ppm), self.span(|cell| cell.critical_ppm));
        let symbol = if supply == Supply::K2o { "K" } else { "P" };
        let n_below = self.cells.iter().filter(|cell| cell.is_below).count();
        GroundNeed {
            zone: number,
            supply,
            years_lb_ac,
            year_words: Vec::new(),
            ground_words: format!(
                "the mean of what this ground needs, {least:.0} to {most:.0} lb ({symbol} {test_least:.0} to {test_most:.0} ppm, \
                 level {level_least:.0} to {level_most:.0})"
            ),
            test_ppm: None,
            critical_ppm: None,
            mean_of_cells_lb_ac: Some(mean),
            below_critical_share: Some(n_below as f64 / self.cells.len() as f64),
            error_ppm: None,
        }
    }

    /// Ground of the class: the least CEC of its zones counts, since a class may lie on ground that holds little.
    fn ground(&self, number: usize, feeding: &Feeding<'_>) -> GroundToFeed {
        let known = self.cells.iter().filter_map(|cell| cell.cec_meq_100g);
        let mut cecs: Vec<f64> = known.filter(|_| feeding.surfaces.cec_is_at_ph_7).collect();
        cecs.sort_by(f64::total_cmp);
        // One cell in ten of the class holds no more than this.
        let low = cecs.get(cecs.len() / 10).copied();
        GroundToFeed { zone: number, cec_meq_100g: low, holding: None, cec_is_overread: false }
    }
}
