//! [`Report`]: everything a result page or file may draw on, all of it decided before.

use crate::boundary::FieldBoundary;
use crate::coverage::ZoneOutlines;
use crate::diagnostic::Diagnostic;
use crate::drive::AsDriven;
use crate::field_file::FieldFile;
use crate::rates::rate_plan::PassPlan;
use crate::rates::{CountConsequence, RatePlan};
use crate::samples::SampleSet;
use crate::soil_surface::SurfaceSet;
use crate::units::{M2_PER_ACRE, UnitSystem, depth_text, thousands};
use crate::zones::{FittedLabels, ZoneMap, ZoneSummary};

/// What was found, for the exporters.
pub struct Report<'a> {
    /// Settings and their origin.
    pub field_file: &'a FieldFile,
    /// The outline.
    pub boundary: &'a FieldBoundary,
    /// Checked samples.
    pub samples: &'a SampleSet,
    /// Mapped quantities.
    pub surfaces: &'a SurfaceSet,
    /// Zones, when asked for.
    pub zones: Option<&'a ZoneMap>,
    /// What fitting the zones to the machine took.
    pub fitted: Option<&'a FittedLabels>,
    /// Outlines of the zones.
    pub outlines: Option<&'a ZoneOutlines>,
    /// What each number of zones comes to, fewest first.
    pub consequences: &'a [CountConsequence],
    /// Needs and rates, as far as the answers go.
    pub plan: &'a RatePlan,
    /// What the ground gets as the machine drives it, where it is stated how.
    pub as_driven: Option<&'a AsDriven>,
    /// Everything a person should look at.
    pub warnings: &'a [Diagnostic],
}

impl Report<'_> {
    /// Area of the field inside its outline, m2 on the ellipsoid.
    pub fn area_m2(&self) -> f64 {
        self.boundary.area_m2()
    }

    /// Area of a zone inside its outlines, m2 on the ellipsoid, kept-off ground included.
    pub fn zone_area_m2(&self, zone: &ZoneSummary) -> f64 {
        self.outlines.map_or(0.0, |outlines| outlines.zone_area_m2(zone.zone))
    }

    /// Outlines that the rates of a pass follow: of zones, or of classes of a supply's own need.
    pub fn rate_outlines(&self, plan: &PassPlan) -> Option<&ZoneOutlines> {
        self.plan.ground_of(plan).own.as_ref().map(|own| &own.outlines).or(self.outlines)
    }

    /// Zone or class of each cell that the rates of a pass follow.
    pub fn rate_labels<'r>(&'r self, plan: &PassPlan, zones: &'r ZoneMap) -> &'r [u16] {
        self.plan.ground_of(plan).own.as_ref().map_or(zones.labels(), |own| &own.labels)
    }

    /// Units of printed results.
    pub fn units(&self) -> UnitSystem {
        self.field_file.field.units
    }

    /// An area in the printed units, with its unit.
    pub fn area_text(&self, area_m2: f64) -> String {
        area_text(self.units(), area_m2)
    }

    /// "64 samples, 0 to 7 in".
    pub fn samples_text(&self) -> String {
        let n = self.samples.samples.len();
        match self.samples.depth_in {
            Some([top, bottom]) => match self.units() {
                UnitSystem::Us => format!("{n} samples, {}", depth_text([top, bottom])),
                UnitSystem::Si => format!("{n} samples, {:.0} to {:.0} cm", top * 2.54, bottom * 2.54),
            },
            None => format!("{n} samples, depth unknown"),
        }
    }
}

/// An area with its unit, one decimal.
pub(super) fn area_text(units: UnitSystem, area_m2: f64) -> String {
    match units {
        UnitSystem::Us => format!("{} ac", thousands(area_m2 / M2_PER_ACRE, 1)),
        UnitSystem::Si => format!("{} ha", thousands(area_m2 / 10_000.0, 1)),
    }
}
