//! Walks a guide's TOML key by key and gathers every fault with its line. A guide has no open answers.

use toml_edit::{Item, TableLike, Value};

use super::evidence::{Backed, Backing, Evidence};
use super::{GUIDE_FILE_FORM, GUIDE_RISES};
use crate::diagnostic::{Code, Diagnostic, Place};

/// Faults of one guide file.
pub(super) struct Faults<'a> {
    file: &'a str,
    text: &'a str,
    pub(super) list: Vec<Diagnostic>,
}

/// One table while it is read.
pub(super) struct Walk<'a> {
    pub(super) path: String,
    pub(super) line: usize,
    table: &'a dyn TableLike,
    taken: Vec<String>,
}

impl<'a> Faults<'a> {
    pub(super) fn new(file: &'a str, text: &'a str) -> Self {
        Faults { file, text, list: Vec::new() }
    }

    pub(super) fn line_of(&self, span: Option<std::ops::Range<usize>>) -> usize {
        span.map_or(1, |span| 1 + self.text[..span.start.min(self.text.len())].matches('\n').count())
    }

    fn tell(&mut self, code: &'static Code, line: usize, key: &str, message: String, help: String) {
        let place = Place::Key { file: self.file.to_owned(), line, key: key.to_owned() };
        self.list.push(Diagnostic::error(code, message).at(place).with_help(help));
    }

    /// A value that is not of the form.
    pub(super) fn form(&mut self, line: usize, key: &str, message: impl Into<String>, help: impl Into<String>) {
        self.tell(&GUIDE_FILE_FORM, line, key, message.into(), help.into());
    }

    /// Rates that go the wrong way.
    pub(super) fn rises(&mut self, line: usize, key: &str, message: impl Into<String>, help: impl Into<String>) {
        self.tell(&GUIDE_RISES, line, key, message.into(), help.into());
    }

    /// Whether a fault of a key was told.
    pub(super) fn is_told(&self, path: &str) -> bool {
        self.list.iter().any(|fault| matches!(&fault.place, Some(Place::Key { key, .. }) if key == path))
    }
}

impl<'a> Walk<'a> {
    pub(super) fn root(table: &'a dyn TableLike) -> Self {
        Walk { path: String::new(), line: 1, table, taken: Vec::new() }
    }

