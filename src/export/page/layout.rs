//! Blocks set on paper: rows of known height, then pages.

use std::fmt::Write as _;

use super::lettering::Lettering;
use super::table_rows::table_rows;
use super::{Block, Page};
use crate::export::figure::{self, Figure, Lettered, PLAIN, css};
use crate::export::map_png::Rgb;
use crate::units::UnitSystem;

/// The one color of a page's own: the rule beside what matters.
const PLUM: Rgb = Rgb::hex(0x7d3762);
/// From one base line to the next, letter sizes.
const LEADING: f64 = 1.35;
/// Left edge of words beside the plum rule.
const SHORT_INDENT: f64 = 12.0;

/// The paper a page is set on; lengths in points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::export) struct Paper {
    pub(in crate::export) width: f64,
    /// `None` = one page as tall as it takes.
    pub(in crate::export) height: Option<f64>,
    pub(in crate::export) margin: f64,
    /// Size of words.
    pub(in crate::export) size: f64,
    /// Width of figures.
    pub(in crate::export) figure_width: f64,
}

impl Paper {
    /// What the units' users print on: US letter or A4 (ISO 216).
    pub(in crate::export) fn of(units: UnitSystem) -> Self {
        let (width, height) = match units {
            UnitSystem::Us => (612.0, 792.0),
            UnitSystem::Si => (595.276, 841.89),
        };
        Paper { width, height: Some(height), margin: 62.0, size: 10.5, figure_width: 312.0 }
    }

    /// A telephone's width, as tall as it takes.
    pub(in crate::export) const TELEPHONE: Paper =
        Paper { width: 400.0, height: None, margin: 20.0, size: 14.0, figure_width: 360.0 };

    pub(super) fn room(&self) -> f64 {
        self.width - 2.0 * self.margin
    }
}

/// One page of paper: a drawing of its own.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::export) struct Sheet {
    pub(in crate::export) width: f64,
    pub(in crate::export) height: f64,
    /// The elements inside the `svg` element.
    pub(in crate::export) svg: String,
}

impl Sheet {
    /// The whole document.
    pub(super) fn document(&self) -> String {
        let (width, height) = (self.width, self.height);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.2}\" height=\"{height:.2}\" viewBox=\"0 0 {width:.2} \
             {height:.2}\" font-family=\"{}\"><rect width=\"{width:.2}\" height=\"{height:.2}\" fill=\"#ffffff\"/>{}</svg>",
            super::lettering::FAMILY,
            self.svg
        )
    }
}

/// Something that is not parted by a page's end.
pub(super) struct Row {
    pub(super) height: f64,
    /// Drawn with its top at 0.
    pub(super) svg: String,
    /// Whether the next row must stand on the same page.
    pub(super) is_chained: bool,
}

impl Row {
    pub(super) fn gap(height: f64) -> Self {
        Row { height, svg: String::new(), is_chained: true }
    }
}

/// Words in lines.
pub(super) struct Setting<'a> {
    pub(super) lettering: &'a Lettering,
    pub(super) style: Lettered,
    pub(super) left: f64,
    pub(super) room: f64,
}

impl Setting<'_> {
    /// One row a line; the first two stay together.
    pub(super) fn rows(&self, words: &str) -> Vec<Row> {
        let size = self.style.size;
        let lines = self.lettering.lines(words, self.style.bold, self.room / size);
        let n = lines.len();
        let row = |(index, line): (usize, &String)| Row {
            height: size * LEADING,
            svg: self.style.svg(self.left, size * 1.02, line),
            is_chained: index == 0 && n > 1 || index + 2 == n,
        };
        lines.iter().enumerate().map(row).collect()
    }
}

