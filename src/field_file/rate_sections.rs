//! `[need]`, `[products]`, `[passes]` and `[machine]`: what is to be spread, and with what.

use toml_edit::Item;

use super::Answer;
use super::reader::{MISSING_KEY, Reader, Section, WRONG_VALUE, choice, ranged, whole, wrong};
use crate::rates::{
    BelowLeast, Crop, Form, GoalYield, KNeed, Machine, MachineTravel, Pass, Placement, Product, RateLimits,
    RateSettings, Supply, TripCost, tri_state_1995,
};
use crate::units::LB_PER_SHORT_TON;

/// `[need]`, `[products]`, `[passes]`, `[machine]`
pub(super) fn rates<'a>(
    reader: &mut Reader<'a>,
    root: &mut Section<'a>,
    crop: Option<Crop>,
    goal: Option<GoalYield>,
) -> RateSettings {
    let mut section = reader.section(root, "need");
    let (need, own_classes) = if section.is_text("k") {
        (reader.text(&mut section, "k").and_then(|_| None), None)
    } else {
        k_need(reader, &mut section)
    };
    reader.finish(section);
    let mut section = reader.section(root, "products");
    let mut products = Vec::new();
    for (short, item) in section.entries() {
        products.extend(product(reader, &section, &short, item));
    }
    reader.finish(section);
    let passes = passes(reader, root, &products);
    let (machine, travel) = machine(reader, root);
    RateSettings { crop, goal, need: need.given(), own_classes, products, passes, machine, travel }
}

fn k_need<'a>(reader: &mut Reader<'a>, parent: &mut Section<'a>) -> (Answer<KNeed>, Option<usize>) {
    let mut section = reader.section(parent, "k");
    if !section.is_there() {
        return (Answer::Absent, None);
    }
    let guide = choice(
        reader,
        &mut section,
        "guide",
        |text| (text == tri_state_1995::NAME).then_some(()),
        &[tri_state_1995::NAME],
    );
    let line = section.line_of(reader, "k2o_lb_ac");
    let fixed = reader.numbers(&mut section, "k2o_lb_ac");
    let need = match (guide, fixed) {
        (Answer::Given(()), Answer::Absent) => Answer::Given(KNeed::TriState1995),
        (Answer::Absent, Answer::Given(rates)) if rates.iter().all(|rate| (0.0..=600.0).contains(rate)) => {
            Answer::Given(KNeed::Fixed(rates))
        }
        (Answer::Absent, Answer::Given(_)) => {
            let message = "`need.k.k2o_lb_ac` must lie between 0 and 600 lb/ac".to_owned();
            reader.fault(&WRONG_VALUE, line, "need.k.k2o_lb_ac", message, "");
            Answer::Absent
        }
        (Answer::Given(()), Answer::Given(_)) => {
            let message = "`need.k` states both a guide and fixed figures".to_owned();
            reader.fault(&WRONG_VALUE, section.line, "need.k", message, "keep one of them");
            Answer::Absent
        }
        (Answer::Absent, Answer::Absent) => {
            let message = "`need.k` states neither a guide nor fixed figures".to_owned();
            let help = "write `k = { guide = \"tri-state-1995\" }` or `k = { k2o_lb_ac = [90, 69, 0] }`";
            reader.fault(&MISSING_KEY, section.line, "need.k", message, help);
            Answer::Absent
        }
        _ => Answer::Open,
    };
    let own_classes = whole(reader, &mut section, "own_classes", 2.0, 6.0);
    if own_classes.is_some() && !matches!(need, Answer::Given(KNeed::TriState1995) | Answer::Open | Answer::Unknown) {
        wrong(
            reader,
            &section,
            "own_classes",
            "`own_classes` needs a guide that tells the need of each place".to_owned(),
        );
    }
    reader.finish(section);
    (need, own_classes)
}

fn product<'a>(reader: &mut Reader<'a>, parent: &Section<'a>, short: &str, item: &'a Item) -> Option<Product> {
    let mut section = reader.section_of(item, parent.path_of(short));
    if !(1..=4).contains(&short.len()) || !short.chars().all(|c| c.is_ascii_alphabetic()) {
        let message = format!("`{short}` must be 1 to 4 letters; it stands in file names");
        reader.fault(&WRONG_VALUE, section.line, &section.path, message, "");
    }
    let name = reader.text(&mut section, "name");
    let name = reader.required(&section, "name", name);
    let k2o_percent = reader.number(&mut section, "k2o_percent");
    let k2o_percent = reader.required(&section, "k2o_percent", k2o_percent).filter(|&percent| {
        let fits = percent > 0.0 && percent <= 65.0;
        if !fits {
            wrong(reader, &section, "k2o_percent", format!("{percent} % K2O: must be above 0 and at most 65"));
        }
        fits
    });
    let usd_short_ton = ranged(reader, &mut section, "usd_short_ton", 0.0, 5000.0);
    reader.finish(section);
    Some(Product {
        short: short.to_uppercase(),
        name: name?,
        percent: vec![(Supply::K2o, k2o_percent?)],
        form: Form::Dry { lb_ft3: None },
        usd_lb: usd_short_ton.map(|usd| usd / LB_PER_SHORT_TON),
    })
}

