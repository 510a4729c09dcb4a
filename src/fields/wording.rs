//! What stands out, in sentences a grower can read.

use super::applications::{GotMore, Lower};
use super::field_test::Part;
use super::group::LEAST_OF_MEDIAN;
use super::{CecKind, Field, Ground, HoldingClass, SideBySide, Standing};
use crate::chemistry::{Cation, SHARE_EVIDENCE};

/// Shares of common practice, no source: K 3 to 6 %, Ca 68 % + Mg 12 % = 80 % on silt loam and clay.
pub const K_PERCENT: [f64; 2] = [3.0, 6.0];
/// Calcium of common practice, percent; no source.
pub const CA_PERCENT: f64 = 68.0;
/// Magnesium of common practice, percent; no source.
pub const MG_PERCENT: f64 = 12.0;
/// Calcium and magnesium together, percent; common practice on silt loam and clay, no source.
pub const CA_MG_PERCENT: f64 = CA_PERCENT + MG_PERCENT;
/// Bases that come to this leave no room for acidity, where the sheet does not print it, percent: closure of 100 +- 3.
pub const NO_ROOM_PERCENT: f64 = 97.0;
/// Most fields named in one sentence.
const MOST_NAMES: usize = 6;

/// What stands out: who holds least, what that means, and how calcium, magnesium and potassium share the ground.
pub(super) fn in_short(result: &SideBySide) -> Vec<String> {
    let mut text = Vec::new();
    least(&mut text, result);
    for unlike in &result.unlike {
        let (Some(first), Some(last)) = (unlike.fields.first(), unlike.fields.last()) else { continue };
        text.push(format!(
            "One programme, unlike ground: `{}` goes on {} fields, from {} (CEC {}) to {} (CEC {}). {} can hold a bigger \
             dose at once than {}.",
            unlike.programme,
            unlike.fields.len(),
            name(&result.fields[*first]),
            cec(&result.fields[*first]),
            name(&result.fields[*last]),
            cec(&result.fields[*last]),
            name(&result.fields[*last]),
            name(&result.fields[*first]),
        ));
    }
    if let Some(applications) = &result.applications {
        text.extend(applications.got_more.iter().map(|got| got_more(result, got)));
        if !applications.got_more.is_empty() {
            text.push(
                "Bigger crops, deeper cores or another month of sampling lower a test too: rule them out first. A year without a line \
                 counts as nothing spread."
                    .to_owned(),
            );
        }
    }
    lime(&mut text, result);
    potassium(&mut text, result);
    calcium_and_magnesium(&mut text, result);
    text
}

fn least(text: &mut Vec<String>, result: &SideBySide) {
    let Some(median) = result.group.median else {
        text.push(
            "Fewer than two cropped fields have a CEC to set side by side, so none is said to hold least.".to_owned(),
        );
        return;
    };
    let least: Vec<&Field> = result.fields.iter().filter(|field| field.standing == Standing::HoldsLeast).collect();
    let rule = format!("at most {LEAST_OF_MEDIAN} of the middle CEC, a rule of thumb of this program");
    match least.as_slice() {
        [] => text.push(format!(
            "No field holds much less than the others. The middle of the group is CEC {median:.1}; none has as little as \
             {LEAST_OF_MEDIAN} of it (a rule of thumb of this program)."
        )),
        [field] => text.push(format!(
            "{} holds least of the group: CEC {}, where the middle of the group is {median:.1} ({rule}).",
            name(field),
            cec(field)
        )),
        many => text.push(format!(
            "These hold least of the group: {}. The middle of the group is CEC {median:.1} ({rule}).",
            listed(many.iter().map(|field| named(field, &cec(field))))
        )),
    }
    let much: Vec<&&Field> = least.iter().filter(|field| field.class == Some(HoldingClass::Much)).collect();
    match much.as_slice() {
        [] => {}
        [field] => {
            text.push(format!("By its CEC alone {} holds much; it still holds less than the others.", name(field)))
        }
        many => text.push(format!(
            "By their CEC alone these hold much; they still hold less than the others: {}.",
            listed(many.iter().map(|field| name(field).to_owned()))
        )),
    }
    // Ground that holds much takes an ordinary dose at once, whatever the others hold.
    let small = least.iter().filter(|field| matches!(field.class, Some(HoldingClass::Little | HoldingClass::Some)));
    let small: Vec<String> = small.map(|field| name(field).to_owned()).collect();
    if !small.is_empty() {
        let whom = if small.len() == least.len() { "such ground".to_owned() } else { listed(small.into_iter()) };
        text.push(format!(
            "Do not give {whom} what the others get in one go: feed it in more and smaller passes (common practice, no source)."
        ));
    }
    if !least.is_empty() {
        text.push("CEC holds potassium, calcium, magnesium and ammonium; it does not hold nitrate or urea.".to_owned());
    }
}

