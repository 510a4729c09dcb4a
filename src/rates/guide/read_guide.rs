//! A guide's TOML to a [`Guide`]: head, removal, and the sections.

use super::evidence::Backing;
use super::sanity;
use super::toml_walk::{Faults, Walk};
use super::{GUIDE_FILE_UNREADABLE, Guide, Removal, read_lime, read_nutrient};
use crate::diagnostic::{Diagnostic, Place};
use crate::rates::{Crop, Supply};

/// Reads a guide, built in or the user's.
///
/// # Errors
/// All faults at once.
pub(super) fn read(file: &str, text: &str) -> Result<Guide, Vec<Diagnostic>> {
    let document = toml_edit::Document::parse(text).map_err(|error| {
        let line = error.span().map_or(1, |span| 1 + text[..span.start.min(text.len())].matches('\n').count());
        let place = Place::Row { file: file.to_owned(), line, columns: Vec::new() };
        let fault = Diagnostic::error(&GUIDE_FILE_UNREADABLE, error.message().trim().to_owned());
        vec![fault.at(place).with_help("mend this line; docs/guides.md shows the form")]
    })?;
    let mut faults = Faults::new(file, text);
    let mut root = Walk::root(document.as_table());
    let guide = sections(&mut root, &mut faults);
    root.finish(&mut faults);
    match guide {
        Some(guide) if faults.list.is_empty() => {
            let lines = [Supply::K2o, Supply::P2o5].map(|supply| (supply, line_of_section(text, supply.key())));
            for (supply, line) in lines {
                sanity::nutrient(&guide, supply, line, &mut faults);
            }
            if faults.list.is_empty() { Ok(guide) } else { Err(faults.list) }
        }
        _ => {
            faults.list.sort_by(|a, b| a.place.cmp(&b.place));
            Err(faults.list)
        }
    }
}

fn sections<'a>(root: &mut Walk<'a>, faults: &mut Faults<'_>) -> Option<Guide> {
    let form = root.number(faults, "form", [1.0, 1.0]);
    root.must(faults, "form", form);
    let mut text = |key: &str| {
        let value = root.text(faults, key);
        root.must(faults, key, value)
    };
    let (name, title, authors) = (text("name"), text("title"), text("authors"));
    let (publisher, citation) = (text("publisher"), text("citation"));
    if let Some(name) = &name
        && !name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-')
    {
        root.wrong(faults, "name", format!("`{name}` is not a name"), "write small letters, digits and hyphens");
    }
    let year = root.number(faults, "year", [1900.0, 2100.0]).map(|year| year as u32);
    let region = root.texts(faults, "region");
    let region = root.must(faults, "region", region).unwrap_or_default();
    let notes = root.texts(faults, "notes").unwrap_or_default();
    let k = read_nutrient::section(root, faults, Supply::K2o);
    let p = read_nutrient::section(root, faults, Supply::P2o5);
    let lime = read_lime::section(root, faults);
    let removal = root.table(faults, "removal").map(|walk| removal(walk, faults)).unwrap_or_default();
    if !["k", "p", "lime"].iter().any(|key| root.has(key)) {
        faults.form(
            1,
            "",
            "the guide rates nothing",
            "add a section `[k]`, `[p]` or `[lime]`; docs/guides.md shows them",
        );
    }
    let guide = Guide {
        name: name?,
        title: title?,
        authors: authors?,
        year,
        publisher: publisher?,
        citation: citation?,
        region,
        notes,
        k,
        p,
        removal,
        lime,
    };
    for supply in [Supply::K2o, Supply::P2o5] {
        let Some(rule) = guide.nutrient(supply) else { continue };
        for crop in rule.crops.iter().filter(|crop| guide.removal_lb_unit(supply, **crop).is_none()) {
            let key = if supply == Supply::K2o { "k2o_lb" } else { "p2o5_lb" };
            let path = format!("removal.{}.{key}", crop.name());
            let help = format!(
                "add `{} = {{ per = \"{}\", {key} = .. }}`, or take the crop out",
                crop.name(),
                crop.yield_unit()
            );
            let message = format!("`{}` rates {}, but `{path}` is missing", supply.key(), crop.name());
            faults.form(root.line_of(faults, "removal"), &path, message, help);
        }
    }
    Some(guide)
}

/// `[removal]`: a line a crop.
fn removal(mut walk: Walk<'_>, faults: &mut Faults<'_>) -> Vec<Removal> {
    let mut all = Vec::new();
    for name in walk.keys() {
        let Some(crop) = Crop::parse(&name) else { continue };
        let Some(mut line) = walk.table(faults, &name) else { continue };
        let unit = crop.yield_unit();
        let per = line.named(faults, "per", |text| (text == unit).then_some(()), &[unit]);
        let per = line.must(faults, "per", per);
        let p2o5_lb = line.number(faults, "p2o5_lb", [0.0, 500.0]);
        let k2o_lb = line.number(faults, "k2o_lb", [0.0, 500.0]);
        let backing: Option<Backing> = line.backing(faults);
        line.finish(faults);
        if let (Some(()), Some(backing)) = (per, backing) {
            all.push(Removal { crop, p2o5_lb, k2o_lb, backing });
        }
    }
    walk.finish(faults);
    all
}

/// Line of `[key]`, for faults of a whole section.
fn line_of_section(text: &str, key: &str) -> usize {
    1 + text.lines().position(|line| line.trim() == format!("[{key}]")).unwrap_or(0)
}
