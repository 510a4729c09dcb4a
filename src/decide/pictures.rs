//! Small maps and rulers of the page, as inline SVG. No meaning by color alone: zones carry their numbers.

use std::fmt::Write as _;

use geo::{
    Area as _, BoundingRect as _, Contains as _, Coord, CoordsIter as _, InteriorPoint as _, LineString, Polygon,
};
use maud::{Markup, html};

use crate::boundary::FieldBoundary;
use crate::cell_grid::Site;
use crate::coverage::{ZoneGround, ZoneOutlines};
use crate::export::map_png::{INK, Palette, Rgb};

/// Width of a ruler, in its own units.
const RULER: f64 = 340.0;
/// Paper left free round a map and at the ends of a ruler.
const MARGIN: f64 = 8.0;
/// Places tried along each side of a zone for its number.
const TRIES: usize = 12;
/// Radius of a sample's ring.
const RING: f64 = 4.5;

/// `#14110f`.
pub(super) fn color(rgb: Rgb) -> String {
    rgb.css()
}

/// Color of zone `zone` of `n`.
fn zone_color(zone: usize, n_zones: usize) -> Rgb {
    let steps = Palette::Ground.steps(n_zones.clamp(1, Palette::Ground.most_classes()));
    steps[zone.saturating_sub(1).min(steps.len() - 1)]
}

/// From local meters to a small map, north up.
struct Frame {
    west_m: f64,
    north_m: f64,
    scale: f64,
    width: f64,
    height: f64,
}

impl Frame {
    fn of(boundary: &FieldBoundary, side: f64) -> Frame {
        let [west_m, east_m, south_m, north_m] = boundary.bounds_m();
        let scale = (side - 2.0 * MARGIN) / (east_m - west_m).max(north_m - south_m).max(1.0);
        let width = (east_m - west_m) * scale + 2.0 * MARGIN;
        let height = (north_m - south_m) * scale + 2.0 * MARGIN;
        Frame { west_m, north_m, scale, width, height }
    }

    fn spot(&self, site: Site) -> [f64; 2] {
        [MARGIN + (site.east_m - self.west_m) * self.scale, MARGIN + (self.north_m - site.north_m) * self.scale]
    }

    fn path(&self, rings: &[Vec<Site>]) -> String {
        let mut path = String::new();
        for ring in rings {
            let mut last = None;
            for site in ring {
                let spot = self.spot(*site).map(|at| (at * 10.0).round() as i64);
                if last == Some(spot) {
                    continue;
                }
                let letter = if last.is_none() { 'M' } else { 'L' };
                let _ = write!(path, "{letter}{} {}", spot[0] as f64 / 10.0, spot[1] as f64 / 10.0);
                last = Some(spot);
            }
            path.push('Z');
        }
        path
    }

    fn view_box(&self) -> String {
        format!("0 0 {:.0} {:.0}", self.width, self.height)
    }
}

/// The field with a ring a sample; a bar through those left out.
pub(super) fn sample_map(boundary: &FieldBoundary, samples: &[(String, Option<Site>)], left_out: &[String]) -> Markup {
    let frame = Frame::of(boundary, RULER);
    let n_out = samples.iter().filter(|(id, _)| left_out.contains(id)).count();
    let label = format!("Map of the field with {} samples, {n_out} of them left out", samples.len());
    html! {
        svg viewBox=(frame.view_box()) role="img" aria-label=(label) class="map" {
            path d=(frame.path(&boundary.rings())) fill="none" stroke=(color(INK)) stroke-width="1.5" {}
            @for (id, site) in samples {
                @if let Some(site) = site {
                    @let [x, y] = frame.spot(*site);
                    g {
                        title { (id) }
                        circle cx=(tenth(x)) cy=(tenth(y)) r=(RING) fill="#ffffff" stroke=(color(INK)) stroke-width="1.5" {}
                        @if left_out.contains(id) {
                            path d=(format!("M{:.1} {:.1}L{:.1} {:.1}", x - 8.0, y + 8.0, x + 8.0, y - 8.0))
                                stroke=(color(INK)) stroke-width="2.5" {}
                        }
                    }
                }
            }
        }
    }
}

fn tenth(at: f64) -> String {
    format!("{at:.1}")
}

