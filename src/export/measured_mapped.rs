//! Map 7: measured against mapped, each sample hidden in turn; a small square a quantity.

mod square;

use super::Report;
use super::map_png::canvas::{Canvas, Frame, Spot};
use super::map_png::text::{Lettering, Letters};
use super::map_png::{INK, MARGIN_PX, WIDTH_PX};
use super::page_words::PageWords;
use super::sample_names::SampleNames;
use crate::chemistry::Cation;
use crate::samples::Analyte;
use crate::soil_surface::{Quality, Variable};
use crate::surface::leave_one_out::MapError;
use crate::units::{SoilBasis, thousands};
use crate::zones::ZoneQuantity;
use square::Square;

const TITLE: &str = "Map 7. How far does the map miss?";
const HEADING: Letters = Letters { size_px: 25.0, weight_px: 0.9 };
const WORDS: Letters = Letters { size_px: 22.0, weight_px: 0.4 };
const NO_BETTER: Letters = Letters { size_px: 22.0, weight_px: 1.0 };
/// Most squares, squares side by side, and paper between two of them, pixels.
const MOST_SQUARES: usize = 6;
const N_COLUMNS: usize = 3;
const COLUMN_GAP_PX: f32 = 24.0;
const ROW_GAP_PX: f32 = 34.0;
/// Width of a square with its numbers, pixels.
const SLOT_PX: f32 = (WIDTH_PX as f32 - 2.0 * MARGIN_PX - (N_COLUMNS as f32 - 1.0) * COLUMN_GAP_PX) / N_COLUMNS as f32;

/// Draws a square for CEC and for what zones and rates rest on: PNG bytes; the same result gives the same bytes. `None`
/// where no sample could be hidden and told from the others. `look_at_misses` times the usual miss, and a sample is named.
pub(super) fn measured_mapped_png(
    report: &Report<'_>,
    field_line: &str,
    names: &SampleNames,
    look_at_misses: f64,
) -> Option<Vec<u8>> {
    let basis = report.samples.basis;
    let panels: Vec<Panel> = quantities(report).map(|(quality, error)| Panel::of(quality, error, basis)).collect();
    (!panels.is_empty()).then(|| draw(&panels, field_line, names, look_at_misses))
}

/// CEC, what zones are drawn from, what rates and liming rest on, then whatever else is mapped.
fn quantities<'a>(report: &'a Report<'_>) -> impl Iterator<Item = (&'a Quality, MapError)> {
    const WANTED: [Variable; 9] = [
        Variable::Amount(Cation::K),
        Variable::Saturation(Cation::Ca),
        Variable::Saturation(Cation::Mg),
        Variable::Reading(Analyte::PhWater),
        Variable::Reading(Analyte::PhCacl2),
        Variable::Reading(Analyte::PhKcl),
        Variable::Reading(Analyte::PhSalt),
        Variable::Reading(Analyte::OrganicMatter),
        Variable::Reading(Analyte::P),
    ];
    let zoned = report.field_file.zones.iter().flat_map(|zones| &zones.from).filter_map(ZoneQuantity::soil);
    let mapped = report.surfaces.quality.iter().map(|quality| quality.variable);
    let mut variables = Vec::new();
    for variable in [Variable::Cec].into_iter().chain(zoned).chain(WANTED).chain(mapped) {
        if !variables.contains(&variable) {
            variables.push(variable);
        }
    }
    let told = |variable| report.surfaces.quality_of(variable).and_then(|quality| Some((quality, quality.error?)));
    variables.into_iter().filter_map(told).take(MOST_SQUARES)
}

/// One quantity with its words.
struct Panel<'a> {
    quality: &'a Quality,
    error: MapError,
    /// The quantity with its unit: "CEC, meq/100 g".
    heading: String,
    /// How far the map misses.
    words: [String; 2],
    /// What to know before using the map at all, in heavier letters.
    no_better: Option<&'static str>,
}

impl Panel<'_> {
    fn of(quality: &Quality, error: MapError, basis: SoilBasis) -> Panel<'_> {
        let variable = quality.variable;
        // pH is its own unit.
        let unit = Some(variable.unit_name(basis)).filter(|unit| *unit != "pH");
        let label = super::maps::capitalized(variable.label());
        // A small miss keeps two figures, so that it can be compared.
        let of_miss = (0..3).find(|decimals| error.error_rmse >= 0.95 * 10f64.powi(1 - *decimals)).unwrap_or(3);
        let decimals = variable.decimals().max(of_miss as usize);
        let figure = |miss: f64| thousands(miss, decimals);
        Panel {
            quality,
            error,
            heading: unit.map_or_else(|| label.clone(), |unit| format!("{label}, {unit}")),
            words: [
                format!("missed by {} {}", figure(error.error_rmse), unit.unwrap_or("")).trim_end().to_owned(),
                format!("(field mean alone {})", figure(error.mean_rmse)),
            ],
            no_better: match error.prediction_efficiency_percent() {
                Some(percent) if percent > 0.0 => None,
                Some(_) => Some("no better than the field mean"),
                None => Some("it does not vary"),
            },
        }
    }
}

