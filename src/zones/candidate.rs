//! [`Candidate`]: one number of zones on the whole raster, numbered by what the zones hold, each in figures.

use super::zone_space::ZoneInputs;
use crate::fields::HoldingClass;
use crate::soil_surface::{SurfaceSet, Variable};

/// One zone in figures.
#[derive(Debug, Clone)]
pub struct ZoneSummary {
    /// Number from 1; 1 holds least.
    pub zone: usize,
    /// What it is called: the name it was drawn under, or its classes in words; `None` where the method names none.
    pub name: Option<String>,
    /// Cells.
    pub n_cells: usize,
    /// Places with samples inside.
    pub n_sites: usize,
    /// How much it holds; `None` without a CEC that fits the classes.
    pub holding: Option<HoldingClass>,
    /// Area-weighted means.
    pub means: Vec<(Variable, f64)>,
    /// Area-weighted means of covariates, by name.
    pub covariate_means: Vec<(String, f64)>,
}

impl ZoneSummary {
    /// Mean of a mapped quantity.
    pub fn mean(&self, variable: Variable) -> Option<f64> {
        self.means.iter().find(|(v, _)| *v == variable).map(|(_, mean)| *mean)
    }

    /// Mean of a covariate.
    pub fn covariate_mean(&self, name: &str) -> Option<f64> {
        self.covariate_means.iter().find(|(covariate, _)| covariate == name).map(|(_, mean)| *mean)
    }
}

/// One number of zones.
///
/// # Guarantees
/// - labels are 0 (no zone) or 1..=`zones.len()`, none empty
/// - ordered by ascending mean CEC, or by the first zoning quantity where CEC is not mapped
#[derive(Debug, Clone)]
pub struct Candidate {
    /// Zones drawn. `zones` holds fewer where none of a zone's patches was large enough to stay.
    pub count: usize,
    /// Zone of each cell of the raster, 0 = none.
    pub labels: Vec<u16>,
    /// Zones in order, zone 1 first.
    pub zones: Vec<ZoneSummary>,
}

/// Labels with the name of each zone.
pub(super) struct Numbered {
    pub(super) labels: Vec<u16>,
    pub(super) names: Vec<Option<String>>,
}

impl Numbered {
    /// Numbers zones from 1 by ascending mean of `order`; a number without cells goes.
    ///
    /// Zones of equal mean stay in their order; zones where `order` is unknown come last. Without `order` all stay.
    pub(super) fn by(labels: Vec<u16>, names: &[Option<String>], order: Option<&[f64]>) -> Self {
        let count = names.len();
        let (mut n_cells, mut sums) = (vec![0_usize; count], vec![(0.0, 0.0); count]);
        for (cell, &label) in labels.iter().enumerate().filter(|(_, label)| **label > 0) {
            let zone = usize::from(label) - 1;
            n_cells[zone] += 1;
            if let Some(value) = order.map(|order| order[cell]).filter(|value| value.is_finite()) {
                sums[zone].0 += value;
                sums[zone].1 += 1.0;
            }
        }
        // Without a value behind every number.
        let mean = |zone: &usize| if sums[*zone].1 > 0.0 { sums[*zone].0 / sums[*zone].1 } else { f64::INFINITY };
        let mut by_mean: Vec<usize> = (0..count).filter(|&zone| n_cells[zone] > 0).collect();
        if order.is_some() {
            by_mean.sort_by(|a, b| mean(a).total_cmp(&mean(b)));
        }
        let mut number = vec![0_u16; count + 1];
        for (new, &old) in by_mean.iter().enumerate() {
            number[old + 1] = new as u16 + 1;
        }
        let labels = labels.into_iter().map(|label| number[usize::from(label)]).collect();
        Numbered { labels, names: by_mean.iter().map(|&old| names[old].clone()).collect() }
    }

    /// Other labels for the same cells. A cell that would lose its zone, or get one that is not there, keeps its own.
    pub(super) fn refitted(&self, fitted: &[u16]) -> Vec<u16> {
        assert_eq!(fitted.len(), self.labels.len(), "one label a cell");
        let keep = |(&fitted, &own): (&u16, &u16)| {
            let is_zone = usize::from(fitted) <= self.names.len();
            if is_zone && (fitted > 0 || own == 0) { fitted } else { own }
        };
        fitted.iter().zip(&self.labels).map(keep).collect()
    }
}

