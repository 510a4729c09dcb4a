//! [`SurfaceSet`]: every mapped quantity of a field on one raster, with how far each misses.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::Variable;
use crate::cell_grid::{CellMask, Site};
use crate::chemistry::{Cation, Exchange};
use crate::mesh::{Mesh, MeshError};
use crate::samples::{Sample, SampleSet};
use crate::surface::leave_one_out::MapError;
use crate::surface::mesh_setting::MeshSetting;
use crate::surface::method::Method;
use crate::surface::method_table::REFERENCE_METHODS;

/// Settings of the surface stage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfaceSettings {
    /// How values between the samples are found.
    pub method: Method,
    /// Side of a cell, meters.
    pub cell_m: f64,
}

/// How far one mapped quantity misses when each sample is hidden in turn.
#[derive(Debug, Clone)]
pub struct Quality {
    /// The quantity.
    pub variable: Variable,
    /// The method used, settled, in words.
    pub method: String,
    /// Places with a measured value.
    pub sites: Vec<Site>,
    /// Measured, one a place.
    pub measured: Vec<f64>,
    /// Predicted with that place hidden, one a place; NaN where the method has none.
    pub predicted: Vec<f64>,
    /// The miss; `None` where nothing could be predicted.
    pub error: Option<MapError>,
    /// The same for every method that can be chosen: (method in words, its miss).
    pub all_methods: Vec<(String, Option<MapError>)>,
}

/// Mapped quantities on one raster.
///
/// # Guarantees
/// - calcium, magnesium, potassium, sodium and acidity are mapped with one setting, so CEC and shares derived from them
///   close in every cell
/// - no value outside the mask; each quantity carries its miss
#[derive(Debug, Clone)]
pub struct SurfaceSet {
    mask: CellMask,
    /// Ca, Mg, K, rest, and Na where every place has it.
    exchange: Option<Vec<Vec<f64>>>,
    /// Quantities mapped as themselves.
    alone: Vec<(Variable, Vec<f64>)>,
    extrapolated: Vec<bool>,
    /// Whether CEC may be put against classes and guides made for CEC at pH 7 by mass of soil.
    pub cec_is_at_ph_7: bool,
    /// One entry a mapped quantity.
    pub quality: Vec<Quality>,
    /// All places with any value, sorted by (easting, northing).
    pub sites: Vec<Site>,
}

impl SurfaceSet {
    /// Maps everything the samples give.
    ///
    /// # Errors
    /// [`MeshError`] when the places make no net.
    pub fn map(samples: &SampleSet, settings: &SurfaceSettings, mask: CellMask) -> Result<Self, MeshError> {
        let mut set = SurfaceSet {
            extrapolated: vec![false; mask.grid().n_cells()],
            mask,
            exchange: None,
            cec_is_at_ph_7: samples.cec_is_at_ph_7(),
            alone: Vec::new(),
            quality: Vec::new(),
            sites: samples.sites_with(0, |_| Some(Vec::new())).0,
        };
        // The hatching is that of all places; a quantity missing at some of them reaches less far only there.
        let all = Mesh::new(set.sites.clone())?;
        let level = vec![0.0; set.sites.len()];
        set.extrapolated = Method::Mesh(Some(MeshSetting::PLAIN)).raster(&all, &[&level], &set.mask).extrapolated;
        set.map_exchange(samples, settings)?;
        let has_exchange = set.exchange.is_some();
        for &(analyte, _) in &samples.methods {
            // A sheet that gives no whole exchange still gives the parts it prints.
            let variable = Variable::of_analyte(analyte);
            if let Some(variable) = variable.filter(|v| !has_exchange || matches!(v, Variable::Reading(_))) {
                set.map_alone(samples, variable, settings);
            }
        }
        Ok(set)
    }