/// Sets a page: one sheet a page of paper, with `foot` and the number at the end of each where there are several.
pub(in crate::export) fn paginate(page: &Page, paper: &Paper, foot: &str, lettering: &Lettering) -> Vec<Sheet> {
    let mut rows = Vec::new();
    for block in &page.blocks {
        rows.extend(block_rows(block, page.units, paper, lettering));
    }
    let foot_height = if paper.height.is_some() { 2.0 * paper.size } else { 0.0 };
    let room = paper.height.map_or(f64::INFINITY, |height| height - 2.0 * paper.margin - foot_height);
    let mut pages: Vec<(String, f64)> = vec![(String::new(), 0.0)];
    let mut at = 0;
    while at < rows.len() {
        let end = at + rows[at..].iter().position(|row| !row.is_chained).map_or(rows.len() - at, |last| last + 1);
        let height: f64 = rows[at..end].iter().map(|row| row.height).sum();
        let used = pages.last().map_or(0.0, |page| page.1);
        if used > 0.0 && used + height > room {
            pages.push((String::new(), 0.0));
        }
        for row in &rows[at..end] {
            let is_full = pages.last().is_some_and(|page| page.1 > 0.0 && page.1 + row.height > room);
            if is_full {
                pages.push((String::new(), 0.0));
            }
            let (svg, used) = pages.last_mut().expect("never empty");
            // Nothing is set off from the top of a page.
            if row.svg.is_empty() && *used == 0.0 {
                continue;
            }
            if !row.svg.is_empty() {
                let _ = write!(
                    svg,
                    "<g transform=\"translate({:.2} {:.2})\">{}</g>",
                    paper.margin,
                    paper.margin + *used,
                    row.svg
                );
            }
            *used += row.height;
        }
        at = end;
    }
    let n_pages = pages.len();
    let sheet = |(index, (mut svg, used)): (usize, (String, f64))| {
        let height = paper.height.unwrap_or(used + 2.0 * paper.margin);
        if paper.height.is_some() {
            let words = format!("Page {} of {n_pages}. {foot}", index + 1);
            let style = Lettered { size: paper.size * 0.8, ..PLAIN };
            // One line: what of a long name finds no room stands on the first page.
            let line = lettering.lines(&words, false, paper.room() / style.size).swap_remove(0);
            svg += &style.svg(paper.margin, height - paper.margin + paper.size, &line);
        }
        Sheet { width: paper.width, height, svg }
    };
    pages.into_iter().enumerate().map(sheet).collect()
}

fn block_rows(block: &Block, units: UnitSystem, paper: &Paper, lettering: &Lettering) -> Vec<Row> {
    let size = paper.size;
    let set = |style: Lettered, left: f64| Setting { lettering, style, left, room: paper.room() - left };
    let plain = Lettered { size, ..PLAIN };
    let gap = |share: f64| std::iter::once(Row::gap(share * size));
    match block {
        Block::Head { field, line } => {
            let mut rows = set(Lettered { size: size * 1.9, ..PLAIN.bold() }, 0.0).rows(field);
            rows.extend(gap(0.2));
            rows.extend(set(plain, 0.0).rows(line.within(units)));
            rows
        }
        Block::InShort(lines) => {
            let mut rows: Vec<Row> = gap(0.9).collect();
            let mut inner = set(Lettered { size: size * 1.12, ..PLAIN.bold() }, SHORT_INDENT).rows("In short");
            for line in lines {
                inner.extend(gap(0.25));
                inner.extend(set(Lettered { size: size * 1.12, ..PLAIN }, SHORT_INDENT).rows(line.within(units)));
            }
            let n = inner.len();
            rows.extend(inner.into_iter().enumerate().map(|(index, row)| Row {
                svg: figure::rect([0.0, 0.0, 3.0, row.height + 0.3], PLUM, 0.0) + &row.svg,
                is_chained: index + 1 < n,
                ..row
            }));
            rows
        }
        Block::Question { words, .. } => {
            let heading = set(Lettered { size: size * 1.4, ..PLAIN.bold() }, 0.0).rows(words);
            let chained = heading.into_iter().map(|row| Row { is_chained: true, ..row });
            gap(1.7).chain(chained).chain(gap(0.35)).collect()
        }
        Block::Heading(words) => {
            let heading = set(plain.bold(), 0.0).rows(words.within(units));
            gap(0.8).chain(heading.into_iter().map(|row| Row { is_chained: true, ..row })).collect()
        }
        Block::Words(words) => gap(0.5).chain(set(plain, 0.0).rows(words.within(units))).collect(),
        Block::Sure(words) => {
            let told = format!("How sure: {}", words.within(units));
            gap(0.35).chain(set(plain, SHORT_INDENT).rows(&told)).collect()
        }
        Block::Figure { caption, drawings } => {
            let caption = set(plain.bold(), 0.0).rows(caption.within(units));
            let mut rows: Vec<Row> = gap(0.8).collect();
            rows.extend(caption.into_iter().map(|row| Row { is_chained: true, ..row }));
            for (index, drawing) in drawings.iter().enumerate() {
                rows.extend(gap(0.4));
                rows.push(Row { is_chained: index + 1 < drawings.len(), ..figure_row(drawing, units, paper) });
            }
            rows
        }
        Block::Lines(lines) => {
            let mut rows = Vec::new();
            for line in lines {
                rows.extend(gap(0.4));
                rows.extend(named_rows(line.name.within(units), line.words.within(units), paper, lettering));
            }
            rows
        }
        Block::Table(table) => gap(0.8).chain(table_rows(table, units, paper, lettering)).collect(),
        Block::Foot(words) => {
            let small = Lettered { size: size * 0.85, ..PLAIN };
            gap(1.0).chain(set(small, 0.0).rows(words.within(units))).collect()
        }
    }
}

