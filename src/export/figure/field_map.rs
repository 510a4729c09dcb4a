//! A map of the field: fills, borders, marks that need no color, north and scale.

use std::fmt::Write as _;

use super::{Anchor, Figure, Lettered, PLAIN, WIDTH, css, escaped, line, ring};
use crate::cell_grid::Site;
use crate::export::in_units::InUnits;
use crate::export::map_png::{INK, PAPER, Rgb};
use crate::export::page::lettering::Lettering;
use crate::units::{M_PER_FOOT, UnitSystem};

/// Most height of the ground drawn.
const MOST_HEIGHT: f64 = 330.0;
/// Paper round the ground, and under it for the scale.
const EDGE: f64 = 4.0;
const SCALE_HEIGHT: f64 = 26.0;
/// Room for the north line at the right.
const NORTH_WIDTH: f64 = 22.0;
/// Longest scale line, share of the ground's width.
const MOST_SCALE_SHARE: f64 = 0.3;

/// What a map shows. Places in local meters; rings outer and inner alike.
pub(in crate::export) struct FieldMap<'a> {
    /// Starts the ids of its patterns; one of its own a map of a page.
    pub(in crate::export) id: &'a str,
    /// What it shows, for whoever does not see it.
    pub(in crate::export) told: InUnits,
    pub(in crate::export) outline: &'a [Vec<Site>],
    pub(in crate::export) grounds: Vec<MapGround>,
    /// Ground kept free: bare paper with an ink edge.
    pub(in crate::export) kept_off: Vec<Vec<Site>>,
    /// Samples; whether each is to be looked at.
    pub(in crate::export) samples: Vec<(Site, bool)>,
    /// Ground beyond the outermost samples: slant lines.
    pub(in crate::export) beyond: Vec<Vec<Site>>,
    /// Places with a name on paper, and their names.
    pub(in crate::export) places: Vec<(Site, String)>,
    /// Size of numbers, words and names on the map.
    pub(in crate::export) size: f64,
    /// Discs round samples, widest first, for a map of distances: (radius in meters, fill).
    pub(in crate::export) discs: Vec<(f64, Rgb)>,
}

/// A piece of ground of one color.
pub(in crate::export) struct MapGround {
    pub(in crate::export) rings: Vec<Vec<Site>>,
    pub(in crate::export) fill: Rgb,
    /// Density of dots like sand, 0 (none) to 1.
    pub(in crate::export) sand: f64,
    /// Its number, where it is told.
    pub(in crate::export) number: Option<usize>,
    /// Words after the number.
    pub(in crate::export) words: InUnits,
    /// A place well inside, and the distance from there to the next border, meters.
    pub(in crate::export) label: (Site, f64),
    /// Id of its line in the text.
    pub(in crate::export) line_id: Option<String>,
}

/// Meters to the figure's units.
struct View {
    west_m: f64,
    north_m: f64,
    per_m: f64,
    left: f64,
}

impl View {
    fn at(&self, site: Site) -> [f64; 2] {
        [self.left + (site.east_m - self.west_m) * self.per_m, EDGE + (self.north_m - site.north_m) * self.per_m]
    }

    fn path(&self, rings: &[Vec<Site>]) -> String {
        let mut path = String::new();
        for ring in rings {
            for (index, site) in ring.iter().enumerate() {
                let [x, y] = self.at(*site);
                let _ = write!(path, "{}{x:.1} {y:.1}", if index == 0 { "M" } else { "L" });
            }
            path.push('Z');
        }
        path
    }
}

