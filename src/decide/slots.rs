//! What of a field file can be answered on the page, question by question.

use toml_edit::{Item, TableLike, Value};

use super::slot::{Choice, Slot, SlotKind, Step};
use crate::field_file::FieldFile;
use crate::rates::guide::{Guide, SheetTests};
use crate::rates::{Form, Supply};

/// Keys of figures stated one a zone.
const FIGURES: [(Supply, &str, &str); 5] = [
    (Supply::K2o, "k2o_lb_ac", "K2O, lb/ac"),
    (Supply::P2o5, "p2o5_lb_ac", "P2O5, lb/ac"),
    (Supply::S, "s_lb_ac", "sulfur, lb/ac"),
    (Supply::N, "n_lb_ac", "nitrogen of the season, lb/ac"),
    (Supply::Lime, "short_ton_ac", "lime as spread, short tons/ac"),
];
/// Keys a price may stand under.
const PRICES: [(&str, &str); 4] = [
    ("usd_short_ton", "USD a short ton"),
    ("usd_tonne", "USD a tonne"),
    ("usd_gal", "USD a gallon"),
    ("usd_lb", "USD a pound"),
];

/// Everything that can be answered, in the order of the page.
///
/// `text` is the field file's own, `names` are those of all samples of the sheet, `tests` says which guides fit; without
/// it all that are built in are offered.
pub fn slots(text: &str, field_file: &FieldFile, names: &[String], tests: Option<&SheetTests>) -> Vec<Slot> {
    let Ok(document) = toml_edit::Document::parse(text) else { return Vec::new() };
    let mut list = Lister { root: document.as_table(), slots: Vec::new() };
    let shown: Vec<String> = names.to_vec();
    list.add(1, "samples.leave_out", SlotKind::Names(shown), "Leave out");
    list.zones(field_file);
    list.needs(field_file, tests);
    list.passes(field_file);
    list.money(field_file);
    list.slots
}

struct Lister<'a> {
    root: &'a dyn TableLike,
    slots: Vec<Slot>,
}

/// `passes.order[1].usd_ac` as steps.
fn steps(name: &str) -> Vec<Step> {
    let mut steps = Vec::new();
    for part in name.split('.') {
        let (key, entry) = match part.split_once('[') {
            Some((key, rest)) => (key, rest.trim_end_matches(']').parse::<usize>().ok()),
            None => (part, None),
        };
        steps.push(Step::Key(key.to_owned()));
        steps.extend(entry.and_then(|entry| entry.checked_sub(1)).map(Step::Entry));
    }
    steps
}

