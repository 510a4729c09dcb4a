//! Need by classes of its own: ground that needs alike, whatever it holds.
//!
//! Potassium often does not follow the holding zones: an old feeding place lies across them. Then rates follow classes
//! of what each cell needs, drawn and outlined like zones.

use super::Crop;
use super::need::{GoalYield, ZoneNeed};
use super::tri_state_1995::{self, ADDED_K2O_LB_AC, State};
use crate::chemistry::Cation;
use crate::soil_surface::SurfaceSet;
use crate::zones::need_classes::{NeedClassError, need_classes};
use crate::zones::{FittedLabels, PatchLimits, ZoneMap, fit_patches};

/// Classes of a field by its own need.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnNeeds {
    /// Class of each cell, 0 = none; class 1 needs least.
    pub labels: Vec<u16>,
    /// What fitting them to the machine took.
    pub fitted: FittedLabels,
    /// One a class.
    pub needs: Vec<ZoneNeed>,
}

/// At most `n_classes` (2 to 6) classes of what each cell needs by the guide; ground that needs nothing is one of them.
/// Patches a machine cannot follow join a neighbor first. A class needs the mean of what its cells need.
///
/// # Errors
/// [`NeedClassError`]: a number of classes that is not offered; no cell with potassium and CEC.
pub fn own_needs(
    surfaces: &SurfaceSet,
    zones: &ZoneMap,
    crop: Crop,
    goal: &GoalYield,
    n_classes: usize,
    limits: &PatchLimits,
) -> Result<OwnNeeds, NeedClassError> {
    let grid = surfaces.mask().grid();
    let mut needs_lb_ac = vec![f64::NAN; grid.n_cells()];
    let mut cells = vec![None; grid.n_cells()];
    for cell in surfaces.mask().cells() {
        let Some(parts) = surfaces.exchange_at(cell) else { continue };
        let goal = match (goal, zones.labels()[cell]) {
            (GoalYield::Field(goal), _) => *goal,
            // Ground without a zone has no goal of its own.
            (GoalYield::Zones(_), 0) => continue,
            (GoalYield::Zones(goals), label) => goals[usize::from(label) - 1],
        };
        let k_ppm = parts.k_meq_100g * Cation::K.ppm_per_meq();
        let told = tri_state_1995::recommend(k_ppm, parts.cec_meq_100g(), crop, goal, ADDED_K2O_LB_AC);
        needs_lb_ac[cell] = told.k2o_lb_ac;
        cells[cell] = Some((k_ppm, told));
    }
    let found = need_classes(&needs_lb_ac, n_classes)?;
    let fitted = fit_patches(grid, &found.labels, limits);
    let mut classes: Vec<ClassFigures> = Vec::new();
    for class in 1..=found.classes.len() {
        let of_class = fitted.labels.iter().zip(&cells).filter(|(label, _)| usize::from(**label) == class);
        classes.extend(ClassFigures::of(class, of_class.filter_map(|(_, cell)| *cell)));
    }
    // Fitting may take a class its ground, or bring one above the next.
    classes.sort_by(|a, b| a.mean_lb_ac.total_cmp(&b.mean_lb_ac));
    let number = |label: u16| classes.iter().position(|class| class.class == usize::from(label)).map_or(0, |at| at + 1);
    let labels = fitted.labels.iter().map(|&label| number(label) as u16).collect();
    let needs = classes.iter().enumerate().map(|(index, class)| class.need(index + 1, crop)).collect();
    Ok(OwnNeeds { labels, fitted, needs })
}

/// What the cells of a class need.
struct ClassFigures {
    /// Number before fitting.
    class: usize,
    n_cells: usize,
    n_below: usize,
    mean_lb_ac: f64,
    least_lb_ac: f64,
    most_lb_ac: f64,
    k_ppm: [f64; 2],
    level_ppm: [f64; 2],
}

impl ClassFigures {
    /// `None` without cells.
    fn of(class: usize, cells: impl Iterator<Item = (f64, tri_state_1995::Recommendation)>) -> Option<Self> {
        const NOTHING: [f64; 2] = [f64::INFINITY, f64::NEG_INFINITY];
        let wider = |span: [f64; 2], value: f64| [span[0].min(value), span[1].max(value)];
        let (mut n_cells, mut n_below, mut sum) = (0_usize, 0_usize, 0.0);
        let (mut need, mut k_ppm, mut level_ppm) = (NOTHING, NOTHING, NOTHING);
        for (own_ppm, told) in cells {
            n_cells += 1;
            n_below += usize::from(told.state == State::BuildUp);
            sum += told.k2o_lb_ac;
            need = wider(need, told.k2o_lb_ac);
            k_ppm = wider(k_ppm, own_ppm);
            level_ppm = wider(level_ppm, told.critical_ppm);
        }
        let [least_lb_ac, most_lb_ac] = need;
        let mean_lb_ac = sum / n_cells.max(1) as f64;
        let figures = ClassFigures { class, n_cells, n_below, mean_lb_ac, least_lb_ac, most_lb_ac, k_ppm, level_ppm };
        (n_cells > 0).then_some(figures)
    }

    fn need(&self, number: usize, crop: Crop) -> ZoneNeed {
        let ClassFigures { mean_lb_ac, least_lb_ac, most_lb_ac, k_ppm, level_ppm, .. } = self;
        ZoneNeed {
            zone: number,
            k2o_lb_ac: *mean_lb_ac,
            why: format!(
                "{mean_lb_ac:.0} lb K2O for {}: the mean of what this ground needs, {least_lb_ac:.0} to {most_lb_ac:.0} lb \
                 (K {:.0} to {:.0} ppm, level {:.0} to {:.0} at its CEC)",
                crop.name(),
                k_ppm[0],
                k_ppm[1],
                level_ppm[0],
                level_ppm[1]
            ),
            critical_ppm: None,
            mean_of_cells_k2o_lb_ac: Some(*mean_lb_ac),
            below_critical_share: Some(self.n_below as f64 / self.n_cells as f64),
        }
    }
}