impl FieldMap<'_> {
    /// Draws the map.
    ///
    /// # Panics
    /// Without an outline.
    pub(in crate::export) fn draw(&self, lettering: &Lettering) -> Figure {
        let sites = || self.outline.iter().flatten();
        let least = |of: fn(&Site) -> f64| sites().map(of).fold(f64::INFINITY, f64::min);
        let most = |of: fn(&Site) -> f64| sites().map(of).fold(f64::NEG_INFINITY, f64::max);
        let [west_m, south_m] = [least(|site| site.east_m), least(|site| site.north_m)];
        let [east_m, north_m] = [most(|site| site.east_m), most(|site| site.north_m)];
        assert!(east_m > west_m && north_m > south_m, "an outline");
        let room = WIDTH - 2.0 * EDGE - NORTH_WIDTH;
        let per_m = (room / (east_m - west_m)).min(MOST_HEIGHT / (north_m - south_m));
        let [width, height] = [(east_m - west_m) * per_m, (north_m - south_m) * per_m];
        let view = View { west_m, north_m, per_m, left: EDGE + (room - width) / 2.0 };

        let mut figure = Figure::new(height + 2.0 * EDGE + SCALE_HEIGHT, self.told.clone());
        figure.draw(self.patterns());
        for ground in &self.grounds {
            self.draw_ground(&mut figure, &view, ground);
        }
        if !self.discs.is_empty() {
            figure.draw(self.disc_elements(&view));
        }
        if !self.beyond.is_empty() {
            let path = view.path(&self.beyond);
            figure.draw(format!("<path d=\"{path}\" fill=\"url(#{}-slant)\" fill-rule=\"evenodd\"/>", self.id));
        }
        if !self.kept_off.is_empty() {
            let path = view.path(&self.kept_off);
            figure.draw(format!(
                "<path d=\"{path}\" fill=\"{}\" fill-rule=\"evenodd\" stroke=\"{}\" stroke-width=\"1\"/>",
                css(PAPER),
                css(INK)
            ));
        }
        let edge = view.path(self.outline);
        figure.draw(format!("<path d=\"{edge}\" fill=\"none\" stroke=\"{}\" stroke-width=\"1.6\"/>", css(INK)));
        let rings = self.samples.iter().map(|(site, is_barred)| {
            let [x, y] = view.at(*site);
            ring(x, y, 2.3, *is_barred)
        });
        figure.draw(rings.collect::<String>());
        for ground in self.grounds.iter().filter(|ground| ground.number.is_some()) {
            figure.draw_in(self.label(&view, lettering, ground));
        }
        for (site, name) in &self.places {
            let [x, y] = view.at(*site);
            let size = self.size;
            // A name at the field's edge stays whole.
            let [x, y] = [x.clamp(0.7 * size, WIDTH - 0.7 * size), y.max(0.75 * size)];
            let named = Lettered { size, ..PLAIN.bold().at(Anchor::Middle) };
            let plate = [x - 0.62 * size, y - 0.66 * size, 1.24 * size, 1.32 * size];
            figure.draw(super::rect(plate, PAPER, 1.2) + &named.svg(x, y + 0.36 * size, name));
        }
        figure.draw(north(WIDTH - EDGE - 8.0, EDGE + 2.0));
        let top = height + 2.0 * EDGE + 6.0;
        figure.draw_in(InUnits::of(|units| scale(units, per_m, width, [view.left, top])));
        figure
    }

    /// Dots for each density there is, slant lines, and the field as a clip.
    fn patterns(&self) -> String {
        let id = self.id;
        let mut svg = String::from("<defs>");
        let _ = write!(
            svg,
            "<pattern id=\"{id}-slant\" width=\"7\" height=\"7\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">\
             <rect x=\"0\" y=\"0\" width=\"2.6\" height=\"7\" fill=\"{paper}\"/>\
             <rect x=\"0.8\" y=\"0\" width=\"1\" height=\"7\" fill=\"{ink}\"/></pattern>",
            paper = css(PAPER),
            ink = css(INK)
        );
        for (index, ground) in self.grounds.iter().enumerate().filter(|(_, ground)| ground.sand > 0.0) {
            // Dense ground has a dot every 5 units, the thinnest every 10.
            let [step, half] = [10.0 - 5.0 * ground.sand, 5.0 - 2.5 * ground.sand];
            let dot = css(ground.fill.text());
            let _ = write!(
                svg,
                "<pattern id=\"{id}-sand{index}\" width=\"{step:.2}\" height=\"{step:.2}\" patternUnits=\"userSpaceOnUse\">\
                 <circle cx=\"{quarter:.2}\" cy=\"{quarter:.2}\" r=\"0.75\" fill=\"{dot}\"/>\
                 <circle cx=\"{three:.2}\" cy=\"{three:.2}\" r=\"0.75\" fill=\"{dot}\"/></pattern>",
                quarter = half / 2.0,
                three = half * 1.5
            );
        }
        svg + "</defs>"
    }

    fn draw_ground(&self, figure: &mut Figure, view: &View, ground: &MapGround) {
        let path = view.path(&ground.rings);
        let mut svg = format!(
            "<path d=\"{path}\" fill=\"{}\" fill-rule=\"evenodd\" stroke=\"{}\" stroke-width=\"1.2\" stroke-linejoin=\"round\"/>",
            css(ground.fill),
            css(INK)
        );
        if ground.sand > 0.0 {
            let index = self.grounds.iter().position(|other| std::ptr::eq(other, ground)).unwrap_or(0);
            let _ = write!(svg, "<path d=\"{path}\" fill=\"url(#{}-sand{index})\" fill-rule=\"evenodd\"/>", self.id);
        }
        figure.draw(svg);
    }

    /// Distance to the nearest sample in steps: discs, the widest first, inside the outline.
    fn disc_elements(&self, view: &View) -> String {
        let id = self.id;
        let path = view.path(self.outline);
        let mut svg = format!(
            "<clipPath id=\"{id}-field\"><path d=\"{path}\" clip-rule=\"evenodd\"/></clipPath><g clip-path=\"url(#{id}-field)\">"
        );
        for (radius_m, fill) in &self.discs {
            for (site, _) in &self.samples {
                let [x, y] = view.at(*site);
                let (radius, fill) = (radius_m * view.per_m, css(*fill));
                let _ = write!(svg, "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{radius:.1}\" fill=\"{fill}\"/>");
            }
        }
        svg + "</g>"
    }

    /// Number and words of a ground on paper; the number alone where the words find no room.
    fn label(&self, view: &View, lettering: &Lettering, ground: &MapGround) -> InUnits {
        let size = self.size;
        let (site, clear_m) = ground.label;
        let [x, mut y] = view.at(site);
        // Away from the names of places.
        for [place_x, place_y] in self.places.iter().map(|(place, _)| view.at(*place)) {
            if (place_x - x).abs() < 4.0 * size && (place_y - y).abs() < 1.5 * size {
                y = if place_y >= y { place_y - 1.5 * size } else { place_y + 1.5 * size };
            }
        }
        let number = ground.number.map_or(String::new(), |number| number.to_string());
        ground.words.map(|words| {
            let full = if words.is_empty() { number.clone() } else { format!("{number}  {words}") };
            let is_short = lettering.width(&full, true) * size / 2.0 > (clear_m * view.per_m * 1.25).max(16.0);
            let shown = if is_short { &number } else { &full };
            let style = Lettered { anchor: Anchor::Middle, size, ..PLAIN.bold() };
            let width = style.width(lettering, shown) + 8.0;
            let x = x.clamp(width.min(WIDTH) / 2.0, WIDTH - width.min(WIDTH) / 2.0);
            let plate = super::rect([x - width / 2.0, y - 0.74 * size, width, 1.48 * size], PAPER, 0.0);
            // Two blanks would be one.
            let text = style.svg(x, y + 0.35 * size, &shown.replace("  ", "\u{2002}"));
            match &ground.line_id {
                Some(id) => format!("<a href=\"#{}\">{plate}{text}</a>", escaped(id)),
                None => plate + &text,
            }
        })
    }
}