impl<'a> Lister<'a> {
    fn find(&self, name: &str) -> Option<Found<'a>> {
        let mut at = Found::Table(self.root);
        for step in steps(name) {
            at = at.down(&step)?;
        }
        Some(at)
    }

    fn has(&self, name: &str) -> bool {
        self.find(name).is_some()
    }

    fn is_table(&self, name: &str) -> bool {
        matches!(self.find(name), Some(Found::Table(_)))
    }

    fn add(&mut self, question: usize, name: &str, kind: SlotKind, label: &str) {
        let answer = match self.find(name) {
            Some(Found::Value(Value::Array(list))) => list.iter().map(bare).collect(),
            Some(Found::Value(value)) => vec![bare(value)],
            _ => Vec::new(),
        };
        let answer = match kind {
            SlotKind::Numbers if answer.len() > 1 => vec![answer.join(", ")],
            _ => answer,
        };
        let (name, label, path) = (name.to_owned(), label.to_owned(), steps(name));
        self.slots.push(Slot { name, question, path, kind, label, answer });
    }

    fn number(&mut self, question: usize, name: &str, label: &str) {
        self.add(question, name, SlotKind::Number, label);
    }

    /// Questions 2 and 3.
    fn zones(&mut self, field_file: &FieldFile) {
        let Some(zones) = &field_file.zones else { return };
        if !zones.method.states_its_zones() {
            let choice = |n: usize| Choice { value: n.to_string(), words: n.to_string() };
            let suggest = Choice { value: "suggest".to_owned(), words: "as many as the samples support".to_owned() };
            let choices = (1..=6).map(choice).chain([suggest]).collect();
            self.add(2, "zones.count", SlotKind::Choice(choices), "Kinds of ground");
        }
        let crops = match self.has("field.crops") {
            true => (1..=field_file.rates.years.len()).map(|n| format!("field.crops[{n}]")).collect(),
            false => vec!["field".to_owned()],
        };
        for (table, year) in crops.iter().zip(&field_file.rates.years) {
            let crop = year.crop.map_or("the crop", |crop| crop.name());
            for (key, unit) in [("goal_bu_ac", "bu/ac"), ("goal_short_ton_ac", "short tons/ac")] {
                let name = format!("{table}.{key}");
                if self.has(&name) && !self.is_table(&name) {
                    self.add(2, &name, SlotKind::Numbers, &format!("Yield goal of {crop}, {unit}"));
                }
            }
        }
        for (supply, key, words) in FIGURES {
            let need = format!("need.{}", supply.key());
            let n_years = field_file.rates.years.len();
            let each = std::iter::once(need.clone()).chain((1..=n_years).map(|n| format!("{need}[{n}]")));
            for name in each.map(|table| format!("{table}.{key}")) {
                if self.has(&name) {
                    self.add(2, &name, SlotKind::Numbers, &format!("Need of {words}, as stated"));
                }
            }
        }
        self.number(3, "zones.smallest_ac", "Smallest patch, acres; blank: no limit");
        self.number(3, "zones.narrowest_swaths", "Narrowest patch, swaths; blank: 1 where the swath is stated");
        self.number(3, "zones.shortest_changes", "Shortest patch, changes of rate; blank: 2 where the speed is stated");
    }

    /// Question 4.
    fn needs(&mut self, field_file: &FieldFile, tests: Option<&SheetTests>) {
        for (supply, what) in [(Supply::K2o, "Potassium"), (Supply::P2o5, "Phosphorus"), (Supply::Lime, "Lime")] {
            let name = format!("need.{}.guide", supply.key());
            let Some(Found::Value(own)) = self.find(&name) else { continue };
            let own = bare(own);
            let fits = |guide: &&Guide| tests.is_none_or(|tests| guide.misfits(supply, tests).is_empty());
            let choice = |guide: &Guide| Choice {
                value: guide.name.clone(),
                words: format!("{} ({})", guide.name, guide.region.join(", ")),
            };
            let mut choices: Vec<Choice> = Guide::built_in().iter().filter(fits).map(choice).collect();
            if !choices.iter().any(|choice| choice.value == own) {
                choices.insert(0, Choice { value: own.clone(), words: format!("{own} (as in the file)") });
            }
            self.add(4, &name, SlotKind::Choice(choices), what);
            if supply == Supply::Lime && field_file.rates.need(Supply::Lime).is_some() {
                self.number(4, "need.lime.target_ph", "pH to lime to");
                self.number(4, "need.lime.limed_depth_in", "Depth limed, inches");
            }
        }
    }

    /// Question 5.
    fn passes(&mut self, field_file: &FieldFile) {
        if field_file.rates.needs.is_empty() {
            return;
        }
        self.number(
            5,
            "hold.k_rise_percent_of_cec",
            "Most one pass may raise K, percent of the CEC; blank: no such limit",
        );
        self.number(5, "hold.k2o_most_lb_ac", "Most K2O of one pass, lb/ac; blank: 200");
        self.number(5, "hold.lime_tilled_short_ton_ac", "Most lime of one pass worked in, short tons/ac; blank: 2");
        self.number(5, "hold.lime_surface_short_ton_ac", "Most lime left on the surface, short tons/ac; blank: 1.5");
        let order = [("latest", "the latest that comes in time"), ("earliest", "the earliest")];
        let order = order.map(|(value, words)| Choice { value: value.to_owned(), words: words.to_owned() });
        let blank = Choice { value: String::new(), words: "not stated: the latest".to_owned() };
        let choices = match self.has("need.place_first") {
            true => order.to_vec(),
            false => std::iter::once(blank).chain(order).collect(),
        };
        self.add(5, "need.place_first", SlotKind::Choice(choices), "A need goes first to the pass that is");
        for (index, pass) in field_file.rates.passes.iter().enumerate() {
            let name = format!("passes.order[{}].standing_crop", index + 1);
            self.add(5, &name, SlotKind::Yes, &format!("{} {}: in the standing crop", index + 1, pass.name));
        }
    }

    /// Question 6.
    fn money(&mut self, field_file: &FieldFile) {
        for product in &field_file.rates.products {
            let Some(key) = self.key_like("products", &product.short) else { continue };
            let usual = if matches!(product.form, Form::Liquid { .. }) { PRICES[2] } else { PRICES[0] };
            let stated = PRICES.into_iter().find(|(price, _)| self.has(&format!("products.{key}.{price}")));
            let (price, words) = stated.unwrap_or(usual);
            let label = format!("{}, {words}", product.name);
            self.number(6, &format!("products.{key}.{price}"), &label);
        }
        for (index, pass) in field_file.rates.passes.iter().enumerate() {
            let name = format!("passes.order[{}].usd_ac", index + 1);
            let words = format!("{} {}, USD an acre driven", index + 1, pass.name);
            if self.is_table(&name) {
                self.number(6, &format!("{name}.flat"), &format!("{words}, one rate"));
                self.number(6, &format!("{name}.variable"), &format!("{words}, rates that vary"));
            } else {
                self.number(6, &name, &words);
            }
        }
        for product in &field_file.rates.products {
            let key = self.key_like("compare.flat", &product.short).unwrap_or_else(|| product.short.clone());
            let label =
                format!("Flat rate of {}, {}; blank: the mean by zone", product.name, product.rate_unit().name());
            self.number(6, &format!("compare.flat.{key}"), &label);
        }
        self.number(6, "compare.sampling_usd_ac", "Sampling for zones costs more, USD an acre");
    }

    /// The key of a table as typed that reads as `short`.
    fn key_like(&self, table: &str, short: &str) -> Option<String> {
        let Some(Found::Table(table)) = self.find(table) else { return None };
        table.iter().map(|(key, _)| key.to_owned()).find(|key| key.to_uppercase() == short)
    }
}

