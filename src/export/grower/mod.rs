//! The grower's page: what matters in three lines, then six questions. One text, set as HTML, PDF and picture.
//!
//! Every figure of it comes from the report, as those of the run record do; nothing here decides a rate.

mod before;
mod cost;
mod holding;
mod in_short;
mod not_known;
mod passes;
mod shares;

use super::ground_drawn::GroundDrawn;
use super::in_units::{BothReports, BothUnits, InUnits};
use super::page::lettering::Lettering;
use super::page::{Block, Page, Paper, html, paginate, pdf, picture};
use super::run_record::{InputRecord, Versions};
use super::{OutputFile, Report};
use crate::rates::need::ZONE_UNLIKE_INSIDE;
use crate::rates::sharing::ZoneSharing;

/// Width of the picture, pixels: what telephones show whole.
const PICTURE_WIDTH_PX: u32 = 1080;
/// Most height of the picture, pixels: above it telephones refuse or blur it. Source: heuristic.
const MOST_PICTURE_HEIGHT_PX: f64 = 12_000.0;

/// What the parts of the page draw on.
struct Told<'a> {
    report: &'a Report<'a>,
    both: &'a BothReports<'a>,
    drawn: &'a GroundDrawn<'a>,
    lettering: &'a Lettering,
    sharings: &'a [ZoneSharing],
}

impl Told<'_> {
    /// Words on zones whose ground differs so much that its mean says little.
    fn unlike_inside(&self) -> Vec<&str> {
        let unlike = self.report.warnings.iter().filter(|warning| std::ptr::eq(warning.code, &ZONE_UNLIKE_INSIDE));
        unlike.map(|warning| warning.message.as_str()).collect()
    }
}

/// `grower.html`, `grower.pdf` and `grower.png`.
pub fn grower_files(report: &Report<'_>, inputs: &[InputRecord], versions: &Versions) -> Vec<OutputFile> {
    let lettering = Lettering::new();
    let units = BothUnits::of(report);
    let both = units.report(report);
    let drawn = GroundDrawn::of(report, &lettering);
    let sharings = report.sharing();
    let told = Told { report, both: &both, drawn: &drawn, lettering: &lettering, sharings: &sharings };
    let page = |blocks| Page { title: report.field_file.field.name.clone(), units: report.units(), blocks };
    let (whole, short) = (page(whole(&told, inputs, versions)), page(for_a_message(&told)));
    let foot = &report.field_file.field.name;
    // Lettering remembers widths and is not shared by threads.
    let printed = || pdf(&whole.title, &paginate(&whole, &Paper::of(whole.units), foot, &Lettering::new()));
    let pictured = || {
        let sheets = paginate(&short, &Paper::TELEPHONE, foot, &Lettering::new());
        let sheet = sheets.first().expect("one sheet where paper has no end");
        let most = MOST_PICTURE_HEIGHT_PX * sheet.width / sheet.height;
        picture(sheet, PICTURE_WIDTH_PX.min(most as u32))
    };
    let (pdf, png) = rayon::join(printed, pictured);
    [("grower.html", html(&whole)), ("grower.pdf", pdf), ("grower.png", png)]
        .map(|(name, bytes)| OutputFile::new(name, bytes))
        .to_vec()
}

/// The whole page.
fn whole(told: &Told<'_>, inputs: &[InputRecord], versions: &Versions) -> Vec<Block> {
    let mut blocks = vec![head(told), Block::InShort(in_short::lines(told))];
    let mut number = 0;
    let parts: [(&str, &str, Vec<Block>); 6] = [
        ("ground", "Where does the ground hold least?", holding::blocks(told)),
        ("shares", "How do calcium, magnesium and potassium share the ground?", shares::blocks(told)),
        ("passes", "What goes where, when, and why?", passes::blocks(told)),
        ("cost", "What does it cost against one flat rate?", cost::blocks(told)),
        ("not-known", "What do we not know?", not_known::blocks(told)),
        ("before", "Before anyone spreads", before::blocks(told)),
    ];
    for (id, question, part) in parts {
        if !part.is_empty() {
            number += 1;
            blocks.push(Block::Question { id: id.to_owned(), words: format!("{number}. {question}") });
            blocks.extend(part);
        }
    }
    blocks.push(foot(inputs, versions));
    blocks
}

/// What a picture sent by message can carry: no reasons, no doubts beyond those in short.
fn for_a_message(told: &Told<'_>) -> Vec<Block> {
    let mut blocks = vec![head(told), Block::InShort(in_short::lines(told))];
    blocks.extend(holding::map_of_zones(told));
    blocks.extend(passes::overview(told));
    blocks.extend(cost::overview(told));
    blocks.extend(before::blocks(told).into_iter().take(1));
    blocks.push(plain(
        "Reasons, doubts and cautions: grower.pdf. Local rules and a certified adviser come before this picture.",
    ));
    blocks
}

fn head(told: &Told<'_>) -> Block {
    let field = &told.report.field_file.field;
    let crops = told.report.field_file.rates.years.iter().filter_map(|year| Some(year.crop?.name()));
    let crops: Vec<&str> = crops.collect();
    let season = field.season.map_or(String::new(), |season| format!("{season}. "));
    let season = match crops.is_empty() {
        true => season,
        false => format!("{} {season}", sentence(&crops.join(", then "))),
    };
    let taken = told.report.field_file.taken.as_ref().map_or(String::new(), |taken| format!(" of {taken}"));
    let issued = field.issued.as_ref().map_or(String::new(), |issued| format!(" Issued {issued}."));
    let line = told.both.told(|report| {
        let area = report.area_text(report.area_m2());
        format!("{season}{area}. Made from {}{taken}.{issued}", soil_samples(report))
    });
    Block::Head { field: field.name.clone(), line }
}

/// "63 soil samples, 0 to 7 in"
fn soil_samples(report: &Report<'_>) -> String {
    report.samples_text().replacen("samples", "soil samples", 1)
}

fn foot(inputs: &[InputRecord], versions: &Versions) -> Block {
    let read: Vec<String> =
        inputs.iter().map(|input| format!("{} {}", input.role, &input.sha256[..12.min(input.sha256.len())])).collect();
    Block::Foot(InUnits::same(format!(
        "Every figure of this page is in run_record.json. Made by holdground {}. Read (start of SHA-256): {}.",
        versions.program,
        read.join(", ")
    )))
}

/// With a capital first letter.
fn sentence(words: &str) -> String {
    super::maps::capitalized(words)
}

fn plain(words: impl Into<String>) -> Block {
    Block::Words(InUnits::same(words))
}

/// Names between grave accents, as messages write them, between quotation marks.
fn quoted(words: &str) -> String {
    let mut text = String::with_capacity(words.len());
    for (index, part) in words.split('`').enumerate() {
        if index > 0 {
            text.push(if index % 2 == 1 { '\u{201c}' } else { '\u{201d}' });
        }
        text += part;
    }
    text
}

#[cfg(test)]
mod tests {
    #[test]
    fn names_stand_between_quotation_marks() {
        assert_eq!(super::quoted("`After soybean`: 0.1"), "\u{201c}After soybean\u{201d}: 0.1");
        assert_eq!(super::quoted("no name"), "no name");
    }
}