fn got_more(result: &SideBySide, got: &GotMore) -> String {
    let field = name(&result.fields[got.field]);
    let years = result.applications.as_ref().and_then(|applications| applications.years);
    let years = years.map_or(String::new(), |[first, last]| {
        if first == last { format!(" in {first}") } else { format!(" in {first} to {last}") }
    });
    let (times, [k, others_k], [cec, others_cec]) = (got.times, got.k_percent, got.cec);
    let unit = if result.k_unit.is_empty() { String::new() } else { format!(" {}", result.k_unit) };
    let amounts = got
        .k_printed
        .map_or(String::new(), |[own, others]| format!("K {} against {}{unit}", short(own), short(others)));
    let is_much = result.fields[got.field].class == Some(HoldingClass::Much);
    let as_they_do = if is_much { " as they do" } else { "" };
    match got.lower {
        Lower::ByShare => format!(
            "{field} got {times:.1} times the potash of the others{years} and still tests lower (K {k:.1} % against \
             {others_k:.1} %): it cannot hold it{as_they_do}. Its CEC is {cec:.1}, theirs {others_cec:.1}."
        ),
        Lower::ByAmountOnly => format!(
            "{field} got {times:.1} times the potash of the others{years} and still tests lower in amount ({amounts}), but for \
             its CEC of {cec:.1} it is as full as they are at {others_cec:.1} (K {k:.1} % against {others_k:.1} %): it has less \
             room for more at once."
        ),
    }
}

/// A figure of a test in the sheet's unit.
fn short(value: f64) -> String {
    if value >= 10.0 { format!("{value:.0}") } else { format!("{value:.2}") }
}

fn lime(text: &mut Vec<String>, result: &SideBySide) {
    let limy: Vec<&Field> = result.fields.iter().filter(|field| field.test.counts_lime()).collect();
    if limy.is_empty() {
        return;
    }
    let named = limy.iter().map(|field| format!("{} ({})", name(field), field.test.lime_sign.as_deref().unwrap_or("")));
    text.push(format!(
        "Marked *, lime in the soil: {}. The test counts lime as calcium, so CEC and calcium read too high there. Do not take such \
         ground for ground that holds much before its CEC is measured at pH 7.",
        listed(named)
    ));
}

fn potassium(text: &mut Vec<String>, result: &SideBySide) {
    let [low, high] = K_PERCENT;
    let of = |is_out: &dyn Fn(f64) -> bool| {
        let mut out: Vec<(&Field, f64)> =
            with_base(result, Cation::K).filter(|(_, percent)| is_out(as_shown(*percent, 1))).collect();
        out.sort_by(|a, b| a.1.total_cmp(&b.1));
        out
    };
    let figures = |fields: &[(&Field, f64)]| {
        listed(fields.iter().map(|(field, _)| named(field, &share(field, Part::Base(Cation::K), 1))))
    };
    let (under, mut above) = (of(&|percent| percent < low), of(&|percent| percent > high));
    above.reverse();
    let mut sentence = Vec::new();
    if !under.is_empty() {
        sentence.push(format!("Potassium takes less than {low:.0} % of the CEC on: {}.", figures(&under)));
    }
    if !above.is_empty() {
        sentence.push(format!("Potassium takes more than {high:.0} % on: {}.", figures(&above)));
    }
    if !sentence.is_empty() {
        sentence.push(format!("({low:.0} to {high:.0} % is common practice, no source.)"));
        text.push(sentence.join(" "));
    }
}

fn calcium_and_magnesium(text: &mut Vec<String>, result: &SideBySide) {
    let over: Vec<&Field> = result
        .fields
        .iter()
        .filter(|field| field.test.ca_mg_percent().is_some_and(|sum| as_shown(sum, 0) > CA_MG_PERCENT))
        .filter(|field| field.class != Some(HoldingClass::Little))
        .collect();
    let (neutral, acid): (Vec<&Field>, Vec<&Field>) = over.into_iter().partition(|field| has_no_acidity(field));
    let sums = |fields: &[&Field]| {
        let mut fields = fields.to_vec();
        fields.sort_by(|a, b| sum(b).total_cmp(&sum(a)));
        listed(fields.iter().map(|field| named(field, &format!("{:.0}", sum(field)))))
    };
    if !acid.is_empty() {
        text.push(format!(
            "Of 100 places calcium and magnesium take more than {CA_MG_PERCENT:.0} on: {}. The rest has to share what is left \
             (never above {CA_MG_PERCENT:.0} on silt loam and clay is common practice, no source).",
            sums(&acid)
        ));
    }
    if !neutral.is_empty() {
        let mut by_mg = neutral.clone();
        by_mg.sort_by(|a, b| mg(b).total_cmp(&mg(a)));
        let mg = by_mg.iter().map(|field| named(field, &share(field, Part::Base(Cation::Mg), 0)));
        text.push(format!(
            "No acidity, so calcium and magnesium take all that potassium and sodium leave: {}. There the sum rule of \
             {CA_MG_PERCENT:.0} cannot be met without making the soil acid; look at magnesium alone, percent: {}.",
            sums(&neutral),
            listed(mg)
        ));
    }
}

