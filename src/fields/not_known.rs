//! What the sheet does not tell, and why, in sentences.

use std::collections::BTreeMap;

use super::sheet_columns::SheetColumns;
use super::wording::{fallow, listed, name};
use super::{CecKind, Field, Ground, SideBySide};
use crate::columns::Fallow;
use crate::samples::{Limit, SampleTable};

/// Most unreadable cells named.
const MOST_CELLS: usize = 5;
/// What can be missing, in the order it is told.
const ORDER: [&str; 7] = ["CEC", "pH", "Ca %", "Mg %", "K %", "Na %", "acidity %"];

/// What could not be worked out or compared, and why; faults of all fields folded to one sentence a reason.
pub(super) fn not_known(result: &SideBySide, sheet: &SheetColumns<'_>, table: &SampleTable) -> Vec<String> {
    let mut text = Vec::new();
    if sheet.name.is_none() {
        text.push("The sheet has no column with names; fields are named by their lines.".to_owned());
    }
    if result.ph_medium_is_open {
        text.push(
            "The sheet does not say whether its pH is in water or in a salt; in salt it reads 0.5 to 0.8 lower."
                .to_owned(),
        );
    }
    text.extend(sheet.taken.iter().map(|taken| format!("{taken}.")));
    rows(&mut text, result);
    cec_kinds(&mut text, result);
    missing(&mut text, result);
    let unread: Vec<String> = result
        .fields
        .iter()
        .flat_map(|field| field.test.unread.iter().map(move |what| format!("{}, {what}.", name(field))))
        .collect();
    text.extend(unread.iter().take(MOST_CELLS).cloned());
    if let Some(more) = unread.len().checked_sub(MOST_CELLS).filter(|more| *more > 0) {
        text.push(format!("{more} more cells cannot be read; the table `fields.csv` names them."));
    }
    depths(&mut text, result, sheet);
    status(&mut text, sheet, table);
    spread(&mut text, result);
    text
}

/// Fallow fields, and fields of several rows.
fn rows(text: &mut Vec<String>, result: &SideBySide) {
    let fallow = fallow(result);
    if !fallow.is_empty() {
        text.push(format!("Fallow, shown but left out of the middle of the group: {}.", listed(fallow.into_iter())));
    }
    let mut by_remark: BTreeMap<&str, Vec<&Field>> = BTreeMap::new();
    for field in &result.fields {
        for remark in &field.test.remarks {
            by_remark.entry(remark).or_default().push(field);
        }
    }
    for (remark, fields) in by_remark {
        text.push(format!("{}: {remark}.", listed(fields.iter().map(|field| name(field).to_owned()))));
    }
}

fn cec_kinds(text: &mut Vec<String>, result: &SideBySide) {
    let with_cec: Vec<(&Field, CecKind)> =
        result.fields.iter().filter_map(|field| Some((field, field.test.cec.as_ref()?.kind))).collect();
    let named = |fields: &[&Field]| whom(fields, result);
    if with_cec.iter().any(|(_, kind)| *kind == CecKind::MethodNotPrinted) {
        text.push(
            "The sheet does not print how its CEC was found. Little, some and much hold for CEC at pH 7, summed or measured; \
             they do not hold if this is an effective CEC."
                .to_owned(),
        );
    }
    for kind in [CecKind::Effective, CecKind::ByVolume, CecKind::UnitNotPrinted] {
        let of_kind: Vec<&Field> = with_cec.iter().filter(|(_, of)| *of == kind).map(|(field, _)| *field).collect();
        if let (Some(why), false) = (kind.why_no_class(), of_kind.is_empty()) {
            text.push(format!("Not said to hold little, some or much: {} ({why}).", named(&of_kind)));
        }
    }
    let open: Vec<&Field> = with_cec
        .iter()
        .filter(|(field, kind)| kind.why_no_class().is_none() && field.class.is_none())
        .map(|(field, _)| *field)
        .collect();
    if !open.is_empty() {
        text.push(format!("Not said to hold little, some or much: {} (the CEC is printed as a limit).", named(&open)));
    }
    let apart: Vec<&Field> =
        with_cec.iter().map(|(field, _)| *field).filter(|field| !result.group.compares(&field.test)).collect();
    if !apart.is_empty() {
        text.push(format!("Another kind of CEC than most, so not compared: {}.", named(&apart)));
    }
    let limits = with_cec.iter().map(|(field, _)| *field);
    let limits: Vec<&Field> =
        limits.filter(|field| field.test.cec.as_ref().is_some_and(|cec| cec.figure.limit != Limit::Exact)).collect();
    if !limits.is_empty() {
        text.push(format!("CEC printed as a limit, placed at that limit: {}.", named(&limits)));
    }
    let limy = result.fields.iter().filter(|field| field.test.counts_lime() && field.test.ground == Ground::Cropped);
    let n_limy = limy.filter(|field| result.group.compares(&field.test)).count();
    if n_limy > 0 && result.group.median.is_some() {
        let verb = if n_limy == 1 { "field marked * counts" } else { "fields marked * count" };
        text.push(format!("{n_limy} {verb} towards the middle of the group with a CEC that is too high."));
    }
}

