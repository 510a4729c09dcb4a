//! A run's ground as the maps of pages draw it: outlines of the files, samples, what lies beyond them.

use geo::{BooleanOps, ConvexHull, Coord, MultiPoint, Point};

use super::Report;
use super::figure::field_map::{FieldMap, MapGround};
use super::figure::share_bar::{Segment, share_bar};
use super::figure::{Figure, WORDS};
use super::in_units::InUnits;
use super::map_png::{Palette, Rgb, SampleMark};
use super::maps::{deep_rings, sample_rings, sand_densities};
use super::page::lettering::Lettering;
use super::rate_units::PrintedUnit;
use super::report::area_text;
use crate::cell_grid::Site;
use crate::coverage::{Ground, ZoneGround};
use crate::rates::rate_plan::PassPlan;
use crate::soil_surface::Variable;
use crate::units::{M2_PER_ACRE, UnitSystem};
use crate::zones::{ZoneMap, ZoneSummary};

/// Size of letters on the maps of the cab sheets.
const CAB_LETTERS: f64 = 17.0;

/// What the maps of a page share.
pub(super) struct GroundDrawn<'a> {
    report: &'a Report<'a>,
    lettering: &'a Lettering,
    outline: Vec<Vec<Site>>,
    beyond: Vec<Vec<Site>>,
    samples: Vec<(Site, bool)>,
}

impl<'a> GroundDrawn<'a> {
    pub(super) fn of(report: &'a Report<'a>, lettering: &'a Lettering) -> Self {
        let rings = sample_rings(report, Variable::Cec);
        GroundDrawn {
            report,
            lettering,
            outline: report.boundary.rings(),
            beyond: beyond(report),
            samples: rings.iter().map(|ring| (ring.at, ring.mark == SampleMark::LookAt)).collect(),
        }
    }

    fn map<'m>(&'m self, id: &'m str, told: &str, grounds: Vec<MapGround>) -> FieldMap<'m> {
        FieldMap {
            id,
            told: InUnits::same(told),
            outline: &self.outline,
            grounds,
            kept_off: Vec::new(),
            samples: Vec::new(),
            beyond: Vec::new(),
            places: Vec::new(),
            size: WORDS,
            discs: Vec::new(),
        }
    }

    /// Zones, pale where the ground holds least, with `words` on each, and their bar. `is_sandy`: dots over ground that
    /// holds little.
    pub(super) fn zones(
        &self,
        (id, told): (&str, &str),
        zones: &ZoneMap,
        is_sandy: bool,
        words: &dyn Fn(&ZoneSummary) -> String,
    ) -> Vec<Figure> {
        let Some(outlines) = self.report.outlines else { return Vec::new() };
        let colors = Palette::Ground.steps(zones.zones().len());
        let sand = sand_densities(zones).filter(|_| is_sandy);
        let grounds = deep_rings(self.report, zones.labels(), outlines)
            .into_iter()
            .map(|(rings, clear_m)| MapGround {
                fill: colors[rings.zone - 1],
                sand: sand.as_ref().map_or(0.0, |densities| densities[rings.zone - 1]),
                number: Some(rings.zone),
                words: InUnits::same(words(&zones.zones()[rings.zone - 1])),
                label: (rings.label_at, clear_m),
                line_id: Some(format!("{id}-zone-{}", rings.zone)),
                rings: rings.rings,
            })
            .collect();
        let map =
            FieldMap { samples: self.samples.clone(), beyond: self.beyond.clone(), ..self.map(id, told, grounds) };
        let segments: Vec<Segment> = zones
            .zones()
            .iter()
            .map(|zone| {
                let area_m2 = self.report.zone_area_m2(zone);
                let words = words(zone).replace("holds ", "");
                let name = InUnits::same(format!("{}  {words}", zone.zone).trim().replace("  ", "\u{2002}"));
                Segment { area_m2, fill: colors[zone.zone - 1], words: [name, area(area_m2)] }
            })
            .collect();
        let bar = share_bar(&segments, InUnits::same("Length: share of the ground"), self.lettering);
        vec![map.draw(self.lettering), bar]
    }

    /// Rates of a pass on its ground, and their bar.
    pub(super) fn rates(&self, (id, told): (&str, &str), plan: &PassPlan) -> Vec<Figure> {
        let Some(map) = self.rate_map((id, told), plan) else { return Vec::new() };
        let colors = rate_colors(plan);
        let segments: Vec<Segment> = plan
            .rates
            .iter()
            .map(|rate| {
                let words = rate_words(plan, rate.rate).map(|words| format!("{}\u{2002}{words}", rate.zone));
                let area = area(rate.area_ac * M2_PER_ACRE);
                Segment { area_m2: rate.area_ac * M2_PER_ACRE, fill: colors[rate.zone - 1], words: [words, area] }
            })
            .collect();
        let bar = share_bar(&segments, InUnits::same("Length: share of the ground"), self.lettering);
        vec![map.draw(self.lettering), bar]
    }

