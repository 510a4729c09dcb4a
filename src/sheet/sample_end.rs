//! Which lines below the samples are no samples: averages, totals, footnotes.

use super::header_search::is_number_like;
use super::records::Record;

/// First cells of lines that sum up the samples, in lower case.
const SUMMARY_WORDS: &[&str] = &[
    "average",
    "averages",
    "avg",
    "coefficient of variation",
    "count",
    "cv",
    "cv %",
    "deviation",
    "durchschnitt",
    "ecart type",
    "field average",
    "gemiddelde",
    "gesamt",
    "highest",
    "lowest",
    "max",
    "maximal",
    "maximum",
    "mean",
    "means",
    "media",
    "median",
    "min",
    "minimal",
    "minimum",
    "mittel",
    "mittelwert",
    "moyenne",
    "moyennes",
    "overall average",
    "promedio",
    "range",
    "st dev",
    "st. dev",
    "standard deviation",
    "std",
    "std dev",
    "std. dev",
    "stddev",
    "stdev",
    "sum",
    "summe",
    "total",
    "totals",
    "totaux",
    "\u{e9}cart type",
];

/// How many records at the end of `below_header` are no samples; never all of them.
pub(super) fn n_trailing(below_header: &[Record], width: usize) -> usize {
    let n = below_header.iter().rev().take_while(|record| is_no_sample(record, width)).count();
    if n == below_header.len() { 0 } else { n }
}

/// Whether the first text of a line is an average, a total or the like.
pub(super) fn is_summary(record: &Record) -> bool {
    let first = record.cells.iter().take(4).find(|cell| !cell.is_empty());
    first.is_some_and(|cell| {
        let word = cell.trim_end_matches([':', '.']).to_lowercase();
        SUMMARY_WORDS.contains(&word.as_str())
    })
}

/// A summary, a line with almost all cells blank, or a shorter line without numbers: a footnote.
fn is_no_sample(record: &Record, width: usize) -> bool {
    let n_filled = record.cells.iter().filter(|cell| !cell.is_empty()).count();
    let is_almost_blank = n_filled <= 2 && n_filled * 4 <= width;
    let is_footnote = record.cells.len() < width && !record.cells.iter().any(|cell| is_number_like(cell));
    is_summary(record) || is_almost_blank || is_footnote
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::text::separated;

    fn n(text: &str, width: usize) -> usize {
        n_trailing(&separated("lab.csv", text, ',').expect("reads"), width)
    }

    #[test]
    fn averages_and_footnotes_at_the_end_are_no_samples() {
        assert_eq!(n("A,6.1,100\nB,6.2,110\nAverage,6.15,105\nMax:,6.2,110\n* by saturated paste\n", 3), 3);
        assert_eq!(n("A,6.1,100\nB,6.2,110\nMoyenne,6.15,105\n", 3), 1);
        assert_eq!(n("A,6.1,100,1,2,3,4,5\nsee: page 2,,,,,,,\n", 8), 1);
        assert_eq!(n("A,6.1,100\nP by Bray, K by acetate\n", 3), 1);
    }

    #[test]
    fn samples_at_the_end_stay() {
        assert_eq!(n("A,6.1,100\nB,,\n", 3), 0);
        assert_eq!(n("A,6.1,100\nB,6.\n", 3), 0, "a row cut off is a fault, not a footnote");
        assert_eq!(n("Max 1,6.1\nMax 2,6.2\n", 2), 0);
        assert_eq!(n("Mean,6.1\nMax,6.2\n", 2), 0, "never all of them");
        // An average in between does not hide the samples below it.
        assert_eq!(n("A,6.1\nMean,6.1\nB,6.2\n", 2), 0);
    }
}
