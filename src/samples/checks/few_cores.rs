//! Few cores in a sample.

use super::CheckInput;
use crate::diagnostic::{Code, Diagnostic};

/// Few cores in a sample.
pub static FEW_CORES: Code = Code {
    name: "few-cores",
    checks: "that each sample is made of at least 10 cores, where `samples.cores_per_sample` tells",
    why: "soil differs from step to step and bands of fertilizer stay: few cores tell of a spot, not of the ground round \
it (10 to 15 are practice in Ohio, LaBarge 2021 [R2]; 6 to 10 within some feet of a point in other states [R])",
    example: "`cores_per_sample = 4`",
    mend: "take 10 to 15 cores next time; until then trust differences between single samples less",
};

/// Least cores in a sample. Source: Ohio State University, LaBarge 2021, 10 to 15 \[R2\].
const LEAST_CORES: f64 = 10.0;

/// At most one warning.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let Some(cores) = input.settings.cores_per_sample.filter(|cores| *cores < LEAST_CORES) else { return Vec::new() };
    let message = format!("{cores} cores a sample, 10 to 15 are practice (LaBarge 2021 [R2])");
    vec![
        Diagnostic::warning(&FEW_CORES, message)
            .at(input.key_place("samples.cores_per_sample", input.settings.lines.cores))
            .with_help("take 10 to 15 cores next time; until then trust differences between single samples less"),
    ]
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    #[test]
    fn below_ten_cores_is_warned_and_an_untold_number_is_not() {
        let mut sheet = sheet("ID,x,y,pH\nA,0,0,6\n");
        assert!(sheet.with_input(check).is_empty());
        sheet.settings.cores_per_sample = Some(10.0);
        assert!(sheet.with_input(check).is_empty());
        sheet.settings.cores_per_sample = Some(4.0);
        let found = sheet.with_input(check);
        assert_eq!(lines(&found), ["warning: 4 cores a sample, 10 to 15 are practice (LaBarge 2021 [R2])"]);
        assert_eq!(
            found[0].place.as_ref().expect("has a place").to_string(),
            "field.toml:14, `samples.cores_per_sample`"
        );
    }
}
