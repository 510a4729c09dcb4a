//! The lines of a field file while it is drafted, with where the open answers stand.

use super::OpenAnswer;

/// Comments start in this column where the line is shorter.
const COMMENT_COLUMN: usize = 39;

/// Lines in order.
#[derive(Debug, Default)]
pub(super) struct Lines {
    lines: Vec<String>,
    open: Vec<OpenAnswer>,
}

impl Lines {
    /// A line with a comment behind it; either may be empty.
    pub(super) fn line(&mut self, line: &str, comment: &str) {
        let comment = one_line(comment);
        self.lines.push(match (line.is_empty(), comment.is_empty()) {
            (_, true) => line.to_owned(),
            (true, false) => format!("# {comment}"),
            (false, false) => format!("{line:<width$} # {comment}", width = COMMENT_COLUMN - 1),
        });
    }

    /// A line whose answer is `"?"`, and what it is needed for.
    pub(super) fn open_line(&mut self, line: &str, key: &str, needed: &str) {
        self.line(line, needed);
        self.open(key, needed);
    }

    /// Notes that the last line holds an open answer.
    pub(super) fn open(&mut self, key: &str, needed: &str) {
        self.open.push(OpenAnswer { line: self.lines.len(), key: key.to_owned(), needed: one_line(needed) });
    }

    /// The text, and the open answers in order.
    pub(super) fn finish(self) -> (String, Vec<OpenAnswer>) {
        let mut text = self.lines.join("\n");
        text.push('\n');
        (text, self.open)
    }
}

/// A text in quotes, on one line.
pub(super) fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            c if c.is_control() => quoted.push_str(&format!("\\u{:04X}", u32::from(c))),
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}

/// Text of the sheet never breaks a comment line.
fn one_line(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn open_answers_know_their_line() {
        let mut lines = Lines::default();
        lines.line("form = 1", "form of this file");
        lines.open_line("crop = \"?\"", "field.crop", "needed for\nrates");
        let (text, open) = lines.finish();
        assert_eq!(
            text,
            format!("{:<38} # form of this file\n{:<38} # needed for rates\n", "form = 1", "crop = \"?\"")
        );
        assert_eq!((open[0].line, open[0].key.as_str()), (2, "field.crop"));
    }
}