    fn map_exchange(&mut self, samples: &SampleSet, settings: &SurfaceSettings) -> Result<(), MeshError> {
        let with: Vec<&Exchange> = samples.samples.iter().filter_map(|sample| sample.exchange.as_ref()).collect();
        if with.is_empty() {
            return Ok(());
        }
        let has_na = with.iter().all(|parts| parts.na_meq_100g.is_some());
        let n_parts = if has_na { 5 } else { 4 };
        let (sites, columns) = samples.sites_with(n_parts, |sample| {
            let parts = sample.exchange.as_ref()?;
            // Sodium that is missing at some places is not mapped, but stays in the CEC of those that have it.
            let kept = parts.na_meq_100g.filter(|_| !has_na).unwrap_or(0.0);
            let mut row = vec![parts.ca_meq_100g, parts.mg_meq_100g, parts.k_meq_100g, parts.rest_meq_100g + kept];
            row.extend(parts.na_meq_100g.filter(|_| has_na));
            Some(row)
        });
        let mesh = Mesh::new(sites)?;
        let columns: Vec<&[f64]> = columns.iter().map(Vec::as_slice).collect();
        let method = settings.method.settled(&mesh, &columns);
        let mut variables = vec![Variable::Cec, Variable::CaMgSaturation];
        variables.extend(Cation::ALL.map(Variable::Saturation));
        variables.extend(Cation::ALL.map(Variable::Amount));
        variables.retain(|variable| {
            has_na || !matches!(variable, Variable::Saturation(Cation::Na) | Variable::Amount(Cation::Na))
        });
        let derive = |variable: Variable, parts: &[f64]| variable.of_exchange(&exchange_of(parts)).unwrap_or(f64::NAN);
        self.judge(&mesh, &columns, method, &variables, derive);
        self.exchange = Some(method.raster(&mesh, &columns, &self.mask).values);
        Ok(())
    }

    fn map_alone(&mut self, samples: &SampleSet, variable: Variable, settings: &SurfaceSettings) {
        self.map_from(samples, variable, settings, |sample| variable.of_sample(sample));
    }

    /// Maps what was worked out at the samples: lime by a guide. `at_samples` has one entry a sample, `None` where there
    /// is none; too few of them make no map.
    pub fn map_worked_out(
        &mut self,
        samples: &SampleSet,
        variable: Variable,
        at_samples: &[Option<f64>],
        settings: &SurfaceSettings,
    ) {
        let by_name: BTreeMap<&str, Option<f64>> =
            samples.samples.iter().map(|sample| sample.id.as_str()).zip(at_samples.iter().copied()).collect();
        self.map_from(samples, variable, settings, |sample| by_name.get(sample.id.as_str()).copied().flatten());
    }

    fn map_from(
        &mut self,
        samples: &SampleSet,
        variable: Variable,
        settings: &SurfaceSettings,
        value: impl Fn(&Sample) -> Option<f64>,
    ) {
        let (sites, columns) = samples.sites_with(1, |sample| value(sample).map(|value| vec![value]));
        // Too few places with this reading make no net; it is then not mapped, which the sheet's warning says.
        let Ok(mesh) = Mesh::new(sites) else { return };
        let columns: Vec<&[f64]> = columns.iter().map(Vec::as_slice).collect();
        let method = settings.method.settled(&mesh, &columns);
        self.judge(&mesh, &columns, method, &[variable], |_, parts| parts[0]);
        let values = method.raster(&mesh, &columns, &self.mask).values.swap_remove(0);
        self.alone.push((variable, values));
    }

