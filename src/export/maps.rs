//! The maps of a run: where the ground holds least, how cations share it, zones, rates, doubt.

use rayon::prelude::*;

use super::count_words::panel_words;
use super::map_png::{self, MapPicture, Palette, SampleMark, SampleRing, Shade, ZoneRings, round_breaks};
use super::measured_mapped::measured_mapped_png;
use super::rate_units::PrintedUnit;
use super::sample_names::SampleNames;
use super::sample_rulers::sample_rulers_png;
use super::which_sample::{WhichSample, which_sample_png};
use super::zone_counts::{ZoneCountPicture, ZonePanel, zone_counts_png};
use super::{OutputFile, Report};
use crate::cell_grid::{CellGrid, CellMask, Site};
use crate::coverage::{Ground, LatticePolygon, Vertex, ZoneGround, ZoneOutlines};
use crate::rates::rate_plan::PassPlan;
use crate::soil_surface::Variable;
use crate::units::{M2_PER_ACRE, UnitSystem};
use crate::zones::{Candidate, HoldingClass, ZoneMap, ZoneSummary};

/// A sample is to be looked at when the map misses it by more than this many times its usual miss. Source: heuristic.
pub(super) const LOOK_AT_MISSES: f64 = 2.0;
/// Classes of a continuous map.
const N_CLASSES: usize = 6;
/// Classes of the map of doubt.
const N_DOUBT_CLASSES: usize = 3;

const SLANT_WORDS: &str = "Slant lines: beyond the outermost samples, trust it less.";
const RING_WORDS: &str =
    "Rings: samples. A ring with a bar through it: the map misses it by more than twice its usual miss, look at it.";

/// The maps, in the order of their numbers.
#[derive(Clone, Copy)]
enum Map {
    Holding,
    Sharing,
    Zones,
    Pass(usize),
    Doubt,
    Samples,
    Misses,
    Counts,
    Rulers,
}

/// All maps the results give, drawn side by side.
pub fn maps(report: &Report<'_>) -> Vec<OutputFile> {
    let layout = Layout::of(report);
    let names = SampleNames::of(&report.samples.samples);
    let fixed = |name: &str, map| (name.to_owned(), map);
    let mut all =
        vec![fixed("1-holding", Map::Holding), fixed("2-sharing", Map::Sharing), fixed("3-zones", Map::Zones)];
    // Letters tell the products of one pass apart; the numbers of the maps stay.
    all.extend(report.plan.passes.iter().enumerate().map(|(index, plan)| {
        (format!("4-pass-{}-{}", plan.number, plan.product.short.to_lowercase()), Map::Pass(index))
    }));
    all.extend([
        fixed("5-doubt", Map::Doubt),
        fixed("6-samples", Map::Samples),
        fixed("7-measured-mapped", Map::Misses),
        fixed("8-how-many-zones", Map::Counts),
        fixed("9-rulers", Map::Rulers),
    ]);
    let drawn = all.par_iter().map(|(name, map)| {
        let bytes = match *map {
            Map::Holding => {
                layout.surface(Variable::Cec, "Map 1. Where does the ground hold least?", &holding_words(&layout))
            }
            Map::Sharing => {
                let title = "Map 2. What share do Ca and Mg take?";
                layout.surface(Variable::CaMgSaturation, title, &sharing_words(report))
            }
            Map::Zones => report.zones.map(|zones| layout.zones(zones)),
            Map::Pass(index) => report.zones.map(|zones| layout.rates(zones, &report.plan.passes[index])),
            Map::Doubt => Some(layout.doubt()),
            Map::Counts => report.zones.and_then(|zones| layout.counts(zones)),
            Map::Samples => Some(layout.samples(&names)),
            Map::Rulers => sample_rulers_png(report, &layout.field_line),
            Map::Misses => measured_mapped_png(report, &layout.field_line, &names, LOOK_AT_MISSES),
        };
        bytes.map(|bytes| OutputFile::new(format!("maps/{name}.png"), bytes))
    });
    drawn.collect::<Vec<_>>().into_iter().flatten().collect()
}

