//! The same sample twice.

use super::sample_at_two_places::SheetRuler;
use super::{CheckInput, first_ten};
use crate::diagnostic::{Code, Diagnostic};
use crate::samples::draft::DraftSample;

/// Two rows of one sample.
pub static DUPLICATE_SAMPLE: Code = Code {
    name: "duplicate-sample",
    checks: "that a sample name stands once at each depth",
    why: "a row pasted twice counts double, and of two different rows only one can be right",
    example: "`A-07` stands on lines 8 and 31, both 0 to 8 in",
    mend: "delete the row that does not count, or give each sample a name of its own",
};

/// An error for each name that stands more than once at one depth.
///
/// Rows of one name at two places are left to `sample-at-two-places`.
pub(super) fn check(input: &CheckInput<'_>) -> Vec<Diagnostic> {
    let ruler = SheetRuler::of(input);
    let depth = |draft: &DraftSample| draft.depth_in.map_or([f64::NEG_INFINITY; 2], |depth| depth);
    let by_depth = |a: &DraftSample, b: &DraftSample| {
        let ([a_top, a_bottom], [b_top, b_bottom]) = (depth(a), depth(b));
        a_top.total_cmp(&b_top).then(a_bottom.total_cmp(&b_bottom))
    };
    let mut sorted: Vec<&DraftSample> = input.drafts.iter().collect();
    sorted.sort_by(|a, b| a.id.cmp(&b.id).then_with(|| by_depth(a, b)).then(a.line.cmp(&b.line)));
    let groups = sorted.chunk_by(|a, b| a.id == b.id && a.depth_in == b.depth_in);
    let is_apart = |a: &DraftSample, b: &DraftSample| ruler.is_some_and(|ruler| ruler.is_apart(a, b));
    groups
        .filter(|group| group.len() > 1 && !group.iter().any(|draft| is_apart(group[0], draft)))
        .map(|group| {
            let lines: Vec<String> = group.iter().map(|draft| draft.line.to_string()).collect();
            let times = if group.len() == 2 { "twice".to_owned() } else { format!("{} times", group.len()) };
            let (last, others) = (lines[lines.len() - 1].as_str(), &lines[..lines.len() - 1]);
            let others = first_ten(others.iter().cloned());
            Diagnostic::error(
                &DUPLICATE_SAMPLE,
                format!("sample `{}` stands {times}, on lines {others} and {last}", group[0].id),
            )
            .at(input.table.place(group[1].line, &input.settings.id_columns()))
            .with_help("delete the row that does not count, or give each sample a name of its own")
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    #[test]
    fn a_name_twice_names_both_lines() {
        let found = sheet("ID,x,y,pH\nA,0,0,6\nB,9,0,6\nA,0,0,6.1\n").with_input(check);
        assert_eq!(lines(&found), ["error: sample `A` stands twice, on lines 2 and 4"]);
        assert_eq!(found[0].place.as_ref().expect("has a place").to_string(), "lab.csv:4, column `ID`");
    }

    #[test]
    fn three_rows_of_one_name_make_one_message() {
        let found = sheet("ID,x,y,pH\nA,0,0,6\nA,0,0,6\nA,0,0,6\n").with_input(check);
        assert_eq!(lines(&found), ["error: sample `A` stands 3 times, on lines 2, 3 and 4"]);
    }

    #[test]
    fn another_depth_or_a_leading_zero_is_another_sample() {
        let found = sheet("ID,x,y,From,To,pH\n12,0,0,0,8,6\n12,0,0,8,24,6\n012,9,0,0,8,6\n").with_input(check);
        assert!(found.is_empty());
        let found = sheet("ID,x,y,From,To,pH\n12,0,0,0,8,6\n12,0,0,8,24,6\n12,0,0,0,8,6\n").with_input(check);
        assert_eq!(lines(&found), ["error: sample `12` stands twice, on lines 2 and 4"]);
    }

    #[test]
    fn a_name_at_two_places_is_left_to_its_own_check() {
        assert!(sheet("ID,x,y,pH\nA,0,0,6\nA,90,0,6\n").with_input(check).is_empty());
    }
}
