//! What was spread over the years, by field, and whether a field got more potash than the others and holds less.

use std::collections::BTreeMap;

use super::cores::plain_name;
use super::figure::median;
use super::potash::Potash;
use super::{Field, Ground, Group, Standing};
use crate::chemistry::Cation;
use crate::samples::{Limit, NumberForm, SampleTable};

/// A field got more than the others from this many times their median on. Source: heuristic.
const MORE_FROM_TIMES: f64 = 1.5;
/// A field tests lower up to this share of the others' median: laboratories miss potassium by about a tenth (heuristic).
const LOWER_UP_TO: f64 = 0.9;

/// All of one thing that one field got.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    /// Product or nutrient as printed.
    pub what: String,
    /// Sum of the amounts.
    pub amount: f64,
    /// Unit as printed; empty where none is.
    pub unit: String,
}

/// A field that got more potash than the others, and tests lower.
#[derive(Debug, Clone, PartialEq)]
pub struct GotMore {
    /// Position of the field.
    pub field: usize,
    /// What it got, in times of the others' median.
    pub times: f64,
    /// Its potassium and the others' median, percent of the CEC.
    pub k_percent: [f64; 2],
    /// Its potassium and the others' median in the sheet's unit, where it is printed.
    pub k_printed: Option<[f64; 2]>,
    /// Its CEC and the others' median.
    pub cec: [f64; 2],
    /// How it tests lower.
    pub lower: Lower,
}

/// How a field tests lower.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lower {
    /// As a share of the CEC, and so in amount too.
    ByShare,
    /// In amount only: by its CEC it is as full as the others.
    ByAmountOnly,
}

/// The second table, understood.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Applications {
    /// What each field got, by position; sums over all years.
    pub by_field: Vec<Vec<Spread>>,
    /// First and last year of the table.
    pub years: Option<[i32; 2]>,
    /// Names in the table that are not on the sheet.
    pub not_on_sheet: Vec<String>,
    /// Names on the sheet that are not in the table.
    pub not_in_table: Vec<String>,
    /// Fields that got more potash and test lower.
    pub got_more: Vec<GotMore>,
    /// What could not be read or compared, and why.
    pub gaps: Vec<String>,
}

/// Reads the table and sets it beside the fields.
pub(super) fn applications(table: &SampleTable, numbers: &NumberForm, fields: &[Field], group: &Group) -> Applications {
    let mut found = Applications { by_field: vec![Vec::new(); fields.len()], ..Applications::default() };
    let column = |names: &[&str]| {
        table.header.iter().position(|header| {
            let header = header.trim().to_lowercase();
            names.contains(&header.as_str())
        })
    };
    let name_column = column(&["field", "field name", "name"]);
    let what_column = column(&["product", "nutrient", "product or nutrient"]);
    let (Some(name_column), Some(what_column), Some(amount_column)) = (name_column, what_column, column(&["amount"]))
    else {
        found.gaps.push(format!(
            "`{}` was not used: it needs the columns field, year, product (or nutrient), amount and unit; found `{}`",
            table.file,
            table.header.join("`, `")
        ));
        return found;
    };
    let (year_column, unit_column) = (column(&["year", "season"]), column(&["unit", "units"]));
    let mut positions: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (index, field) in fields.iter().enumerate() {
        positions.entry(plain_name(&field.test.name)).or_default().push(index);
    }
    let mut amounts: BTreeMap<(String, String, String), (String, Vec<f64>)> = BTreeMap::new();
    let mut strangers: BTreeMap<String, String> = BTreeMap::new();
    for row in &table.rows {
        let cell = |index: usize| row.cells.get(index).map_or("", |cell| cell.trim());
        let (name, what) = (plain_name(cell(name_column)), cell(what_column));
        if name.is_empty() || what.is_empty() {
            found.gaps.push(format!("`{}` line {}: no field or no product, left out", table.file, row.line));
            continue;
        }
        let amount = numbers.reading(cell(amount_column)).filter(|reading| reading.limit == Limit::Exact);
        let Some(amount) = amount.map(|reading| reading.value).filter(|amount| *amount >= 0.0) else {
            let text = cell(amount_column);
            found.gaps.push(format!("`{}` line {}: `{text}` is no amount, left out", table.file, row.line));
            continue;
        };
        if !positions.contains_key(&name) {
            strangers.entry(name).or_insert_with(|| cell(name_column).to_owned());
            continue;
        }
        if let Some(year) = year_column.and_then(|index| cell(index).parse::<i32>().ok()) {
            let [first, last] = found.years.unwrap_or([year, year]);
            found.years = Some([first.min(year), last.max(year)]);
        }
        let unit = unit_column.map_or("", cell).to_owned();
        let of_key = amounts.entry((name, plain_name(what), unit)).or_insert_with(|| (what.to_owned(), Vec::new()));
        of_key.0 = of_key.0.clone().min(what.to_owned());
        of_key.1.push(amount);
    }
    for ((name, _, unit), (what, mut parts)) in amounts {
        parts.sort_by(f64::total_cmp);
        let spread = Spread { what, amount: parts.iter().sum(), unit };
        for index in &positions[&name] {
            found.by_field[*index].push(spread.clone());
        }
    }
    found.not_on_sheet = strangers.into_values().collect();
    let without = fields.iter().zip(&found.by_field).filter(|(_, spread)| spread.is_empty());
    found.not_in_table = without.map(|(field, _)| field.test.name.clone()).collect();
    found.not_in_table.sort();
    found.not_in_table.dedup();
    match potash(&found.by_field) {
        Ok(potash) => found.got_more = got_more(fields, group, &potash),
        Err(why) => found.gaps.extend(why.map(|why| format!("potash was not compared: {why}"))),
    }
    found
}

