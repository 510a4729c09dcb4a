//! Which lines of an untidy sheet are its header.

use std::cell::RefCell;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use super::assemble::joined_header;
use super::records::Record;

/// Records from the top among which a header is looked for.
const MOST_LINES: usize = 60;
/// Most header rows that are joined, a row of units not counted.
const MOST_HEADER_ROWS: usize = 3;
/// Columns looked at.
const MOST_COLUMNS: usize = 400;
/// Longest header text, bytes.
const LONGEST_HEADER: usize = 200;

/// Units as labs print them below a header, in lower case without blanks.
const UNITS: &[&str] = &[
    "%",
    "-",
    "ac",
    "c",
    "cm",
    "cmol/kg",
    "cmol(+)/kg",
    "cmolc/kg",
    "deg",
    "degrees",
    "dm",
    "ds/m",
    "g/cm3",
    "g/kg",
    "g/l",
    "ha",
    "in",
    "inch",
    "inches",
    "kg/ha",
    "lb/a",
    "lb/ac",
    "lb/acre",
    "lbs/a",
    "lbs/ac",
    "lbs/acre",
    "m",
    "meq/100g",
    "meq/100ml",
    "mg/100g",
    "mg/dm3",
    "mg/kg",
    "mg/l",
    "mm",
    "mmho/cm",
    "mmhos/cm",
    "mmol/kg",
    "ms/cm",
    "none",
    "percent",
    "ppb",
    "ppm",
    "unitless",
    "us/cm",
    "\u{b0}",
    "\u{b5}s/cm",
];

/// Asks whether a header text is known, each text once.
pub(super) struct KnownHeaders<'a> {
    is_known: &'a dyn Fn(&str) -> bool,
    answers: RefCell<BTreeMap<String, bool>>,
}

impl<'a> KnownHeaders<'a> {
    pub(super) fn new(is_known: &'a dyn Fn(&str) -> bool) -> Self {
        KnownHeaders { is_known, answers: RefCell::new(BTreeMap::new()) }
    }

    fn knows(&self, header: &str) -> bool {
        if header.is_empty() || header.len() > LONGEST_HEADER || is_number_like(header) {
            return false;
        }
        if let Some(answer) = self.answers.borrow().get(header) {
            return *answer;
        }
        let answer = (self.is_known)(header);
        self.answers.borrow_mut().insert(header.to_owned(), answer);
        answer
    }

    fn count(&self, headers: &[String]) -> usize {
        // A text that stands twice counts once: a column of `S`, `B`, `K` would pass for a header otherwise.
        let known: std::collections::BTreeSet<&str> =
            headers.iter().map(String::as_str).filter(|header| self.knows(header)).collect();
        known.len()
    }
}

/// A header found: records `first..first + n_rows`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct FoundHeader {
    pub(super) first: usize,
    pub(super) n_rows: usize,
    /// Columns whose header is known.
    pub(super) n_known: usize,
}

/// The header among the first records; `None` without records.
///
/// Takes the most known headers; among equals the fewest texts that stand twice, then the fewest rows, then the top. A
/// row of units below is joined if no known header is lost by it. Where nothing is known, the first row of texts as
/// wide as the rows below it, else the first row.
pub(super) fn find(records: &[Record], known: &KnownHeaders<'_>) -> Option<FoundHeader> {
    let n_lines = records.len().min(MOST_LINES);
    let mut best: Option<(_, FoundHeader)> = None;
    for first in 0..n_lines {
        for n_rows in 1..=MOST_HEADER_ROWS.min(n_lines - first) {
            if n_rows > 1 && records[first..first + n_rows].iter().any(has_number) {
                break;
            }
            let names = names_of(&records[first..first + n_rows]);
            let n_known = known.count(&names);
            if n_known == 0 {
                continue;
            }
            let merit = (n_known, Reverse(n_repeated(&names)), Reverse(n_rows), Reverse(first));
            if best.as_ref().is_none_or(|(least, _)| merit > *least) {
                best = Some((merit, FoundHeader { first, n_rows, n_known }));
            }
        }
    }
    let Some((_, mut found)) = best else {
        return (!records.is_empty()).then(|| FoundHeader {
            first: first_row_of_texts(records),
            n_rows: 1,
            n_known: 0,
        });
    };
    let next = found.first + found.n_rows;
    if records.get(next).is_some_and(is_units) {
        let n_known = known.count(&names_of(&records[found.first..=next]));
        if n_known >= found.n_known {
            found = FoundHeader { n_rows: found.n_rows + 1, n_known, ..found };
        }
    }
    Some(found)
}