    /// Rates of a pass for the cab: large letters, and places to compare the screen at.
    pub(super) fn cab_map(
        &self,
        (id, told): (&str, &str),
        plan: &PassPlan,
        places: Vec<(Site, String)>,
    ) -> Option<Figure> {
        let mut map = self.rate_map((id, told), plan)?;
        for ground in &mut map.grounds {
            // As the screen shows it: in the unit of the file.
            let printed = PrintedUnit::of(UnitSystem::Us, plan.unit());
            ground.words = InUnits::same(printed.rate_figure(plan.rates[ground.number? - 1].rate));
        }
        Some(FieldMap { places, size: CAB_LETTERS, ..map }.draw(self.lettering))
    }

    fn rate_map<'m>(&'m self, (id, told): (&'m str, &str), plan: &PassPlan) -> Option<FieldMap<'m>> {
        let (zones, outlines) = (self.report.zones?, self.report.rate_outlines(plan)?);
        let colors = rate_colors(plan);
        let grounds = deep_rings(self.report, self.report.rate_labels(plan, zones), outlines)
            .into_iter()
            .map(|(rings, clear_m)| MapGround {
                fill: colors[rings.zone - 1],
                sand: 0.0,
                number: Some(rings.zone),
                words: rate_words(plan, plan.rates[rings.zone - 1].rate),
                label: (rings.label_at, clear_m),
                line_id: Some(format!("{id}-zone-{}", rings.zone)),
                rings: rings.rings,
            })
            .collect();
        let set_back: Vec<ZoneGround> =
            plan.grounds.iter().filter(|ground| ground.ground == Ground::SetBack).cloned().collect();
        let kept_off = outlines.local_rings(&set_back, self.report.boundary);
        Some(FieldMap { kept_off, ..self.map(id, told, grounds) })
    }

    /// The cell farthest from any sample, and how far that is, meters; the first of equals.
    pub(super) fn least_known(&self) -> Option<(Site, f64)> {
        let (mask, distances_m) = (self.report.surfaces.mask(), self.report.surfaces.nearest_sample_m());
        let farthest = mask.cells().max_by(|a, b| distances_m[*a].total_cmp(&distances_m[*b]).then(b.cmp(a)))?;
        let grid = mask.grid();
        Some((grid.center(farthest % grid.n_cols, farthest / grid.n_cols), distances_m[farthest]))
    }

    /// How far the nearest sample is, in three steps of grey, and the steps' distances in meters.
    pub(super) fn doubt(&self, (id, told): (&str, &str)) -> (Figure, [f64; 2]) {
        let of_cells = self.report.surfaces.nearest_sample_m();
        let mut distances_m: Vec<f64> = self.report.surfaces.mask().cells().map(|cell| of_cells[cell]).collect();
        distances_m.sort_by(f64::total_cmp);
        let at = |share: f64| distances_m.get((share * distances_m.len() as f64) as usize).copied().unwrap_or(0.0);
        let steps_m = [0.5, 0.9].map(|share| round_up(at(share)));
        let [near, between, far] = [0, 1, 2].map(|step| Palette::Doubt.steps(3)[step]);
        let ground = MapGround {
            rings: self.outline.clone(),
            fill: far,
            sand: 0.0,
            number: None,
            words: InUnits::same(""),
            label: (Site { east_m: 0.0, north_m: 0.0 }, 0.0),
            line_id: None,
        };
        let map = FieldMap {
            samples: self.samples.clone(),
            beyond: self.beyond.clone(),
            places: self.least_known().map(|(site, _)| (site, "+".to_owned())).into_iter().collect(),
            discs: vec![(steps_m[1], between), (steps_m[0], near)],
            ..self.map(id, told, vec![ground])
        };
        (map.draw(self.lettering), steps_m)
    }
}

fn rate_words(plan: &PassPlan, rate: f64) -> InUnits {
    InUnits::of(|units| match rate {
        0.0 => "0".to_owned(),
        rate => PrintedUnit::of(units, plan.unit()).rate_text(rate),
    })
}

/// Colors of a pass's rates by zone: pale where nothing or least is spread.
pub(crate) fn rate_colors(plan: &PassPlan) -> Vec<Rgb> {
    let mut steps: Vec<f64> = plan.rates.iter().map(|rate| rate.rate).collect();
    steps.sort_by(f64::total_cmp);
    steps.dedup();
    let colors = Palette::Rate.steps(steps.len().clamp(1, Palette::Rate.most_classes()));
    let color = |rate: f64| colors[steps.iter().position(|step| *step == rate).unwrap_or(0).min(colors.len() - 1)];
    plan.rates.iter().map(|rate| color(rate.rate)).collect()
}

/// An area in both systems.
fn area(area_m2: f64) -> InUnits {
    InUnits::of(|units| area_text(units, area_m2))
}

/// Up to the next ten meters.
fn round_up(m: f64) -> f64 {
    (m / 10.0).ceil().max(1.0) * 10.0
}

/// The field less the hull of its sample places; rings, local meters.
fn beyond(report: &Report<'_>) -> Vec<Vec<Site>> {
    let places: MultiPoint<f64> =
        report.surfaces.sites.iter().map(|site| Point::new(site.east_m, site.north_m)).collect::<Vec<_>>().into();
    let beyond = report.boundary.local().difference(&places.convex_hull());
    let ring = |line: &geo::LineString<f64>| {
        line.0.iter().map(|Coord { x, y }| Site { east_m: *x, north_m: *y }).collect::<Vec<_>>()
    };
    beyond.iter().flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()).map(ring)).collect()
}
