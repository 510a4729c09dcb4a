//! [`Figure`]: a number that keeps the digits the lab printed.

use crate::samples::{Limit, Reading};

/// A number, or a limit, with the lab's own digits where it is printed and not worked out.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// The number or the limit.
    pub value: f64,
    /// Which of the two.
    pub limit: Limit,
    digits: Option<String>,
}

impl Figure {
    /// A number worked out here.
    pub fn worked_out(value: f64) -> Self {
        Figure { value, limit: Limit::Exact, digits: None }
    }

    /// A limit worked out here, or a number.
    pub(super) fn of(reading: Reading) -> Self {
        Figure { value: reading.value, limit: reading.limit, digits: None }
    }

    /// A number as it stands in a cell; a rating beside it is left off.
    pub(super) fn printed(reading: Reading, cell: &str) -> Self {
        let is_digit = |c: &char| c.is_ascii_digit() || matches!(c, '.' | ',');
        let digits: String = cell.chars().skip_while(|c| !is_digit(c)).take_while(is_digit).collect();
        let digits = digits.replace(',', ".");
        let is_same = digits.parse::<f64>().is_ok_and(|value| value == reading.value.abs());
        Figure { digits: is_same.then_some(digits).filter(|_| reading.value >= 0.0), ..Figure::of(reading) }
    }

    /// The lab's digits, or `decimals` figures after the point; a limit carries its mark.
    pub fn text(&self, decimals: usize) -> String {
        const MOST_DIGITS: usize = 5;
        match self.digits.as_ref().filter(|digits| digits.len() <= MOST_DIGITS) {
            Some(digits) => format!("{}{digits}", self.mark()),
            None => self.rounded(decimals),
        }
    }

    /// The number with `decimals` figures after the point, whatever the lab printed.
    pub fn rounded(&self, decimals: usize) -> String {
        let text = format!("{:.decimals$}", self.value);
        // A minus before nothing but zeros says nothing.
        let is_zero = !text.chars().any(|c| ('1'..='9').contains(&c));
        format!("{}{}", self.mark(), if is_zero { text.trim_start_matches('-') } else { &text })
    }

    fn mark(&self) -> &'static str {
        match self.limit {
            Limit::Exact => "",
            Limit::Below => "<",
            Limit::Above => ">",
        }
    }

    /// The number that stands for the figure in a sum: half the limit below the lab's limit.
    pub(super) fn for_sums(&self) -> f64 {
        Reading { value: self.value, limit: self.limit }.map_value()
    }

    /// Mean of the figures of several cores; the same in any order. One figure stays as printed, limits of one kind
    /// stay a limit. `None` of none.
    pub(super) fn mean(figures: &[&Figure]) -> Option<Figure> {
        let first = figures.first()?;
        if figures.len() == 1 {
            return Some((*first).clone());
        }
        let is_limit = first.limit != Limit::Exact && figures.iter().all(|figure| figure.limit == first.limit);
        let mut values: Vec<f64> =
            figures.iter().map(|figure| if is_limit { figure.value } else { figure.for_sums() }).collect();
        values.sort_by(f64::total_cmp);
        let value = values.iter().sum::<f64>() / values.len() as f64;
        Some(Figure { value, limit: if is_limit { first.limit } else { Limit::Exact }, digits: None })
    }
}

/// The middle of values, or the mean of the two in the middle; `None` of none.
pub(super) fn median(values: impl Iterator<Item = f64>) -> Option<f64> {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    let upper = *values.get(values.len() / 2)?;
    Some(if values.len().is_multiple_of(2) { (values[values.len() / 2 - 1] + upper) / 2.0 } else { upper })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn printed(value: f64, limit: Limit, cell: &str) -> Figure {
        Figure::printed(Reading { value, limit }, cell)
    }

    #[test]
    fn the_labs_own_digits_are_kept() {
        assert_eq!(printed(13.0, Limit::Exact, "13").text(1), "13");
        assert_eq!(printed(13.1, Limit::Exact, " 13.10 M").text(1), "13.10");
        assert_eq!(printed(6.75, Limit::Exact, "6,75").text(1), "6.75");
        assert_eq!(printed(5.0, Limit::Below, "< 5").text(1), "<5");
        assert_eq!(printed(13.123456, Limit::Exact, "13.123456").text(1), "13.1");
        // A word told to mean a number has no digits.
        assert_eq!(printed(0.5, Limit::Below, "trace").text(1), "<0.5");
        assert_eq!(Figure::worked_out(-0.04).text(1), "0.0");
    }

    #[test]
    fn a_mean_is_the_same_in_any_order() {
        let figures = [0.1, 0.2, 0.3, 1e9].map(Figure::worked_out);
        let forth: Vec<&Figure> = figures.iter().collect();
        let back: Vec<&Figure> = figures.iter().rev().collect();
        assert_eq!(Figure::mean(&forth), Figure::mean(&back));
        let below = printed(4.0, Limit::Below, "<4");
        let exact = printed(6.0, Limit::Exact, "6");
        assert_eq!(Figure::mean(&[&below, &exact]).map(|m| m.text(1)), Some("4.0".to_owned()));
        assert_eq!(Figure::mean(&[&below, &below]).map(|m| m.text(1)), Some("<4.0".to_owned()));
        assert_eq!(Figure::mean(&[]), None);
    }

    #[test]
    fn the_median_of_an_even_count_lies_between() {
        assert_eq!(median([3.0, 1.0, 2.0].into_iter()), Some(2.0));
        assert_eq!(median([4.0, 1.0, 2.0, 3.0].into_iter()), Some(2.5));
        assert_eq!(median([].into_iter()), None);
    }
}