/// The field cut into zones, each with its number where it fits.
pub(super) fn zone_map(boundary: &FieldBoundary, outlines: &ZoneOutlines, side: f64, label: &str) -> Markup {
    let frame = Frame::of(boundary, side);
    let n_zones = outlines.zones().len();
    html! {
        svg viewBox=(frame.view_box()) role="img" aria-label=(label) class="map" {
            @for ground in outlines.zones() {
                @let rings = outlines.local_rings(std::slice::from_ref(ground), boundary);
                path d=(frame.path(&rings)) fill=(color(zone_color(ground.zone, n_zones))) fill-rule="evenodd"
                    stroke=(color(INK)) stroke-width="1" {}
            }
            @for ground in outlines.zones() {
                @if let Some(site) = inside(outlines, ground, boundary) {
                    @let [x, y] = frame.spot(site);
                    text x=(tenth(x)) y=(tenth(y + 4.0)) text-anchor="middle" font-size="13"
                        fill=(color(zone_color(ground.zone, n_zones).text())) { (ground.zone) }
                }
            }
        }
    }
}

/// A place inside the largest piece of a zone.
fn inside(outlines: &ZoneOutlines, ground: &ZoneGround, boundary: &FieldBoundary) -> Option<Site> {
    let largest = ground.polygons.iter().max_by_key(|polygon| polygon.doubled_area())?;
    let alone = ZoneGround { polygons: vec![largest.clone()], ..ground.clone() };
    let polygon = polygon_of(outlines.local_rings(&[alone], boundary))?;
    let bounds = polygon.bounding_rect()?;
    let corners: Vec<Coord<f64>> = polygon.coords_iter().collect();
    let clear_m = |at: &Coord<f64>| {
        corners.iter().map(|corner| (corner.x - at.x).hypot(corner.y - at.y)).fold(f64::INFINITY, f64::min)
    };
    let step = |n: usize| (n as f64 + 0.5) / TRIES as f64;
    let tries = (0..TRIES * TRIES).map(|n| Coord {
        x: bounds.min().x + step(n % TRIES) * bounds.width(),
        y: bounds.min().y + step(n / TRIES) * bounds.height(),
    });
    // The clearest of some places; a thin zone may hold none of them.
    let best = tries.filter(|at| polygon.contains(at)).max_by(|a, b| clear_m(a).total_cmp(&clear_m(b)));
    let best = best.or_else(|| Some(polygon.interior_point()?.into()))?;
    Some(Site { east_m: best.x, north_m: best.y })
}

fn polygon_of(rings: Vec<Vec<Site>>) -> Option<Polygon<f64>> {
    let line = |ring: Vec<Site>| -> LineString<f64> {
        ring.into_iter().map(|site| Coord { x: site.east_m, y: site.north_m }).collect()
    };
    let mut rings = rings.into_iter().map(line);
    Some(Polygon::new(rings.next()?, rings.collect()))
}

/// Area of every patch of every zone on the work plane, m2.
pub(super) fn patch_areas_m2(outlines: &ZoneOutlines, boundary: &FieldBoundary) -> Vec<f64> {
    let each = outlines.zones().iter().flat_map(|ground| ground.polygons.iter().map(move |polygon| (ground, polygon)));
    let area = |(ground, polygon): (&ZoneGround, &_)| {
        let alone = ZoneGround { polygons: vec![Clone::clone(polygon)], ..ground.clone() };
        polygon_of(outlines.local_rings(&[alone], boundary)).map_or(0.0, |polygon| polygon.unsigned_area())
    };
    each.map(area).collect()
}

/// A ruler: a tick for each value, a longer mark with words for each level.
pub(super) struct Ruler<'a> {
    /// What it shows, for who does not see it.
    pub(super) label: &'a str,
    /// Unit at the end of the line.
    pub(super) unit: &'a str,
    /// One tick each.
    pub(super) ticks: &'a [f64],
    /// One long mark each, with its words.
    pub(super) marks: &'a [(f64, String)],
    /// Whether steps are of equal ratio.
    pub(super) by_ratio: bool,
}