fn passes<'a>(reader: &mut Reader<'a>, root: &mut Section<'a>, products: &[Product]) -> Vec<Pass> {
    let mut section = reader.section(root, "passes");
    let mut passes = Vec::new();
    if let Some(list) = reader.tables(&mut section, "order").given() {
        if list.len() > 1 {
            let message = format!("{} passes, but this version plans one", list.len());
            reader.fault(&WRONG_VALUE, section.line, "passes.order", message, "name the pass that brings the potash");
        }
        for (index, value) in list.into_iter().enumerate() {
            passes.extend(pass(reader, value, format!("passes.order[{}]", index + 1), products));
        }
    }
    reader.finish(section);
    passes
}

fn pass<'a>(reader: &mut Reader<'a>, value: &'a toml_edit::Value, path: String, products: &[Product]) -> Option<Pass> {
    let mut section = reader.section_of_value(value, path);
    let name = reader.text(&mut section, "name");
    let name = reader.required(&section, "name", name);
    let allowed = reader.texts(&mut section, "products");
    let allowed = reader.required(&section, "products", allowed);
    let product = allowed.and_then(|allowed| match &allowed[..] {
        [one] if products.iter().any(|p| p.short == one.to_uppercase()) => Some(one.to_uppercase()),
        [one] => {
            wrong(reader, &section, "products", format!("`{one}` is not one of `[products]`"));
            None
        }
        _ => {
            wrong(
                reader,
                &section,
                "products",
                format!("{} products, but this version spreads one a pass", allowed.len()),
            );
            None
        }
    });
    let usd_ac = ranged(reader, &mut section, "usd_ac", 0.0, 500.0);
    reader.finish(section);
    Some(Pass {
        name: name?,
        window: None,
        year: 1,
        products: vec![product?],
        placement: Placement::Tilled,
        reaches_in: 7.0,
        standing_crop: false,
        fall: false,
        holds: None,
        trip: TripCost { flat_usd_ac: usd_ac, variable_usd_ac: usd_ac },
    })
}

fn machine<'a>(reader: &mut Reader<'a>, root: &mut Section<'a>) -> (Option<Machine>, MachineTravel) {
    let mut section = reader.section(root, "machine");
    let travel = MachineTravel {
        swath_ft: ranged(reader, &mut section, "swath_ft", 1.0, 200.0),
        speed_mph: ranged(reader, &mut section, "speed_mph", 1.0, 40.0),
        change_s: ranged(reader, &mut section, "change_s", 0.0, 60.0),
    };
    let machine = if section.is_there() { machine_rates(reader, &mut section) } else { None };
    reader.finish(section);
    (machine, travel)
}

fn machine_rates<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>) -> Option<Machine> {
    let mut rate = reader.section(section, "rate_lb_ac");
    let least = ranged(reader, &mut rate, "least", 0.0, 20_000.0);
    let most = ranged(reader, &mut rate, "most", 0.0, 20_000.0);
    let step = ranged(reader, &mut rate, "step", 0.1, 1000.0);
    let line = rate.line;
    // Files carry rates with two decimals.
    if let Some(step) = step.filter(|step| ((step * 100.0).round() - step * 100.0).abs() > 1e-9) {
        wrong(reader, &rate, "step", format!("step {step} has more than two decimals, which rate files do not carry"));
    }
    for (key, value) in [("least", least), ("most", most), ("step", step)] {
        if value.is_none() && !rate.is_open() {
            reader.required(&rate, key, Answer::<f64>::Absent);
        }
    }
    reader.finish(rate);
    let below = |text: &str| match text {
        "zero" => Some(BelowLeast::Zero),
        "least" => Some(BelowLeast::Least),
        _ => None,
    };
    let below_least = choice(reader, section, "below_least", below, &["zero", "least"]);
    let below_least = reader.required(section, "below_least", below_least);
    let (least_lb_ac, most_lb_ac, step_lb_ac) = (least?, most?, step?);
    if least_lb_ac > most_lb_ac || step_lb_ac > most_lb_ac {
        let message = format!("least {least_lb_ac}, most {most_lb_ac}, step {step_lb_ac} lb/ac contradict each other");
        reader.fault(&WRONG_VALUE, line, "machine.rate_lb_ac", message, "least and step must not exceed most");
        return None;
    }
    let limits = RateLimits { least: least_lb_ac, most: most_lb_ac, step: step_lb_ac, below_least: below_least? };
    if !limits.has_a_rate() {
        let message =
            format!("no multiple of step {step_lb_ac} lies between least {least_lb_ac} and most {most_lb_ac} lb/ac");
        reader.fault(&WRONG_VALUE, line, "machine.rate_lb_ac", message, "choose a smaller step");
        return None;
    }
    Some(Machine { lb_ac: Some(limits), ..Machine::default() })
}
