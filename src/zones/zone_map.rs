//! [`ZoneMap`]: one zone a cell, zone 1 holds least.

use super::k_means::{KMeansFit, KMeansSettings, k_means};
use super::verdict::{Verdict, judge};
use super::zone_count::{calinski_harabasz, silhouette_mean, variance_reduction_percent};
use crate::cell_grid::CellMask;
use crate::chemistry::Cation;
use crate::fields::HoldingClass;
use crate::soil_surface::{SurfaceSet, Variable};

/// Seed of the starts. Fixed, so that the same samples give the same zones.
const SEED: u64 = 20_260_301;
/// Starts of k-means; the best is kept.
const N_STARTS: usize = 20;
/// Most rounds of one start.
const MAX_ITER: usize = 300;
/// Most zones tried.
pub(super) const MAX_ZONES: usize = 6;

/// Settings of the zone stage.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneSettings {
    /// What makes ground alike.
    pub from: Vec<Variable>,
    /// Zones wanted; `None` = as many as the samples support.
    pub count: Option<usize>,
}

impl ZoneSettings {
    /// What zones are drawn from unless the user says otherwise.
    pub const DEFAULT_FROM: [Variable; 3] =
        [Variable::Cec, Variable::Saturation(Cation::Ca), Variable::Saturation(Cation::Mg)];
}

/// Why no zones can be drawn.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ZoneError {
    /// A variable is not mapped.
    #[error("zones are to be drawn from {0}, which the sheet does not give")]
    NotMapped(&'static str),
    /// No cell has all variables.
    #[error("no cell of the field has a value of all the quantities zones are drawn from")]
    NoCells,
    /// More zones than different cells.
    #[error("{asked} zones asked, but the mapped values let at most {distinct} be told apart")]
    TooMany {
        /// Zones asked.
        asked: usize,
        /// Zones that can be told apart.
        distinct: usize,
    },
}

/// One zone in figures.
#[derive(Debug, Clone)]
pub struct ZoneSummary {
    /// Number from 1; 1 holds least.
    pub zone: usize,
    /// Cells.
    pub n_cells: usize,
    /// Share of the zoned ground, 0 to 1.
    pub share: f64,
    /// Places with samples inside.
    pub n_sites: usize,
    /// How much it holds; `None` without a CEC that fits the classes.
    pub holding: Option<HoldingClass>,
    /// Area-weighted means.
    pub means: Vec<(Variable, f64)>,
}

impl ZoneSummary {
    /// Mean of a mapped quantity.
    pub fn mean(&self, variable: Variable) -> Option<f64> {
        self.means.iter().find(|(v, _)| *v == variable).map(|(_, mean)| *mean)
    }
}

/// Zones on the raster.
///
/// # Guarantees
/// - labels are 0 (no zone) or 1..=n, none empty
/// - ordered by ascending mean CEC, or by the first zoning variable where CEC is not mapped
#[derive(Debug, Clone)]
pub struct ZoneMap {
    mask: CellMask,
    labels: Vec<u16>,
    zones: Vec<ZoneSummary>,
    verdict: Verdict,
}

/// Cells of the field in the space of the zoning variables, standardized by area.
pub(super) struct ZoneSpace {
    pub(super) cells: Vec<usize>,
    /// `rows[cell * n_variables + variable]`
    pub(super) rows: Vec<f64>,
    pub(super) means: Vec<f64>,
    pub(super) deviations: Vec<f64>,
}

impl ZoneMap {
    /// Draws zones and judges 1 to 6 of them by the samples.
    ///
    /// # Errors
    /// [`ZoneError`], with the reason.
    pub fn draw(surfaces: &SurfaceSet, settings: &ZoneSettings) -> Result<Self, ZoneError> {
        let space = ZoneSpace::of(surfaces, &settings.from)?;
        let order = surfaces.values(Variable::Cec).or_else(|| surfaces.values(settings.from[0])).unwrap_or_default();
        let mut fits: Vec<Option<KMeansFit>> = Vec::new();
        for k in 1..=MAX_ZONES {
            let settings = KMeansSettings { k, n_starts: N_STARTS, seed: SEED, max_iter: MAX_ITER };
            match k_means(&space.rows, space.means.len(), &settings) {
                Ok(fit) => fits.push(Some(ordered(fit, &space, &order))),
                Err(_) => fits.push(None),
            }
        }
        let verdict = judge(surfaces, settings, &space, &fits, &order);
        let count = settings.count.unwrap_or(verdict.suggested);
        let Some(Some(fit)) = fits.get(count - 1) else {
            let distinct = fits.iter().flatten().count();
            return Err(ZoneError::TooMany { asked: count, distinct });
        };
        let grid = *surfaces.mask().grid();
        let mut labels = vec![0_u16; grid.n_cells()];
        for (&cell, &label) in space.cells.iter().zip(&fit.labels) {
            labels[cell] = label + 1;
        }
        let zones = summaries(surfaces, &labels, count, space.cells.len());
        let mask = CellMask::new(grid, labels.iter().map(|&label| label > 0).collect());
        Ok(ZoneMap { mask, labels, zones, verdict })
    }

    /// Cells that have a zone.
    pub fn mask(&self) -> &CellMask {
        &self.mask
    }

    /// Zone of each cell, 0 = none.
    pub fn labels(&self) -> &[u16] {
        &self.labels
    }

    /// Zones in order, zone 1 first.
    pub fn zones(&self) -> &[ZoneSummary] {
        &self.zones
    }

    /// What the samples say about 1 to 6 zones.
    pub fn verdict(&self) -> &Verdict {
        &self.verdict
    }
}

