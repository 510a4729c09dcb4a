//! `[products]`: what is spread, what it brings, what it costs.

use toml_edit::Item;

use super::reader::{MISSING_KEY, Reader, Section, WRONG_VALUE, ranged, wrong};
use crate::rates::lime_quality::LimeLabel;
use crate::rates::{Form, Product, Supply};
use crate::units::{GRAMS_PER_POUND, LB_PER_SHORT_TON};

/// Content keys of a product and the most each can be, percent. Sources: urea 46 N, anhydrous ammonia 82 N, 62 K2O of
/// potassium chloride, 61 P2O5 of phosphoric acid, elemental sulfur 100: label analyses, from memory \[M\].
const CONTENTS: [(Supply, &str, f64); 4] = [
    (Supply::N, "n_percent", 82.5),
    (Supply::P2o5, "p2o5_percent", 62.0),
    (Supply::K2o, "k2o_percent", 65.0),
    (Supply::S, "s_percent", 100.0),
];
/// Keys a price may be stated by.
const PRICES: [&str; 4] = ["usd_short_ton", "usd_tonne", "usd_gal", "usd_lb"];

/// All products in file order, and the labels of those that are lime.
///
/// What a pound of lime counts for depends on the guide, so its content is settled later.
pub(super) fn products<'a>(
    reader: &mut Reader<'a>,
    root: &mut Section<'a>,
) -> (Vec<Product>, Vec<(String, LimeLabel)>) {
    let mut section = reader.section(root, "products");
    let (mut products, mut limes): (Vec<Product>, Vec<(String, LimeLabel)>) = (Vec::new(), Vec::new());
    for (short, item) in section.entries() {
        let Some((found, label)) = product(reader, &section, &short, item) else { continue };
        if let Some(again) = Some(&found).filter(|new| products.iter().any(|old| old.short == new.short)) {
            let message = format!("`{}` stands twice; large and small letters are the same in file names", again.short);
            wrong(reader, &section, &short, message);
        }
        limes.extend(label.map(|label| (found.short.clone(), label)));
        products.push(found);
    }
    reader.finish(section);
    (products, limes)
}

fn product<'a>(
    reader: &mut Reader<'a>,
    parent: &Section<'a>,
    short: &str,
    item: &'a Item,
) -> Option<(Product, Option<LimeLabel>)> {
    let mut section = reader.section_of(item, parent.path_of(short));
    if !(1..=4).contains(&short.len()) || !short.chars().all(|c| c.is_ascii_alphabetic()) {
        let message = format!("`{short}` must be 1 to 4 letters; it stands in file names");
        reader.fault(&WRONG_VALUE, section.line, &section.path, message, "");
    }
    let name = reader.text(&mut section, "name");
    let name = reader.required(&section, "name", name);
    let n_faults = reader.faults.len();
    let mut percent = contents(reader, &mut section);
    let label = lime_label(reader, &mut section);
    if section.has("lime") {
        if !percent.is_empty() {
            wrong(
                reader,
                &section,
                "lime",
                "lime that brings a nutrient beside: state them as two products".to_owned(),
            );
        }
        percent = vec![(Supply::Lime, 100.0)];
    }
    let lb_ft3 = ranged(reader, &mut section, "lb_ft3", 20.0, 150.0);
    let lb_gal = ranged(reader, &mut section, "lb_gal", 6.0, 16.0);
    if section.has("lb_ft3") && section.has("lb_gal") {
        wrong(reader, &section, "lb_gal", "a density a cubic foot and one a gallon: is it dry or liquid?".to_owned());
    }
    let form = lb_gal.map_or(Form::Dry { lb_ft3 }, |lb_gal| Form::Liquid { lb_gal });
    let usd_lb = price(reader, &mut section, lb_gal);
    if percent.is_empty() && reader.faults.len() == n_faults && !section.is_open() {
        let message = format!("`{}` brings nothing", section.path);
        let help = "state what it brings: `n_percent`, `p2o5_percent`, `k2o_percent`, `s_percent` or `lime`";
        reader.fault(&MISSING_KEY, section.line, &section.path, message, help);
    }
    reader.finish(section);
    let product = Product { short: short.to_uppercase(), name: name?, percent, form, usd_lb };
    Some((product, label))
}