fn miss_words(report: &Report<'_>, variable: Variable) -> String {
    let error = report.surfaces.quality_of(variable).and_then(|quality| quality.error);
    match error {
        Some(error) => {
            let better = match error.prediction_efficiency_percent() {
                Some(percent) if percent > 0.0 => format!("better than the field mean by {percent:.0} % in squares"),
                Some(_) => "no better than the field mean".to_owned(),
                None => "it does not vary".to_owned(),
            };
            format!(
                "Each sample hidden in turn, the map misses it by {:.1} {}; {better}.",
                error.error_rmse,
                unit(report, variable)
            )
        }
        None => "How far the map misses cannot be told from so few samples.".to_owned(),
    }
}

fn unit(report: &Report<'_>, variable: Variable) -> &'static str {
    variable.unit_name(report.samples.basis)
}

fn holding_words(layout: &Layout<'_>) -> Vec<String> {
    let mut words =
        vec![miss_words(layout.report, Variable::Cec), "CEC is how much the ground can hold on to.".to_owned()];
    if layout.sand.as_ref().is_some_and(|sand| sand.iter().any(|&density| density > 0.0)) {
        words[1] += " Dots like sand: zones that hold less, none above CEC 12.";
    }
    words
}

fn sharing_words(report: &Report<'_>) -> Vec<String> {
    vec![
        miss_words(report, Variable::CaMgSaturation),
        "Shown to describe the ground. Shares as a goal are contested; no rate here comes from them.".to_owned(),
    ]
}

/// What every map of a run shares.
struct Layout<'a> {
    report: &'a Report<'a>,
    field_line: String,
    outline: Vec<Vec<Site>>,
    edges: Vec<ZoneRings>,
    borders: Vec<[Site; 2]>,
    samples: Vec<SampleRing>,
    sand: Option<Vec<f64>>,
}

impl<'a> Layout<'a> {
    fn of(report: &'a Report<'a>) -> Self {
        let field_line = format!("{}   {}", report.field_file.field.name, report.samples_text());
        let zoned = report.zones.zip(report.outlines);
        let edges = zoned.map_or_else(Vec::new, |(zones, outlines)| named_rings(report, zones, outlines));
        let sand = report.zones.and_then(sand_densities).zip(report.zones).map(|(densities, zones)| {
            zones
                .labels()
                .iter()
                .map(|&label| label.checked_sub(1).map_or(0.0, |zone| densities[usize::from(zone)]))
                .collect()
        });
        Layout {
            report,
            field_line,
            outline: report.boundary.rings(),
            edges,
            borders: report.outlines.map_or_else(Vec::new, |outlines| borders(report, outlines)),
            samples: sample_rings(report, Variable::Cec),
            sand,
        }
    }