/// A paragraph whose first words are bold.
fn named_rows(name: &str, words: &str, paper: &Paper, lettering: &Lettering) -> Vec<Row> {
    let size = paper.size;
    let bold = Lettered { size, ..PLAIN.bold() };
    let name_width = bold.width(lettering, name) + size * 0.35;
    if name_width > 0.7 * paper.room() {
        let under = Setting { lettering, style: Lettered { size, ..PLAIN }, left: 0.0, room: paper.room() };
        let head = Setting { lettering, style: bold, left: 0.0, room: paper.room() };
        let head = head.rows(name).into_iter().map(|row| Row { is_chained: true, ..row });
        return head.chain(under.rows(words)).collect();
    }
    // The first line has less room: its words are found by setting the rest again.
    let first =
        lettering.lines(words, false, (paper.room() - name_width) / size).into_iter().next().unwrap_or_default();
    let n_words = first.split_whitespace().count();
    let rest: Vec<&str> = words.split_whitespace().skip(n_words).collect();
    let plain = Lettered { size, ..PLAIN };
    let mut rows = vec![Row {
        height: size * LEADING,
        svg: bold.svg(0.0, size * 1.02, name) + &plain.svg(name_width, size * 1.02, &first),
        is_chained: !rest.is_empty(),
    }];
    rows.extend(Setting { lettering, style: plain, left: 0.0, room: paper.room() }.rows(&rest.join(" ")));
    rows
}

fn figure_row(drawing: &Figure, units: UnitSystem, paper: &Paper) -> Row {
    let scale = paper.figure_width / figure::WIDTH;
    Row {
        height: drawing.height * scale,
        svg: format!("<g transform=\"scale({scale:.4})\">{}</g>", drawing.svg_in(units)),
        is_chained: false,
    }
}

/// A line under a row of a table.
pub(super) fn under_line(width: f64, y: f64, weight: f64) -> String {
    let ink = css(crate::export::map_png::INK);
    format!("<rect x=\"0\" y=\"{y:.2}\" width=\"{width:.2}\" height=\"{weight}\" fill=\"{}\"/>", ink)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::export::in_units::InUnits;

    fn page(n_words: usize) -> Page {
        let words = Block::Words(InUnits::same("word ".repeat(n_words)));
        let question = Block::Question { id: "q".into(), words: "1. Where?".into() };
        Page {
            title: "t".into(),
            units: UnitSystem::Us,
            blocks: vec![words, question.clone(), Block::Words(InUnits::same("end"))],
        }
    }

    fn n_of(sheets: &[Sheet], what: &str) -> usize {
        sheets.iter().map(|sheet| sheet.svg.matches(what).count()).sum()
    }

    #[test]
    fn no_word_is_lost_over_pages_and_a_question_stays_with_its_text() {
        let lettering = Lettering::new();
        let paper = Paper::of(UnitSystem::Us);
        for n_words in [10, 700, 830, 845, 860, 2500] {
            let sheets = paginate(&page(n_words), &paper, "f", &lettering);
            assert_eq!(n_of(&sheets, "word"), n_words);
            let of_question = sheets.iter().position(|sheet| sheet.svg.contains("1. Where?"));
            assert_eq!(of_question, sheets.iter().position(|sheet| sheet.svg.contains(">end<")));
            assert!(sheets.iter().all(|sheet| !sheet.svg.is_empty()));
        }
        assert_eq!(paginate(&page(2500), &Paper::TELEPHONE, "f", &lettering).len(), 1);
    }
}
