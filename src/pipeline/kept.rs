//! [`Kept`]: the slow first stages of a run, kept for a run with other answers.
//!
//! A stage is reused only where every setting it rests on is the same, so a run with [`Kept`] gives the same bytes as one
//! without; `tests/it/decide.rs` holds that.

use std::sync::Arc;

use super::zoning::FittedZones;
use super::{Inputs, MapStage, lime_stage};
use crate::diagnostic::Diagnostic;
use crate::rates::{NeedSource, Supply};
use crate::soil_surface::Variable;
use crate::zones::{ZoneQuantity, ZoneSettings};

/// Stages of an earlier run over the same outline, sheet and other files.
#[derive(Debug, Default)]
pub struct Kept {
    /// Maps without lime.
    map: Option<(String, MapStage)>,
    /// Maps with lime.
    with_lime: Option<(String, MapStage)>,
    zones: Option<KeptZones>,
}

#[derive(Debug)]
struct KeptZones {
    key: String,
    count: Option<usize>,
    /// Of which lime the zones' means are.
    lime_key: String,
    zones: Arc<FittedZones>,
}

impl Kept {
    /// The maps: those kept, or worked out anew.
    pub(super) fn map(
        &mut self,
        inputs: &Inputs,
        work_out: impl FnOnce() -> Result<MapStage, Vec<Diagnostic>>,
    ) -> Result<MapStage, Vec<Diagnostic>> {
        let key = map_key(inputs);
        let base = match self.map.take_if(|(known, _)| *known == key) {
            Some((_, stage)) => stage,
            None => {
                (self.map, self.with_lime, self.zones) = (None, None, None);
                work_out()?
            }
        };
        let lime_key = lime_key(inputs);
        let with_lime = match self.with_lime.take_if(|(known, _)| *known == lime_key) {
            Some((_, stage)) => stage,
            None => lime_stage(base.clone(), inputs),
        };
        self.map = Some((key, base));
        self.with_lime = Some((lime_key, with_lime.clone()));
        Ok(with_lime)
    }

    /// The zones over `maps`, which [`Kept::map`] gave last.
    pub(super) fn zones(
        &mut self,
        inputs: &Inputs,
        maps: &MapStage,
        work_out: impl FnOnce() -> Result<Option<FittedZones>, Vec<Diagnostic>>,
    ) -> Result<Option<Arc<FittedZones>>, Vec<Diagnostic>> {
        let Some(settings) = &inputs.field_file.zones else { return Ok(None) };
        let (key, lime_key) = (zone_key(inputs, settings), lime_key(inputs));
        let zones = match self.zones.take_if(|kept| kept.key == key) {
            Some(kept) => {
                let mut zones = kept.zones;
                if kept.lime_key != lime_key {
                    zones = Arc::new(zones.with_means_of(&maps.surfaces, Variable::LimeNeed));
                }
                if kept.count != settings.count {
                    zones = Arc::new(zones.picking(inputs)?);
                }
                zones
            }
            None => match work_out()? {
                Some(zones) => Arc::new(zones),
                None => return Ok(None),
            },
        };
        self.zones = Some(KeptZones { key, count: settings.count, lime_key, zones: zones.clone() });
        Ok(Some(zones))
    }
}

/// What the maps without lime rest on beside the files: how the sheet is read and how is mapped.
fn map_key(inputs: &Inputs) -> String {
    format!("{:?} {:?}", inputs.field_file.samples, inputs.field_file.surface)
}

/// What lime at the samples rests on beside them.
fn lime_key(inputs: &Inputs) -> String {
    let lime = inputs.field_file.rates.need(Supply::Lime).map(|need| match &need.source {
        NeedSource::Lime(lime) => format!("{:?} {} {}", lime.choice.guide, lime.target_ph, lime.limed_depth_in),
        _ => String::new(),
    });
    format!("{lime:?}")
}

/// What the zones rest on beside the maps, but their number; lime only where they are drawn from it.
fn zone_key(inputs: &Inputs, settings: &ZoneSettings) -> String {
    let file = &inputs.field_file;
    let ZoneSettings { from, method, count: _, line: _ } = settings;
    let (limits, edges) = (file.patch_limits(), file.rates.hold.edges_meq_100g);
    let by_lime = from.contains(&ZoneQuantity::Soil(Variable::LimeNeed)).then(|| lime_key(inputs));
    format!("{from:?} {method:?} {limits:?} {edges:?} {by_lime:?} {:?}", file.covariates)
}
