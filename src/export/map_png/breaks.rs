//! Round class breaks of a continuous map, and the words for the classes between them.

/// Share of the values left open at either end, so that one odd cell does not stretch the classes of all others.
const TAIL: f64 = 0.02;

/// At most `n_classes - 1` ascending breaks on whole multiples of 1, 2 or 5 times a power of ten.
///
/// Takes the finest such step that gives no more breaks than asked for between the 2nd and the 98th percentile of
/// `values` (values that are no number are passed over). A value on a break belongs to the class above it. No values,
/// values all alike, or fewer than 2 classes give no break.
pub fn round_breaks(values: impl Iterator<Item = f64>, n_classes: usize) -> Vec<f64> {
    let mut values: Vec<f64> = values.filter(|value| value.is_finite()).collect();
    if values.is_empty() || n_classes < 2 {
        return Vec::new();
    }
    let tail = (values.len() as f64 * TAIL) as usize;
    let top = values.len() - 1 - tail;
    let low = *values.select_nth_unstable_by(tail, f64::total_cmp).1;
    let high = *values.select_nth_unstable_by(top, f64::total_cmp).1;
    // Below this spread the digits of the values themselves end.
    let spread = high - low;
    if spread <= 1e-9 * low.abs().max(high.abs()) || !spread.is_finite() {
        return Vec::new();
    }
    let mut power = (spread / n_classes as f64).log10().floor() as i32;
    loop {
        for factor in [1.0, 2.0, 5.0] {
            let breaks = multiples_between(low, high, factor, power);
            if breaks.len() < n_classes {
                return breaks;
            }
        }
        power += 1;
    }
}

/// Multiples of `factor * 10^power` above `low` and not above `high`.
fn multiples_between(low: f64, high: f64, factor: f64, power: i32) -> Vec<f64> {
    // Dividing by a whole power of ten gives the nearest float to 0.3; multiplying by 0.1 does not.
    let at = |n: f64| if power < 0 { n * factor / 10f64.powi(-power) } else { n * factor * 10f64.powi(power) };
    let first = (low / at(1.0)).floor() + 1.0;
    (0..).map(|n| at(first + f64::from(n))).take_while(|&value| value <= high).collect()
}

/// The class of a value: how many breaks are at or below it.
pub(super) fn class_of(value: f64, breaks: &[f64]) -> usize {
    breaks.iter().take_while(|&&at| at <= value).count()
}

/// Words for one class: "under 5", "5 to 10", "from 10"; `range` is the least and the most value on the map.
pub(super) fn class_words(breaks: &[f64], class: usize, range: (f64, f64)) -> String {
    let figure = |value: f64| with_decimals(value, decimals_of(breaks));
    match (class.checked_sub(1).and_then(|below| breaks.get(below)), breaks.get(class)) {
        (None, Some(&up_to)) => format!("under {}", figure(up_to)),
        (Some(&from), Some(&up_to)) => format!("{} to {}", figure(from), figure(up_to)),
        (Some(&from), None) => format!("from {}", figure(from)),
        (None, None) => {
            let (low, high) = (three_figures(range.0), three_figures(range.1));
            if low == high { low } else { format!("{low} to {high}") }
        }
    }
}

/// Fewest decimals that print every break as it is.
fn decimals_of(breaks: &[f64]) -> usize {
    let exact = |decimals: &usize| {
        let scale = 10f64.powi(*decimals as i32);
        breaks.iter().all(|at| (at * scale - (at * scale).round()).abs() <= 1e-6 * (at * scale).abs().max(1e-3))
    };
    (0..9).find(exact).unwrap_or(9)
}

fn three_figures(value: f64) -> String {
    let before_point = if value == 0.0 { 1 } else { value.abs().log10().floor() as i32 + 1 };
    with_decimals(value, (3 - before_point).clamp(0, 9) as usize)
}

