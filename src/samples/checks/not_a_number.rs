//! A cell that should hold a number and does not.

use super::super::sample::{Limit, Reading};
use super::super::table::SampleTable;
use crate::diagnostic::{Code, Diagnostic};

/// A cell that should hold a number and does not.
pub static NOT_A_NUMBER: Code = Code {
    name: "not-a-number",
    checks: "that cells of analytes, places and depths hold plain numbers with a decimal point, or a limit such as `<5`",
    why: "a word or a comma read wrongly would become a number nobody measured, or drop the sample unseen",
    example: "line 5 has `n.d.` under `K ppm`, or `5,8` under `pH`",
    mend: "write the number with a point; `<5` where it lies below the lab's limit; leave the cell blank where nothing was measured",
};

/// Reads a plain decimal number, or a lower limit (`<5`, `< 5`).
///
/// `None` for all else: no powers of ten, no decimal comma, no words, no upper limit, no blank.
pub(in crate::samples) fn read(text: &str) -> Option<Reading> {
    match text.trim().strip_prefix('<') {
        Some(limit) => {
            let limit = limit.trim_start();
            let value = if limit.starts_with(['+', '-']) { None } else { plain_number(limit) }?;
            (value > 0.0).then_some(Reading { value, limit: Limit::Below })
        }
        None => Some(Reading { value: plain_number(text.trim())?, limit: Limit::Exact }),
    }
}

fn plain_number(text: &str) -> Option<f64> {
    let unsigned = text.strip_prefix(['+', '-']).unwrap_or(text);
    let n_points = unsigned.bytes().filter(|b| *b == b'.').count();
    let has_digit = unsigned.bytes().any(|b| b.is_ascii_digit());
    let is_plain = has_digit && n_points <= 1 && unsigned.bytes().all(|b| b.is_ascii_digit() || b == b'.');
    // A cell of some hundred digits parses to infinity.
    if is_plain { text.parse().ok().filter(|value: &f64| value.is_finite()) } else { None }
}

/// The fault of a cell that [`read`] refused, or that holds a limit where only a number fits.
pub(in crate::samples) fn fault(table: &SampleTable, line: usize, column_header: &str, text: &str) -> Diagnostic {
    Diagnostic::error(&NOT_A_NUMBER, format!("`{text}` in column `{column_header}` is not a number"))
        .at(table.place(line, &[column_header]))
        .with_help(help(text))
}

fn help(text: &str) -> String {
    let text = text.trim();
    if let Some((whole, rest)) = text.split_once(',') {
        let with_point = format!("{whole}.{rest}");
        if plain_number(&with_point).is_some() {
            // `1,471` may be 1471 or 1.471: the reader of the sheet knows, this program does not.
            return if rest.len() == 3 && !rest.contains('.') {
                format!("write `{whole}{rest}` if the comma marks thousands, `{with_point}` if it marks decimals")
            } else {
                format!("write a point as decimal mark: `{with_point}`")
            };
        }
    }
    if text.starts_with('>') || text.starts_with('≥') {
        return "a reading above the lab's limit is not read by this version: enter the number, or leave the cell blank"
            .to_owned();
    }
    if text.starts_with('<') && read(text).is_some() {
        return "a limit is read in the columns of analytes only: enter the number".to_owned();
    }
    if text.contains('°') || text.contains('\'') {
        return "write decimal degrees, south and west negative".to_owned();
    }
    if text.parse::<f64>().is_ok_and(f64::is_finite) {
        return "write the number out, without a power of ten".to_owned();
    }
    let first = text.split_whitespace().next().unwrap_or_default();
    if first != text && plain_number(first).is_some() {
        return format!("leave only the number in the cell: `{first}`");
    }
    "leave the cell blank where nothing was measured; write `<` and the lab's limit where nothing was found".to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plain_numbers_and_lower_limits_are_read() {
        let exact = |text: &str| read(text).filter(|r| r.limit == Limit::Exact).map(|r| r.value);
        assert_eq!(exact("5.8"), Some(5.8));
        assert_eq!(exact("-93.504807"), Some(-93.504807));
        assert_eq!(exact("+3"), Some(3.0));
        assert_eq!(exact(".3"), Some(0.3));
        assert_eq!(read("<5"), Some(Reading { value: 5.0, limit: Limit::Below }));
        assert_eq!(read("< 0.5"), Some(Reading { value: 0.5, limit: Limit::Below }));
    }

    #[test]
    fn all_else_is_refused() {
        for text in
            ["", "5,8", "nan", "inf", "1e5", ">600", "ND", "n.d.", "3.1 M", "2-", "<", "<0", "<-5", ".", "1.2.3", "--1"]
        {
            assert_eq!(read(text), None, "{text}");
        }
        assert_eq!(read(&"9".repeat(400)), None);
    }

    #[test]
    fn the_help_fits_the_cell() {
        assert_eq!(help("5,8"), "write a point as decimal mark: `5.8`");
        assert_eq!(help("1,471"), "write `1471` if the comma marks thousands, `1.471` if it marks decimals");
        assert_eq!(help("3.1 M"), "leave only the number in the cell: `3.1`");
        assert!(help(">600").contains("not read by this version"));
        assert!(help("n.d.").starts_with("leave the cell blank"));
        assert!(help("1e5").contains("power of ten"));
        assert!(help("<5").contains("analytes only"));
    }

    #[test]
    fn the_fault_names_cell_column_and_line() {
        let table = SampleTable::read_csv("lab.csv", b"ID,K ppm\nA,n.d.\n").expect("reads");
        let fault = fault(&table, 2, "K ppm", "n.d.");
        assert_eq!(fault.message, "`n.d.` in column `K ppm` is not a number");
        assert_eq!(fault.place.expect("has a place").to_string(), "lab.csv:2, column `K ppm`");
    }
}
