//! `[[keep_off]]`: features some products keep a distance from.

use super::Answer;
use super::reader::{MISSING_KEY, Reader, Section, WRONG_VALUE, wrong};
use crate::diagnostic::Place;
use crate::rates::Product;
use crate::setback::KeepOffSettings;
use crate::units::M_PER_FOOT;

/// Largest distance: a mile.
const MOST_FT: f64 = 5280.0;

/// All `[[keep_off]]`, in file order.
pub(super) fn keep_off<'a>(
    reader: &mut Reader<'a>,
    root: &mut Section<'a>,
    products: &[Product],
) -> Vec<KeepOffSettings> {
    let sections = reader.sections(root, "keep_off", "write `[[keep_off]]`, in two brackets, above each feature");
    sections.into_iter().filter_map(|section| one(reader, section, products)).collect()
}

fn one<'a>(reader: &mut Reader<'a>, mut section: Section<'a>, products: &[Product]) -> Option<KeepOffSettings> {
    let line = section.line_of(reader, "file");
    let file = reader.text(&mut section, "file");
    let file = needed(reader, &section, "file", file);
    let distance = distance(reader, &mut section);
    let name = reader.text(&mut section, "name").given();
    let crs = reader.text(&mut section, "crs").given();
    let products = kept_off_products(reader, &mut section, products);
    reader.finish(section);
    let (file, (distance_m, distance), products) = (file?, distance?, products?);
    let name = name.unwrap_or_else(|| stem(&file));
    Some(KeepOffSettings { file, crs, distance_m, distance, name, products, line })
}

/// The value; unlike elsewhere an open answer is a fault, as it would keep nothing off.
fn needed<'a, T>(reader: &mut Reader<'a>, section: &Section<'a>, key: &str, answer: Answer<T>) -> Option<T> {
    if matches!(answer, Answer::Open | Answer::Unknown) {
        let path = section.path_of(key);
        let line = section.line_of(reader, key);
        let message = format!("`{path}` is still to be answered, and without it nothing would be kept off");
        let help = "ask for the local rule; or take this `[[keep_off]]` out, if there is nothing to keep off";
        reader.fault(&MISSING_KEY, line, &path, message, help);
    }
    reader.required(section, key, answer)
}

/// Meters, and the words for pages: from `distance_ft` or `distance_m`.
fn distance<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>) -> Option<(f64, String)> {
    let feet = reader.number(section, "distance_ft");
    let meters = reader.number(section, "distance_m");
    let (key, answer, unit, unit_m) = match (&feet, &meters) {
        (_, Answer::Absent) => ("distance_ft", feet, "ft", 1.0),
        (Answer::Absent, _) => ("distance_m", meters, "m", M_PER_FOOT),
        _ => {
            wrong(reader, section, "distance_m", "`distance_ft` and `distance_m` are both stated".to_owned());
            return None;
        }
    };
    let most = MOST_FT * unit_m;
    let number = needed(reader, section, key, answer)?;
    if !(0.0..=most).contains(&number) {
        wrong(reader, section, key, format!("{number} {unit} must lie between 0 and {most} {unit}"));
        return None;
    }
    let distance_m = if unit == "ft" { number * M_PER_FOOT } else { number };
    Some((distance_m, format!("{number} {unit}")))
}

/// Short names; empty where every product keeps off.
fn kept_off_products<'a>(
    reader: &mut Reader<'a>,
    section: &mut Section<'a>,
    products: &[Product],
) -> Option<Vec<String>> {
    let names = match reader.texts(section, "products") {
        Answer::Absent => return Some(Vec::new()),
        answer => needed(reader, section, "products", answer)?,
    };
    if names.is_empty() {
        wrong(reader, section, "products", "no product is named; leave `products` out for all".to_owned());
        return None;
    }
    // A product with a fault of its own is told there.
    let of_products = |place: &Place| matches!(place, Place::Key { key, .. } if key.starts_with("products."));
    if reader.faults.iter().filter_map(|fault| fault.place.as_ref()).any(of_products) {
        return None;
    }
    let known: Vec<&str> = products.iter().map(|product| product.short.as_str()).collect();
    let names: Vec<String> = names.iter().map(|name| name.to_uppercase()).collect();
    for name in names.iter().filter(|name| !known.contains(&name.as_str())) {
        let (path, line) = (section.path_of("products"), section.line_of(reader, "products"));
        let message = format!("`{name}` is not one of `[products]`");
        let help = match known[..] {
            [] => "the field file names no product: leave `products` out, and every product keeps off".to_owned(),
            _ => format!("products of this file: `{}`", known.join("`, `")),
        };
        reader.fault(&WRONG_VALUE, line, &path, message, &help);
    }
    names.iter().all(|name| known.contains(&name.as_str())).then_some(names)
}

/// `maps/old well.geojson` is `old well`.
fn stem(file: &str) -> String {
    let name = file.rsplit(['/', '\\']).next().unwrap_or(file);
    name.rsplit_once('.').map_or(name, |(stem, _)| stem).to_owned()
}