/// "all fields", or their names.
fn whom(fields: &[&Field], result: &SideBySide) -> String {
    if fields.len() == result.fields.len() && fields.len() > 1 {
        "all fields".to_owned()
    } else {
        listed(fields.iter().map(|field| name(field).to_owned()))
    }
}

fn missing(text: &mut Vec<String>, result: &SideBySide) {
    let mut fields_of: BTreeMap<(usize, &str), Vec<usize>> = BTreeMap::new();
    for (index, field) in result.fields.iter().enumerate() {
        for missing in &field.test.missing {
            let order = ORDER.iter().position(|what| *what == missing.what).unwrap_or(ORDER.len());
            let fields = fields_of.entry((order, missing.why.as_str())).or_default();
            if fields.last() != Some(&index) {
                fields.push(index);
            }
        }
    }
    // Things missing for one reason on the same fields are one sentence.
    let mut told: Vec<(Vec<&str>, &str, Vec<usize>)> = Vec::new();
    for ((order, why), fields) in fields_of {
        let what = ORDER.get(order).copied().unwrap_or("");
        match told.iter_mut().find(|(_, other_why, others)| *other_why == why && *others == fields) {
            Some((whats, _, _)) => whats.push(what),
            None => told.push((vec![what], why, fields)),
        }
    }
    for (whats, why, fields) in told {
        let fields: Vec<&Field> = fields.into_iter().map(|index| &result.fields[index]).collect();
        text.push(format!("No {}: {why} ({}).", whats.join(", "), whom(&fields, result)));
    }
}

fn depths(text: &mut Vec<String>, result: &SideBySide, sheet: &SheetColumns<'_>) {
    let mut depths: Vec<[f64; 2]> = result.fields.iter().filter_map(|field| field.test.depth_in).collect();
    depths.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    depths.dedup_by(|a, b| (a[0] - b[0]).abs() < 0.05 && (a[1] - b[1]).abs() < 0.05);
    if depths.len() > 1 {
        let depths = depths.iter().map(|[top, bottom]| format!("{top:.0} to {bottom:.0} in"));
        text.push(format!("Cores of different depths stand side by side: {}.", listed(depths)));
    } else if !sheet.has_depth() {
        text.push(
            "The sheet does not print how deep the cores went; fields sampled to unlike depths do not compare."
                .to_owned(),
        );
    }
}

/// Words of the status column that speak of fallow without being plain.
fn status(text: &mut Vec<String>, sheet: &SheetColumns<'_>, table: &SampleTable) {
    let Some(index) = sheet.status else { return };
    let words = table.rows.iter().filter_map(|row| sheet.text(row, index));
    let mut unclear: Vec<String> =
        words.filter(|word| crate::columns::fallow(word) == Fallow::InPart).map(|word| format!("`{word}`")).collect();
    unclear.sort();
    unclear.dedup();
    if !unclear.is_empty() {
        text.push(format!("Not taken for fallow ground: {}.", listed(unclear.into_iter())));
    }
}

/// A sentence with its first letter large.
fn capital(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

fn spread(text: &mut Vec<String>, result: &SideBySide) {
    let Some(spread) = &result.applications else { return };
    text.extend(spread.gaps.iter().take(MOST_CELLS).map(|gap| format!("{}.", capital(gap))));
    if let Some(more) = spread.gaps.len().checked_sub(MOST_CELLS).filter(|more| *more > 0) {
        text.push(format!("{more} more rows of what was spread are left out."));
    }
    if !spread.not_on_sheet.is_empty() {
        let names = listed(spread.not_on_sheet.iter().cloned());
        text.push(format!("In the list of what was spread, but not on the sheet: {names}."));
    }
    if !spread.not_in_table.is_empty() && spread.by_field.iter().any(|spread| !spread.is_empty()) {
        let names = listed(spread.not_in_table.iter().cloned());
        text.push(format!("On the sheet, but not in the list of what was spread: {names}."));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_first_letter_is_made_large() {
        assert_eq!(["potash", "\u{e9}t\u{e9}", "`a.csv`", ""].map(capital), ["Potash", "\u{c9}t\u{e9}", "`a.csv`", ""]);
    }
}
