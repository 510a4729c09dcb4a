//! Samples older than they may be.

use super::CheckInput;
use crate::diagnostic::{Code, Diagnostic};

/// Samples older than they may be.
pub static OLD_SAMPLING: Code = Code {
    name: "old-sampling",
    checks: "that the cores were taken at most four years before the season planned for (`samples.taken`, `field.season`)",
    why: "crops draw down, lime and manure build up: every 3 to 4 years is practice (Ohio, LaBarge 2021 [R2])",
    example: "cores of 2019-10-20 for the season 2026",
    mend: "sample again, or read the map as one of the soil's lasting traits, not of its present stores",
};

/// Most years from the cores to the season. Source: Ohio State University, LaBarge 2021 \[R2\].
const MOST_YEARS: u32 = 4;

/// The year of a date such as `2026-03-02`.
pub(super) fn year_of(date: &str) -> Option<u32> {
    date.split('-').next()?.parse().ok()
}

/// At most one warning. The season planned for is the measure; no clock is read.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let (Some(taken), Some(season)) = (&input.settings.taken, input.settings.season) else { return Vec::new() };
    match year_of(taken) {
        Some(year) if season > year + MOST_YEARS => {
            let message = format!(
                "cores of {taken} for the season {season}: {} years, at most {MOST_YEARS} are practice (LaBarge 2021 [R2])",
                season - year
            );
            vec![
                Diagnostic::warning(&OLD_SAMPLING, message)
                    .at(input.key_place("samples.taken", input.settings.lines.taken))
                    .with_help("sample again; stores of K and P and pH have moved since, texture has not"),
            ]
        }
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    #[test]
    fn more_than_four_years_are_warned_with_both_dates() {
        let mut sheet = sheet("ID,x,y,pH\nA,0,0,6\n");
        sheet.settings.taken = Some("2021-10-20".to_owned());
        assert!(sheet.with_input(check).is_empty());
        sheet.settings.season = Some(2025);
        assert!(sheet.with_input(check).is_empty());
        sheet.settings.season = Some(2026);
        let found = sheet.with_input(check);
        assert_eq!(
            lines(&found),
            ["warning: cores of 2021-10-20 for the season 2026: 5 years, at most 4 are practice (LaBarge 2021 [R2])"]
        );
        assert_eq!(found[0].place.as_ref().expect("has a place").to_string(), "field.toml:13, `samples.taken`");
    }
}