impl Ruler<'_> {
    pub(super) fn draw(&self) -> Markup {
        let all = self.ticks.iter().chain(self.marks.iter().map(|(at, _)| at)).copied().filter(|at| at.is_finite());
        let positive = |at: f64| if self.by_ratio { at.max(0.01).log10() } else { at };
        let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| (low.min(at), high.max(at)));
        if !low.is_finite() {
            return html! {};
        }
        let (start, span) = (positive(low), (positive(high) - positive(low)).max(1e-9));
        let x = |at: f64| MARGIN + (positive(at) - start) / span * (RULER - 2.0 * MARGIN);
        // Words stand toward the middle: in this order none of them lies over the line of another mark of its half.
        let (mut marks, mut left): (Vec<&(f64, String)>, Vec<_>) =
            self.marks.iter().filter(|(at, _)| at.is_finite()).partition(|(at, _)| x(*at) > RULER / 2.0);
        marks.sort_by(|a, b| b.0.total_cmp(&a.0));
        left.sort_by(|a, b| a.0.total_cmp(&b.0));
        marks.extend(left);
        let top = 16.0 * marks.len() as f64 + 6.0;
        let height = top + 40.0;
        html! {
            svg viewBox=(format!("0 0 {RULER} {height:.0}")) role="img" aria-label=(self.label) class="ruler" {
                path d=(format!("M{MARGIN} {:.1}H{:.1}", top + 20.0, RULER - MARGIN)) stroke=(color(INK)) stroke-width="1" {}
                @for at in self.ticks.iter().filter(|at| at.is_finite()) {
                    path d=(format!("M{:.1} {:.1}V{:.1}", x(*at), top + 8.0, top + 20.0)) stroke=(color(INK)) stroke-width="1" {}
                }
                @for (row, (at, words)) in marks.iter().enumerate() {
                    @let (mark_x, y) = (x(*at), 16.0 * row as f64 + 12.0);
                    @let is_right = mark_x > RULER / 2.0;
                    path d=(format!("M{mark_x:.1} {:.1}V{:.1}", y - 10.0, top + 24.0)) stroke="#7d3762" stroke-width="2" {}
                    text x=(tenth(if is_right { mark_x - 4.0 } else { mark_x + 4.0 })) y=(tenth(y)) font-size="12"
                        text-anchor=(if is_right { "end" } else { "start" }) fill=(color(INK)) stroke="#ffffff"
                        stroke-width="4" paint-order="stroke" { (words) }
                }
                text x=(MARGIN) y=(tenth(top + 36.0)) font-size="12" fill=(color(INK)) { (short(low)) }
                text x=(RULER - MARGIN) y=(tenth(top + 36.0)) font-size="12" text-anchor="end" fill=(color(INK)) {
                    (short(high)) " " (self.unit)
                }
            }
        }
    }
}

/// A number as short as it can be told.
pub(super) fn short(value: f64) -> String {
    let decimals = match value.abs() {
        v if v >= 20.0 || v == 0.0 => 0,
        v if v >= 2.0 => 1,
        _ => 2,
    };
    crate::units::thousands(value, decimals)
}

/// One bar a row: pieces as long as their share of the whole, each with its words.
pub(super) struct GroundBar {
    /// Over the bar.
    pub(super) title: String,
    /// Share (0 to 1), step of the palette of rates from 0, words.
    pub(super) pieces: Vec<(f64, Rgb, String)>,
}

impl GroundBar {
    pub(super) fn draw(&self) -> Markup {
        let length = RULER - 2.0 * MARGIN;
        let label = format!(
            "{}: {}",
            self.title,
            self.pieces.iter().map(|(_, _, words)| words.as_str()).collect::<Vec<_>>().join(", ")
        );
        let mut at = MARGIN;
        let mut placed = Vec::new();
        for (share, rgb, words) in &self.pieces {
            placed.push((at, share * length, rgb, words));
            at += share * length;
        }
        html! {
            svg viewBox=(format!("0 0 {RULER} 44")) role="img" aria-label=(label) class="ruler" {
                text x=(MARGIN) y="13" font-size="12" fill=(color(INK)) { (self.title) }
                @for (left, width, rgb, words) in placed {
                    rect x=(tenth(left)) y="18" width=(tenth(width)) height="22" fill=(color(*rgb)) stroke=(color(INK))
                        stroke-width="1" {}
                    // A letter of 12 is about 6.6 wide; words that do not fit are left to its label.
                    @if width > 6.6 * words.chars().count() as f64 + 4.0 {
                        text x=(tenth(left + width / 2.0)) y="33" font-size="12" text-anchor="middle"
                            fill=(color(rgb.text())) { (words) }
                    }
                }
            }
        }
    }
}
