//! Faults and warnings: what, where, why, how to mend.
//!
//! A stage returns its value with warnings ([`Checked`]) or *all* its faults at once (`Vec<Diagnostic>`); it never stops
//! at the first bad row. Each diagnostic carries a [`Code`], the static page that `holdground explain` prints.

use std::collections::BTreeMap;
use std::fmt::Write as _;

/// A kind of message with its user page. One static per kind, beside the check that raises it.
#[derive(Debug)]
pub struct Code {
    /// Kebab name that reads after "allow": `mixed-lab-methods`.
    pub name: &'static str,
    /// What is checked.
    pub checks: &'static str,
    /// Why it matters.
    pub why: &'static str,
    /// An invented example.
    pub example: &'static str,
    /// How to mend it.
    pub mend: &'static str,
}

impl PartialEq for Code {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

/// How much a message weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// No safe result; nothing is written.
    Error,
    /// A result is made, but a person must look.
    Warning,
    /// A fact worth knowing.
    Note,
}

impl Severity {
    /// The word printed before the code.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Note => "note",
        }
    }
}

/// Where a fault sits. Files are named as the user typed them; lines count from 1.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    /// One row of a sheet, with the columns concerned (possibly none).
    Row {
        /// File as typed.
        file: String,
        /// Line in the file, from 1.
        line: usize,
        /// Column headers.
        columns: Vec<String>,
    },
    /// One column of a sheet whose samples stand in columns, with the lines concerned (possibly none).
    Column {
        /// File as typed.
        file: String,
        /// Column in the file, from 1.
        column: usize,
        /// Header texts of the lines.
        lines: Vec<String>,
    },
    /// One key of the field file.
    Key {
        /// File as typed.
        file: String,
        /// Line in the file, from 1.
        line: usize,
        /// Dotted key, for example `samples.depth_in`.
        key: String,
    },
    /// One element of an XML file.
    Element {
        /// File as typed.
        file: String,
        /// Line in the file, from 1.
        line: usize,
        /// Element and attribute, for example `GRD/@H`.
        element: String,
    },
    /// One record of a vector file.
    Record {
        /// File as typed.
        file: String,
        /// Record in the file, from 1.
        record: usize,
        /// What of it, for example `ring 2`; possibly empty.
        part: String,
    },
    /// One cell of a grid.
    Cell {
        /// File as typed.
        file: String,
        /// Column from the west, from 1.
        column: usize,
        /// Row in the order of the file, from 1.
        row: usize,
    },
    /// A whole file.
    File(String),
    /// A zone by number, from 1.
    Zone(usize),
    /// A command-line flag or argument.
    Flag(&'static str),
}

impl std::fmt::Display for Place {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Place::Row { file, line, columns } => {
                write!(f, "{file}:{line}")?;
                match columns.len() {
                    0 => Ok(()),
                    1 => write!(f, ", column `{}`", columns[0]),
                    _ => write!(f, ", columns `{}`", columns.join("`, `")),
                }
            }
            Place::Column { file, column, lines } => {
                write!(f, "{file}, column {column} ({})", column_letters(*column))?;
                match lines.len() {
                    0 => Ok(()),
                    1 => write!(f, ", line `{}`", lines[0]),
                    _ => write!(f, ", lines `{}`", lines.join("`, `")),
                }
            }
            Place::Key { file, line, key } => write!(f, "{file}:{line}, `{key}`"),
            Place::Element { file, line, element } => write!(f, "{file}:{line}, `{element}`"),
            Place::Record { file, record, part } if part.is_empty() => write!(f, "{file}, record {record}"),
            Place::Record { file, record, part } => write!(f, "{file}, record {record}, {part}"),
            Place::Cell { file, column, row } => write!(f, "{file}, cell in column {column}, row {row}"),
            Place::File(file) => write!(f, "{file}"),
            Place::Zone(zone) => write!(f, "zone {zone}"),
            Place::Flag(flag) => write!(f, "{flag}"),
        }
    }
}

/// Letters of a column, from 1, as spreadsheet programs show them: 1 is `A`, 27 is `AA`.
fn column_letters(column: usize) -> String {
    let mut rest = column;
    let mut letters = Vec::new();
    while rest > 0 {
        rest -= 1;
        letters.push(b'A' + (rest % 26) as u8);
        rest /= 26;
    }
    letters.iter().rev().map(|letter| char::from(*letter)).collect()
}

/// One message to the user.
#[derive(Debug, Clone)]
pub struct Diagnostic {
    /// Error, warning or note.
    pub severity: Severity,
    /// Its kind, with the page `explain` prints.
    pub code: &'static Code,
    /// What is the case: stands alone, lower case, no full stop, found and expected with units.
    pub message: String,
    /// Where.
    pub place: Option<Place>,
    /// What is known beside it.
    pub notes: Vec<String>,
    /// How to mend it: an exact key, cell or command.
    pub help: Option<String>,
}

impl Diagnostic {
    /// An error without place, notes or help yet.
    pub fn error(code: &'static Code, message: impl Into<String>) -> Self {
        Self::new(Severity::Error, code, message)
    }

    /// A warning without place, notes or help yet.
    pub fn warning(code: &'static Code, message: impl Into<String>) -> Self {
        Self::new(Severity::Warning, code, message)
    }

    /// A note without place, notes or help yet.
    pub fn note(code: &'static Code, message: impl Into<String>) -> Self {
        Self::new(Severity::Note, code, message)
    }

