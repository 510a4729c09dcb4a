//! Reads a nitrogen set of `nitrogen_sets/`.

use toml_edit::{Document, Item, TableLike, Value};

use super::{NitrogenSet, Portion, PortionAmount, PortionPasses, Within};
use crate::fields::HoldingClass;
use crate::rates::NitrogenStage;

/// Reads a set.
///
/// # Errors
/// The first key that is missing or not understood.
pub(super) fn read(name: &str, text: &str) -> Result<NitrogenSet, String> {
    let document = Document::parse(text).map_err(|error| error.to_string())?;
    let table = document.as_table();
    let text_of = |key: &str| text_of(table, key);
    let irrigated = match table.get("irrigated") {
        None => None,
        Some(item) => Some(item.as_bool().ok_or("`irrigated` is not true or false")?),
    };
    let class = match text_of("class")?.as_str() {
        "little" => HoldingClass::Little,
        other => return Err(format!("class `{other}` is not known")),
    };
    let applications = match table.get("applications").and_then(Item::as_array) {
        None => None,
        Some(list) => {
            let numbers: Vec<usize> = list.iter().filter_map(number).map(|number| number as usize).collect();
            let [least, most] = numbers[..] else { return Err("`applications` are two numbers".to_owned()) };
            Some([least, most])
        }
    };
    let list = |key: &str| table.get(key).and_then(Item::as_array).ok_or(format!("`{key}` is not a list"));
    let cautions = list("cautions")?.iter().filter_map(|value| value.as_str().map(str::to_owned)).collect();
    let portions = list("portions")?.iter().map(portion).collect::<Result<_, _>>()?;
    Ok(NitrogenSet {
        name: name.to_owned(),
        citation: text_of("citation")?,
        tag: text_of("tag")?,
        region: text_of("region")?,
        crop: text_of("crop")?,
        irrigated,
        class,
        applications,
        cautions,
        portions,
    })
}

fn portion(value: &Value) -> Result<Portion, String> {
    let table = value.as_inline_table().ok_or("a portion is not a table")?;
    let stage = match text_of(table, "stage")?.as_str() {
        "planting" => NitrogenStage::Planting,
        "standing" => NitrogenStage::Standing,
        other => return Err(format!("stage `{other}` is not known")),
    };
    let wanted = text_of(table, "passes")?;
    let (passes, _) = PortionPasses::NAMES
        .into_iter()
        .find(|(_, name)| *name == wanted)
        .ok_or_else(|| format!("passes `{wanted}` are not known"))?;
    let amount = if let Some(item) = table.get("share") {
        PortionAmount::Share(within(item)?)
    } else if let Some(item) = table.get("lb_ac") {
        PortionAmount::LbAc(within(item)?)
    } else if let Some(item) = table.get("rest_lb_ac") {
        let range = item.as_inline_table().ok_or("`rest_lb_ac` is not a table")?;
        PortionAmount::Rest { pass_lb_ac: Some([number_of(range, "least")?, number_of(range, "most")?]) }
    } else if table.get("rest").and_then(Value::as_bool) == Some(true) {
        PortionAmount::Rest { pass_lb_ac: None }
    } else {
        return Err("a portion has neither `share`, `lb_ac`, `rest_lb_ac` nor `rest`".to_owned());
    };
    Ok(Portion { stage, passes, amount })
}

/// A range with the figure taken, or a fraction as `[1, 3]`.
fn within(value: &Value) -> Result<Within, String> {
    if let Some(fraction) = value.as_array() {
        let numbers: Vec<f64> = fraction.iter().filter_map(number).collect();
        let [parts, of] = numbers[..] else { return Err("a fraction is two numbers".to_owned()) };
        return Ok(Within { least: parts / of, most: parts / of, taken: parts / of });
    }
    let table = value.as_inline_table().ok_or("an amount is neither a fraction nor a range")?;
    let within = Within {
        least: number_of(table, "least")?,
        most: number_of(table, "most")?,
        taken: number_of(table, "taken")?,
    };
    if within.least <= within.taken && within.taken <= within.most {
        Ok(within)
    } else {
        Err(format!("{} does not lie between {} and {}", within.taken, within.least, within.most))
    }
}

fn number(value: &Value) -> Option<f64> {
    value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64))
}

fn number_of(table: &toml_edit::InlineTable, key: &str) -> Result<f64, String> {
    table.get(key).and_then(number).ok_or_else(|| format!("`{key}` is not a number"))
}

fn text_of(table: &dyn TableLike, key: &str) -> Result<String, String> {
    table.get(key).and_then(Item::as_str).map(str::to_owned).ok_or_else(|| format!("`{key}` is not a text"))
}
