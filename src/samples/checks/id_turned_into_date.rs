//! Sample names that a spreadsheet has turned into dates.

use super::{CheckInput, counted, listed};
use crate::diagnostic::{Code, Diagnostic};

/// Sample names that a spreadsheet has turned into dates.
pub static ID_TURNED_INTO_DATE: Code = Code {
    name: "id-turned-into-date",
    checks: "whether some sample names look like dates while others do not",
    why: "spreadsheets turn `6/29` into a date and keep `6/31` as it is: the name no longer fits bag, map or lab",
    example: "`29-Jun` between `6/31` and `7A`",
    mend: "take the names from the lab's report, and have the spreadsheet keep the column as text",
};

/// At most one warning.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let dates: Vec<_> = input.drafts.iter().filter(|draft| is_date(&draft.id)).collect();
    let Some(first) = dates.first().filter(|_| dates.len() < input.drafts.len()) else { return Vec::new() };
    let verb = if dates.len() == 1 { "looks" } else { "look" };
    let message = format!(
        "{} of {} {verb} like dates, such as `{}`: a spreadsheet may have turned `6/29` into one",
        dates.len(),
        counted(input.drafts.len(), "sample name"),
        first.id
    );
    let names: Vec<&str> = dates.iter().map(|draft| draft.id.as_str()).collect();
    vec![
        Diagnostic::warning(&ID_TURNED_INTO_DATE, message)
            .at(input.table.place(first.line, &input.settings.id_columns()))
            .with_note(listed(&names))
            .with_help("take the names from the lab's report, and have the spreadsheet keep the column as text"),
    ]
}

/// `2026-06-29`, `29-Jun`, `Jun-29`, `29-Jun-26`: what spreadsheets make of `6/29`.
fn is_date(name: &str) -> bool {
    const MONTHS: [&str; 12] = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];
    let is_month = |part: &str| MONTHS.contains(&part.to_lowercase().as_str());
    let number = |part: &str| part.parse::<u32>().ok().filter(|_| part.bytes().all(|b| b.is_ascii_digit()));
    let is_day = |part: &str| part.len() <= 2 && number(part).is_some_and(|day| (1..=31).contains(&day));
    let is_year = |part: &str| (part.len() == 4 || part.len() == 2) && number(part).is_some();
    let is_month_number = |part: &str| part.len() == 2 && number(part).is_some_and(|month| (1..=12).contains(&month));
    match name.split('-').collect::<Vec<_>>()[..] {
        [year, month, day] if is_month_number(month) => year.len() == 4 && is_year(year) && is_day(day),
        [day, month, year] if is_month(month) => is_day(day) && is_year(year),
        [day, month] if is_month(month) => is_day(day),
        [month, rest] if is_month(month) => is_day(rest) || is_year(rest),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    #[test]
    fn some_names_like_dates_are_warned_and_all_of_them_are_not() {
        let found = sheet("ID,x,y,pH\n29-Jun,0,0,6\n6/31,9,0,6\nJul-04,0,9,6\n").with_input(check);
        assert_eq!(
            lines(&found),
            ["warning: 2 of 3 sample names look like dates, such as `29-Jun`: a spreadsheet may have turned `6/29` \
                 into one"]
        );
        assert_eq!(found[0].notes, ["`29-Jun`, `Jul-04`"]);
        assert!(sheet("ID,x,y,pH\n2026-06-29,0,0,6\n2026-06-30,9,0,6\n").with_input(check).is_empty());
    }

    #[test]
    fn dates_are_told_from_names() {
        for date in ["2026-06-29", "6-Jun", "29-JUN", "Jun-29", "Jun-2029", "6-Jun-26"] {
            assert!(is_date(date), "{date}");
        }
        for name in ["6/29", "A-07", "12-08", "Pdk3-1", "2026-13-01", "40-Jun", "June-Bug", "1234-56-78", "+6-Jun", ""]
        {
            assert!(!is_date(name), "{name}");
        }
    }
}
