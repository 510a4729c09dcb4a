//! Attributes of a vector file's records.

/// A table: one entry a record in each column.
#[derive(Debug, Default, Clone)]
pub struct Table {
    /// File, or file and table, as typed.
    pub file: String,
    /// Columns in the order of the file.
    pub columns: Vec<Column>,
}

/// A column.
#[derive(Debug, Default, Clone)]
pub struct Column {
    /// Name as written.
    pub name: String,
    /// Whether the file declares numbers.
    pub is_number: bool,
    /// One a record, as text; `None` where there is none.
    pub texts: Vec<Option<String>>,
}

impl Column {
    /// A record's number, if its text is one: finite, with a point.
    pub fn number(&self, record: usize) -> Option<f64> {
        self.texts.get(record)?.as_deref()?.trim().parse::<f64>().ok().filter(|number| number.is_finite())
    }

    /// Texts that occur, blanks left out, sorted, each once.
    pub fn distinct(&self) -> Vec<&str> {
        let mut all: Vec<&str> =
            self.texts.iter().flatten().map(|text| text.trim()).filter(|text| !text.is_empty()).collect();
        all.sort_unstable();
        all.dedup();
        all
    }
}

impl Table {
    /// The column of a name, capitals left aside.
    pub fn column(&self, name: &str) -> Option<&Column> {
        self.columns.iter().find(|column| column.name.eq_ignore_ascii_case(name))
    }
}
