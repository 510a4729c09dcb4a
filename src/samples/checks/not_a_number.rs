//! A cell that should hold a number and does not.

use super::super::number_form::NumberForm;
use crate::diagnostic::{Code, Diagnostic};
use crate::sheet::{DecimalMark, SampleTable};

/// A cell that should hold a number and does not.
pub static NOT_A_NUMBER: Code = Code {
    name: "not-a-number",
    checks: "that cells of analytes and depths hold plain numbers with the sheet's decimal mark, or a limit such as `<5`",
    why: "a word or a comma read wrongly would become a number nobody measured, or drop the sample unseen",
    example: "line 5 has `n.d.` under `K ppm`, or `5,8` under `pH`",
    mend: "write the number, `<5` where it lies below the lab's limit, nothing where nothing was measured; a word that returns is told once, in `samples.words`",
};

/// The fault of a cell that is no number, or that holds a limit where only a number fits.
pub(in crate::samples) fn fault(
    table: &SampleTable,
    line: usize,
    column_header: &str,
    text: &str,
    form: &NumberForm,
) -> Diagnostic {
    Diagnostic::error(&NOT_A_NUMBER, format!("`{text}` in column `{column_header}` is not a number"))
        .at(table.place(line, &[column_header]))
        .with_help(help(text, form))
}

fn help(text: &str, form: &NumberForm) -> String {
    let text = text.trim();
    let plain = NumberForm::default();
    if form.decimal == DecimalMark::Comma && plain.number(text).is_some() {
        return "this sheet marks decimals with a comma (`samples.sheet`): write `,`, or correct the setting"
            .to_owned();
    }
    if let Some((whole, rest)) = text.split_once(',') {
        let with_point = format!("{whole}.{rest}");
        if plain.number(&with_point).is_some() {
            // `1,471` may be 1471 or 1.471: the reader of the sheet knows, this program does not.
            return if rest.len() == 3 && !rest.contains('.') {
                format!("write `{whole}{rest}` if the comma marks thousands, `{with_point}` if it marks decimals")
            } else {
                format!(
                    "write a point as decimal mark: `{with_point}`; where the whole sheet has commas: \
                     `sheet = {{ decimal = \",\" }}` in `[samples]`"
                )
            };
        }
    }
    if text.starts_with(['<', '>']) && plain.reading(text).is_some() {
        return "a limit is read in the columns of analytes only: enter the number".to_owned();
    }
    if text.contains('\u{b0}') || text.contains('\'') {
        return "write decimal degrees, south and west negative".to_owned();
    }
    if text.parse::<f64>().is_ok_and(f64::is_finite) {
        return "write the number out, without a power of ten".to_owned();
    }
    let first = text.split_whitespace().next().unwrap_or_default();
    if first != text && plain.number(first).is_some() {
        return format!("leave only the number in the cell: `{first}`");
    }
    format!(
        "where the word means that nothing was measured: `words = {{ \"{}\" = \"blank\" }}` in `[samples]`; where it is \
         a limit: `\"<5\"` in the place of `\"blank\"`",
        text.replace('"', "'")
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_help_fits_the_cell() {
        let help = |text: &str| help(text, &NumberForm::default());
        assert!(help("5,8").starts_with("write a point as decimal mark: `5.8`; where the whole sheet has commas"));
        assert_eq!(help("1,471"), "write `1471` if the comma marks thousands, `1.471` if it marks decimals");
        assert_eq!(help("3.1 x"), "leave only the number in the cell: `3.1`");
        assert!(help("n.d.").contains("words = { \"n.d.\" = \"blank\" }"));
        assert!(help("1e5").contains("power of ten"));
        assert!(help("<5").contains("analytes only"));
        let comma = NumberForm { decimal: DecimalMark::Comma, words: Vec::new() };
        assert!(super::help("5.8", &comma).contains("marks decimals with a comma"));
    }

    #[test]
    fn the_fault_names_cell_column_and_line() {
        let table = SampleTable::read_csv("lab.csv", b"ID,K ppm\nA,n.d.\n").expect("reads");
        let fault = fault(&table, 2, "K ppm", "n.d.", &NumberForm::default());
        assert_eq!(fault.message, "`n.d.` in column `K ppm` is not a number");
        assert_eq!(fault.place.expect("has a place").to_string(), "lab.csv:2, column `K ppm`");
    }
}