fn north(x: f64, y: f64) -> String {
    line([x, y + 12.0], [x, y + 38.0], 1.4)
        + &line([x - 3.5, y + 19.0], [x, y + 12.0], 1.4)
        + &PLAIN.bold().at(Anchor::Middle).svg(x, y + 8.0, "N")
}

/// A line of a round length.
fn scale(units: UnitSystem, per_m: f64, width: f64, [x, y]: [f64; 2]) -> String {
    let (m, unit) = match units {
        UnitSystem::Us => (M_PER_FOOT, "ft"),
        UnitSystem::Si => (1.0, "m"),
    };
    let most = MOST_SCALE_SHARE * width / per_m / m;
    let power = 10_f64.powf(most.log10().floor());
    let length = [5.0, 2.0, 1.0].into_iter().map(|step| step * power).find(|length| *length <= most).unwrap_or(power);
    let end = x + length * m * per_m;
    let words = PLAIN.svg(end + 6.0, y + 4.0, &format!("{} {unit}", crate::units::thousands(length, 0)));
    line([x, y], [end, y], 1.4)
        + &line([x, y - 4.0], [x, y + 4.0], 1.4)
        + &line([end, y - 4.0], [end, y + 4.0], 1.4)
        + &words
}

#[cfg(test)]
mod tests {
    use super::super::WORDS;
    use super::*;