/// Potash each field got, all in one unit an area; `None` for a field that is not in the table.
///
/// # Errors
/// Why amounts cannot be set beside each other; `None` where the table has no potash.
fn potash(by_field: &[Vec<Spread>]) -> Result<Vec<Option<f64>>, Option<String>> {
    let mut units = Vec::new();
    let mut forms = Vec::new();
    for spread in by_field.iter().flatten() {
        let form = match Potash::of(&spread.what) {
            Potash::No => continue,
            Potash::MayHold => {
                return Err(Some(format!(
                    "`{}` may hold potash, and its name does not say how much; write its grade (0-0-60)",
                    spread.what
                )));
            }
            Potash::K2o(_) => "K2O".to_owned(),
            Potash::ByName(name) => name,
        };
        units.push(spread.unit.split_whitespace().collect::<String>().to_lowercase());
        forms.push(form);
    }
    for list in [&mut units, &mut forms] {
        list.sort();
        list.dedup();
    }
    let Some(unit) = units.first() else { return Err(None) };
    if units.len() > 1 {
        return Err(Some(format!("its units differ: `{}`", units.join("`, `"))));
    }
    if forms.len() > 1 {
        return Err(Some(format!("it stands under names that do not add up: `{}`", forms.join("`, `"))));
    }
    if !["/ac", "/acre", "/a", "/ha", "peracre", "perha", "perhectare", "anacre", "ahectare"]
        .iter()
        .any(|end| unit.ends_with(end))
    {
        let unit = if unit.is_empty() { "no unit".to_owned() } else { format!("`{unit}`") };
        return Err(Some(format!(
            "{unit} is not an amount an acre or hectare, and the sizes of the fields are not known"
        )));
    }
    let total = |spreads: &Vec<Spread>| {
        let each = spreads.iter().map(|spread| match Potash::of(&spread.what) {
            Potash::K2o(share) => spread.amount * share,
            Potash::ByName(_) => spread.amount,
            Potash::MayHold | Potash::No => 0.0,
        });
        (!spreads.is_empty()).then(|| each.sum())
    };
    Ok(by_field.iter().map(total).collect())
}

/// Fields that hold least of the group, got more potash than the others and test lower in potassium.
fn got_more(fields: &[Field], group: &Group, potash: &[Option<f64>]) -> Vec<GotMore> {
    let others: Vec<usize> = (0..fields.len())
        .filter(|i| fields[*i].standing == Standing::WithTheOthers && fields[*i].test.ground == Ground::Cropped)
        .filter(|i| group.compares(&fields[*i].test) && potash[*i].is_some())
        .collect();
    let of_others = |value: &dyn Fn(usize) -> Option<f64>| median(others.iter().filter_map(|i| value(*i)));
    let k_percent = |i: usize| fields[i].test.base_percent(Cation::K);
    let k_printed = |i: usize| fields[i].test.k_printed.as_ref().map(|figure| figure.for_sums());
    let cec = |i: usize| fields[i].test.cec.as_ref().map(|cec| cec.figure.value);
    let all_others =
        || Some((of_others(&|i| potash[i])?, of_others(&k_percent)?, of_others(&cec)?, of_others(&k_printed)));
    let Some((others_potash, others_k, others_cec, others_printed)) = all_others() else { return Vec::new() };
    let least = (0..fields.len()).filter(|i| fields[*i].standing == Standing::HoldsLeast);
    least
        .filter_map(|field| {
            let times = potash[field]? / others_potash;
            let (k, cec) = (k_percent(field)?, cec(field)?);
            let printed = k_printed(field).zip(others_printed).map(|(own, others)| [own, others]);
            let is_lower = |[own, others]: [f64; 2]| own <= LOWER_UP_TO * others;
            let lower = if is_lower([k, others_k]) {
                Lower::ByShare
            } else if k >= others_k && printed.is_some_and(is_lower) {
                Lower::ByAmountOnly
            } else {
                return None;
            };
            (times.is_finite() && times >= MORE_FROM_TIMES).then_some(GotMore {
                field,
                times,
                k_percent: [k, others_k],
                k_printed: printed,
                cec: [cec, others_cec],
                lower,
            })
        })
        .collect()
}
