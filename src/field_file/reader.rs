//! Walks a TOML table key by key, remembers what was read and gathers every fault with its line.

use toml_edit::{Item, TableLike, Value};

use super::answer::Answer;
use crate::diagnostic::{Code, Diagnostic, Place};

/// The field file is not TOML.
pub static FIELD_FILE_UNREADABLE: Code = Code {
    name: "field-file-unreadable",
    checks: "that the field file is TOML",
    why: "nothing can be read from it otherwise",
    example: "a text without its closing quote",
    mend: "mend the line named; the form is shown in docs/field-file.md",
};
/// A key that is not of the form, or not of this version.
pub static UNKNOWN_KEY: Code = Code {
    name: "unknown-key",
    checks: "that every key of the field file is one this version reads",
    why: "a setting that is silently passed over, such as a distance to keep off a well, could do harm",
    example: "`goal_bu_acre` instead of `goal_bu_ac`",
    mend: "correct the key, or take it out; docs/field-file.md lists all keys",
};
/// A key the step needs is missing.
pub static MISSING_KEY: Code = Code {
    name: "missing-key",
    checks: "that the keys a step cannot do without are there",
    why: "nothing that matters is guessed",
    example: "`[samples]` without `id`",
    mend: "add the key; \"?\" keeps it open and \"unknown\" is an honest answer where the form allows it",
};
/// A value of the wrong kind, or not one of the choices.
pub static WRONG_VALUE: Code = Code {
    name: "wrong-value",
    checks: "that each value is of its kind, within its range, and one of the choices",
    why: "a number read in another meaning would change the rates",
    example: "`count = 9`, but 1 to 6 zones can be drawn",
    mend: "give a value of the kind the message names",
};

/// A setting with where it came from, for the run record.
#[derive(Debug, Clone, PartialEq)]
pub struct SettingRow {
    /// Dotted key.
    pub key: String,
    /// Value as text.
    pub value: String,
    /// `field.toml:12`, or `default`.
    pub origin: String,
}

/// Collects faults and settings while the tables are read.
pub(super) struct Reader<'a> {
    pub(super) file: &'a str,
    text: &'a str,
    pub(super) faults: Vec<Diagnostic>,
    pub(super) rows: Vec<SettingRow>,
    pub(super) open: Vec<(usize, String)>,
    pub(super) unknown: Vec<(usize, String)>,
}

/// One table of the file while it is read.
pub(super) struct Section<'a> {
    pub(super) path: String,
    pub(super) line: usize,
    table: Option<&'a dyn TableLike>,
    /// The whole table is answered "?" or "unknown".
    is_open: bool,
    taken: Vec<String>,
}

impl<'a> Reader<'a> {
    pub(super) fn new(file: &'a str, text: &'a str) -> Self {
        Reader { file, text, faults: Vec::new(), rows: Vec::new(), open: Vec::new(), unknown: Vec::new() }
    }

    pub(super) fn line_of(&self, span: Option<std::ops::Range<usize>>) -> usize {
        span.map_or(1, |span| 1 + self.text[..span.start.min(self.text.len())].matches('\n').count())
    }

    pub(super) fn place(&self, line: usize, key: &str) -> Place {
        Place::Key { file: self.file.to_owned(), line, key: key.to_owned() }
    }

    pub(super) fn fault(&mut self, code: &'static Code, line: usize, key: &str, message: String, help: &str) {
        let place = self.place(line, key);
        let fault = Diagnostic::error(code, message).at(place);
        self.faults.push(if help.is_empty() { fault } else { fault.with_help(help) });
    }