fn names_of(records: &[Record]) -> Vec<String> {
    let rows: Vec<&[String]> =
        records.iter().map(|record| &record.cells[..record.cells.len().min(MOST_COLUMNS)]).collect();
    joined_header(&rows)
}

/// How many texts stand somewhere to the left already.
fn n_repeated(names: &[String]) -> usize {
    let texts: Vec<&String> = names.iter().filter(|name| !name.is_empty()).collect();
    texts.len() - texts.iter().collect::<BTreeSet<_>>().len()
}

fn has_number(record: &Record) -> bool {
    record.cells.iter().any(|cell| is_number_like(cell))
}

fn is_units(record: &Record) -> bool {
    let is_unit = |cell: &String| {
        let bare: String = cell.chars().filter(|c| !c.is_whitespace() && !"()[]".contains(*c)).collect();
        UNITS.contains(&bare.to_lowercase().as_str())
    };
    let mut cells = record.cells.iter().filter(|cell| !cell.is_empty()).peekable();
    cells.peek().is_some() && cells.all(is_unit)
}

/// Index of the first row that holds texts only and fills at least 6 of 10 columns of the widest row; else 0.
fn first_row_of_texts(records: &[Record]) -> usize {
    let n_filled = |record: &Record| record.cells.iter().filter(|cell| !cell.is_empty()).count();
    let looked_at = &records[..records.len().min(MOST_LINES)];
    let most = looked_at.iter().map(n_filled).max().unwrap_or(0);
    looked_at.iter().position(|record| !has_number(record) && n_filled(record) * 10 >= most * 6).unwrap_or(0)
}

/// Whether a cell reads as a number with point or comma, or as a limit such as `<5`.
pub(super) fn is_number_like(cell: &str) -> bool {
    let number = cell.trim_start_matches(['<', '>']).trim_start();
    let digits = number.trim_start_matches(['-', '+']);
    digits.bytes().any(|b| b.is_ascii_digit()) && digits.bytes().all(|b| b.is_ascii_digit() || b == b'.' || b == b',')
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::text::separated;

    const KNOWN: &[&str] = &[
        "Sample ID",
        "pH",
        "K ppm",
        "K",
        "Mg ppm",
        "Calcium Found",
        "Calcium Desired",
        "Magnesium Found",
        "Magnesium Desired",
        "CEC meq/100g",
    ];

    fn found(text: &str) -> (usize, usize, usize) {
        let records = separated("lab.csv", text, ',').expect("reads");
        let is_known = |header: &str| KNOWN.contains(&header);
        let found = find(&records, &KnownHeaders::new(&is_known)).expect("has records");
        (found.first, found.n_rows, found.n_known)
    }

    #[test]
    fn a_title_block_is_passed_over() {
        assert_eq!(found("Soil report,,\nField:,North,\nSample ID,pH,K ppm\nA,6.1,100\n"), (2, 1, 3));
        assert_eq!(found("Sample ID,pH\nA,6.1\n"), (0, 1, 2));
    }

    #[test]
    fn groups_above_and_units_below_are_joined() {
        let groups = "Report\nSample ID,Calcium,,Magnesium,\n,Desired,Found,Desired,Found\nA,1,2,3,4\n";
        assert_eq!(found(groups), (1, 2, 5));
        assert_eq!(found("Sample ID,pH,K,CEC\n,,ppm,meq/100g\nA,6.1,100,9\n"), (0, 2, 4));
        // `K ppm` alone would do, but a row of units is no sample.
        assert_eq!(found("Sample ID,pH,K\n,,(ppm)\nA,6.1,100\n"), (0, 1, 3));
        assert_eq!(found("Sample ID,pH,K\n,,ppm\nA,6.1,100\n"), (0, 2, 3));
    }

    #[test]
    fn where_nothing_is_known_the_first_wide_row_of_texts_is_taken() {
        assert_eq!(found("Report\nSpot,Alpha,Beta\n1,2,3\n2,3,4\n"), (1, 1, 0));
        assert_eq!(found("1,2\n3,4\n"), (0, 1, 0));
    }

    #[test]
    fn number_like() {
        for cell in ["6.2", "6,2", "<5", "< 0.5", "-93.5", ">600", "1,471"] {
            assert!(is_number_like(cell), "{cell}");
        }
        for cell in ["", "A-01", "6/29", "-", "1 M", "pH"] {
            assert!(!is_number_like(cell), "{cell}");
        }
    }
}
