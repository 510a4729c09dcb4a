//! What the pages on shares and on cautions draw on, worked out from the results.

use super::cautions::PlanHolds;
use super::{OutputFile, Report, sharing_table};
use crate::fields::HoldingClass;
use crate::rates::sharing::{ZoneSharing, zone_grounds};
use crate::rates::{NeedSource, Product, Supply};

impl Report<'_> {
    /// How cations share the ground of each zone; none without zones or without exchangeable parts.
    pub fn sharing(&self) -> Vec<ZoneSharing> {
        let Some(zones) = self.zones else { return Vec::new() };
        let lime_lb_ac = self.planned_lime_lb_ac(zones.zones().len());
        let grounds = zone_grounds(self.samples, self.surfaces, zones, &lime_lb_ac);
        grounds.iter().map(|ground| ZoneSharing::of(ground, &self.field_file.sharing)).collect()
    }

    /// Lime that the passes bring to each zone, lb of calcium carbonate an acre; `None` where none is planned.
    fn planned_lime_lb_ac(&self, n_zones: usize) -> Vec<Option<f64>> {
        let need = self.field_file.rates.need(Supply::Lime);
        let basis = need.and_then(|need| match &need.source {
            NeedSource::Lime(lime) => Some(lime.choice.guide.as_ref()?.lime.as_ref()?.basis),
            _ => None,
        });
        // Of an adviser's lime nobody says how much carbonate it holds.
        let Some(basis) = basis else { return Vec::new() };
        let of_zone = |zone: usize| {
            let rates = self.plan.passes.iter().flat_map(|plan| &plan.rates).filter(|rate| rate.zone == zone);
            let brought = rates.flat_map(|rate| &rate.brings_lb_ac).filter(|(supply, _)| *supply == Supply::Lime);
            let lb_ac: f64 = brought.map(|(_, lb_ac)| lb_ac * basis.caco3_share()).sum();
            (lb_ac > 0.0).then_some(lb_ac)
        };
        (1..=n_zones).map(of_zone).collect()
    }

    /// The same as a table.
    pub(super) fn sharing_file(&self) -> Option<OutputFile> {
        let sharings = self.sharing();
        (!sharings.is_empty()).then(|| sharing_table(&sharings))
    }

    /// What the planned passes call cautions for.
    pub fn plan_holds(&self) -> PlanHolds {
        self.holds(self.plan.passes.iter().map(|pass| &pass.product))
    }

    /// What some of its products call cautions for on this ground.
    pub(super) fn holds<'p>(&self, products: impl Iterator<Item = &'p Product>) -> PlanHolds {
        let zones = self.zones.map_or(&[][..], |zones| zones.zones());
        // Ground whose holding is not known counts as light.
        let is_light = zones.iter().any(|zone| !matches!(zone.holding, Some(HoldingClass::Some | HoldingClass::Much)));
        PlanHolds::of(products, is_light)
    }
}