    fn new(severity: Severity, code: &'static Code, message: impl Into<String>) -> Self {
        Diagnostic { severity, code, message: message.into(), place: None, notes: Vec::new(), help: None }
    }

    /// Adds the place.
    #[must_use]
    pub fn at(mut self, place: Place) -> Self {
        self.place = Some(place);
        self
    }

    /// Adds a `note:` line.
    #[must_use]
    pub fn with_note(mut self, note: impl Into<String>) -> Self {
        self.notes.push(note.into());
        self
    }

    /// Adds the `help:` line.
    #[must_use]
    pub fn with_help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}

/// A value that could be made, with what a person should look at.
#[derive(Debug, Clone)]
pub struct Checked<T> {
    /// The value.
    pub value: T,
    /// Warnings and notes; never errors.
    pub warnings: Vec<Diagnostic>,
}

/// `Ok` if no diagnostic is an error, else all of them.
///
/// # Errors
/// All `diagnostics`, when at least one of them is an error.
pub fn refuse_errors<T>(value: T, diagnostics: Vec<Diagnostic>) -> Result<Checked<T>, Vec<Diagnostic>> {
    if diagnostics.iter().any(|d| d.severity == Severity::Error) {
        Err(diagnostics)
    } else {
        Ok(Checked { value, warnings: diagnostics })
    }
}

/// How many unlike messages of one code are printed before "and n more of this kind".
const SHOWN_OF_A_KIND: usize = 20;
/// How many places of identical messages are printed.
const SHOWN_PLACES: usize = 3;

/// Prints diagnostics: sorted by severity and place, identical messages folded with a count.
///
/// `color` is whether ANSI colors may be used; the text is readable without.
pub fn render(diagnostics: &[Diagnostic], color: bool) -> String {
    let mut sorted: Vec<&Diagnostic> = diagnostics.iter().collect();
    sorted.sort_by(|a, b| (a.severity, &a.place).cmp(&(b.severity, &b.place)));
    let mut text = String::new();
    // The messages of each fold in their order, and where a fold stands: bad sheets bring tens of thousands.
    let mut printed: Vec<Vec<&Diagnostic>> = Vec::new();
    let mut fold_of: BTreeMap<(Severity, &str, &str), usize> = BTreeMap::new();
    for diagnostic in sorted {
        let key = (diagnostic.severity, diagnostic.code.name, diagnostic.message.as_str());
        let fold = *fold_of.entry(key).or_insert(printed.len());
        if fold == printed.len() {
            printed.push(Vec::new());
        }
        printed[fold].push(diagnostic);
    }
    let mut shown_of: Vec<(&'static str, usize)> = Vec::new();
    for fold in &printed {
        let (first, count) = (fold[0], fold.len());
        let seen = match shown_of.iter_mut().find(|(name, _)| *name == first.code.name) {
            Some((_, seen)) => {
                *seen += 1;
                *seen
            }
            None => {
                shown_of.push((first.code.name, 1));
                1
            }
        };
        if seen > SHOWN_OF_A_KIND {
            continue;
        }
        let (bold, ink, plain) = match (color, first.severity) {
            (false, _) => ("", "", ""),
            (true, Severity::Error) => ("\u{1b}[1m", "\u{1b}[1;35m", "\u{1b}[0m"),
            (true, Severity::Warning) => ("\u{1b}[1m", "\u{1b}[1;33m", "\u{1b}[0m"),
            (true, Severity::Note) => ("\u{1b}[1m", "\u{1b}[1;34m", "\u{1b}[0m"),
        };
        let tail = if count > 1 { format!(" ({count} of this kind)") } else { String::new() };
        let _ = writeln!(
            text,
            "{ink}{}[{}]{plain}: {bold}{}{plain}{tail}",
            first.severity.word(),
            first.code.name,
            first.message
        );
        let places: Vec<&Place> = fold.iter().filter_map(|diagnostic| diagnostic.place.as_ref()).collect();
        for place in places.iter().take(SHOWN_PLACES) {
            let _ = writeln!(text, "  --> {place}");
        }
        if places.len() > SHOWN_PLACES {
            let _ = writeln!(text, "  and {} more places", places.len() - SHOWN_PLACES);
        }
        for note in &first.notes {
            let _ = writeln!(text, "  note: {note}");
        }
        if let Some(help) = &first.help {
            let _ = writeln!(text, "  help: {help}");
        }
    }
    for (name, seen) in shown_of {
        if seen > SHOWN_OF_A_KIND {
            let _ = writeln!(text, "and {} more of this kind: {name}", seen - SHOWN_OF_A_KIND);
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_column_is_named_as_spreadsheet_programs_name_it() {
        let place = |column, lines: &[&str]| {
            let lines = lines.iter().map(|line| (*line).to_owned()).collect();
            Place::Column { file: "lab.csv".to_owned(), column, lines }.to_string()
        };
        assert_eq!(place(5, &["K"]), "lab.csv, column 5 (E), line `K`");
        assert_eq!(place(26, &[]), "lab.csv, column 26 (Z)");
        assert_eq!(place(27, &["K", "Mg"]), "lab.csv, column 27 (AA), lines `K`, `Mg`");
        // The last column of a workbook, by ECMA-376.
        assert_eq!(column_letters(16_384), "XFD");
    }
}
