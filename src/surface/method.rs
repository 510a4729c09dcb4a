//! The methods a user can choose from, and one way to ask any of them.
//!
//! Every reference method is a weighted mean of samples, so each one's file only says which samples weigh how much.

use rayon::prelude::*;

use super::leave_one_out::{SITES_A_COPY, hidden_sites, leave_one_out, tuned_setting};
use super::mesh_interpolation::MeshInterpolation;
use super::mesh_setting::{MeshSetting, Power};
use super::surface_raster::SurfaceRaster;
use super::{field_mean, inverse_distance, nearest, triangle_linear};
use crate::cell_grid::{CellMask, Site};
use crate::mesh::{Mesh, NaturalNeighbors};

/// How values between the samples are found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Method {
    /// Inverse distance over the net of samples; `None` = the setting is chosen by hiding each sample in turn.
    Mesh(Option<MeshSetting>),
    /// The mean of all samples everywhere.
    Mean,
    /// The nearest sample's value.
    Nearest,
    /// Linear within each triangle of the net (in a square of the net: the mean of both ways to halve it). No value
    /// beyond the outermost samples.
    Triangle,
    /// Natural neighbor (Sibson). No value beyond the outermost samples.
    ///
    /// Source: Sibson (1981), "A brief description of natural neighbour interpolation", in Barnett (ed.), *Interpreting
    /// Multivariate Data*, Wiley.
    NaturalNeighbor,
    /// Classic inverse distance.
    Distance {
        /// Power of the inverse distance.
        power: Power,
        /// How many of the nearest samples count; `None` = all.
        nearest: Option<usize>,
    },
}

/// What a method says of samples it was not shown.
#[derive(Debug, Clone, PartialEq)]
pub struct HiddenPredictions {
    /// Sites that were hidden, ascending.
    pub hidden: Vec<u32>,
    /// `predictions[variable][i]` for site `hidden[i]`; NaN where the method has no value.
    pub predictions: Vec<Vec<f64>>,
}