    pub(super) fn root(&self, table: &'a dyn TableLike) -> Section<'a> {
        Section { path: String::new(), line: 1, table: Some(table), is_open: false, taken: Vec::new() }
    }

    /// A table below this one; empty when it is absent.
    pub(super) fn section(&mut self, parent: &mut Section<'a>, key: &str) -> Section<'a> {
        let path = parent.path_of(key);
        parent.taken.push(key.to_owned());
        let Some(item) = parent.item(key) else {
            return Section { path, line: parent.line, table: None, is_open: parent.is_open, taken: Vec::new() };
        };
        self.section_of(item, path)
    }

    pub(super) fn section_of(&mut self, item: &'a Item, path: String) -> Section<'a> {
        let line = self.line_of(item.span());
        let table = item.as_table_like();
        let is_open = item.as_str().is_some_and(|text| self.is_unanswered(text, line, &path));
        if table.is_none() && !is_open {
            self.fault(&WRONG_VALUE, line, &path, format!("`{path}` must be a table"), "");
        }
        Section { path, line, table, is_open, taken: Vec::new() }
    }

    /// The tables of a list, as `[[key]]` or in braces; none where it is absent or still open.
    pub(super) fn sections(&mut self, parent: &mut Section<'a>, key: &str, help: &str) -> Vec<Section<'a>> {
        let path = parent.path_of(key);
        parent.taken.push(key.to_owned());
        let Some(item) = parent.item(key) else { return Vec::new() };
        let path_at = |index: usize| format!("{path}[{}]", index + 1);
        if let Some(tables) = item.as_array_of_tables() {
            let section = |(index, table): (usize, &'a toml_edit::Table)| {
                let line = self.line_of(table.span());
                Section { path: path_at(index), line, table: Some(table), is_open: false, taken: Vec::new() }
            };
            return tables.iter().enumerate().map(section).collect();
        }
        if let Some(values) = item.as_array() {
            let section = |(index, value)| self.section_of_value(value, path_at(index));
            return values.iter().enumerate().map(section).collect();
        }
        let line = self.line_of(item.span());
        if !item.as_str().is_some_and(|text| self.is_unanswered(text, line, &path)) {
            self.fault(&WRONG_VALUE, line, &path, format!("`{path}` must be a list of tables"), help);
        }
        Vec::new()
    }

    /// Whether a key read before was answered "?" or "unknown".
    pub(super) fn is_unanswered_key(&self, path: &str) -> bool {
        self.open.iter().chain(&self.unknown).any(|(_, key)| key == path)
    }

    /// Whether a key, or one below it, is answered "?".
    pub(super) fn is_open_below(&self, path: &str) -> bool {
        self.open
            .iter()
            .any(|(_, key)| key.strip_prefix(path).is_some_and(|rest| rest.is_empty() || rest.starts_with('.')))
    }

    /// Notes an answer that is still open, or honestly unknown.
    fn is_unanswered(&mut self, text: &str, line: usize, path: &str) -> bool {
        match text {
            "?" => self.open.push((line, path.to_owned())),
            "unknown" => {
                self.unknown.push((line, path.to_owned()));
                self.row(path, "unknown", line);
            }
            _ => return false,
        }
        true
    }

    pub(super) fn section_of_value(&mut self, value: &'a Value, path: String) -> Section<'a> {
        let line = self.line_of(value.span());
        let table = value.as_inline_table().map(|table| table as &dyn TableLike);
        if table.is_none() {
            self.fault(&WRONG_VALUE, line, &path, format!("`{path}` must be a table in braces"), "");
        }
        Section { path, line, table, is_open: false, taken: Vec::new() }
    }

    fn answer<T>(
        &mut self,
        section: &mut Section<'a>,
        key: &str,
        kind: &str,
        read: impl FnOnce(&'a Value) -> Option<T>,
    ) -> Answer<T> {
        let path = section.path_of(key);
        section.taken.push(key.to_owned());
        let Some(item) = section.item(key) else { return Answer::Absent };
        let line = self.line_of(item.span());
        let Some(value) = item.as_value() else {
            self.fault(&WRONG_VALUE, line, &path, format!("`{path}` must be {kind}"), "");
            return Answer::Absent;
        };
        if let Some(text) = value.as_str()
            && self.is_unanswered(text, line, &path)
        {
            return if text == "?" { Answer::Open } else { Answer::Unknown };
        }
        match read(value) {
            Some(read) => {
                self.row(&path, &bare(value), line);
                Answer::Given(read)
            }
            None => {
                let message = format!("`{path}` must be {kind}, found: {}", bare(value));
                self.fault(&WRONG_VALUE, line, &path, message, "");
                Answer::Absent
            }
        }
    }

    fn row(&mut self, key: &str, value: &str, line: usize) {
        let origin = format!("{}:{line}", self.file);
        self.rows.push(SettingRow { key: key.to_owned(), value: value.to_owned(), origin });
    }

    /// Line of the setting whose key ends with `key` and whose value is a text, `value`.
    pub(super) fn line_of_row(&self, value: &str, key: &str) -> Option<usize> {
        let is_it = |row: &&SettingRow| row.key.ends_with(key) && row.value.trim_matches('"') == value;
        self.rows.iter().find(is_it)?.origin.rsplit_once(':')?.1.parse().ok()
    }

    /// Records a value the file does not state.
    pub(super) fn default_row(&mut self, key: &str, value: &str) {
        self.rows.push(SettingRow { key: key.to_owned(), value: value.to_owned(), origin: "default".to_owned() });
    }

    pub(super) fn text(&mut self, section: &mut Section<'a>, key: &str) -> Answer<String> {
        self.answer(section, key, "a text", |value| value.as_str().map(str::to_owned))
    }

    pub(super) fn number(&mut self, section: &mut Section<'a>, key: &str) -> Answer<f64> {
        self.answer(section, key, "a number", as_number)
    }

    /// A number or a list of numbers.
    pub(super) fn numbers(&mut self, section: &mut Section<'a>, key: &str) -> Answer<Vec<f64>> {
        self.answer(section, key, "a number or a list of numbers", |value| match value.as_array() {
            Some(list) => list.iter().map(as_number).collect(),
            None => as_number(value).map(|number| vec![number]),
        })
    }

    pub(super) fn texts(&mut self, section: &mut Section<'a>, key: &str) -> Answer<Vec<String>> {
        self.answer(section, key, "a list of texts", |value| {
            value.as_array()?.iter().map(|text| text.as_str().map(str::to_owned)).collect()
        })
    }

    pub(super) fn truth(&mut self, section: &mut Section<'a>, key: &str) -> Answer<bool> {
        self.answer(section, key, "true or false", Value::as_bool)
    }

    pub(super) fn date(&mut self, section: &mut Section<'a>, key: &str) -> Answer<String> {
        self.answer(section, key, "a date such as 2026-03-02", |value| {
            let date = value.as_datetime()?;
            (date.date.is_some() && date.time.is_none()).then(|| date.to_string())
        })
    }

    /// A list of tables in braces.
    pub(super) fn tables(&mut self, section: &mut Section<'a>, key: &str) -> Answer<Vec<&'a Value>> {
        self.answer(section, key, "a list of tables in braces", |value| {
            let list: Vec<&Value> = value.as_array()?.iter().collect();
            list.iter().all(|value| value.is_inline_table()).then_some(list)
        })
    }

    /// The given value, or a fault that the key is missing; open and unknown answers read as missing too, untold.
    pub(super) fn required<T>(&mut self, section: &Section<'a>, key: &str, answer: Answer<T>) -> Option<T> {
        if matches!(answer, Answer::Absent) && !section.is_open && !self.told(&section.path_of(key)) {
            let path = section.path_of(key);
            self.fault(&MISSING_KEY, section.line, &path, format!("`{path}` is missing"), "");
        }
        answer.given()
    }

    /// Whether a fault of a key was told.
    pub(super) fn told(&self, path: &str) -> bool {
        self.faults.iter().any(|fault| matches!(&fault.place, Some(Place::Key { key, .. }) if key == path))
    }

    /// Told once a table is read: keys nobody asked for.
    pub(super) fn finish(&mut self, section: Section<'a>) {
        let Some(table) = section.table else { return };
        for (key, item) in table.iter() {
            if section.taken.iter().any(|taken| taken == key) {
                continue;
            }
            let line = self.line_of(table.key(key).and_then(toml_edit::Key::span).or_else(|| item.span()));
            let path = section.path_of(key);
            let near = section
                .taken
                .iter()
                .filter(|taken| letters_apart(taken, key) <= 3)
                .min_by_key(|t| letters_apart(t, key));
            let help = match near {
                Some(near) => format!("write `{near}`, if that is meant"),
                None => format!("this version reads here: `{}`", section.taken.join("`, `")),
            };
            self.fault(&UNKNOWN_KEY, line, &path, format!("`{path}` is not a key this version reads"), &help);
        }
    }
}

impl<'a> Section<'a> {
    pub(super) fn is_there(&self) -> bool {
        self.table.is_some()
    }

    /// Whether the whole table is answered "?" or "unknown".
    pub(super) fn is_open(&self) -> bool {
        self.is_open
    }

    pub(super) fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    fn item(&self, key: &str) -> Option<&'a Item> {
        self.table.and_then(|table| table.get(key)).filter(|item| !item.is_none())
    }

    /// Line of a key, or of the table.
    pub(super) fn line_of(&self, reader: &Reader<'_>, key: &str) -> usize {
        self.item(key).map_or(self.line, |item| reader.line_of(item.span()))
    }

    /// Counts a key as read.
    pub(super) fn take(&mut self, key: &str) {
        self.taken.push(key.to_owned());
    }

    /// Whether a key is there, whatever it holds.
    pub(super) fn has(&self, key: &str) -> bool {
        self.item(key).is_some()
    }

    /// Whether a key holds a text rather than a table.
    pub(super) fn is_text(&self, key: &str) -> bool {
        self.item(key).is_some_and(|item| item.as_str().is_some())
    }

    /// Whether a key holds a list, in brackets or as `[[key]]`.
    pub(super) fn is_list(&self, key: &str) -> bool {
        self.item(key).is_some_and(|item| item.is_array() || item.is_array_of_tables())
    }

    /// Whether a key holds a table.
    pub(super) fn is_table(&self, key: &str) -> bool {
        self.item(key).is_some_and(Item::is_table_like)
    }

    /// Keys and items in file order, all taken.
    pub(super) fn entries(&mut self) -> Vec<(String, &'a Item)> {
        let Some(table) = self.table else { return Vec::new() };
        let entries: Vec<_> = table.iter().map(|(key, item)| (key.to_owned(), item)).collect();
        self.taken.extend(entries.iter().map(|(key, _)| key.clone()));
        entries
    }
}

/// A number within a range; a fault outside it.
pub(super) fn ranged<'a>(
    reader: &mut Reader<'a>,
    section: &mut Section<'a>,
    key: &str,
    least: f64,
    most: f64,
) -> Option<f64> {
    let number = reader.number(section, key).given()?;
    if (least..=most).contains(&number) {
        return Some(number);
    }
    wrong(reader, section, key, format!("{number} must lie between {least} and {most}"));
    None
}

/// A whole number within a range; a fault otherwise.
pub(super) fn whole<'a>(
    reader: &mut Reader<'a>,
    section: &mut Section<'a>,
    key: &str,
    least: f64,
    most: f64,
) -> Option<usize> {
    let number = ranged(reader, section, key, least, most)?;
    if number.fract() == 0.0 {
        return Some(number as usize);
    }
    wrong(reader, section, key, format!("{number} must be a whole number"));
    None
}

/// One of a few words; a fault that lists them otherwise.
pub(super) fn choice<'a, T>(
    reader: &mut Reader<'a>,
    section: &mut Section<'a>,
    key: &str,
    parse: impl Fn(&str) -> Option<T>,
    words: &[&str],
) -> Answer<T> {
    let answer = reader.text(section, key);
    answer.and_then(|text| {
        let parsed = parse(&text);
        if parsed.is_none() {
            let path = section.path_of(key);
            let line = section.line_of(reader, key);
            let message = format!("`{text}` is not one of `{}`", words.join("`, `"));
            reader.fault(&WRONG_VALUE, line, &path, message, "");
        }
        parsed
    })
}

/// A fault in the value of a key.
pub(super) fn wrong<'a>(reader: &mut Reader<'a>, section: &Section<'a>, key: &str, message: String) {
    let line = section.line_of(reader, key);
    reader.fault(&WRONG_VALUE, line, &section.path_of(key), message, "");
}

/// The value as typed, without the spaces and comment round it.
fn bare(value: &Value) -> String {
    value.clone().decorated("", "").to_string()
}

fn as_number(value: &Value) -> Option<f64> {
    let number = value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64))?;
    number.is_finite().then_some(number)
}

/// Letters to change, add or drop to get from one word to the other (Levenshtein distance).
fn letters_apart(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, from) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, to) in b.iter().enumerate() {
            let change = diagonal + usize::from(from != *to);
            diagonal = row[j + 1];
            row[j + 1] = change.min(row[j] + 1).min(row[j + 1] + 1);
        }
    }
    row[b.len()]
}