/// A figure with a fixed number of decimals and commas between thousands.
pub(super) fn with_decimals(value: f64, decimals: usize) -> String {
    let plain = format!("{value:.decimals$}");
    let (sign, plain) = match plain.strip_prefix('-') {
        Some(rest) if rest.chars().any(|c| c.is_ascii_digit() && c != '0') => ("-", rest),
        Some(rest) => ("", rest),
        None => ("", plain.as_str()),
    };
    let (whole, part) = plain.split_once('.').map_or((plain, None), |(whole, part)| (whole, Some(part)));
    let mut text = sign.to_owned();
    for (index, digit) in whole.chars().enumerate() {
        // Four digits read well without a comma, but a column of mixed ones does not: always set it.
        if index > 0 && (whole.len() - index).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    if let Some(part) = part {
        text.push('.');
        text.push_str(part);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values of a fixed, uneven spread between two ends.
    fn spread(low: f64, high: f64) -> impl Iterator<Item = f64> + Clone {
        (0..500u32).map(move |n| low + (high - low) * (f64::from(n * n % 499) / 498.0))
    }

    #[test]
    fn breaks_are_round_ascending_inside_and_no_more_than_asked() {
        for (low, high) in [(3.1, 27.4), (0.0012, 0.0019), (-8.0, 4.0), (5.6, 7.3), (0.0, 1.0), (880.0, 61_000.0)] {
            for n_classes in 2..=6 {
                let breaks = round_breaks(spread(low, high), n_classes);
                assert!(!breaks.is_empty() && breaks.len() < n_classes, "{low} {high} {n_classes}: {breaks:?}");
                assert!(breaks.windows(2).all(|pair| pair[0] < pair[1]));
                assert!(breaks.iter().all(|&at| low < at && at <= high));
                let steps: Vec<f64> = breaks.windows(2).map(|pair| pair[1] - pair[0]).collect();
                for step in &steps {
                    assert!((step - steps[0]).abs() < 1e-9 * step.abs().max(1.0));
                    let lead = step / 10f64.powf((step * 1.000_001).log10().floor());
                    assert!([1.0, 2.0, 5.0].iter().any(|round| (lead - round).abs() < 1e-6), "{step}");
                    assert!(breaks.iter().all(|at| (at / step - (at / step).round()).abs() < 1e-6));
                }
            }
        }
    }

    #[test]
    fn known_breaks() {
        assert_eq!(round_breaks(spread(3.1, 27.4), 6), [5.0, 10.0, 15.0, 20.0, 25.0]);
        assert_eq!(round_breaks(spread(5.65, 6.15), 6), [5.7, 5.8, 5.9, 6.0, 6.1]);
    }

    #[test]
    fn one_odd_cell_does_not_stretch_the_classes() {
        let values = spread(3.1, 27.4).chain([900.0]);
        assert_eq!(round_breaks(values, 6), [5.0, 10.0, 15.0, 20.0, 25.0]);
    }

    #[test]
    fn nothing_to_break_gives_no_break() {
        assert!(round_breaks([].into_iter(), 5).is_empty());
        assert!(round_breaks([7.0; 40].into_iter(), 5).is_empty());
        assert!(round_breaks([f64::NAN, f64::INFINITY, 7.0].into_iter(), 5).is_empty());
        assert!(round_breaks(spread(1.0, 2.0), 1).is_empty());
    }

    #[test]
    fn a_value_on_a_break_belongs_above_and_words_say_so() {
        let breaks = [5.0, 7.5];
        assert_eq!([4.9, 5.0, 7.49, 7.5].map(|value| class_of(value, &breaks)), [0, 1, 1, 2]);
        let words: Vec<String> = (0..3).map(|class| class_words(&breaks, class, (1.0, 9.0))).collect();
        assert_eq!(words, ["under 5.0", "5.0 to 7.5", "from 7.5"]);
        assert_eq!(class_words(&[], 0, (5.25, 5.25)), "5.25");
        assert_eq!(class_words(&[], 0, (0.5, 12.0)), "0.500 to 12.0");
        assert_eq!(class_words(&[1000.0, 20_000.0], 1, (0.0, 1.0)), "1,000 to 20,000");
        assert_eq!(with_decimals(-0.001, 1), "0.0");
    }
}
