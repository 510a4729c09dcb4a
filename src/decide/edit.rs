//! Answers put into the text of a field file: comments, order and everything not answered stay as they are.

use std::collections::BTreeMap;

use toml_edit::{Array, ArrayOfTables, DocumentMut, InlineTable, Item, Table, TableLike, Value};

use super::slot::{Slot, SlotKind, Step};
use crate::diagnostic::{Diagnostic, Place};
use crate::field_file::WRONG_VALUE;

/// Answers by the name of their slot. Names have one entry for each that is chosen, a "no" has none.
pub type Answers = BTreeMap<String, Vec<String>>;

/// A field file's text with answers in it.
#[derive(Debug, Clone)]
pub struct Edited {
    /// The whole text.
    pub text: String,
    /// Questions with an answer that is not the file's, ascending, each once.
    pub changed: Vec<usize>,
}

/// Puts answers into the text. A slot without an entry in `answers` keeps the file's answer, but for yes and no and for
/// names, where nothing chosen means none; an answer that says the same as the file changes no byte.
///
/// `file` is named in faults.
///
/// # Errors
/// Answers that are not of their kind, with their question.
pub fn answered(
    (file, text): (&str, &str),
    slots: &[Slot],
    answers: &Answers,
) -> Result<Edited, Vec<(usize, Diagnostic)>> {
    let mut faults = Vec::new();
    let mut document = match text.parse::<DocumentMut>() {
        Ok(document) => document,
        Err(error) => return Err(vec![(0, fault(file, "", error.message().to_owned()))]),
    };
    let mut changed = Vec::new();
    for slot in slots {
        let given = match (answers.get(&slot.name), &slot.kind) {
            (Some(given), _) => given.clone(),
            (None, SlotKind::Yes | SlotKind::Names(_)) => Vec::new(),
            (None, _) => continue,
        };
        match new_value(slot, &given) {
            Ok(None) => {}
            Ok(Some(value)) => {
                changed.push(slot.question);
                if !set(document.as_table_mut(), &slot.path, value) {
                    faults.push((slot.question, fault(file, &slot.name, "this file has no place for it".to_owned())));
                }
            }
            Err(message) => faults.push((slot.question, fault(file, &slot.name, message))),
        }
    }
    changed.sort_unstable();
    changed.dedup();
    if !faults.is_empty() {
        return Err(faults);
    }
    // Without an answer the text stays byte for byte.
    let text = if changed.is_empty() { text.to_owned() } else { document.to_string() };
    Ok(Edited { text, changed })
}

fn fault(file: &str, name: &str, message: String) -> Diagnostic {
    let place = match name {
        "" => Place::File(file.to_owned()),
        name => Place::File(format!("{file}, `{name}`")),
    };
    Diagnostic::error(&WRONG_VALUE, message).at(place)
}

/// What to do with a key.
enum NewValue {
    Remove,
    Put(Value),
}

/// The change an answer asks for; `None` where it says what the file says.
fn new_value(slot: &Slot, given: &[String]) -> Result<Option<NewValue>, String> {
    let text = given.first().map_or("", |text| text.trim());
    match &slot.kind {
        SlotKind::Names(names) => {
            let chosen: Vec<&String> = names.iter().filter(|name| given.contains(name)).collect();
            // Names the sheet does not know stay, to be told as a fault.
            let unknown: Vec<&String> = slot.answer.iter().filter(|name| !names.contains(name)).collect();
            let (mut now, mut before): (Vec<&String>, Vec<&String>) = (chosen, slot.answer.iter().collect());
            now.extend(unknown);
            let ordered = now.clone();
            now.sort();
            before.sort();
            Ok(match (now == before, now.is_empty()) {
                (true, _) => None,
                (false, true) => Some(NewValue::Remove),
                (false, false) => Some(NewValue::Put(ordered.into_iter().collect::<Array>().into())),
            })
        }
        SlotKind::Yes => {
            let (yes, before) = (text == "true", slot.text() == "true");
            Ok((yes != before).then(|| NewValue::Put(yes.into())))
        }
        SlotKind::Choice(choices) => {
            if !choices.iter().any(|choice| choice.value == text) {
                return Err("this is not one of the choices".to_owned());
            }
            Ok(match (text == slot.text(), text) {
                (true, _) => None,
                (false, "") => Some(NewValue::Remove),
                (false, text) => Some(NewValue::Put(match text.parse::<i64>() {
                    Ok(whole) => whole.into(),
                    Err(_) => text.into(),
                })),
            })
        }
        SlotKind::Number | SlotKind::Numbers => numbers(slot, text),
    }
}