    /// Hides each sample in turn under every method and adds one quality entry a variable.
    fn judge(
        &mut self,
        mesh: &Mesh,
        columns: &[&[f64]],
        method: Method,
        variables: &[Variable],
        derive: impl Fn(Variable, &[f64]) -> f64,
    ) {
        let n_sites = mesh.sites().len();
        let at_site = |site: usize| columns.iter().map(|column| column[site]).collect::<Vec<f64>>();
        let measured: Vec<Vec<f64>> = variables
            .iter()
            .map(|&variable| (0..n_sites).map(|site| derive(variable, &at_site(site))).collect())
            .collect();
        let mut all_methods = vec![Vec::new(); variables.len()];
        let mut own: Vec<(Vec<f64>, Option<MapError>)> = Vec::new();
        for (index, candidate) in std::iter::once(method).chain(REFERENCE_METHODS).enumerate() {
            let left = candidate.leave_one_out(mesh, columns);
            for (v, &variable) in variables.iter().enumerate() {
                let of_hidden = |i: usize| {
                    let parts: Vec<f64> = left.predictions.iter().map(|column| column[i]).collect();
                    if parts.iter().any(|part| part.is_nan()) { f64::NAN } else { derive(variable, &parts) }
                };
                let predicted: Vec<f64> = (0..left.hidden.len()).map(of_hidden).collect();
                let error = MapError::of(&measured[v], &left.hidden, &predicted);
                all_methods[v].push((candidate.to_string(), error));
                if index == 0 {
                    let mut by_site = vec![f64::NAN; n_sites];
                    for (&site, value) in left.hidden.iter().zip(predicted) {
                        by_site[site as usize] = value;
                    }
                    own.push((by_site, error));
                }
            }
        }
        for (((&variable, measured), all_methods), (predicted, error)) in
            variables.iter().zip(measured).zip(all_methods).zip(own)
        {
            let sites = mesh.sites().to_vec();
            let quality =
                Quality { variable, method: method.to_string(), sites, measured, predicted, error, all_methods };
            self.quality.push(quality);
        }
    }

    /// The cells that count.
    pub fn mask(&self) -> &CellMask {
        &self.mask
    }

    /// Whether each cell lies beyond the outermost samples.
    pub fn extrapolated(&self) -> &[bool] {
        &self.extrapolated
    }

    /// Share of the field beyond the outermost samples, 0 to 1.
    pub fn extrapolated_share(&self) -> f64 {
        let n_beyond = self.mask.cells().filter(|&cell| self.extrapolated[cell]).count();
        n_beyond as f64 / self.mask.n_inside().max(1) as f64
    }

    /// How far a quantity misses.
    pub fn quality_of(&self, variable: Variable) -> Option<&Quality> {
        self.quality.iter().find(|quality| quality.variable == variable)
    }

    /// A quantity on the raster, NaN where there is none; `None` when it is not mapped.
    pub fn values(&self, variable: Variable) -> Option<Vec<f64>> {
        if let Some((_, values)) = self.alone.iter().find(|(alone, _)| *alone == variable) {
            return Some(values.clone());
        }
        self.quality_of(variable)?;
        let parts = self.exchange.as_ref()?;
        let n_cells = self.mask.grid().n_cells();
        let at = |cell: usize| {
            let row: Vec<f64> = parts.iter().map(|part| part[cell]).collect();
            if row[0].is_nan() { f64::NAN } else { variable.of_exchange(&exchange_of(&row)).unwrap_or(f64::NAN) }
        };
        Some((0..n_cells).into_par_iter().with_min_len(4096).map(at).collect())
    }

    /// Exchangeable parts of a cell; `None` where there are none.
    pub fn exchange_at(&self, cell: usize) -> Option<Exchange> {
        let parts = self.exchange.as_ref()?;
        let row: Vec<f64> = parts.iter().map(|part| part[cell]).collect();
        (!row[0].is_nan()).then(|| exchange_of(&row))
    }

    /// Distance from each cell's center to the nearest sample, meters; NaN outside the mask.
    pub fn nearest_sample_m(&self) -> Vec<f64> {
        let grid = self.mask.grid();
        let at = |cell: usize| {
            if !self.mask.inside()[cell] {
                return f64::NAN;
            }
            let center = grid.center(cell % grid.n_cols, cell / grid.n_cols);
            self.sites.iter().map(|site| site.distance_m(center)).fold(f64::INFINITY, f64::min)
        };
        (0..grid.n_cells()).into_par_iter().with_min_len(4096).map(at).collect()
    }
}

/// Parts in the order they are mapped: Ca, Mg, K, rest, and Na if there is a fifth.
fn exchange_of(parts: &[f64]) -> Exchange {
    Exchange {
        ca_meq_100g: parts[0],
        mg_meq_100g: parts[1],
        k_meq_100g: parts[2],
        rest_meq_100g: parts[3],
        na_meq_100g: parts.get(4).copied(),
    }
}