    fn picture<'p>(
        &'p self,
        title: &'p str,
        quantity: &'p str,
        mask: &'p CellMask,
        shade: Shade<'p>,
    ) -> MapPicture<'p> {
        MapPicture {
            title,
            field_line: &self.field_line,
            quantity,
            mask,
            shade,
            outline: &self.outline,
            zones: &self.edges,
            borders: &self.borders,
            keep_off: &[],
            samples: &self.samples,
            beyond: Some(self.report.surfaces.extrapolated()),
            sand: None,
            caption: &[],
            units: self.report.units(),
            area_m2: self.report.area_m2() * mask.n_inside() as f64 / self.report.surfaces.mask().n_inside() as f64,
        }
    }

    fn surface(&self, variable: Variable, title: &str, words: &[String]) -> Option<Vec<u8>> {
        let values = self.report.surfaces.values(variable)?;
        let mask = finite_mask(self.report.surfaces.mask(), &values)?;
        let error = self.report.surfaces.quality_of(variable).and_then(|quality| quality.error);
        let miss = error.map_or(0.0, |error| error.error_rmse);
        let breaks = honest_breaks(|n_classes| round_breaks(mask.cells().map(|cell| values[cell]), n_classes), miss);
        let quantity = format!("{}, {}", capitalized(variable.label()), unit(self.report, variable));
        let shade = Shade::Surface { values: &values, breaks: &breaks, palette: Palette::Ground };
        let caption = [words, &[SLANT_WORDS.to_owned(), RING_WORDS.to_owned()]].concat();
        let sand = (variable == Variable::Cec).then_some(self.sand.as_deref()).flatten();
        let samples = sample_rings(self.report, variable);
        let picture = self.picture(title, &quantity, &mask, shade);
        Some(map_png::draw(&MapPicture { caption: &caption, sand, samples: &samples, ..picture }))
    }

    fn zones(&self, zones: &ZoneMap) -> Vec<u8> {
        let names: Vec<String> = zones
            .zones()
            .iter()
            .map(|zone| {
                let cec = zone.mean(Variable::Cec).map_or(String::new(), |cec| format!("  CEC {cec:.1}"));
                format!("{}{cec}  {}", zone.zone, self.report.area_text(self.report.zone_area_m2(zone)))
            })
            .collect();
        let classes: Vec<u8> = zones.labels().iter().map(|&label| label.saturating_sub(1) as u8).collect();
        let shade = Shade::Classes { classes: &classes, names: &names, palette: Palette::Ground };
        let zoned: Vec<ZoneRings> =
            self.edges.iter().map(|edge| ZoneRings { class: Some(edge.zone as u8 - 1), ..edge.clone() }).collect();
        let verdict = zones.verdict();
        let told = match verdict.row(verdict.drawn).and_then(|row| row.efficiency) {
            _ if zones.zones().len() == 1 => "One zone: the whole field.".to_owned(),
            Some(told) if told > 0.0 => {
                format!(
                    "By these zones a hidden sample is told {:.0} % better, in squares, than by the field mean.",
                    100.0 * told
                )
            }
            Some(_) => "By these zones a hidden sample is told no better than by the field mean.".to_owned(),
            None => "Whether they tell more than the field mean cannot be told from so few samples.".to_owned(),
        };
        let caption = vec![told, SLANT_WORDS.to_owned(), RING_WORDS.to_owned()];
        let title = "Map 3. Which ground is alike?";
        let picture = self.picture(title, "Zones, 1 holds least", zones.mask(), shade);
        map_png::draw(&MapPicture { caption: &caption, sand: self.sand.as_deref(), zones: &zoned, ..picture })
    }

    fn rates(&self, zones: &ZoneMap, plan: &PassPlan) -> Vec<u8> {
        let printed = PrintedUnit::of(self.report.units(), plan.unit());
        let mut steps: Vec<f64> = plan.rates.iter().map(|rate| rate.rate).collect();
        steps.sort_by(f64::total_cmp);
        steps.dedup();
        let step_of = |zone: usize| {
            let rate = plan.rates[zone - 1].rate;
            steps.iter().position(|step| *step == rate).unwrap_or(0) as u8
        };
        let names: Vec<String> = steps
            .iter()
            .map(|step| {
                let area: f64 = plan.rates.iter().filter(|r| r.rate == *step).map(|r| r.area_ac).sum();
                format!("{}  {}", printed.rate_text(*step), self.report.area_text(area * M2_PER_ACRE))
            })
            .collect();
        let labels = self.report.rate_labels(plan, zones);
        let classes: Vec<u8> =
            labels.iter().map(|&label| if label == 0 { 0 } else { step_of(usize::from(label)) }).collect();
        let shade = Shade::Classes { classes: &classes, names: &names, palette: Palette::Rate };
        let outlines = self.report.rate_outlines(plan);
        let edges = outlines.map_or_else(Vec::new, |outlines| zone_rings(self.report, labels, outlines));
        let rated: Vec<ZoneRings> = edges
            .into_iter()
            .map(|edge| ZoneRings {
                class: Some(step_of(edge.zone)),
                words: printed.rate_text(plan.rates[edge.zone - 1].rate),
                ..edge
            })
            .collect();
        let rate_borders = outlines.map_or_else(Vec::new, |outlines| borders(self.report, outlines));
        let total = printed.total_text(plan.total());
        let caption = vec![
            format!("Rates are of product, not of nutrient. In all {total}."),
            match plan.kept_off.is_empty() {
                true => "No keep-off ground is stated. Local rules and a certified adviser come first.".to_owned(),
                false => format!(
                    "Bare paper: kept off ({}). Local rules and a certified adviser come first.",
                    plan.kept_off.join("; ")
                ),
            },
        ];
        let title = format!("Map 4. What goes where in pass {}?", plan.number);
        let quantity = format!("{}, {}: {} of product", plan.pass.name, plan.product.name, printed.rate);
        let is_kept_off = |ground: &&ZoneGround| ground.ground == Ground::SetBack;
        let kept_off: Vec<ZoneGround> = plan.grounds.iter().filter(is_kept_off).cloned().collect();
        let boundary = self.report.boundary;
        let keep_off = outlines.map_or_else(Vec::new, |outlines| outlines.local_rings(&kept_off, boundary));
        // The ground bar shares out what is treated; a field with no cell's center left keeps them all.
        let grid = zones.mask().grid();
        let off = outlines.map_or_else(Vec::new, |outlines| outlines.kept_off_cells(&kept_off, boundary, grid));
        let treated = zones.mask().inside().iter().zip(off).map(|(inside, off)| *inside && !off).collect();
        let treated = CellMask::new(*zones.mask().grid(), treated);
        let treated = if treated.n_inside() > 0 { treated } else { zones.mask().clone() };
        let picture = self.picture(&title, &quantity, &treated, shade);
        let area_m2 = plan.rates.iter().map(|rate| rate.area_ac).sum::<f64>() * M2_PER_ACRE;
        map_png::draw(&MapPicture {
            area_m2,
            caption: &caption,
            zones: &rated,
            borders: &rate_borders,
            samples: &[],
            keep_off: &keep_off,
            ..picture
        })
    }

    fn doubt(&self) -> Vec<u8> {
        let (unit, factor) = match self.report.units() {
            UnitSystem::Us => ("ft", 1.0 / crate::units::M_PER_FOOT),
            UnitSystem::Si => ("m", 1.0),
        };
        let values: Vec<f64> = self.report.surfaces.nearest_sample_m().iter().map(|d| d * factor).collect();
        let mask = self.report.surfaces.mask();
        let breaks = round_breaks(mask.cells().map(|cell| values[cell]), N_DOUBT_CLASSES);
        let quantity = format!("Distance to the nearest sample, {unit}");
        let shade = Shade::Surface { values: &values, breaks: &breaks, palette: Palette::Doubt };
        let worse: Vec<&str> = self
            .report
            .surfaces
            .quality
            .iter()
            .filter(|q| q.error.and_then(|e| e.prediction_efficiency_percent()).is_none_or(|percent| percent <= 0.0))
            .map(|q| q.variable.label())
            .collect();
        let mut caption = vec![SLANT_WORDS.to_owned(), RING_WORDS.to_owned()];
        if !worse.is_empty() {
            caption.push(format!("No better than the field mean: {}.", worse.join(", ")));
        }
        let title = "Map 5. Where is the map a guess?";
        map_png::draw(&MapPicture {
            caption: &caption,
            zones: &[],
            borders: &[],
            ..self.picture(title, &quantity, mask, shade)
        })
    }

    /// `None` where there is but one number of zones to show.
    fn counts(&self, zones: &ZoneMap) -> Option<Vec<u8>> {
        let verdict = zones.verdict();
        let panel = |candidate: &'a Candidate| {
            let consequence = self.report.consequences.iter().find(|found| found.count == candidate.count);
            let row = verdict.row(candidate.count);
            let mark = match (candidate.count == verdict.drawn, candidate.count == verdict.suggested) {
                (_, true) if verdict.told().is_some() => Some("suggested"),
                (true, true) => Some("drawn"),
                (true, false) => Some("drawn"),
                (false, _) => None,
            };
            ZonePanel {
                count: candidate.count,
                labels: &candidate.labels,
                words: consequence.map_or(Vec::new(), |found| panel_words(self.report, found, row)),
                mark: mark.map(str::to_owned),
            }
        };
        let panels: Vec<ZonePanel<'_>> = self.report.zones?.candidates().iter().map(panel).collect();
        let caption = [
            "Suggested by the samples, each hidden in turn; how apart zones look on a map decides nothing.".to_owned(),
            "Pale ground holds least. Rates and money by the cells of the map, before borders are straightened."
                .to_owned(),
        ];
        (panels.len() > 1).then(|| {
            zone_counts_png(&ZoneCountPicture {
                field_line: &self.field_line,
                panels: &panels,
                grid: self.report.surfaces.mask().grid(),
                outline: &self.outline,
                caption: &caption,
                units: self.report.units(),
            })
        })
    }

    fn samples(&self, names: &SampleNames) -> Vec<u8> {
        which_sample_png(&WhichSample {
            field_line: &self.field_line,
            outline: &self.outline,
            borders: &self.borders,
            samples: &self.samples,
            names,
            look_at: "A ring with a bar through it: the map misses its CEC by more than twice its usual miss, look at it.",
            units: self.report.units(),
        })
    }
}