fn numbers(slot: &Slot, text: &str) -> Result<Option<NewValue>, String> {
    if text == slot.text() {
        return Ok(None);
    }
    if text.is_empty() {
        return Ok(Some(NewValue::Remove));
    }
    if text == "?" || text == "unknown" {
        return Ok(Some(NewValue::Put(text.into())));
    }
    let parts: Vec<&str> = match slot.kind {
        SlotKind::Numbers => text.split(',').map(str::trim).collect(),
        _ => vec![text],
    };
    let values: Vec<Value> = parts.iter().map(|part| number(part)).collect::<Result<_, _>>()?;
    let now: Vec<Option<f64>> = values.iter().map(as_number).collect();
    let before: Vec<Option<f64>> = slot.text().split(',').map(|part| part.trim().parse().ok()).collect();
    if now == before {
        return Ok(None);
    }
    let mut values = values.into_iter();
    Ok(Some(NewValue::Put(match values.len() {
        1 => values.next().expect("one"),
        _ => values.collect::<Array>().into(),
    })))
}

/// Most letters of a number that is taken for no slip.
const MOST_LETTERS: usize = 20;

fn number(text: &str) -> Result<Value, String> {
    let is_plain = text.chars().all(|c| c.is_ascii_digit() || ".-".contains(c)) && text.len() <= MOST_LETTERS;
    let read = text.parse::<f64>().ok().filter(|number| is_plain && number.is_finite());
    match (read, text.parse::<i64>()) {
        (None, _) => Err(match text {
            "" => "a number is missing between two commas".to_owned(),
            text => {
                format!("`{}` is not a number; write it with a point, without marks between thousands", clipped(text))
            }
        }),
        (Some(_), Ok(whole)) => Ok(whole.into()),
        (Some(number), Err(_)) => Ok(number.into()),
    }
}

/// At most forty letters of what was typed.
fn clipped(text: &str) -> String {
    let short: String = text.chars().take(40).collect();
    if short.len() < text.len() { format!("{short}...") } else { short }
}

fn as_number(value: &Value) -> Option<f64> {
    value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64))
}

/// Puts a value where the steps lead; tables that are missing on the way are made. False where something else stands
/// in the way.
fn set(root: &mut Table, path: &[Step], value: NewValue) -> bool {
    let Some((Step::Key(last), way)) = path.split_last() else { return false };
    let mut at: &mut dyn TableLike = root;
    let mut rest = way;
    let mut behind = "";
    while let Some((Step::Key(key), after)) = rest.split_first() {
        if !at.contains_key(key) {
            if matches!(value, NewValue::Remove) {
                return true;
            }
            // The root's tables get a heading, deeper ones stand in braces.
            let made = if rest.len() == way.len() { Item::Table(Table::new()) } else { inline(InlineTable::new()) };
            behind = if made.is_inline_table() { " " } else { "" };
            at.insert(key, made);
        }
        let Some(item) = at.get_mut(key) else { return false };
        let next = match after.first() {
            Some(Step::Entry(entry)) => {
                rest = &after[1..];
                entry_of(item, *entry)
            }
            _ => {
                rest = after;
                item.as_table_like_mut()
            }
        };
        let Some(next) = next else { return false };
        at = next;
    }
    match value {
        NewValue::Remove => {
            at.remove(last);
        }
        NewValue::Put(new) => put(at, last, new, behind),
    }
    true
}

