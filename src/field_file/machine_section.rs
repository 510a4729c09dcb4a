//! `[machine]`: what it can spread and carry, and how it covers the ground.

use super::Answer;
use super::reader::{Reader, Section, WRONG_VALUE, choice, ranged, whole, wrong};
use crate::rates::{BelowLeast, LostPosition, Machine, MachineTravel, RateLimits, RateUnit};

/// Keys of the rates a machine can hold, with the most that is taken for no slip (heuristic).
const RATES: [(RateUnit, &str, f64); 3] = [
    (RateUnit::LbAc, "rate_lb_ac", 20_000.0),
    (RateUnit::ShortTonAc, "rate_short_ton_ac", 15.0),
    (RateUnit::GalAc, "rate_gal_ac", 10_000.0),
];

/// `[machine]`; `None` where it is not there or holds a fault.
pub(super) fn machine<'a>(reader: &mut Reader<'a>, root: &mut Section<'a>) -> (Option<Machine>, MachineTravel) {
    let mut section = reader.section(root, "machine");
    let travel = MachineTravel {
        swath_ft: ranged(reader, &mut section, "swath_ft", 1.0, 200.0),
        speed_mph: ranged(reader, &mut section, "speed_mph", 1.0, 40.0),
        change_s: ranged(reader, &mut section, "change_s", 0.0, 60.0),
        delay_s: ranged(reader, &mut section, "delay_s", 0.0, 30.0),
        look_ahead_s: ranged(reader, &mut section, "look_ahead_s", 0.0, 30.0),
        heading_deg: ranged(reader, &mut section, "heading_deg", 0.0, 360.0),
    };
    told_where_driven(reader, &section, &travel);
    let is_there = section.is_there();
    let below = |text: &str| match text {
        "zero" => Some(BelowLeast::Zero),
        "least" => Some(BelowLeast::Least),
        _ => None,
    };
    let stated: Vec<&str> = RATES.iter().map(|(_, key, _)| *key).filter(|key| section.has(key)).collect();
    let below_least = choice(reader, &mut section, "below_least", below, &["zero", "least"]);
    // Without rates there is nothing to fall under.
    let below_least = match (&below_least, stated.is_empty()) {
        (Answer::Absent, true) => None,
        _ => reader.required(&section, "below_least", below_least),
    };
    let [lb_ac, short_ton_ac, gal_ac] =
        RATES.map(|(unit, key, most)| rate_limits(reader, &mut section, (key, unit.name()), most, below_least));
    let machine = Machine {
        lb_ac,
        short_ton_ac,
        gal_ac,
        n_bins: whole(reader, &mut section, "bins", 1.0, 10.0),
        flow_lb_min: ranged(reader, &mut section, "flow_lb_min", 1.0, 50_000.0),
        load_lb: ranged(reader, &mut section, "load_lb", 100.0, 200_000.0),
        load_gal: ranged(reader, &mut section, "load_gal", 10.0, 20_000.0),
        lost_position: lost_position(reader, &mut section),
    };
    if machine.flow_lb_min.is_some() && !(section.has("swath_ft") && section.has("speed_mph")) {
        let message = "a flow limits rates only with `swath_ft` and `speed_mph`".to_owned();
        wrong(reader, &section, "flow_lb_min", message);
    }
    reader.finish(section);
    let has_rates = lb_ac.is_some() || short_ton_ac.is_some() || gal_ac.is_some();
    ((is_there && has_rates).then_some(machine), travel)
}

/// Says what is taken where the field is driven and a key is not stated.
fn told_where_driven<'a>(reader: &mut Reader<'a>, section: &Section<'a>, travel: &MachineTravel) {
    if travel.swath_ft.is_none() || travel.speed_mph.is_none() || travel.change_s.is_none() {
        return;
    }
    let defaults =
        [("delay_s", "0"), ("look_ahead_s", "the controller's"), ("heading_deg", "along the longest straight side")];
    for (key, value) in defaults {
        if !section.has(key) {
            reader.default_row(&section.path_of(key), value);
        }
    }
}

/// `lost_position`: what a task set orders while there is no position.
fn lost_position<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>) -> LostPosition {
    let parse = |text: &str| match text {
        "zero" => Some(LostPosition::Zero),
        "mean" => Some(LostPosition::Mean),
        _ => None,
    };
    match choice(reader, section, "lost_position", parse, &["zero", "mean"]) {
        Answer::Given(answer) => answer,
        Answer::Absent if section.is_there() => {
            reader.default_row("machine.lost_position", LostPosition::default().name());
            LostPosition::default()
        }
        _ => LostPosition::default(),
    }
}

fn rate_limits<'a>(
    reader: &mut Reader<'a>,
    section: &mut Section<'a>,
    (key, unit): (&str, &str),
    at_most: f64,
    below_least: Option<BelowLeast>,
) -> Option<RateLimits> {
    let mut rate = reader.section(section, key);
    if !rate.is_there() {
        return None;
    }
    let least = ranged(reader, &mut rate, "least", 0.0, at_most);
    let most = ranged(reader, &mut rate, "most", 0.0, at_most);
    let step = ranged(reader, &mut rate, "step", 0.01, 1000.0);
    let (line, path) = (rate.line, rate.path.clone());
    // Files carry rates with two decimals.
    if let Some(step) = step.filter(|step| ((step * 100.0).round() - step * 100.0).abs() > 1e-9) {
        wrong(reader, &rate, "step", format!("step {step} has more than two decimals, which rate files do not carry"));
    }
    for (key, value) in [("least", least), ("most", most), ("step", step)] {
        if value.is_none() {
            reader.required(&rate, key, Answer::<f64>::Absent);
        }
    }
    reader.finish(rate);
    let (least, most, step) = (least?, most?, step?);
    if least > most || step > most {
        let message = format!("least {least}, most {most}, step {step} {unit} contradict each other");
        reader.fault(&WRONG_VALUE, line, &path, message, "least and step must not exceed most");
        return None;
    }
    let limits = RateLimits { least, most, step, below_least: below_least? };
    if !limits.has_a_rate() {
        let message = format!("no multiple of step {step} lies between least {least} and most {most} {unit}");
        reader.fault(&WRONG_VALUE, line, &path, message, "choose a smaller step");
        return None;
    }
    Some(limits)
}