fn caption(names: &SampleNames, n_named: usize, n_left_out: usize) -> Vec<String> {
    let mut caption = vec![
        "A ring a sample: across what the lab measured, up what the map says with that sample hidden. On the slanting \
         line the map is right."
            .to_owned(),
        "Missed by: the usual miss (root of the mean square).".to_owned(),
    ];
    if n_named > 0 {
        caption[1] += " Named: missed by more than twice that, look at them.";
        caption.extend(names.start_words());
    }
    if n_left_out > 0 {
        let found = if n_left_out == 1 { "1 such name finds" } else { &format!("{n_left_out} such names find") };
        caption.push(format!("{found} no room here."));
    }
    caption
}

fn draw(panels: &[Panel], field_line: &str, names: &SampleNames, look_at_misses: f64) -> Vec<u8> {
    let lettering = Lettering::new();
    let squares: Vec<Square> = panels
        .iter()
        .map(|panel| Square::of(panel.quality, look_at_misses * panel.error.error_rmse, names, &lettering))
        .collect();
    let numbers_px = squares.iter().map(|square| square.numbers_px(&lettering)).fold(0.0, f32::max);
    let side_px = (SLOT_PX - numbers_px).floor();
    let lines: Vec<[Vec<String>; 3]> = panels
        .iter()
        .map(|panel| {
            let wrap = |text: &str, letters| lettering.wrap(text, letters, SLOT_PX, 2);
            let words = panel.words.iter().flat_map(|text| wrap(text, WORDS)).collect();
            [wrap(&panel.heading, HEADING), words, wrap(panel.no_better.unwrap_or(""), NO_BETTER)]
        })
        .collect();
    let above = |lines: &[Vec<String>; 3]| lines[0].len() as f32 * HEADING.line_px() + square::ABOVE_PX;
    let below = |lines: &[Vec<String>; 3]| (lines[1].len() + lines[2].len()) as f32 * WORDS.line_px();

    let title_top = PageWords::wrap(&lettering, TITLE, field_line, &[], 0.0).drawing_top_px();
    let mut bottom = title_top;
    let mut frames = Vec::new();
    for row in lines.chunks(N_COLUMNS) {
        let most = |px: &dyn Fn(&[Vec<String>; 3]) -> f32| row.iter().map(px).fold(0.0, f32::max);
        for col in 0..row.len() {
            let left = MARGIN_PX + col as f32 * (SLOT_PX + COLUMN_GAP_PX) + SLOT_PX - side_px;
            frames.push(Frame {
                left: left.round(),
                top: (bottom + most(&above)).round(),
                width: side_px,
                height: side_px,
            });
        }
        bottom += most(&above) + side_px + square::BELOW_PX + most(&below) + ROW_GAP_PX;
    }
    let placed: Vec<_> = squares.iter().zip(&frames).map(|(square, frame)| square.place(*frame, &lettering)).collect();
    let n_left_out = placed.iter().map(|placed| placed.n_left_out).sum();
    let n_named = placed.iter().map(square::Placed::n_named).sum();
    let page = PageWords::wrap(&lettering, TITLE, field_line, &caption(names, n_named, n_left_out), 0.0);

    let mut canvas = Canvas::blank(WIDTH_PX, (bottom + page.foot_px()).ceil() as u32);
    for ((placed, frame), [heading, words, no_better]) in placed.iter().zip(&frames).zip(&lines) {
        placed.draw(&mut canvas, &lettering);
        let left = frame.right() - SLOT_PX;
        let heading_top = frame.top - square::ABOVE_PX - heading.len() as f32 * HEADING.line_px();
        let words_top = frame.bottom() + square::BELOW_PX;
        let no_better_top = words_top + words.len() as f32 * WORDS.line_px();
        let parts = [(heading, HEADING, heading_top), (words, WORDS, words_top), (no_better, NO_BETTER, no_better_top)];
        for (lines, letters, top) in parts {
            for (index, line) in lines.iter().enumerate() {
                let at = Spot { x: left, y: top + index as f32 * letters.line_px() };
                lettering.write(&mut canvas, line, letters, at, INK);
            }
        }
    }
    page.draw(&mut canvas, &lettering, bottom);
    canvas.grey_png_above(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cell_grid::Site;

    /// `n` samples on a line, every ninth missed by `far`, the others by a little.
    fn quality(variable: Variable, n: usize, spread: f64, far: f64) -> Quality {
        let sites = (0..n).map(|index| Site { east_m: index as f64, north_m: 0.0 }).collect();
        let measured: Vec<f64> = (0..n).map(|index| 5.0 + spread * (index * 7 % n) as f64 / n as f64).collect();
        let miss = |index: usize| if index % 9 == 4 { far } else { 0.1 * far * ((index % 5) as f64 - 2.0) };
        let predicted: Vec<f64> = measured.iter().enumerate().map(|(index, value)| value + miss(index)).collect();
        let hidden: Vec<u32> = (0..n as u32).collect();
        let error = MapError::of(&measured, &hidden, &predicted);
        Quality { variable, method: String::new(), sites, measured, predicted, error, all_methods: Vec::new() }
    }

    fn picture(all: &[Quality], field_line: &str, name: &str) -> Vec<u8> {
        let ids: Vec<(Site, &str)> = all[0].sites.iter().map(|site| (*site, name)).collect();
        let panel = |quality| Panel::of(quality, quality.error.expect("a miss"), SoilBasis::Mass);
        let panels: Vec<Panel> = all.iter().map(panel).collect();
        draw(&panels, field_line, &SampleNames::join(ids), 2.0)
    }

    fn six(n: usize) -> Vec<Quality> {
        let of = |variable, spread| quality(variable, n, spread, 0.2 * spread);
        let mut six = vec![of(Variable::Cec, 20.0), of(Variable::CaMgSaturation, 40.0)];
        six.extend([of(Variable::Amount(Cation::K), 1800.0), of(Variable::Reading(Analyte::PhWater), 2.0)]);
        six.extend([of(Variable::Reading(Analyte::OrganicMatter), 0.02), of(Variable::Saturation(Cation::Mg), 0.0)]);
        six
    }

    #[test]
    fn words_give_the_miss_beside_that_of_the_field_mean() {
        let panel = |quality: &Quality| {
            let panel = Panel::of(quality, quality.error.expect("a miss"), SoilBasis::Mass);
            (panel.heading, panel.words, panel.no_better)
        };
        // By hand: one sample of nine missed by 4, eight by 0, 0.4 or 0.8: misses 0.8, 0.4, 0, 0.4, 4, 0.8, 0.4, 0, 0.4;
        // root of (16 + 2 * 0.64 + 4 * 0.16) / 9 = 1.41.
        let told = quality(Variable::Cec, 9, 20.0, 4.0);
        let (heading, words, no_better) = panel(&told);
        assert_eq!((heading.as_str(), words[0].as_str()), ("CEC, meq/100 g", "missed by 1.4 meq/100 g"));
        let mean = told.error.expect("a miss").mean_rmse;
        assert_eq!((words[1].clone(), no_better), (format!("(field mean alone {mean:.1})"), None));
        let worse = quality(Variable::Reading(Analyte::PhWater), 9, 0.2, 4.0);
        let (heading, words, no_better) = panel(&worse);
        assert_eq!((heading.as_str(), words[0].as_str()), ("pH in water", "missed by 1.41"));
        assert_eq!(no_better, Some("no better than the field mean"));
        let level = quality(Variable::Amount(Cation::K), 9, 0.0, 0.0);
        assert_eq!(panel(&level).2, Some("it does not vary"));
    }

    #[test]
    fn the_same_samples_give_the_same_bytes_of_the_width_of_every_map() {
        let bytes = picture(&six(64), "North field (invented)   64 samples, 0 to 7 in", "A-01");
        assert_eq!(bytes, picture(&six(64), "North field (invented)   64 samples, 0 to 7 in", "A-01"));
        let back = image::load_from_memory(&bytes).expect("a png").into_rgb8();
        assert_eq!(back.width(), WIDTH_PX);
        assert!((900..=1600).contains(&back.height()), "{} pixels high", back.height());
        assert!(bytes.len() < 400_000, "{} bytes", bytes.len());
        let one_row = image::load_from_memory(&picture(&six(9)[..2], "", "A")).expect("a png");
        assert!(one_row.height() < back.height() - 300);
    }

    #[test]
    fn thousands_of_samples_and_hostile_names_do_not_panic() {
        assert!(picture(&six(3000), "", "1").len() < 600_000);
        for name in ["W".repeat(200), "\u{1f33e}\u{202e}\u{5e9}".to_owned(), String::new()] {
            assert!(picture(&six(12), &name, &name).len() > 1000);
        }
    }
}
