//! Samples the user leaves out by name.

use super::{counted, listed};
use crate::diagnostic::{Code, Diagnostic, Place};
use crate::samples::draft::DraftSample;
use crate::samples::settings::SampleSettings;

/// Samples the user leaves out.
pub static SAMPLES_LEFT_OUT: Code = Code {
    name: "samples-left-out",
    checks: "that every name in `samples.leave_out` is that of a sample on the sheet, and says which samples do not count",
    why: "a mistyped name would leave the sample in; and whoever reads the result must know what it does not rest on",
    example: "`leave_out = [\"C07\"]`, but the sheet calls it `C-07`",
    mend: "write the names as the sheet does; take a name out to let the sample count again",
};

/// The rows that count, and what to say about the others.
pub(in crate::samples) fn leave_out(
    drafts: Vec<DraftSample>,
    settings: &SampleSettings,
) -> (Vec<DraftSample>, Vec<Diagnostic>) {
    let names = &settings.leave_out;
    if names.is_empty() {
        return (drafts, Vec::new());
    }
    let place = || Place::Key {
        file: settings.field_file.clone(),
        line: settings.lines.leave_out,
        key: "samples.leave_out".to_owned(),
    };
    let is_there = |name: &String| drafts.iter().any(|draft| draft.id == *name);
    let mut found: Vec<Diagnostic> = names
        .iter()
        .filter(|name| !is_there(name))
        .map(|name| {
            Diagnostic::error(&SAMPLES_LEFT_OUT, format!("`{name}` is to be left out, but no sample is called so"))
                .at(place())
                .with_help("write the name as the sheet does, or take it out of the list")
        })
        .collect();
    let n_all = drafts.len();
    let (left, kept): (Vec<_>, Vec<_>) = drafts.into_iter().partition(|draft| names.contains(&draft.id));
    if !left.is_empty() {
        let ids: Vec<&str> = left.iter().map(|draft| draft.id.as_str()).collect();
        let message = format!("{} of {} left out, as you say: {}", left.len(), counted(n_all, "sample"), listed(&ids));
        found.push(Diagnostic::warning(&SAMPLES_LEFT_OUT, message).at(place()));
    }
    (kept, found)
}

#[cfg(test)]
mod tests {
    use super::super::hand_made::{lines, sheet};
    use super::*;

    #[test]
    fn named_samples_do_not_count_and_a_mistyped_name_is_refused() {
        let mut sheet = sheet("ID,lon,lat,pH\nA,-83.505,41.004,6\nB,-83.506,41.005,6\nC,-83.507,41.004,6\n");
        sheet.settings.leave_out = vec!["B".to_owned(), "b".to_owned()];
        let (kept, found) = leave_out(sheet.drafts(), &sheet.settings);
        assert_eq!(kept.iter().map(|draft| draft.id.as_str()).collect::<Vec<_>>(), ["A", "C"]);
        assert_eq!(
            lines(&found),
            [
                "error: `b` is to be left out, but no sample is called so",
                "warning: 1 of 3 samples left out, as you say: `B`"
            ]
        );
        sheet.settings.leave_out.clear();
        let (kept, found) = leave_out(sheet.drafts(), &sheet.settings);
        assert_eq!((kept.len(), found.len()), (3, 0));
    }
}