    fn square(from: f64, to: f64) -> Vec<Site> {
        [[from, from], [to, from], [to, to], [from, to]].map(|[east_m, north_m]| Site { east_m, north_m }).to_vec()
    }

    fn map<'a>(outline: &'a [Vec<Site>], words: &str) -> FieldMap<'a> {
        let ground = MapGround {
            rings: outline.to_vec(),
            fill: Rgb::hex(0x7d3762),
            sand: 0.5,
            number: Some(1),
            words: InUnits::same(words),
            label: (Site { east_m: 50.0, north_m: 50.0 }, 50.0),
            line_id: Some("zone-1".into()),
        };
        FieldMap {
            id: "t",
            told: InUnits::same("a map"),
            outline,
            grounds: vec![ground],
            kept_off: vec![],
            samples: vec![(Site { east_m: 10.0, north_m: 90.0 }, true)],
            beyond: vec![],
            places: vec![],
            size: WORDS,
            discs: vec![],
        }
    }

    #[test]
    fn north_is_up_and_the_map_fits() {
        let outline = [square(0.0, 100.0)];
        let figure = map(&outline, "holds little").draw(&Lettering::new());
        // The sample near the north-west corner lies high and left.
        let svg = figure.svg_in(UnitSystem::Us);
        let at = svg.find("<circle cx=\"").and_then(|_| svg.rfind("<circle cx=\"")).unwrap();
        let number = |from: usize, name: &str| -> f64 {
            let start = svg[from..].find(name).unwrap() + from + name.len();
            svg[start..].split('"').next().unwrap().parse().unwrap()
        };
        assert!(number(at, "cx=\"") < WIDTH / 3.0 && number(at, "cy=\"") < figure.height / 4.0);
        assert!(svg.contains("holds little") && svg.contains("#zone-1"));
        assert_ne!(svg, figure.svg_in(UnitSystem::Si), "the scale is in feet or meters");
    }

    #[test]
    fn a_name_at_the_edge_stays_inside_the_figure() {
        let outline = [square(0.0, 100.0)];
        let mut map = map(&outline, "");
        map.places = vec![(Site { east_m: 0.0, north_m: 100.0 }, "+".into())];
        let svg = map.draw(&Lettering::new()).svg_in(UnitSystem::Us);
        let before = &svg[..svg.find(">+</text>").unwrap()];
        let plate = &before[before.rfind("<rect ").unwrap()..];
        let number =
            |name: &str| -> f64 { plate.split(name).nth(1).unwrap().split('"').next().unwrap().parse().unwrap() };
        assert!(number(" x=\"") > 0.0 && number(" y=\"") > 0.0, "{plate}");
    }

    #[test]
    fn words_without_room_leave_the_number() {
        let outline = [square(0.0, 100.0)];
        let mut map = map(&outline, "a name that is far too long to stand on so small a piece of ground");
        map.grounds[0].label.1 = 10.0;
        let svg = map.draw(&Lettering::new()).svg_in(UnitSystem::Us);
        assert!(!svg.contains("far too long") && svg.contains(">1</text>"));
    }
}