/// With a capital first letter; pH stays as it is.
pub(crate) fn capitalized(text: &str) -> String {
    if text.starts_with("pH") {
        return text.to_owned();
    }
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// Cells of a mask with a value; `None` without any.
fn finite_mask(mask: &CellMask, values: &[f64]) -> Option<CellMask> {
    let inside = mask.inside().iter().zip(values).map(|(inside, value)| *inside && value.is_finite()).collect();
    Some(CellMask::new(*mask.grid(), inside)).filter(|mask| mask.n_inside() > 0)
}

/// Breaks of the most classes whose step is not finer than the map's miss; noise would look like ground otherwise.
fn honest_breaks(breaks_of: impl Fn(usize) -> Vec<f64>, miss: f64) -> Vec<f64> {
    let is_honest = |breaks: &Vec<f64>| breaks.windows(2).all(|pair| pair[1] - pair[0] >= miss);
    (2..=N_CLASSES).rev().map(breaks_of).find(is_honest).unwrap_or_default()
}

/// Density of dots like sand on each zone, 0 to 1: dense on zone 1, none on the last or on ground that holds much; `None`
/// where zones are not worth having.
pub(super) fn sand_densities(zones: &ZoneMap) -> Option<Vec<f64>> {
    let last = zones.zones().len() as f64;
    let of_zone = |zone: &ZoneSummary| match zone.holding {
        Some(HoldingClass::Much) => 0.0,
        _ => (last - zone.zone as f64) / (last - 1.0),
    };
    let is_sandy = zones.zones().len() > 1 && zones.verdict().told() != Some(false);
    is_sandy.then(|| zones.zones().iter().map(of_zone).collect())
}

pub(super) fn sample_rings(report: &Report<'_>, variable: Variable) -> Vec<SampleRing> {
    let quality = report.surfaces.quality_of(variable);
    let is_missed = |site: Site| {
        quality.is_some_and(|quality| {
            let usual = quality.error.map_or(f64::INFINITY, |error| error.error_rmse);
            let at = quality.sites.iter().position(|other| *other == site);
            at.is_some_and(|at| (quality.measured[at] - quality.predicted[at]).abs() > LOOK_AT_MISSES * usual)
        })
    };
    let ring = |site: &Site| SampleRing {
        at: *site,
        mark: if is_missed(*site) { SampleMark::LookAt } else { SampleMark::Plain },
    };
    report.surfaces.sites.iter().map(ring).collect()
}

/// Rings of the ground of each label, and a place well inside it.
fn zone_rings(report: &Report<'_>, labels: &[u16], outlines: &ZoneOutlines) -> Vec<ZoneRings> {
    deep_rings(report, labels, outlines).into_iter().map(|(rings, _)| rings).collect()
}

/// The same, with the distance from that place to the nearest border along rows and columns, meters.
pub(super) fn deep_rings(report: &Report<'_>, labels: &[u16], outlines: &ZoneOutlines) -> Vec<(ZoneRings, f64)> {
    let grid = report.surfaces.mask().grid();
    let depths = depths(grid, labels);
    outlines
        .zones()
        .iter()
        .map(|ground| {
            let cells = labels.iter().enumerate().filter(|(_, label)| usize::from(**label) == ground.zone);
            // The deepest cell; the first of equals.
            let deepest =
                cells.map(|(cell, _)| cell).max_by_key(|&cell| (depths[cell], std::cmp::Reverse(cell))).unwrap_or(0);
            let rings = ZoneRings {
                zone: ground.zone,
                class: None,
                rings: outlines.local_rings(std::slice::from_ref(ground), report.boundary),
                words: String::new(),
                label_at: grid.center(deepest % grid.n_cols, deepest / grid.n_cols),
            };
            (rings, f64::from(depths.get(deepest).copied().unwrap_or(0)) * grid.cell_m)
        })
        .collect()
}

/// Rings of the zones with what they hold.
fn named_rings(report: &Report<'_>, zones: &ZoneMap, outlines: &ZoneOutlines) -> Vec<ZoneRings> {
    let words = |zone: usize| super::summary::holding_words(zones.zones()[zone - 1].holding).to_owned();
    zone_rings(report, zones.labels(), outlines)
        .into_iter()
        .map(|rings| ZoneRings { words: words(rings.zone), ..rings })
        .collect()
}

fn local(report: &Report<'_>, outlines: &ZoneOutlines, vertex: Vertex) -> Option<Site> {
    report.boundary.work_crs().to_local(outlines.lattice().lon_lat(vertex))
}

/// Pieces of line that two zones share, each once.
fn borders(report: &Report<'_>, outlines: &ZoneOutlines) -> Vec<[Site; 2]> {
    let rings = || outlines.zones().iter().flat_map(|zone| &zone.polygons).flat_map(LatticePolygon::rings);
    let pieces = || rings().flat_map(|ring| ring.windows(2).map(|pair| [pair[0], pair[1]]));
    let known: std::collections::HashSet<[Vertex; 2]> = pieces().collect();
    let shared = pieces().filter(|[from, to]| from < to && known.contains(&[*to, *from]));
    shared.filter_map(|[from, to]| Some([local(report, outlines, from)?, local(report, outlines, to)?])).collect()
}

/// Steps from each cell to the nearest cell of another zone, along rows and columns.
fn depths(grid: &CellGrid, labels: &[u16]) -> Vec<u32> {
    let mut depths = vec![0_u32; labels.len()];
    let step = |depths: &mut Vec<u32>, cell: usize, before: Option<usize>, first: bool| {
        let through = before.filter(|&b| labels[b] == labels[cell]).map_or(1, |b| depths[b] + 1);
        depths[cell] = if first { through } else { depths[cell].min(through) };
    };
    for cell in 0..labels.len() {
        let (col, row) = (cell % grid.n_cols, cell / grid.n_cols);
        step(&mut depths, cell, (col > 0).then(|| cell - 1), true);
        step(&mut depths, cell, (row > 0).then(|| cell - grid.n_cols), false);
    }
    for cell in (0..labels.len()).rev() {
        let (col, row) = (cell % grid.n_cols, cell / grid.n_cols);
        step(&mut depths, cell, (col + 1 < grid.n_cols).then_some(cell + 1), false);
        step(&mut depths, cell, (row + 1 < grid.n_rows).then(|| cell + grid.n_cols), false);
    }
    depths
}