fn inline(table: InlineTable) -> Item {
    Item::Value(Value::InlineTable(table))
}

fn entry_of(item: &mut Item, entry: usize) -> Option<&mut dyn TableLike> {
    match item {
        Item::ArrayOfTables(tables) => ArrayOfTables::get_mut(tables, entry).map(|table| table as &mut dyn TableLike),
        Item::Value(Value::Array(list)) => {
            list.get_mut(entry)?.as_inline_table_mut().map(|table| table as &mut dyn TableLike)
        }
        _ => None,
    }
}

/// Puts a value under a key; spaces and comment round an earlier value stay. `behind` stands behind the first value of a
/// table.
fn put(table: &mut dyn TableLike, key: &str, mut new: Value, behind: &str) {
    if let Some(old) = table.get_mut(key).and_then(Item::as_value_mut) {
        *new.decor_mut() = old.decor().clone();
        *old = new;
        return;
    }
    // What stands between the last value and the closing brace moves behind the new one.
    let last = table.iter().last().map(|(key, _)| key.to_owned());
    let suffix = last.and_then(|last| {
        let decor = table.get_mut(&last)?.as_value_mut()?.decor_mut();
        let suffix = decor.suffix()?.as_str().map(str::to_owned)?;
        (!suffix.contains(['#', '\n'])).then(|| decor.set_suffix(""))?;
        Some(suffix)
    });
    new.decor_mut().set_prefix(" ");
    new.decor_mut().set_suffix(suffix.unwrap_or_else(|| behind.to_owned()));
    table.insert(key, Item::Value(new));
}

#[cfg(test)]
mod tests {
    use super::super::slots;
    use super::*;
    use crate::field_file::FieldFile;

    const FILE: &str = r#"form = 1 # first
[field]
name = "North"
short = "NORTH"
outline = "north.geojson"
crop = "corn"
goal_bu_ac = [150, 205, 180]   # one a zone
[samples]
file = "lab.csv"
id = "ID" # the lab's
places = { from = "file", lon = "x", lat = "y", crs = "EPSG:4326" }
depth_in = [0, 7]
[samples.columns]
k = { column = "K", unit = "ppm", method = "ammonium acetate" }

# about zones
[zones]
count = 3          # three soils
[need]
k = { guide = "tri-state-1995" }
[products]
POT = { name = "Potash", k2o_percent = 60, usd_short_ton = 440 } # delivered
[machine]
swath_ft = 60
below_least = "zero"
rate_lb_ac = { least = 30, most = 400, step = 1 }
[[passes.order]]
name = "Spring" # in April
products = ["POT"]
usd_ac = 9
"#;

    fn edited(answers: &[(&str, &[&str])]) -> Result<Edited, Vec<(usize, Diagnostic)>> {
        let field_file = FieldFile::parse("field.toml", FILE).unwrap_or_else(|faults| panic!("{faults:#?}"));
        let names = ["A".to_owned(), "\u{202e}\"<b>'".to_owned()];
        let slots = slots(FILE, &field_file, &names, None);
        let texts = |given: &[&str]| given.iter().map(|text| (*text).to_owned()).collect::<Vec<_>>();
        let answers = answers.iter().map(|(name, given)| ((*name).to_owned(), texts(given))).collect();
        answered(("field.toml", FILE), &slots, &answers)
    }

    fn changed_lines(text: &str) -> Vec<&str> {
        text.lines().filter(|line| !FILE.lines().any(|old| old == *line)).collect()
    }

    #[test]
    fn without_a_new_answer_no_byte_changes() {
        let same: [(&str, &[&str]); 4] = [
            ("zones.count", &["3"]),
            ("field.goal_bu_ac", &["150,205.0, 180"]),
            ("products.POT.usd_short_ton", &["440.00"]),
            ("zones.smallest_ac", &[" "]),
        ];
        for answers in [&[][..], &same] {
            let edited = edited(answers).unwrap();
            assert_eq!((edited.text.as_str(), edited.changed.len()), (FILE, 0));
        }
    }