fn contents<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>) -> Vec<(Supply, f64)> {
    let mut percent = Vec::new();
    for (supply, key, most) in CONTENTS {
        let Some(share) = reader.number(section, key).given() else { continue };
        if share <= 0.0 || share > most {
            wrong(reader, section, key, format!("{share} % {}: must be above 0 and at most {most}", supply.name()));
            continue;
        }
        percent.push((supply, share));
    }
    let sum: f64 = percent.iter().map(|(_, share)| share).sum();
    if sum > 100.0 {
        let message = format!("`{}` brings {sum} % in all, more than it weighs", section.path);
        reader.fault(&WRONG_VALUE, section.line, &section.path, message, "look at the label");
    }
    percent
}

/// The label of a lime: `lime = { scheme = "new-york", passing_percent = { 20 = 95, 60 = 70, 100 = 50 }, cce_percent = 92 }`.
fn lime_label<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>) -> Option<LimeLabel> {
    let mut lime = reader.section(section, "lime");
    if !lime.is_there() {
        return None;
    }
    let scheme = reader.text(&mut lime, "scheme");
    let scheme = reader.required(&lime, "scheme", scheme);
    let mut sieves = reader.section(&mut lime, "passing_percent");
    let mut passing = Vec::new();
    for (key, _) in sieves.entries() {
        let mesh = key.parse::<u32>().ok();
        if mesh.is_none() {
            wrong(reader, &sieves, &key, format!("`{key}` is no sieve: write its mesh, as in `60 = 70`"));
        }
        let percent = ranged(reader, &mut sieves, &key, 0.0, 100.0);
        passing.extend(mesh.zip(percent));
    }
    reader.finish(sieves);
    let mut figures: Vec<(String, f64)> = Vec::new();
    for (key, item) in lime.entries() {
        if item.is_float() || item.is_integer() {
            figures.extend(reader.number(&mut lime, &key).given().map(|figure| (key, figure)));
        } else if key != "scheme" && key != "passing_percent" {
            wrong(reader, &lime, &key, format!("`{key}` must be a number"));
        }
    }
    let line = lime.line;
    let path = lime.path.clone();
    reader.finish(lime);
    let figures: Vec<(&str, f64)> = figures.iter().map(|(key, figure)| (key.as_str(), *figure)).collect();
    match LimeLabel::from_keys(&scheme?, &passing, &figures) {
        Ok(label) => Some(label),
        Err(faults) => {
            for message in faults {
                reader.fault(&WRONG_VALUE, line, &path, message, "copy the label; `docs/guides.md` lists the schemes");
            }
            None
        }
    }
}

/// USD a pound of product.
fn price<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>, lb_gal: Option<f64>) -> Option<f64> {
    let stated: Vec<&str> = PRICES.into_iter().filter(|key| section.has(key)).collect();
    let mut usd_lb = None;
    for key in PRICES {
        let Some(usd) = ranged(reader, section, key, 0.0, 5000.0) else { continue };
        usd_lb = match key {
            "usd_short_ton" => Some(usd / LB_PER_SHORT_TON),
            "usd_tonne" => Some(usd / (1e6 / GRAMS_PER_POUND)),
            "usd_lb" => Some(usd),
            _ => lb_gal.map(|lb_gal| usd / lb_gal),
        };
        if key == "usd_gal" && lb_gal.is_none() {
            wrong(reader, section, key, "a price a gallon needs the density `lb_gal`".to_owned());
        }
    }
    if stated.len() > 1 {
        wrong(reader, section, stated[1], format!("two prices, `{}` and `{}`: keep one", stated[0], stated[1]));
        return None;
    }
    usd_lb
}
