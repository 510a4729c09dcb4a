//! `[field]`: what is printed on every page, and the outline.

use super::reader::{Reader, Section, choice, whole, wrong};
use super::{Answer, FieldSettings, OutlineLine, crops_section};
use crate::rates::CropYear;
use crate::units::UnitSystem;

/// `[field]`, with the crop years for the rates.
pub(super) fn field<'a>(reader: &mut Reader<'a>, root: &mut Section<'a>) -> (Option<FieldSettings>, Vec<CropYear>) {
    let mut section = reader.section(root, "field");
    let name = reader.text(&mut section, "name");
    let name = reader.required(&section, "name", name);
    let short = reader.text(&mut section, "short");
    let short = reader.required(&section, "short", short).filter(|short| {
        let fits = (1..=6).contains(&short.len()) && short.chars().all(|c| c.is_ascii_alphanumeric());
        if !fits {
            wrong(
                reader,
                &section,
                "short",
                format!("`{short}` must be 1 to 6 letters or digits; it starts file names"),
            );
        }
        fits
    });
    let outline = reader.text(&mut section, "outline");
    let outline = reader.required(&section, "outline", outline);
    let line_of_outline = section.line_of(reader, "outline");
    let outline_crs = reader.text(&mut section, "outline_crs").given();
    let line_rule = choice(reader, &mut section, "outline_line", outline_line, &["close"]);
    let work_crs = reader.text(&mut section, "work_crs").given();
    let years = crops_section::crops(reader, &mut section);
    let season = whole(reader, &mut section, "season", 1900.0, 2200.0).map(|year| year as u32);
    let issued = reader.date(&mut section, "issued").given();
    let units = choice(reader, &mut section, "units", unit_system, &["us", "si"]);
    if matches!(units, Answer::Absent) {
        reader.default_row("field.units", "us");
    }
    reader.finish(section);
    let settings = match (name, short, outline) {
        (Some(name), Some(short), Some(outline)) => Some(FieldSettings {
            name,
            short: short.to_uppercase(),
            outline,
            outline_crs,
            outline_line_rule: line_rule.given().unwrap_or(OutlineLine::Refuse),
            outline_line: line_of_outline,
            work_crs,
            season,
            issued,
            units: units.given().unwrap_or(UnitSystem::Us),
        }),
        _ => None,
    };
    (settings, years)
}

fn unit_system(text: &str) -> Option<UnitSystem> {
    match text {
        "us" => Some(UnitSystem::Us),
        "si" => Some(UnitSystem::Si),
        _ => None,
    }
}

fn outline_line(text: &str) -> Option<OutlineLine> {
    (text == "close").then_some(OutlineLine::Close)
}
