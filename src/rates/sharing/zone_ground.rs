//! [`ZoneGround`]: what a zone's ground is by its means, as far as shares need it.

use crate::chemistry::{Cation, Exchange};
use crate::samples::checks::calcareous_cec::{CALCAREOUS_ABOVE_PH, MOST_FREE_LIME_PERCENT, MOST_LIME_RATING};
use crate::samples::{Analyte, CecSource, LabMethod, SampleSet};
use crate::soil_surface::{SurfaceSet, Variable};
use crate::units::SoilBasis;
use crate::zones::ZoneMap;

/// How the CEC came about, as far as shares of it can be set against anything.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CecBasis {
    /// At pH 7 by mass of soil, summed: lime in the soil is counted in.
    Summed,
    /// At pH 7 by mass of soil, measured: lime in the soil is not counted in, though calcium still counts it.
    MeasuredPh7,
    /// Effective CEC: without the acidity that shows at pH 7.
    Effective,
    /// By volume of soil.
    Volume,
    /// The lab does not say.
    NotTold,
}

impl CecBasis {
    /// That of a sheet.
    pub fn of(samples: &SampleSet) -> Self {
        match (samples.basis, samples.cec_source) {
            (SoilBasis::Volume, _) => CecBasis::Volume,
            (_, CecSource::Lab(LabMethod::Effective)) => CecBasis::Effective,
            (_, CecSource::Lab(LabMethod::MeasuredPh7)) => CecBasis::MeasuredPh7,
            (_, CecSource::Lab(LabMethod::Unknown) | CecSource::None) => CecBasis::NotTold,
            _ => CecBasis::Summed,
        }
    }
}

/// Means of one zone over its cells.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneGround {
    /// Zone, from 1.
    pub zone: usize,
    /// Exchangeable parts: means of meq, so they close to the mean CEC. Their shares are shares of the means, which are
    /// not quite the means of the cells' shares.
    pub exchange: Exchange,
    /// How the CEC came about.
    pub cec_basis: CecBasis,
    /// pH in water.
    pub ph_water: Option<f64>,
    /// Free lime, percent.
    pub free_lime_percent: Option<f64>,
    /// Share of the zone's cells on which pH or lime says that lime lies in the soil, 0 to 1; `None` where the sheet has
    /// neither.
    pub limy_share: Option<f64>,
    /// Conductivity, dS/m, and how it was measured.
    pub ec: Option<(f64, LabMethod)>,
    /// How far the mean share of each cation may be off at the least, percent of the CEC, in the order of
    /// [`Cation::ALL`]: the map's miss over the root of the zone's places.
    pub error_percent: [Option<f64>; 4],
    /// Lime the plan brings for its target pH, lb of calcium carbonate an acre; `None` = none planned or not known.
    pub planned_lime_lb_ac: Option<f64>,
}

/// Ground of every zone that has exchangeable parts, zone 1 first; none where the sheet does not give them whole.
/// `planned_lime_lb_ac` is that of each zone, zone 1 first; zones beyond its end have none.
pub fn zone_grounds(
    samples: &SampleSet,
    surfaces: &SurfaceSet,
    zones: &ZoneMap,
    planned_lime_lb_ac: &[Option<f64>],
) -> Vec<ZoneGround> {
    let limy = limy_cells(surfaces);
    let mut sums = vec![Sums::default(); zones.zones().len()];
    for (cell, &label) in zones.labels().iter().enumerate().filter(|(_, label)| **label > 0) {
        let sum = &mut sums[usize::from(label) - 1];
        sum.add(surfaces.exchange_at(cell), limy[cell]);
    }
    let ec_method = samples.method(Analyte::Ec);
    let grounds = zones.zones().iter().zip(&sums).filter_map(|(zone, sum)| {
        let reading = |analyte| zone.mean(Variable::Reading(analyte));
        let error_percent = Cation::ALL.map(|cation| {
            let error = surfaces.quality_of(Variable::Saturation(cation))?.error?;
            (zone.n_sites > 0).then(|| error.error_rmse / (zone.n_sites as f64).sqrt())
        });
        Some(ZoneGround {
            zone: zone.zone,
            exchange: sum.mean()?,
            cec_basis: CecBasis::of(samples),
            ph_water: reading(Analyte::PhWater),
            free_lime_percent: reading(Analyte::FreeLime),
            limy_share: sum.limy_share(),
            ec: reading(Analyte::Ec).zip(ec_method),
            error_percent,
            planned_lime_lb_ac: planned_lime_lb_ac.get(zone.zone - 1).copied().flatten(),
        })
    });
    grounds.collect()
}

/// Whether lime lies in the soil of each cell; `None` where nothing there tells.
fn limy_cells(surfaces: &SurfaceSet) -> Vec<Option<bool>> {
    // In salt solutions pH reads lower than in water, so the edge for water holds for them too.
    let signs = [
        (Analyte::PhWater, CALCAREOUS_ABOVE_PH),
        (Analyte::PhCacl2, CALCAREOUS_ABOVE_PH),
        (Analyte::PhKcl, CALCAREOUS_ABOVE_PH),
        (Analyte::PhSalt, CALCAREOUS_ABOVE_PH),
        (Analyte::FreeLime, MOST_FREE_LIME_PERCENT),
        (Analyte::ExcessLime, MOST_LIME_RATING),
    ];
    let mut limy = vec![None; surfaces.mask().grid().n_cells()];
    for (analyte, most) in signs {
        let Some(values) = surfaces.values(Variable::Reading(analyte)) else { continue };
        for (limy, value) in limy.iter_mut().zip(values).filter(|(_, value)| value.is_finite()) {
            *limy = Some(limy.unwrap_or(false) || value > most);
        }
    }
    limy
}

/// Sums over a zone's cells.
#[derive(Clone, Default)]
struct Sums {
    parts: [f64; 5],
    n: usize,
    n_with_na: usize,
    n_limy: usize,
    n_told: usize,
}

impl Sums {
    fn add(&mut self, parts: Option<Exchange>, limy: Option<bool>) {
        if let Some(parts) = parts {
            let na = parts.na_meq_100g;
            let row = [parts.ca_meq_100g, parts.mg_meq_100g, parts.k_meq_100g, na.unwrap_or(0.0), parts.rest_meq_100g];
            self.parts.iter_mut().zip(row).for_each(|(sum, part)| *sum += part);
            self.n += 1;
            self.n_with_na += usize::from(na.is_some());
        }
        self.n_limy += usize::from(limy == Some(true));
        self.n_told += usize::from(limy.is_some());
    }

    fn mean(&self) -> Option<Exchange> {
        let n = (self.n > 0).then_some(self.n as f64)?;
        let [ca, mg, k, na, rest] = self.parts.map(|sum| sum / n);
        // Sodium is mapped on all cells or on none.
        Some(Exchange {
            ca_meq_100g: ca,
            mg_meq_100g: mg,
            k_meq_100g: k,
            na_meq_100g: (self.n_with_na == self.n).then_some(na),
            rest_meq_100g: rest,
        })
    }

    fn limy_share(&self) -> Option<f64> {
        (self.n_told > 0).then(|| self.n_limy as f64 / self.n_told as f64)
    }
}
