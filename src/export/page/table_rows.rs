//! A table set on paper.

use super::Table;
use super::layout::{Paper, Row, under_line};
use super::lettering::Lettering;
use crate::export::figure::{Anchor, Lettered, PLAIN};
use crate::units::UnitSystem;

/// Paper between columns, letter sizes.
const BETWEEN: f64 = 0.9;
/// Heads of at most so many letters are not broken.
const SHORT_HEAD: usize = 8;
/// From one base line to the next, letter sizes.
const LEADING: f64 = 1.3;

/// Rows of a table: its caption, its head, a row each. Columns of figures are as wide as their widest figure; the first
/// takes what is left.
pub(super) fn table_rows(table: &Table, units: UnitSystem, paper: &Paper, lettering: &Lettering) -> Vec<Row> {
    let size = paper.size * 0.92;
    let (plain, bold) = (Lettered { size, ..PLAIN }, Lettered { size, ..PLAIN.bold() });
    let text =
        |row: &[super::InUnits]| -> Vec<String> { row.iter().map(|cell| cell.within(units).to_owned()).collect() };
    let head = text(&table.head);
    let rows: Vec<Vec<String>> = table.rows.iter().map(|row| text(row)).collect();
    let n = head.len();
    let room = paper.room();
    // Long heads may wrap, figures not.
    let widest = |column: usize| {
        let is_short = head[column].chars().count() <= SHORT_HEAD;
        let words = head[column].split_whitespace().map(|word| bold.width(lettering, word));
        let word = if is_short { bold.width(lettering, &head[column]) } else { words.fold(0.0, f64::max) };
        let is_sum = |index: usize| table.has_sum && index + 1 == rows.len();
        let cell = |(index, row): (usize, &Vec<String>)| {
            if is_sum(index) { bold } else { plain }.width(lettering, &row[column])
        };
        rows.iter().enumerate().map(cell).fold(word, f64::max) + BETWEEN * size
    };
    let mut widths: Vec<f64> = (0..n).map(widest).collect();
    // Room to spare goes to the first column as far as its words need it, then to all alike.
    let of_figures: f64 = widths[1..].iter().sum();
    let words = rows.iter().map(|row| plain.width(lettering, &row[0])).fold(bold.width(lettering, &head[0]), f64::max);
    widths[0] = (words + BETWEEN * size).min(room - of_figures).max(room * 0.2);
    let spare = (room - of_figures - widths[0]).max(0.0) / n as f64;
    widths.iter_mut().for_each(|width| *width += spare);
    let row_of = |cells: &[String], style: Lettered, under: f64, is_chained: bool| {
        let lines: Vec<Vec<String>> = cells
            .iter()
            .zip(&widths)
            .map(|(cell, width)| {
                lettering.lines(cell, style.bold, (width - if n > 1 { 0.4 * size } else { 0.0 }) / size)
            })
            .collect();
        let n_lines = lines.iter().map(Vec::len).max().unwrap_or(1).max(1);
        let height = n_lines as f64 * size * LEADING + size * 0.35;
        let (mut svg, mut left) = (String::new(), 0.0);
        for (column, (lines, width)) in lines.iter().zip(&widths).enumerate() {
            for (index, line) in lines.iter().enumerate() {
                let y = size * 1.05 + index as f64 * size * LEADING;
                svg += &match column {
                    0 => style.svg(left, y, line),
                    _ => style.at(Anchor::End).svg(left + width, y, line),
                };
            }
            left += width;
        }
        svg += &under_line(room, height - 1.0, under);
        Row { height, svg, is_chained }
    };
    let mut all: Vec<Row> = lettering
        .lines(table.caption.within(units), true, room / paper.size)
        .iter()
        .map(|line| Row {
            height: paper.size * 1.35,
            svg: Lettered { size: paper.size, ..PLAIN.bold() }.svg(0.0, paper.size * 1.02, line),
            is_chained: true,
        })
        .collect();
    if head.iter().any(|cell| !cell.is_empty()) {
        all.push(row_of(&head, bold, 1.0, true));
    }
    for (index, row) in rows.iter().enumerate() {
        let is_last = index + 1 == rows.len();
        let style = if is_last && table.has_sum { bold } else { plain };
        let is_before_sum = table.has_sum && index + 2 == rows.len();
        all.push(row_of(row, style, if is_before_sum { 1.0 } else { 0.4 }, is_before_sum));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::export::in_units::InUnits;

    #[test]
    fn figures_stay_whole_and_words_wrap() {
        let same = |words: &str| InUnits::same(words);
        let table = Table {
            caption: same("Cost"),
            head: vec![same(""), same("flat"), same("by zone")],
            rows: vec![vec![same(&"a long name of a product ".repeat(6)), same("$15,023"), same("$8,614")]],
            has_sum: false,
        };
        let rows = table_rows(&table, UnitSystem::Us, &Paper::TELEPHONE, &Lettering::new());
        let svg: String = rows.iter().map(|row| row.svg.as_str()).collect();
        assert!(svg.contains(">$15,023<") && svg.contains(">by zone<"));
        assert_eq!(svg.matches("product").count(), 6);
        assert!(rows[2].height > 2.0 * rows[1].height);
    }
}
