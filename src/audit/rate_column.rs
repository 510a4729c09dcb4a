//! Which columns of a table are rates, and what their unit and product are.

use super::rate_unit;
use super::table::{Column, Table};

/// Columns taken as rates.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RateColumns {
    /// Indices of the columns taken.
    pub taken: Vec<usize>,
    /// Why.
    pub reason: Reason,
    /// Indices of columns that are named like a rate but hold text.
    pub as_text: Vec<usize>,
}

/// Why columns were taken as rates.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reason {
    /// There is one column `RATE`.
    NamedRate,
    /// Their names say so.
    NamedLikeRates,
    /// The only numbers that are no number of a record, no area and no length.
    OnlyNumbers,
    /// None was found.
    None,
}

/// Names of columns of numbers that are no rates.
const NOT_RATES: [&str; 22] = [
    "id",
    "fid",
    "objectid",
    "gid",
    "ogcfid",
    "zone",
    "patch",
    "class",
    "area",
    "acres",
    "areaac",
    "areaha",
    "hectares",
    "length",
    "perimeter",
    "shapeleng",
    "shapearea",
    "year",
    "pass",
    "order",
    "count",
    "number",
];

/// Finds the rates of a table.
pub fn rate_columns(table: &Table) -> RateColumns {
    let is_like_rate = |column: &Column| {
        let name = plain(&column.name);
        let is_named = ["rate", "dose", "setpoint", "amount"].iter().any(|word| name.contains(word));
        is_named || rate_unit::at_end_of(&column.name).is_some()
    };
    let where_ = |test: &dyn Fn(&Column) -> bool| -> Vec<usize> {
        table.columns.iter().enumerate().filter(|(_, column)| test(column)).map(|(index, _)| index).collect()
    };
    let as_text = where_(&|column| is_like_rate(column) && !column.is_number && !column.distinct().is_empty());
    let found = |taken, reason| RateColumns { taken, reason, as_text: as_text.clone() };
    let exact = where_(&|column| column.is_number && column.name.eq_ignore_ascii_case("rate"));
    if exact.len() == 1 {
        return found(exact, Reason::NamedRate);
    }
    let named = where_(&|column| column.is_number && is_like_rate(column));
    if !named.is_empty() {
        return found(named, Reason::NamedLikeRates);
    }
    let others = where_(&|column| column.is_number && !NOT_RATES.contains(&plain(&column.name).as_str()));
    match others.as_slice() {
        [only] => found(vec![*only], Reason::OnlyNumbers),
        _ => found(Vec::new(), Reason::None),
    }
}

/// Units of a table's rates: those of a column `UNIT`, else the one a rate's name ends in.
pub fn units(table: &Table, rate: &Column) -> Vec<String> {
    let stated = ["unit", "units"].iter().find_map(|name| table.column(name));
    let distinct: Vec<String> =
        stated.map(|column| column.distinct()).unwrap_or_default().into_iter().map(str::to_owned).collect();
    match distinct.is_empty() {
        false => distinct,
        true => rate_unit::at_end_of(&rate.name).map(|unit| unit.name.to_owned()).into_iter().collect(),
    }
}

/// The product of a table, if all records name one.
pub fn product(table: &Table) -> Option<String> {
    match table.column("product")?.distinct().as_slice() {
        [one] => Some((*one).to_owned()),
        _ => None,
    }
}

fn plain(name: &str) -> String {
    name.to_lowercase().chars().filter(char::is_ascii_alphanumeric).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(columns: &[(&str, bool, &str)]) -> Table {
        let column = |(name, is_number, text): &(&str, bool, &str)| Column {
            name: (*name).to_owned(),
            is_number: *is_number,
            texts: vec![Some((*text).to_owned())],
        };
        Table { file: String::new(), columns: columns.iter().map(column).collect() }
    }

    #[test]
    fn rate_wins_over_names_like_it_and_those_over_the_only_number() {
        let all =
            table(&[("ZONE", true, "1"), ("RATE", true, "90"), ("RATE_KGHA", true, "100"), ("UNIT", false, "lb/ac")]);
        assert_eq!((rate_columns(&all).taken, rate_columns(&all).reason), (vec![1], Reason::NamedRate));
        let two = table(&[("ZONE", true, "1"), ("POT_LBAC", true, "90"), ("MAP_LBAC", true, "40")]);
        assert_eq!((rate_columns(&two).taken, rate_columns(&two).reason), (vec![1, 2], Reason::NamedLikeRates));
        assert_eq!(units(&two, &two.columns[1]), ["lb/ac"]);
        let only = table(&[("ZONE", true, "1"), ("AREA_AC", true, "2"), ("POT", true, "90")]);
        assert_eq!((rate_columns(&only).taken, rate_columns(&only).reason), (vec![2], Reason::OnlyNumbers));
        let none = table(&[("ZONE", true, "1"), ("A1", true, "90"), ("B1", true, "40"), ("rate", false, "90")]);
        assert_eq!(rate_columns(&none), RateColumns { taken: vec![], reason: Reason::None, as_text: vec![3] });
    }
}