/// Without acidity: as printed, because lime lies in the soil, or because the bases leave no room for it.
fn has_no_acidity(field: &Field) -> bool {
    if field.test.lime_sign.is_some() {
        return true;
    }
    // An effective CEC leaves out the acidity that shows at pH 7.
    let is_effective = field.test.cec.as_ref().is_some_and(|cec| cec.kind == CecKind::Effective);
    if is_effective && field.test.ph.as_ref().is_some_and(|(_, ph)| ph.value < 7.0) {
        return false;
    }
    let bases = Cation::ALL.iter().filter_map(|cation| field.test.base_percent(*cation)).sum::<f64>();
    field.test.is_without_acidity().unwrap_or(bases >= NO_ROOM_PERCENT)
}

/// What to look for in the fields; words of common practice, without a source.
pub(super) fn look(result: &SideBySide) -> Vec<String> {
    let mut text = Vec::new();
    let heavy = |field: &Field| field.class != Some(HoldingClass::Little);
    let mut much_mg: Vec<(&Field, f64)> =
        with_base(result, Cation::Mg).filter(|(field, mg)| as_shown(*mg, 0) > MG_PERCENT && heavy(field)).collect();
    much_mg.sort_by(|a, b| b.1.total_cmp(&a.1));
    if !much_mg.is_empty() {
        text.push(format!(
            "Is it sticky when wet, hard when dry, packed? Often said of ground with much magnesium and a high pH. Above \
             {MG_PERCENT:.0} % here, of fields that hold some or much, most first: {}.",
            listed(much_mg.iter().map(|(field, _)| named(field, &share(field, Part::Base(Cation::Mg), 0))))
        ));
    }
    let mut little_ca: Vec<(&Field, f64)> =
        with_base(result, Cation::Ca).filter(|(field, ca)| as_shown(*ca, 0) < CA_PERCENT && heavy(field)).collect();
    little_ca.sort_by(|a, b| a.1.total_cmp(&b.1));
    if !little_ca.is_empty() {
        text.push(format!(
            "Is it weedy? Often said of ground with little calcium. Under {CA_PERCENT:.0} % here, of fields that hold some or much, least first: {}.",
            listed(little_ca.iter().map(|(field, _)| named(field, &share(field, Part::Base(Cation::Ca), 0))))
        ));
    }
    if !text.is_empty() {
        text.push("Common practice, no source: a reason to look, not to spread.".to_owned());
    }
    text
}

/// What is known about shares as a goal.
pub(super) fn evidence(result: &SideBySide) -> Vec<String> {
    let shows_shares = result.fields.iter().any(|field| Part::ALL.iter().any(|part| field.test.share(*part).is_some()));
    if !shows_shares {
        return Vec::new();
    }
    let mut text = vec!["Shares of Ca, Mg and K describe the ground; as targets they are contested.".to_owned()];
    text.extend(SHARE_EVIDENCE.map(str::to_owned));
    text.push("Rates should come from sufficiency levels and the lime requirement. No rate is given here.".to_owned());
    text
}

fn with_base(result: &SideBySide, cation: Cation) -> impl Iterator<Item = (&Field, f64)> {
    result.fields.iter().filter_map(move |field| Some((field, field.test.base_percent(cation)?)))
}

/// A field with its figure: "South (2.1)". Names end in numbers often enough that the figure needs its brackets.
fn named(field: &Field, figure: &str) -> String {
    format!("{} ({figure})", name(field))
}

/// A share as printed: what is said of a figure must hold for the figure shown.
fn as_shown(percent: f64, decimals: i32) -> f64 {
    let scale = 10f64.powi(decimals);
    (percent * scale).round() / scale
}

/// Name of a field in a sentence.
pub(super) fn name(field: &Field) -> &str {
    &field.test.name
}

fn cec(field: &Field) -> String {
    let mark = if field.test.counts_lime() { "*" } else { "" };
    field.test.cec.as_ref().map_or(String::new(), |cec| cec.figure.text(1) + mark)
}

fn share(field: &Field, part: Part, decimals: usize) -> String {
    field.test.share(part).map_or(String::new(), |share| share.figure.text(decimals))
}

fn sum(field: &Field) -> f64 {
    field.test.ca_mg_percent().unwrap_or(0.0)
}

fn mg(field: &Field) -> f64 {
    field.test.base_percent(Cation::Mg).unwrap_or(0.0)
}

/// Names set apart by commas; of many the first, and how many more.
pub(super) fn listed(names: impl Iterator<Item = String>) -> String {
    let names: Vec<String> = names.collect();
    match names.len().checked_sub(MOST_NAMES) {
        Some(more) if more > 1 => format!("{} and {more} more", names[..MOST_NAMES].join(", ")),
        _ => names.join(", "),
    }
}

/// Fields that lie fallow, by name.
pub(super) fn fallow(result: &SideBySide) -> Vec<String> {
    let fallow = result.fields.iter().filter(|field| field.test.ground == Ground::Fallow);
    fallow.map(|field| name(field).to_owned()).collect()
}