    pub(super) fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    fn item(&self, key: &str) -> Option<&'a Item> {
        self.table.get(key).filter(|item| !item.is_none())
    }

    /// Counts a key as read.
    pub(super) fn take(&mut self, key: &str) {
        self.taken.push(key.to_owned());
    }

    pub(super) fn has(&self, key: &str) -> bool {
        self.item(key).is_some()
    }

    /// Line of a key, or of the table.
    pub(super) fn line_of(&self, faults: &Faults<'_>, key: &str) -> usize {
        self.item(key).map_or(self.line, |item| faults.line_of(item.span()))
    }

    /// A value of a key that is not of the form.
    pub(super) fn wrong(
        &self,
        faults: &mut Faults<'_>,
        key: &str,
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        faults.form(self.line_of(faults, key), &self.path_of(key), message, help);
    }

    /// The value of a key read by `read`; `None` where it is absent or not of its kind, which is told.
    fn value<T>(
        &mut self,
        faults: &mut Faults<'_>,
        key: &str,
        kind: &str,
        read: impl FnOnce(&'a Item) -> Option<T>,
    ) -> Option<T> {
        self.taken.push(key.to_owned());
        let item = self.item(key)?;
        let read = read(item);
        if read.is_none() {
            let found = item.as_value().map_or_else(|| "a table".to_owned(), bare);
            let message = format!("`{}` is not {kind}, found: {found}", self.path_of(key));
            self.wrong(faults, key, message, format!("write {kind}"));
        }
        read
    }

    /// A value the guide cannot do without; told where it is absent.
    pub(super) fn must<T>(&self, faults: &mut Faults<'_>, key: &str, value: Option<T>) -> Option<T> {
        let path = self.path_of(key);
        if value.is_none() && !self.has(key) && !faults.is_told(&path) {
            faults.form(
                self.line,
                &path,
                format!("`{path}` is missing"),
                format!("add `{key}`; docs/guides.md shows the form"),
            );
        }
        value
    }

    pub(super) fn text(&mut self, faults: &mut Faults<'_>, key: &str) -> Option<String> {
        self.value(faults, key, "a text", |item| {
            item.as_str().filter(|text| !text.trim().is_empty()).map(str::to_owned)
        })
    }

    pub(super) fn texts(&mut self, faults: &mut Faults<'_>, key: &str) -> Option<Vec<String>> {
        self.value(faults, key, "a list of texts", |item| {
            item.as_array()?.iter().map(|text| text.as_str().map(str::to_owned)).collect()
        })
    }

    pub(super) fn yes(&mut self, faults: &mut Faults<'_>, key: &str) -> bool {
        self.value(faults, key, "true or false", Item::as_bool).unwrap_or(false)
    }

    /// A number within a range.
    pub(super) fn number(&mut self, faults: &mut Faults<'_>, key: &str, [least, most]: [f64; 2]) -> Option<f64> {
        let kind = format!("a number from {least} to {most}");
        self.value(faults, key, &kind, |item| {
            as_number(item.as_value()?).filter(|number| (least..=most).contains(number))
        })
    }

    /// A list of numbers, each within a range.
    pub(super) fn numbers(&mut self, faults: &mut Faults<'_>, key: &str, [least, most]: [f64; 2]) -> Option<Vec<f64>> {
        let kind = format!("a list of numbers from {least} to {most}");
        self.value(faults, key, &kind, |item| {
            let numbers: Option<Vec<f64>> = item.as_array()?.iter().map(as_number).collect();
            numbers.filter(|list| !list.is_empty() && list.iter().all(|number| (least..=most).contains(number)))
        })
    }

    /// A word that names something.
    pub(super) fn named<T>(
        &mut self,
        faults: &mut Faults<'_>,
        key: &str,
        parse: impl Fn(&str) -> Option<T>,
        words: &[&str],
    ) -> Option<T> {
        let kind = format!("one of `{}`", words.join("`, `"));
        self.value(faults, key, &kind, |item| item.as_str().and_then(parse))
    }

    /// A list of words that each name something.
    pub(super) fn all_named<T>(
        &mut self,
        faults: &mut Faults<'_>,
        key: &str,
        parse: impl Fn(&str) -> Option<T>,
        words: &[&str],
    ) -> Option<Vec<T>> {
        let kind = format!("a list of some of `{}`", words.join("`, `"));
        self.value(faults, key, &kind, |item| {
            item.as_array()?.iter().map(|word| word.as_str().and_then(&parse)).collect()
        })
    }

    /// Rows of numbers with the line each stands on.
    pub(super) fn rows(&mut self, faults: &mut Faults<'_>, key: &str) -> Option<Vec<(usize, Vec<f64>)>> {
        let rows = self.value(faults, key, "a list of lists of numbers", |item| {
            let row = |value: &'a Value| {
                Some((value.span(), value.as_array()?.iter().map(as_number).collect::<Option<Vec<f64>>>()?))
            };
            item.as_array()?.iter().map(row).collect::<Option<Vec<_>>>()
        })?;
        Some(rows.into_iter().map(|(span, row)| (faults.line_of(span), row)).collect())
    }

    /// A table below this one.
    pub(super) fn table(&mut self, faults: &mut Faults<'_>, key: &str) -> Option<Walk<'a>> {
        let table = self.value(faults, key, "a table", Item::as_table_like)?;
        Some(Walk { path: self.path_of(key), line: self.line_of(faults, key), table, taken: Vec::new() })
    }

    /// Tables in braces in a list.
    pub(super) fn tables(&mut self, faults: &mut Faults<'_>, key: &str) -> Option<Vec<Walk<'a>>> {
        let list = self.value(faults, key, "a list of tables in braces", |item| {
            item.as_array()?.iter().map(Value::as_inline_table).collect::<Option<Vec<_>>>()
        })?;
        let walk = |(index, table): (usize, &'a toml_edit::InlineTable)| Walk {
            path: format!("{}[{}]", self.path_of(key), index + 1),
            line: faults.line_of(table.span()),
            table,
            taken: Vec::new(),
        };
        Some(list.into_iter().enumerate().map(walk).collect())
    }

    /// Keys of the table in file order.
    pub(super) fn keys(&self) -> Vec<String> {
        self.table.iter().map(|(key, _)| key.to_owned()).collect()
    }

    /// `tag` and `source` of the figures in this table.
    pub(super) fn backing(&mut self, faults: &mut Faults<'_>) -> Option<Backing> {
        let tags = self.tags(faults, "tag");
        let source = self.text(faults, "source");
        Some(Backing { tags: self.must(faults, "tag", tags)?, source })
    }

    /// A key that holds tags.
    pub(super) fn tags(&mut self, faults: &mut Faults<'_>, key: &str) -> Option<Vec<Evidence>> {
        let words: Vec<&str> = Evidence::ALL.iter().map(|evidence| evidence.tag()).collect();
        self.named(faults, key, Backing::parse_tags, &words)
    }

    /// A table of figures that carries its own tag: `{ ..., tag = "R" }`; absent is no fault.
    pub(super) fn backed<T>(
        &mut self,
        faults: &mut Faults<'_>,
        key: &str,
        read: impl FnOnce(&mut Walk<'a>, &mut Faults<'_>) -> Option<T>,
    ) -> Option<Backed<T>> {
        let mut walk = self.table(faults, key)?;
        let value = read(&mut walk, faults);
        let backing = walk.backing(faults);
        walk.finish(faults);
        Some(Backed { value: value?, backing: backing? })
    }

    /// Told once a table is read: keys nobody asked for.
    pub(super) fn finish(&self, faults: &mut Faults<'_>) {
        for (key, item) in self.table.iter() {
            if self.taken.iter().any(|taken| taken == key) {
                continue;
            }
            let line = faults.line_of(self.table.key(key).and_then(toml_edit::Key::span).or_else(|| item.span()));
            let path = self.path_of(key);
            let message = format!("`{path}` is not a key of a guide");
            faults.form(line, &path, message, format!("read here are: `{}`", self.taken.join("`, `")));
        }
    }
}

/// The value as typed, without the spaces and comment round it; long ones cut.
fn bare(value: &Value) -> String {
    let text = value.clone().decorated("", "").to_string();
    if text.chars().count() <= 60 { text } else { text.chars().take(57).chain("...".chars()).collect() }
}

fn as_number(value: &Value) -> Option<f64> {
    let number = value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64))?;
    number.is_finite().then_some(number)
}
