//! Depths printed in one cell: `0-6`, `6 to 24`, or the bottom alone.

use super::number_form::NumberForm;

/// Top and bottom in the unit of the column; a plain number is the bottom of a core that starts at the surface.
///
/// `None` where the cell is neither. A unit behind the figures (`0-6 in`, `0-15 cm`, `12"`) is left aside.
pub fn depth_span(text: &str, numbers: &NumberForm) -> Option<[f64; 2]> {
    let plain = text.trim().to_lowercase().replace(['\u{2013}', '\u{2014}'], "-");
    let plain = ["inches", "inch", "in.", "in", "cm", "\"", "\u{2033}", "\u{201d}", "''"]
        .iter()
        .find_map(|unit| plain.strip_suffix(unit))
        .unwrap_or(&plain)
        .trim();
    if let Some(bottom) = numbers.number(plain) {
        return Some([0.0, bottom]);
    }
    let (top, bottom) = plain.split_once('-').or_else(|| plain.split_once(" to "))?;
    Some([numbers.number(top.trim())?, numbers.number(bottom.trim())?])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_are_read_in_their_common_forms() {
        let read = |text: &str| depth_span(text, &NumberForm::default());
        for text in ["0-6", "0 - 6", "0\u{2013}6", "0 to 6", "0-6 in", "0-6\"", "6", "6\"", "0-6 Inches"] {
            assert_eq!(read(text), Some([0.0, 6.0]), "{text}");
        }
        assert_eq!(read("6-24"), Some([6.0, 24.0]));
        for text in ["", "top", "0-6-12", "a-6", "0-", "-"] {
            assert_eq!(read(text), None, "{text}");
        }
    }
}