/// Figures of the zones of every candidate; each quantity is worked out once for all of them.
pub(super) fn candidates(
    surfaces: &SurfaceSet,
    inputs: &ZoneInputs,
    numbered: Vec<(usize, Numbered)>,
) -> Vec<Candidate> {
    let edges = inputs.holding_edges_meq_100g.unwrap_or(HoldingClass::EDGES_MEQ_100G);
    let mut candidates: Vec<Candidate> =
        numbered.into_iter().map(|(count, zones)| counted(surfaces, count, zones)).collect();
    for quality in &surfaces.quality {
        let Some(values) = surfaces.values(quality.variable) else { continue };
        for candidate in &mut candidates {
            for (zone, mean) in candidate.zones.iter_mut().zip(means(&candidate.labels, &values)) {
                zone.means.extend(mean.map(|mean| (quality.variable, mean)));
            }
        }
    }
    for covariate in &inputs.covariates {
        for candidate in &mut candidates {
            for (zone, mean) in candidate.zones.iter_mut().zip(means(&candidate.labels, &covariate.values)) {
                zone.covariate_means.extend(mean.map(|mean| (covariate.name.clone(), mean)));
            }
        }
    }
    for zone in candidates.iter_mut().flat_map(|candidate| &mut candidate.zones).filter(|_| surfaces.cec_is_at_ph_7) {
        zone.holding = zone.mean(Variable::Cec).map(|cec| HoldingClass::by_edges(cec, edges));
    }
    candidates
}

/// Cells and places of each zone.
fn counted(surfaces: &SurfaceSet, count: usize, zones: Numbered) -> Candidate {
    let Numbered { labels, names } = zones;
    let grid = surfaces.mask().grid();
    let mut n_cells = vec![0_usize; names.len() + 1];
    labels.iter().for_each(|&label| n_cells[usize::from(label)] += 1);
    let mut n_sites = vec![0_usize; names.len() + 1];
    for &site in &surfaces.sites {
        let label = grid.cell_at(site).map_or(0, |(col, row)| labels[grid.index(col, row)]);
        n_sites[usize::from(label)] += 1;
    }
    let zones = names.into_iter().enumerate().map(|(index, name)| ZoneSummary {
        zone: index + 1,
        name,
        n_cells: n_cells[index + 1],
        n_sites: n_sites[index + 1],
        holding: None,
        means: Vec::new(),
        covariate_means: Vec::new(),
    });
    let zones = zones.collect();
    Candidate { count, labels, zones }
}

/// Mean of the finite values of each zone, zone 1 first; `None` where there are none.
pub(super) fn means(labels: &[u16], values: &[f64]) -> Vec<Option<f64>> {
    let n_zones = labels.iter().max().map_or(0, |&most| usize::from(most));
    let mut sums = vec![(0.0, 0_usize); n_zones];
    for (&label, value) in labels.iter().zip(values).filter(|(label, value)| **label > 0 && value.is_finite()) {
        let sum = &mut sums[usize::from(label) - 1];
        sum.0 += value;
        sum.1 += 1;
    }
    sums.into_iter().map(|(sum, n)| (n > 0).then(|| sum / n as f64)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn named(names: &[&str]) -> Vec<Option<String>> {
        names.iter().map(|name| Some((*name).to_owned())).collect()
    }

    #[test]
    fn zones_are_numbered_by_ascending_mean_and_empty_ones_go() {
        // Zone 1 means 9, zone 2 is empty, zone 3 means 2, zone 4 has no value.
        let order = [9.0, 9.0, 1.0, 3.0, f64::NAN, 5.0];
        let numbered =
            Numbered::by(vec![1, 1, 3, 3, 4, 0], &named(&["much", "none", "little", "unknown"]), Some(&order));
        assert_eq!(numbered.labels, [2, 2, 1, 1, 3, 0]);
        assert_eq!(numbered.names, named(&["little", "much", "unknown"]));
        let as_drawn = Numbered::by(vec![2, 1, 0], &named(&["a", "b"]), None);
        assert_eq!(as_drawn.labels, [2, 1, 0]);
    }

    #[test]
    fn other_labels_take_no_cell_its_zone() {
        let numbered = Numbered { labels: vec![1, 1, 2, 0, 2], names: vec![None; 2] };
        assert_eq!(numbered.refitted(&[2, 0, 2, 1, 9]), [2, 1, 2, 1, 2]);
    }

    #[test]
    fn means_leave_out_what_is_unknown() {
        assert_eq!(means(&[1, 1, 2, 0], &[1.0, 3.0, f64::NAN, 7.0]), [Some(2.0), None]);
    }
}
