//! The zone step: covariates and drawn zones to the cells, zones, and what a machine can follow of them.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::{Inputs, NO_ZONES, ZONE_TOO_SMALL_FOR_MACHINE};
use crate::boundary::to_local;
use crate::cell_grid::CellMask;
use crate::diagnostic::{Checked, Diagnostic, Place};
use crate::soil_surface::{SurfaceSet, Variable};
use crate::zones::{Covariate, FittedLabels, StatedZones, ZoneError, ZoneInputs, ZoneMap, ZoneMethod, fit_patches};

/// Zones, and what fitting them to the machine took.
#[derive(Debug)]
pub(super) struct FittedZones {
    /// The zones picked, with what must be told.
    pub(super) drawn: Checked<Arc<ZoneMap>>,
    /// What fitting took, by the number of zones.
    fits: Arc<BTreeMap<usize, FittedLabels>>,
}

impl FittedZones {
    /// What fitting the zones picked took.
    pub(super) fn fitted(&self) -> &FittedLabels {
        &self.fits[&self.drawn.value.verdict().drawn]
    }

    /// The same drawings with another number of zones picked.
    pub(super) fn picking(&self, inputs: &Inputs) -> Result<Self, Vec<Diagnostic>> {
        let settings = inputs.field_file.zones.as_ref();
        let picked = self.drawn.value.picking(settings.and_then(|settings| settings.count));
        let value = picked.map_err(|error| vec![no_zones(&error, inputs)])?;
        let drawn = Checked { value: Arc::new(value), warnings: self.drawn.warnings.clone() };
        Ok(FittedZones { drawn, fits: self.fits.clone() })
    }
}

impl FittedZones {
    /// The same drawings with the means of a quantity that was mapped anew, and that no zone is drawn from.
    pub(super) fn with_means_of(&self, surfaces: &SurfaceSet, variable: Variable) -> Self {
        let value = Arc::new(self.drawn.value.with_means_of(surfaces, variable));
        let drawn = Checked { value, warnings: self.drawn.warnings.clone() };
        FittedZones { drawn, fits: self.fits.clone() }
    }
}

fn no_zones(error: &ZoneError, inputs: &Inputs) -> Diagnostic {
    let field_file = &inputs.field_file;
    let line = field_file.zones.as_ref().map_or(1, |settings| settings.line);
    let place = Place::Key { file: field_file.file.clone(), line, key: "zones".to_owned() };
    let fault = Diagnostic::error(&NO_ZONES, error.to_string()).at(place);
    match error.help() {
        Some(help) => fault.with_help(help),
        None => fault,
    }
}

/// Draws zones a machine can follow, when the field file asks for zones.
pub(super) fn zone_map(inputs: &Inputs, surfaces: &SurfaceSet) -> Result<Option<FittedZones>, Vec<Diagnostic>> {
    let field_file = &inputs.field_file;
    let Some(settings) = &field_file.zones else { return Ok(None) };
    let place = |line, key: &str| Place::Key { file: field_file.file.clone(), line, key: key.to_owned() };
    let zone_inputs = zone_inputs(inputs, surfaces.mask(), &place)?;
    let limits = field_file.patch_limits();
    let mut fits = BTreeMap::new();
    let mut fit = |count: usize, labels: &[u16]| {
        let fitted = fit_patches(surfaces.mask().grid(), labels, &limits);
        let labels = fitted.labels.clone();
        fits.insert(count, fitted);
        labels
    };
    let drawn = ZoneMap::draw(surfaces, &zone_inputs, settings, &mut fit);
    let drawn = drawn.map_err(|error| vec![no_zones(&error, inputs)])?;
    let drawn = Checked { value: Arc::new(drawn.value), warnings: drawn.warnings };
    Ok(Some(FittedZones { drawn, fits: Arc::new(fits) }))
}

/// A zone that the machine's limits left without ground.
pub(super) fn zones_gone(fitted: &FittedLabels, drawn: usize) -> Option<Diagnostic> {
    let gone = fitted.vanished.len();
    let message = format!(
        "{gone} of {drawn} zones had no patch a machine can follow and went to their neighbors: {} left",
        drawn - gone
    );
    let warning = Diagnostic::warning(&ZONE_TOO_SMALL_FOR_MACHINE, message);
    (gone > 0)
        .then(|| warning.with_help("ask for fewer zones, or lower the limits in `[zones]` if a machine can do it"))
}

/// Brings covariates and drawn zones to the cells.
fn zone_inputs(
    inputs: &Inputs,
    mask: &CellMask,
    place: &dyn Fn(usize, &str) -> Place,
) -> Result<ZoneInputs, Vec<Diagnostic>> {
    let work_crs = inputs.boundary.work_crs();
    let readings = &inputs.ground;
    let named = inputs.field_file.covariates.iter().filter_map(|settings| {
        let reading = readings.covariates.iter().find(|reading| reading.name == settings.name)?;
        Some(Covariate::of_reading(reading, settings.reach_m, mask, work_crs))
    });
    let covariates = named.collect();
    let stated = match (inputs.field_file.zones.as_ref().map(|zones| &zones.method), &readings.polygons) {
        (Some(ZoneMethod::Polygons(file)), Some(drawn)) => {
            let local = drawn.iter().map(|(name, lon_lat)| Ok((name.clone(), to_local(lon_lat, work_crs)?)));
            let local = local.collect::<Result<Vec<_>, Vec<Diagnostic>>>().map_err(|faults| {
                faults.into_iter().map(|fault| fault.at(place(file.line, "zones.polygons"))).collect::<Vec<_>>()
            })?;
            Some(StatedZones::of_polygons(mask, &local))
        }
        _ => None,
    };
    let holding_edges_meq_100g = Some(inputs.field_file.rates.hold.edges_meq_100g);
    Ok(ZoneInputs { covariates, stated, holding_edges_meq_100g })
}