impl Method {
    /// The word for it in a field file.
    pub fn name(&self) -> &'static str {
        match self {
            Method::Mesh(_) => "mesh",
            Method::Mean => "mean",
            Method::Nearest => "nearest",
            Method::Triangle => "triangle",
            Method::NaturalNeighbor => "natural-neighbor",
            Method::Distance { .. } => "distance",
        }
    }

    /// The same method with its mesh setting settled for a group of variables that must share one.
    ///
    /// # Shape
    /// `values[variable][site]`, sites as in `mesh.sites()`.
    pub fn settled(self, mesh: &Mesh, values: &[&[f64]]) -> Method {
        match self {
            Method::Mesh(None) => Method::Mesh(Some(tuned_setting(mesh, values))),
            settled => settled,
        }
    }

    /// Values of all variables at a place; `None` where the method has none.
    ///
    /// An unsettled mesh setting is chosen anew at each call; see [`Method::settled`].
    ///
    /// # Units
    /// `at` in local meters; values in the unit they came in.
    ///
    /// # Shape
    /// `values[variable][site]`, sites as in `mesh.sites()`.
    pub fn value_at(self, mesh: &Mesh, values: &[&[f64]], at: Site) -> Option<Vec<f64>> {
        if let Some(setting) = self.mesh_setting(mesh, values) {
            return Some(MeshInterpolation::new(mesh, setting, values.to_vec()).at(at).0);
        }
        let neighbors = matches!(self, Method::NaturalNeighbor).then(|| mesh.natural_neighbors());
        let weights = self.weights(mesh, neighbors.as_ref(), at);
        (!weights.is_empty()).then(|| values.iter().map(|v| weighted_mean(&weights, v)).collect())
    }

    /// Values of all variables at the centers of the cells that count; NaN where the method has none.
    ///
    /// # Guarantees
    /// Equal to [`Method::value_at`] to rounding; the same bytes for any number of threads.
    ///
    /// # Cost
    /// The mesh method takes about the time of a handful of samples a cell; nearest and distance look at every sample
    /// for every cell.
    pub fn raster(self, mesh: &Mesh, values: &[&[f64]], mask: &CellMask) -> SurfaceRaster {
        if let Some(setting) = self.mesh_setting(mesh, values) {
            return MeshInterpolation::new(mesh, setting, values.to_vec()).raster(mask);
        }
        let mut raster = SurfaceRaster::empty(mask.grid(), values.len());
        raster.bands(mask.grid()).into_par_iter().for_each(|mut band| {
            band.clear();
            let neighbors = matches!(self, Method::NaturalNeighbor).then(|| mesh.natural_neighbors());
            let first = band.first_row * mask.grid().n_cols;
            for cell in 0..band.extrapolated.len() {
                if !mask.inside()[first + cell] {
                    continue;
                }
                let at = mask.grid().center(cell % mask.grid().n_cols, band.first_row + cell / mask.grid().n_cols);
                let weights = self.weights(mesh, neighbors.as_ref(), at);
                if !weights.is_empty() {
                    for (out, v) in band.values.iter_mut().zip(values) {
                        out[cell] = weighted_mean(&weights, v);
                    }
                }
                band.extrapolated[cell] = !mesh.encloses(at);
            }
        });
        raster
    }

    /// Hides each sample in turn (above 5,000 every n-th) and predicts it from the others.
    ///
    /// # Shape
    /// `values[variable][site]`; see [`HiddenPredictions`].
    pub fn leave_one_out(self, mesh: &Mesh, values: &[&[f64]]) -> HiddenPredictions {
        if let Some(setting) = self.mesh_setting(mesh, values) {
            let mut left = leave_one_out(mesh, values, vec![setting]);
            return HiddenPredictions { hidden: left.hidden, predictions: left.predictions.swap_remove(0) };
        }
        let hidden = hidden_sites(mesh.sites().len());
        let weights: Vec<Vec<(u32, f64)>> = match self {
            Method::Triangle | Method::NaturalNeighbor => hidden
                .par_chunks(SITES_A_COPY)
                .map(|chunk| self.weights_of_hidden(mesh, chunk))
                .collect::<Vec<_>>()
                .concat(),
            _ => hidden
                .par_iter()
                .map(|&site| self.weights_of_sites(mesh, mesh.sites()[site as usize], Some(site)))
                .collect(),
        };
        let of_variable = |v: &&[f64]| weights.iter().map(|weights| weighted_mean(weights, v)).collect();
        HiddenPredictions { predictions: values.iter().map(of_variable).collect(), hidden }
    }

    fn mesh_setting(self, mesh: &Mesh, values: &[&[f64]]) -> Option<MeshSetting> {
        match self.settled(mesh, values) {
            Method::Mesh(setting) => setting,
            _ => None,
        }
    }

    /// Weights of the samples at a place; empty where the method has no value.
    fn weights(self, mesh: &Mesh, neighbors: Option<&NaturalNeighbors>, at: Site) -> Vec<(u32, f64)> {
        match (self, neighbors) {
            (Method::NaturalNeighbor, Some(neighbors)) => neighbors.weights(at),
            (Method::Triangle, _) => triangle_linear::weights(mesh.position(at)),
            _ => self.weights_of_sites(mesh, at, None),
        }
    }

    /// Weights for the methods that look at places only, not at the net.
    fn weights_of_sites(self, mesh: &Mesh, at: Site, hidden: Option<u32>) -> Vec<(u32, f64)> {
        match self {
            Method::Mean => field_mean::weights(mesh.sites().len(), hidden),
            Method::Nearest => nearest::weights(mesh.sites(), at, hidden),
            Method::Distance { power, nearest } => inverse_distance::weights(mesh.sites(), at, hidden, power, nearest),
            Method::Mesh(_) | Method::Triangle | Method::NaturalNeighbor => Vec::new(),
        }
    }

    fn weights_of_hidden(self, mesh: &Mesh, hidden: &[u32]) -> Vec<Vec<(u32, f64)>> {
        mesh.hiding_each(hidden, |site, reduced| {
            let at = mesh.sites()[site as usize];
            match (self, reduced) {
                (Method::NaturalNeighbor, Some(reduced)) => reduced.natural_neighbor_weights(at),
                (Method::Triangle, Some(reduced)) => triangle_linear::weights(reduced.position(at)),
                _ => Vec::new(),
            }
        })
    }
}

/// NaN without weights.
fn weighted_mean(weights: &[(u32, f64)], values: &[f64]) -> f64 {
    let (mut sum_w, mut sum_wz) = (0.0, 0.0);
    for &(site, w) in weights {
        sum_w += w;
        sum_wz += w * values[site as usize];
    }
    sum_wz / sum_w
}

impl std::fmt::Display for Method {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.name())?;
        match self {
            Method::Mesh(Some(setting)) => write!(f, ", {setting}"),
            Method::Distance { power, nearest: None } => write!(f, ", power {}, all samples", power.exponent()),
            Method::Distance { power, nearest: Some(n) } => write!(f, ", power {}, {n} nearest", power.exponent()),
            _ => Ok(()),
        }
    }
}
