//! Cores taken after the season they are to plan.

use super::CheckInput;
use super::old_sampling::year_of;
use crate::diagnostic::{Code, Diagnostic};

/// Cores taken after the season they are to plan.
pub static SAMPLED_AFTER_SEASON: Code = Code {
    name: "sampled-after-season",
    checks: "that the cores were not taken in a year after the season planned for (`samples.taken`, `field.season`)",
    why: "one of the two years is a slip, and both are printed on every page",
    example: "cores of 2026-11-02 for the season 2025",
    mend: "correct `samples.taken` or `field.season`",
};

/// At most one error.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let (Some(taken), Some(season)) = (&input.settings.taken, input.settings.season) else { return Vec::new() };
    if year_of(taken).is_none_or(|year| year <= season) {
        return Vec::new();
    }
    let message = format!("the cores were taken on {taken}, after the season planned for, {season}");
    vec![
        Diagnostic::error(&SAMPLED_AFTER_SEASON, message)
            .at(input.key_place("samples.taken", input.settings.lines.taken))
            .with_help("correct `samples.taken` or `field.season`"),
    ]
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    #[test]
    fn a_year_after_the_season_is_a_slip() {
        let mut sheet = sheet("ID,x,y,pH\nA,0,0,6\n");
        sheet.settings.taken = Some("2025-11-02".to_owned());
        assert!(sheet.with_input(check).is_empty());
        sheet.settings.season = Some(2025);
        assert!(sheet.with_input(check).is_empty());
        sheet.settings.season = Some(2024);
        assert_eq!(
            lines(&sheet.with_input(check)),
            ["error: the cores were taken on 2025-11-02, after the season planned for, 2024"]
        );
    }
}
