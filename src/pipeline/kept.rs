//! [`Kept`]: the slow first stages of a run, kept for a run with other answers.
//!
//! A stage is reused only where every setting it rests on is the same, so a run with [`Kept`] gives the same bytes as one
//! without; `tests/it/decide.rs` holds that.

use std::sync::Arc;

use super::zoning::FittedZones;
use super::{Inputs, MapStage};
use crate::diagnostic::Diagnostic;
use crate::rates::{NeedSource, Supply};
use crate::zones::ZoneSettings;

/// Stages of an earlier run over the same outline, sheet and other files.
#[derive(Debug, Default)]
pub struct Kept {
    map: Option<(String, Arc<MapStage>)>,
    zones: Option<(String, Option<usize>, Arc<FittedZones>)>,
}

impl Kept {
    /// The maps: those kept, or worked out anew.
    pub(super) fn map(
        &mut self,
        inputs: &Inputs,
        work_out: impl FnOnce() -> Result<MapStage, Vec<Diagnostic>>,
    ) -> Result<Arc<MapStage>, Vec<Diagnostic>> {
        let key = map_key(inputs);
        match &self.map {
            Some((known, stage)) if *known == key => Ok(stage.clone()),
            _ => {
                let stage = Arc::new(work_out()?);
                (self.map, self.zones) = (Some((key, stage.clone())), None);
                Ok(stage)
            }
        }
    }

    /// The zones over the maps that [`Kept::map`] gave last.
    pub(super) fn zones(
        &mut self,
        inputs: &Inputs,
        work_out: impl FnOnce() -> Result<Option<FittedZones>, Vec<Diagnostic>>,
    ) -> Result<Option<Arc<FittedZones>>, Vec<Diagnostic>> {
        let Some(settings) = &inputs.field_file.zones else { return Ok(None) };
        let key = zone_key(inputs, settings);
        let zones = match &self.zones {
            Some((known, count, zones)) if *known == key => match *count == settings.count {
                true => zones.clone(),
                false => Arc::new(zones.picking(inputs)?),
            },
            _ => match work_out()? {
                Some(zones) => Arc::new(zones),
                None => return Ok(None),
            },
        };
        self.zones = Some((key, settings.count, zones.clone()));
        Ok(Some(zones))
    }
}

/// Everything the maps rest on beside the files: how the sheet is read, how is mapped, and how lime is worked out.
fn map_key(inputs: &Inputs) -> String {
    let file = &inputs.field_file;
    let lime = file.rates.need(Supply::Lime).map(|need| match &need.source {
        NeedSource::Lime(lime) => format!("{:?} {} {}", lime.choice.guide, lime.target_ph, lime.limed_depth_in),
        _ => String::new(),
    });
    format!("{:?} {:?} {lime:?}", file.samples, file.surface)
}

/// Everything the zones rest on beside the maps, but their number.
fn zone_key(inputs: &Inputs, settings: &ZoneSettings) -> String {
    let file = &inputs.field_file;
    let ZoneSettings { from, method, count: _, line: _ } = settings;
    let (limits, edges) = (file.patch_limits(), file.rates.hold.edges_meq_100g);
    format!("{from:?} {method:?} {limits:?} {edges:?} {:?}", file.covariates)
}
