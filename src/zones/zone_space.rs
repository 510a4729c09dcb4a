//! Cells of the field in the space of the quantities zones are drawn from.

use super::covariate::Covariate;
use super::stated_zones::StatedZones;
use super::zone_count::{calinski_harabasz, silhouette_mean};
use super::zone_map::{SEED, ZoneError};
use super::zone_settings::ZoneQuantity;
use crate::soil_surface::SurfaceSet;

/// What the zone stage is given beside the soil: covariates on the cells, and zones a person drew.
#[derive(Debug, Clone, Default)]
pub struct ZoneInputs {
    /// Covariates on the raster of the surfaces.
    pub covariates: Vec<Covariate>,
    /// Zones a person drew, on the raster of the surfaces.
    pub stated: Option<StatedZones>,
    /// CEC up to which ground holds little, and up to which it holds some, meq/100 g; `None` = the usual edges.
    pub holding_edges_meq_100g: Option<[f64; 2]>,
}

/// Everything zones may be drawn from.
#[derive(Clone, Copy)]
pub(super) struct Ground<'a> {
    pub(super) surfaces: &'a SurfaceSet,
    pub(super) inputs: &'a ZoneInputs,
}

impl Ground<'_> {
    /// A quantity on the raster, NaN where there is none.
    pub(super) fn values(&self, quantity: &ZoneQuantity) -> Result<Vec<f64>, ZoneError> {
        match quantity {
            ZoneQuantity::Soil(variable) => {
                self.surfaces.values(*variable).ok_or(ZoneError::NotMapped(variable.label()))
            }
            ZoneQuantity::Covariate(name) => {
                let found = self.inputs.covariates.iter().find(|covariate| covariate.name == *name);
                let values = found.map(|covariate| covariate.values.clone());
                let values = values.ok_or_else(|| ZoneError::NoCovariate(name.clone()))?;
                assert_eq!(values.len(), self.surfaces.mask().grid().n_cells(), "one value a cell");
                Ok(values)
            }
        }
    }
}

/// Cells that have a value of every quantity, each standardized by area.
pub(super) struct ZoneSpace {
    /// On the raster, in own units.
    pub(super) columns: Vec<Vec<f64>>,
    pub(super) cells: Vec<usize>,
    /// `rows[cell * n_variables + variable]`, standardized
    pub(super) rows: Vec<f64>,
    pub(super) means: Vec<f64>,
    pub(super) deviations: Vec<f64>,
}

impl ZoneSpace {
    /// Of no quantity at all it holds every cell of the field.
    pub(super) fn of(ground: Ground<'_>, from: &[ZoneQuantity]) -> Result<Self, ZoneError> {
        let columns = from.iter().map(|quantity| ground.values(quantity)).collect::<Result<Vec<_>, _>>()?;
        let mask = ground.surfaces.mask();
        let cells: Vec<usize> =
            mask.cells().filter(|&cell| columns.iter().all(|column| column[cell].is_finite())).collect();
        if cells.is_empty() {
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
        Ok(ZoneSpace { columns, cells, rows, means, deviations })
    }

    pub(super) fn n_variables(&self) -> usize {
        self.columns.len()
    }

    /// Raster labels from 1 out of groups of the cells, from 0.
    pub(super) fn on_raster(&self, groups: &[u16], n_cells: usize) -> Vec<u16> {
        let mut labels = vec![0; n_cells];
        for (&cell, &group) in self.cells.iter().zip(groups) {
            labels[cell] = group + 1;
        }
        labels
    }

    /// Number of the nearest of `centers` (rows of standardized values) to values in own units.
    pub(super) fn nearest_center(&self, values: &[f64], centers: &[f64]) -> usize {
        let n_variables = self.n_variables();
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

    /// Indices of a labeling of the raster over the cells with a zone: mean silhouette, Calinski-Harabasz.
    pub(super) fn indices(&self, labels: &[u16]) -> [Option<f64>; 2] {
        let n_variables = self.n_variables();
        if n_variables == 0 {
            return [None; 2];
        }
        let of_cells: Vec<u16> = self.cells.iter().map(|&cell| labels[cell]).collect();
        if of_cells.iter().all(|&label| label > 0) {
            return indices(&self.rows, n_variables, &of_cells);
        }
        let zoned = self.rows.chunks_exact(n_variables).zip(&of_cells).filter(|(_, label)| **label > 0);
        let rows: Vec<f64> = zoned.flat_map(|(row, _)| row).copied().collect();
        let labels: Vec<u16> = of_cells.iter().copied().filter(|&label| label > 0).collect();
        indices(&rows, n_variables, &labels)
    }
}

fn indices(rows: &[f64], n_variables: usize, labels: &[u16]) -> [Option<f64>; 2] {
    [silhouette_mean(rows, n_variables, labels, SEED), calinski_harabasz(rows, n_variables, labels)]
}
