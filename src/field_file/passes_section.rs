//! `[passes]`: trips over the field, in the order driven.

use super::Answer;
use super::crops_section::year_key;
use super::reader::{Reader, Section, WRONG_VALUE, choice, ranged, wrong};
use crate::fields::HoldingClass;
use crate::rates::{Machine, Pass, Placement, Product, TripCost};

/// Depth the products of a pass reach where it is not stated, inches: left on the surface 3 in (field notes, 900,000 lb
/// of soil), in bands the same (heuristic); a tilled pass must say.
const SURFACE_REACHES_IN: f64 = 3.0;
/// Deepest reach that is taken for no slip, inches (heuristic).
const DEEPEST_IN: f64 = 14.0;
/// Costliest trip that is taken for no slip, USD/ac (heuristic).
const MOST_USD_AC: f64 = 500.0;

/// What passes may refer to.
pub(super) struct PassContext<'c> {
    pub(super) products: &'c [Product],
    pub(super) n_years: usize,
    pub(super) machine: Option<&'c Machine>,
}

/// All passes, in the order driven.
pub(super) fn passes<'a>(reader: &mut Reader<'a>, root: &mut Section<'a>, context: &PassContext<'_>) -> Vec<Pass> {
    let mut section = reader.section(root, "passes");
    let mut passes: Vec<Pass> = Vec::new();
    for mut one in reader.sections(&mut section, "order", "write `order = [ { name = \"Before planting\", ... } ]`") {
        let line = one.line;
        let Some(pass) = pass(reader, &mut one, context) else {
            reader.finish(one);
            continue;
        };
        let path = one.path.clone();
        reader.finish(one);
        if let Some(before) = passes.last().filter(|before| before.year > pass.year) {
            let message =
                format!("`{}` is of year {}, but stands after a pass of year {}", pass.name, pass.year, before.year);
            reader.fault(&WRONG_VALUE, line, &path, message, "list passes in the order driven");
        }
        if passes.iter().any(|before| before.name == pass.name) {
            let message = format!("two passes are called `{}`", pass.name);
            reader.fault(
                &WRONG_VALUE,
                line,
                &path,
                message,
                "the name says on every sheet which pass it is: tell them apart",
            );
        }
        passes.push(pass);
    }
    reader.finish(section);
    passes
}

fn pass<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>, context: &PassContext<'_>) -> Option<Pass> {
    let name = reader.text(section, "name");
    let name = reader.required(section, "name", name);
    let products = products(reader, section, context);
    let window = reader.text(section, "window").given();
    if context.n_years > 1 && !section.has("year") {
        reader.required(section, "year", Answer::<f64>::Absent);
    }
    let year = year_key(reader, section, context.n_years).unwrap_or(1);
    let parse = |text: &str| Placement::ALL.into_iter().find(|placement| placement.name() == text);
    let placement = choice(reader, section, "placement", parse, &Placement::ALL.map(Placement::name));
    let placement = match placement {
        Answer::Absent => {
            // What is not worked in loads the least soil: the safe side.
            reader.default_row(&section.path_of("placement"), Placement::Surface.name());
            Placement::Surface
        }
        answer => answer.given().unwrap_or(Placement::Surface),
    };
    let reaches_in = reaches(reader, section, placement);
    let standing_crop = yes_no(reader, section, "standing_crop");
    let fall = yes_no(reader, section, "fall");
    if standing_crop && fall {
        wrong(reader, section, "fall", "a pass in the standing crop is not one of the fall before it".to_owned());
    }
    let holds = holds(reader, section);
    let trip = trip(reader, section);
    Some(Pass {
        name: name?,
        window,
        year,
        products: products?,
        placement,
        reaches_in: reaches_in?,
        standing_crop,
        fall,
        holds,
        trip,
    })
}

fn reaches<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>, placement: Placement) -> Option<f64> {
    if section.has("reaches_in") {
        return ranged(reader, section, "reaches_in", 0.5, DEEPEST_IN);
    }
    section.take("reaches_in");
    if placement == Placement::Tilled {
        reader.required(section, "reaches_in", Answer::<f64>::Absent);
        return None;
    }
    reader.default_row(&section.path_of("reaches_in"), "3");
    Some(SURFACE_REACHES_IN)
}

fn products<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>, context: &PassContext<'_>) -> Option<Vec<String>> {
    let allowed = reader.texts(section, "products");
    let allowed = reader.required(section, "products", allowed)?;
    let mut names = Vec::new();
    for name in &allowed {
        let short = name.to_uppercase();
        if names.contains(&short) {
            wrong(reader, section, "products", format!("`{name}` is there twice, once expected"));
        } else if context.products.iter().any(|product| product.short == short) {
            names.push(short);
        } else if !reader.told(&format!("products.{name}")) {
            wrong(reader, section, "products", format!("`{name}` is not one of `[products]`"));
        }
    }
    if allowed.is_empty() {
        wrong(reader, section, "products", "a pass without a product: name one, or take the pass out".to_owned());
    }
    if let Some(bins) = context.machine.and_then(|machine| machine.n_bins).filter(|bins| names.len() > *bins) {
        let message = format!("{} products in one pass, but `[machine]` has {bins} bin(s)", names.len());
        wrong(reader, section, "products", message);
    }
    (names.len() == allowed.len() && !names.is_empty()).then_some(names)
}

fn holds<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>) -> Option<Vec<HoldingClass>> {
    let words = reader.texts(section, "holds").given()?;
    let class = |word: &String| match word.as_str() {
        "little" => Some(HoldingClass::Little),
        "some" => Some(HoldingClass::Some),
        "much" => Some(HoldingClass::Much),
        _ => None,
    };
    let classes: Vec<HoldingClass> = words.iter().filter_map(class).collect();
    if classes.len() != words.len() || words.is_empty() {
        wrong(reader, section, "holds", "`holds` takes one or more of `little`, `some`, `much`".to_owned());
        return None;
    }
    Some(classes)
}

/// One figure, or `{ flat = 7.5, variable = 9 }`.
fn trip<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>) -> TripCost {
    if section.is_table("usd_ac") {
        let mut costs = reader.section(section, "usd_ac");
        let trip = TripCost {
            flat_usd_ac: ranged(reader, &mut costs, "flat", 0.0, MOST_USD_AC),
            variable_usd_ac: ranged(reader, &mut costs, "variable", 0.0, MOST_USD_AC),
        };
        reader.finish(costs);
        return trip;
    }
    let usd_ac = ranged(reader, section, "usd_ac", 0.0, MOST_USD_AC);
    TripCost { flat_usd_ac: usd_ac, variable_usd_ac: usd_ac }
}

/// `true` or `false`; false where it is not stated.
pub(super) fn yes_no<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>, key: &str) -> bool {
    reader.truth(section, key).given().unwrap_or(false)
}
