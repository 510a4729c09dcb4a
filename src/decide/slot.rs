//! [`Slot`]: one answer of the field file that the page can give.

/// One step down a field file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    /// A key of a table.
    Key(String),
    /// An entry of a list, from 0.
    Entry(usize),
}

/// A word that can be chosen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// As it stands in the field file.
    pub value: String,
    /// As the page says it.
    pub words: String,
}

/// What kind of answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SlotKind {
    /// A number; blank takes the key out.
    Number,
    /// A number, or one a zone with commas between.
    Numbers,
    /// One of a few words or whole numbers.
    Choice(Vec<Choice>),
    /// Yes or no.
    Yes,
    /// Any of these names, in their order.
    Names(Vec<String>),
}

/// One answer of the field file that the page can give.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Slot {
    /// Dotted key; entries of lists count from 1, as in messages: `passes.order[1].usd_ac`. Also the name of the input.
    pub name: String,
    /// Question it belongs to, from 1.
    pub question: usize,
    /// The way down the field file.
    pub path: Vec<Step>,
    /// What kind of answer.
    pub kind: SlotKind,
    /// What the page asks.
    pub label: String,
    /// The answer in the file, one entry a name for [`SlotKind::Names`]; empty where the key is not there.
    pub answer: Vec<String>,
}

impl Slot {
    /// The answer in the file where there is one entry at most.
    pub fn text(&self) -> &str {
        self.answer.first().map_or("", String::as_str)
    }

    /// Id of its input: letters, digits and dashes.
    pub fn id(&self) -> String {
        let dash = |c: char| if c.is_ascii_alphanumeric() || c == '_' { c } else { '-' };
        format!("a-{}", self.name.replace(']', "").chars().map(dash).collect::<String>())
    }
}