    #[test]
    fn answers_change_their_value_and_keep_comments_and_order() {
        let edited = edited(&[
            ("samples.leave_out", &["\u{202e}\"<b>'"]),
            ("zones.count", &["suggest"]),
            ("zones.smallest_ac", &["1.5"]),
            ("field.goal_bu_ac", &["180"]),
            ("hold.k2o_most_lb_ac", &["unknown"]),
            ("products.POT.usd_short_ton", &["455.5"]),
            ("passes.order[1].usd_ac", &[""]),
            ("passes.order[1].standing_crop", &["true"]),
            ("compare.flat.POT", &["160"]),
        ])
        .unwrap();
        assert_eq!(edited.changed, [1, 2, 3, 5, 6]);
        let document: DocumentMut = edited.text.parse().unwrap();
        assert_eq!(document["samples"]["leave_out"][0].as_str(), Some("\u{202e}\"<b>'"));
        let changed: Vec<&str> =
            changed_lines(&edited.text).into_iter().filter(|line| !line.starts_with("leave_out = ")).collect();
        assert_eq!(
            changed,
            [
                "goal_bu_ac = 180   # one a zone",
                "count = \"suggest\"          # three soils",
                "smallest_ac = 1.5",
                "POT = { name = \"Potash\", k2o_percent = 60, usd_short_ton = 455.5 } # delivered",
                "standing_crop = true",
                "[hold]",
                "k2o_most_lb_ac = \"unknown\"",
                "[compare]",
                "flat = { POT = 160 }",
            ]
        );
        let comments = |text: &str| text.matches('#').count();
        assert_eq!(comments(&edited.text), comments(FILE));
        FieldFile::parse("field.toml", &edited.text.replace("\"unknown\"", "90")).unwrap_or_else(|f| panic!("{f:#?}"));
    }

    #[test]
    fn a_key_that_is_new_in_braces_stands_like_the_others() {
        let text = FILE.replace(", usd_short_ton = 440", "").replace("[[passes.order]]", "[[passes.order]] # one");
        let field_file = FieldFile::parse("field.toml", &text).unwrap();
        let slots = slots(&text, &field_file, &[], None);
        let answers = [("products.POT.usd_short_ton".to_owned(), vec!["440".to_owned()])].into();
        let edited = answered(("field.toml", &text), &slots, &answers).unwrap();
        assert!(edited.text.contains("POT = { name = \"Potash\", k2o_percent = 60, usd_short_ton = 440 } # delivered"));
        let back = [("products.POT.usd_short_ton".to_owned(), vec![String::new()])].into();
        let again = FieldFile::parse("field.toml", &edited.text).unwrap();
        let slots = super::super::slots(&edited.text, &again, &[], None);
        let edited = answered(("field.toml", &edited.text), &slots, &back).unwrap();
        assert_eq!(edited.text.replace(' ', ""), text.replace(' ', ""));
    }

    #[test]
    fn what_is_no_answer_is_refused_with_its_question() {
        for (name, given, question, words) in [
            ("hold.k2o_most_lb_ac", "1,000", 5, "`1,000` is not a number"),
            ("hold.k2o_most_lb_ac", "inf", 5, "is not a number"),
            ("hold.k2o_most_lb_ac", "1e9", 5, "is not a number"),
            ("field.goal_bu_ac", "150,,180", 2, "a number is missing"),
            ("zones.count", "7", 2, "not one of the choices"),
            ("need.k.guide", "../mine.toml", 4, "not one of the choices"),
        ] {
            let faults = edited(&[(name, &[given])]).unwrap_err();
            assert_eq!((faults.len(), faults[0].0), (1, question), "{name}");
            assert!(faults[0].1.message.contains(words), "{}", faults[0].1.message);
        }
    }
}