/// What stands at a place of the file.
enum Found<'a> {
    Table(&'a dyn TableLike),
    Tables(&'a toml_edit::ArrayOfTables),
    Value(&'a Value),
}

impl<'a> Found<'a> {
    fn of_item(item: &'a Item) -> Option<Self> {
        match item {
            Item::None => None,
            Item::Table(table) => Some(Found::Table(table)),
            Item::ArrayOfTables(tables) => Some(Found::Tables(tables)),
            Item::Value(value) => Some(Self::of_value(value)),
        }
    }

    fn of_value(value: &'a Value) -> Self {
        match value {
            Value::InlineTable(table) => Found::Table(table),
            value => Found::Value(value),
        }
    }

    fn down(&self, step: &Step) -> Option<Self> {
        match (self, step) {
            (Found::Table(table), Step::Key(key)) => Self::of_item(table.get(key)?),
            (Found::Tables(tables), Step::Entry(entry)) => Some(Found::Table(tables.get(*entry)?)),
            (Found::Value(Value::Array(list)), Step::Entry(entry)) => Some(Self::of_value(list.get(*entry)?)),
            _ => None,
        }
    }
}

/// A value as the page shows it: a text without its quotes.
fn bare(value: &Value) -> String {
    match value.as_str() {
        Some(text) => text.to_owned(),
        None => value.clone().decorated("", "").to_string(),
    }
}