impl ZoneSpace {
    fn of(surfaces: &SurfaceSet, from: &[Variable]) -> Result<Self, ZoneError> {
        let mut columns = Vec::new();
        for variable in from {
            columns.push(surfaces.values(*variable).ok_or(ZoneError::NotMapped(variable.label()))?);
        }
        let cells: Vec<usize> =
            surfaces.mask().cells().filter(|&cell| columns.iter().all(|column| column[cell].is_finite())).collect();
        if cells.is_empty() || columns.is_empty() {
            return Err(ZoneError::NoCells);
        }
        let n = cells.len() as f64;
        let (mut means, mut deviations) = (Vec::new(), Vec::new());
        for column in &columns {
            let mean = cells.iter().map(|&cell| column[cell]).sum::<f64>() / n;
            let variance = cells.iter().map(|&cell| (column[cell] - mean).powi(2)).sum::<f64>() / n;
            means.push(mean);
            // A quantity that is the same everywhere says nothing and must not blow up rounding.
            deviations.push(if variance.sqrt() > 1e-9 * mean.abs() { variance.sqrt() } else { f64::INFINITY });
        }
        let mut rows = Vec::with_capacity(cells.len() * columns.len());
        for &cell in &cells {
            rows.extend(columns.iter().enumerate().map(|(v, column)| (column[cell] - means[v]) / deviations[v]));
        }
        Ok(ZoneSpace { cells, rows, means, deviations })
    }

    /// Number of the nearest of `centers` (rows of standardized values) to unstandardized `values`.
    pub(super) fn nearest_center(&self, values: &[f64], centers: &[f64]) -> usize {
        let n_variables = self.means.len();
        let distance = |center: &[f64]| -> f64 {
            (0..n_variables).map(|v| ((values[v] - self.means[v]) / self.deviations[v] - center[v]).powi(2)).sum()
        };
        let mut best = (0, f64::INFINITY);
        for (zone, center) in centers.chunks(n_variables).enumerate() {
            if distance(center) < best.1 {
                best = (zone, distance(center));
            }
        }
        best.0
    }

    /// Cell indices of a labeling: variance taken out of the order variable, silhouette, Calinski-Harabasz.
    pub(super) fn indices(&self, labels: &[u16], order: &[f64]) -> [Option<f64>; 3] {
        let of_cells: Vec<f64> = self.cells.iter().map(|&cell| order[cell]).collect();
        [
            variance_reduction_percent(&of_cells, labels),
            silhouette_mean(&self.rows, self.means.len(), labels, SEED),
            calinski_harabasz(&self.rows, self.means.len(), labels),
        ]
    }
}

/// Renumbers groups by ascending mean of the order variable.
fn ordered(mut fit: KMeansFit, space: &ZoneSpace, order: &[f64]) -> KMeansFit {
    let n_variables = space.means.len();
    let k = fit.centers.len() / n_variables;
    let mut sums = vec![(0.0, 0.0); k];
    for (&cell, &label) in space.cells.iter().zip(&fit.labels) {
        sums[usize::from(label)].0 += order[cell];
        sums[usize::from(label)].1 += 1.0;
    }
    let mut by_mean: Vec<usize> = (0..k).collect();
    by_mean.sort_by(|&a, &b| (sums[a].0 / sums[a].1).total_cmp(&(sums[b].0 / sums[b].1)));
    let mut rank = vec![0_u16; k];
    for (new, &old) in by_mean.iter().enumerate() {
        rank[old] = new as u16;
    }
    fit.labels.iter_mut().for_each(|label| *label = rank[usize::from(*label)]);
    fit.centers =
        by_mean.iter().flat_map(|&old| fit.centers[old * n_variables..(old + 1) * n_variables].to_vec()).collect();
    fit
}

fn summaries(surfaces: &SurfaceSet, labels: &[u16], count: usize, n_zoned: usize) -> Vec<ZoneSummary> {
    let grid = *surfaces.mask().grid();
    let mut n_cells = vec![0_usize; count];
    for &label in labels.iter().filter(|&&label| label > 0) {
        n_cells[usize::from(label) - 1] += 1;
    }
    let mut n_sites = vec![0_usize; count];
    for &site in &surfaces.sites {
        let label = grid.cell_at(site).map_or(0, |(col, row)| labels[grid.index(col, row)]);
        if label > 0 {
            n_sites[usize::from(label) - 1] += 1;
        }
    }
    let mut zones: Vec<ZoneSummary> = (0..count)
        .map(|zone| ZoneSummary {
            zone: zone + 1,
            n_cells: n_cells[zone],
            share: n_cells[zone] as f64 / n_zoned as f64,
            n_sites: n_sites[zone],
            holding: None,
            means: Vec::new(),
        })
        .collect();
    for quality in &surfaces.quality {
        let Some(values) = surfaces.values(quality.variable) else { continue };
        let mut sums = vec![(0.0, 0_usize); count];
        for (&label, value) in labels.iter().zip(&values).filter(|(label, value)| **label > 0 && value.is_finite()) {
            let sum = &mut sums[usize::from(label) - 1];
            sum.0 += value;
            sum.1 += 1;
        }
        for (zone, (sum, n)) in zones.iter_mut().zip(sums) {
            if n > 0 {
                zone.means.push((quality.variable, sum / n as f64));
            }
        }
    }
    for zone in zones.iter_mut().filter(|_| surfaces.cec_is_at_ph_7) {
        zone.holding = zone.mean(Variable::Cec).map(HoldingClass::of);
    }
    zones
}
